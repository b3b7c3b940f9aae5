"""The phone's side of the service: the page, the calendar's feed, readings of sensors, the export, the to-do list.

It hangs on what carries it (the bench, or alone.py) by a few words only, and whatever fails in it is a trouble to be
shown: the bench goes on.
"""

import asyncio
import logging
import os
import socket
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Protocol

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import CuretrackError
from curetrack.phone.app import build_app
from curetrack.phone.export import Calendars, export
from curetrack.phone.feed import FEED, Feed
from curetrack.phone.hub import Hub
from curetrack.phone.security import HostPolicy
from curetrack.phone.sensor import SENSOR, Sensors
from curetrack.phone.server import DEFAULT_PORT, PhoneServer, check_cert, own_addresses
from curetrack.service.daemon import beside
from curetrack.service.rounds import Rounds
from curetrack.service.served import Served, answers, read_served, remove_served, write_served
from curetrack.service.todos import Todos
from curetrack.shop import Shop
from curetrack.timeline.types import Timeline
from curetrack.words.voice import Voice

__all__ = ["PLAIN_HTTP", "Carrier", "PageSide", "Where"]

ANYWHERE = "0.0.0.0"  # noqa: S104 -- only where the maker lets the network in
LOOK_s, EXPORT_s, NAMED_s, RETIME_s = 1.0, 5.0, 5.0, 60.0
LOOKED_s = 150.0  # so long after it was asked for a page may still be open: it asks each minute
OWED_s = 0.003  # what else was asked is answered meanwhile
EXPORT_AGAIN_s = 900.0  # "now" moves on, also when nothing is said
PLAIN_HTTP = (
    "The network is let in over plain http: whoever is on the same network can read along, and take over a phone's "
    "pairing. Use a network that you trust, or --cert with a certificate."
)


class Where(Struct, frozen=True):
    """Where the page is served. `lan`: on all networks of this machine; `cert`, `key`: PEM files, for https; `names`:
    under which phones ask for it, as the certificate has them."""

    lan: bool = False
    port: int = DEFAULT_PORT
    cert: Path | None = None
    key: Path | None = None
    names: tuple[str, ...] = ()

    def check(self) -> None:
        """Raises BadInput for a certificate that is none."""
        if self.cert is not None:
            check_cert(self.cert, self.key)


class Carrier(Protocol):
    """What the page hangs on. Everything is called in the loop's thread."""

    home: Path
    shop: Shop
    log: logging.Logger

    def now(self) -> datetime:
        """The moment, aware."""

    @property
    def timelines(self) -> Sequence[Timeline]:
        """All pieces on the go, whole, as last worked out."""

    @property
    def nudging(self) -> bool:
        """Whether this process does what only one may do: here the export and the to-do list."""

    def listen(self, heard: Callable[[], None]) -> None:
        """`heard` is called whenever something has changed."""

    def said(self, piece: str) -> None:
        """A fact of that piece was written here ("": of all)."""

    def retime(self) -> None:
        """Work all out anew, soon: somebody looks, and time has passed."""


class PageSide:
    """Started after what carries it, stopped before."""

    def __init__(self, carrier: Carrier, where: Where, *, todos: Todos | None = None) -> None:
        self._on, self._where, self._hub = carrier, where, Hub()
        shop = carrier.shop
        self._calendars = Calendars(shop, keeps=lambda: carrier.nudging)
        self._todos = todos or Todos(carrier.home, carrier.now, lambda: _facts(shop), carrier.log)
        self._rounds = Rounds(carrier.log, self._hub.publish)
        self._server: PhoneServer | None = None
        self._exported = (-1, -EXPORT_AGAIN_s, "")  # the count of changes, when, where to
        self._trouble = self._unnamed = ""
        self._looked_s = -LOOKED_s
        self._owed: list[str] = []  # pieces that were spoken of, and are not worked out yet
        self.others: tuple[str, ...] = ()

    @property
    def url(self) -> str:
        """Where this machine finds the page; "" while it is not served."""
        return self._server.url if self._server is not None else ""

    @property
    def troubles(self) -> tuple[str, ...]:
        """What is wrong with the page, the export, the to-do list."""
        calendar = self._calendars.trouble and f"The calendar's numbers cannot be kept: {self._calendars.trouble}."
        found = (self._trouble, self._unnamed, self._todos.trouble, calendar, *self._rounds.troubles)
        return tuple(text for text in found if text)

    async def start(self) -> None:
        """Serves. A page that cannot be served is a trouble, no end."""
        self._on.listen(self._hub.publish)
        try:
            await self._serve()
        except (CuretrackError, OSError) as error:
            self._trouble = f"There is no page for phones: {error}."
            self._on.log.error("%s", self._trouble)
        self._rounds.every(LOOK_s, self._sync)
        self._rounds.every(EXPORT_s, self._export)
        self._rounds.every(NAMED_s, self._be_named)
        self._rounds.every(RETIME_s, self._retime)

    async def stop(self) -> None:
        """Open pages are told."""
        await self._rounds.stop()
        self._owed.clear()
        if self._server is not None:
            remove_served(self._on.home)
            await self._server.stop()
        self._server = None

    # --- the page ----------------------------------------------------------------------------------------------------

    async def _serve(self) -> None:
        on, where = self._on, self._where
        feed = Feed(on.shop, self._calendars, lambda: (self._hub.count, on.timelines), self._voice)
        sensors = Sensors(on.shop, on.now, self._was_said)
        app = build_app(
            on.shop, now=on.now, host_policy=_policy(where), hub=self._hub, said=self._was_said,
            timelines=self._looked_at, settle=self._settle, more=[feed.route, sensors.route], own_locks=(FEED, SENSOR),
        )  # fmt: skip
        host = ANYWHERE if where.lan else "127.0.0.1"
        server = PhoneServer(app, self._hub, host=host, port=where.port, cert=where.cert, key=where.key)
        await server.start()
        self._server = server
        self.others = self._addresses()
        on.log.info("page for phones: %s", ", ".join((server.url, *self.others)))
        self._name()

    def _name(self) -> None:
        """So that the command that shows the code finds it."""
        try:
            write_served(self._on.home, Served(os.getpid(), self.url, self.others, self._where.lan))
            self._unnamed = ""
        except OSError as error:
            self._unnamed = f"The page is at {self.url}, but that cannot be written down: {error.strerror or error}."

    def _looked_at(self) -> Sequence[Timeline]:
        self._looked_s = monotonic()
        return self._on.timelines

    def _was_said(self, piece: str) -> None:
        """Who tapped is answered first, then who asked meanwhile, from what was known before."""
        self._owed.append(piece)
        asyncio.get_running_loop().call_later(OWED_s, self._settle)

    def _settle(self) -> None:
        owed, self._owed = self._owed, []
        for piece in dict.fromkeys(owed):
            self._on.said(piece)

    # --- every so often ----------------------------------------------------------------------------------------------

    def _addresses(self) -> tuple[str, ...]:
        """How phones find it: by the names that were given, and by this machine's addresses on its networks."""
        if self._server is None or not self._where.lan:
            return ()
        scheme, port = self.url.partition(":")[0], self._server.port
        hosts = [*self._where.names, *(address for address in own_addresses() if ":" not in address)]
        return tuple(f"{scheme}://{host}:{port}" for host in hosts)

    async def _be_named(self) -> None:
        """Of several pages one is named; when its process is gone, one that is still there. Addresses come and go."""
        named, others = read_served(self._on.home), self._addresses()
        if others != self.others:
            self.others = others
            if named is not None and named.pid == os.getpid():
                self._name()
        if self.url and (named is None or (named.pid != os.getpid() and not await beside(lambda: answers(named)))):
            self._name()

    async def _retime(self) -> None:
        if monotonic() - self._looked_s < LOOKED_s:
            self._on.retime()

    async def _sync(self) -> None:
        if self._on.nudging:
            await self._todos.look()

    async def _export(self) -> None:
        folder = self._on.shop.settings.export_folder
        count, at_s, where = self._exported
        if not folder or not self._on.nudging:
            self._exported = (-1, -EXPORT_AGAIN_s, "")
            return
        if (count, where) == (self._hub.count, folder) and monotonic() - at_s < EXPORT_AGAIN_s:
            return
        count = self._hub.count
        export(Path(folder).expanduser(), self._calendars, self._on.timelines, self._voice())
        self._exported = (count, monotonic(), folder)

    def _voice(self) -> Voice:
        settings = self._on.shop.settings
        return Voice(self._on.now(), settings.zone, settings.units)


def _facts(shop: Shop) -> object:
    """What a to-do can hang on: not the nudges, which are told every few minutes."""
    return replace(shop.newest(), nudge=0, device=0)


def _policy(where: Where) -> HostPolicy:
    given = {name.casefold() for name in where.names}
    if not where.lan:
        return HostPolicy(frozenset({"localhost", *given}))
    name = socket.gethostname().casefold()
    return HostPolicy(frozenset({"localhost", name, f"{name.partition('.')[0]}.local", *given}), addresses=True)
