"""The to-do sync of one home: looked at before anything is written, connected, and run again and again.

All of it blocks and belongs into a thread of its own; each run opens the Shop anew, in its own thread.
"""

import ssl
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from curetrack.phone.caldav.client import TodoList
from curetrack.phone.caldav.decide import heard, writes
from curetrack.phone.caldav.discover import LIST_NAME, TodoPlace, discover, make_list
from curetrack.phone.caldav.side import ShopSide
from curetrack.phone.caldav.store import Kept, keep, kept, only_one
from curetrack.phone.caldav.sync import Synced, sync
from curetrack.phone.caldav.types import State
from curetrack.phone.caldav.wire import Account, Wire
from curetrack.settings import Settings
from curetrack.shop import Shop

__all__ = ["FirstLook", "Syncer", "connect", "first_look"]

Clock = Callable[[], datetime]


class FirstLook(Struct, frozen=True):
    """What would happen, for the maker to agree to; nothing was written anywhere.

    place    the list; None: one of that name will be made
    others   all lists that can hold to-dos
    foreign  to-dos on it that are not ours and stay as they are; ours: those of an earlier connection
    coming   to-dos that would be put on it now
    """

    place: TodoPlace | None
    others: tuple[TodoPlace, ...]
    foreign: int
    ours: int
    coming: int


def first_look(home: Path, wire: Wire, now: datetime, name: str = LIST_NAME) -> FirstLook:
    """Reads the server and the Shop, writes neither. Raises ServerTrouble, BadInput."""
    found = discover(wire)
    place = found.named(name) if found.home else found.lists[0]
    with Shop(home) as shop:
        wanted = ShopSide(shop, now).wanted()
        zone = shop.settings.zone
    listed = TodoList(wire, place.url, zone, lambda: now).listed() if place is not None else {}
    _, state = heard(_known_of(home, place), listed, wanted, now)
    ours = len(listed.keys() & wanted.keys())
    return FirstLook(place, found.lists, len(listed) - ours, ours, len(writes(state, listed, wanted)))


def connect(home: Path, wire: Wire, account: Account, name: str = LIST_NAME) -> Kept:
    """Makes the list if there is none, and remembers it; what was known of the same list stays known."""
    found = discover(wire)
    place = make_list(wire, found, name) if found.home else found.lists[0]
    new = Kept(account.address, account.user, place.url, place.name or name, _known_of(home, place))
    keep(home, new)
    return new


def _known_of(home: Path, place: TodoPlace | None) -> State:
    """What is known of that list, if it is the one that was connected."""
    old = kept(home)
    return old.state if old is not None and place is not None and old.url == place.url else State()


class Syncer:
    """For a process that lives long: the connection and what was read last are kept from run to run."""

    def __init__(
        self, home: Path, password: Callable[[], str], clock: Clock, *, settings: Settings | None = None,
        context: ssl.SSLContext | None = None,
    ) -> None:  # fmt: skip
        self._home, self._password, self._clock = home, password, clock
        self._settings, self._context = settings, context
        self._at: Account | None = None
        self._wire: Wire | None = None
        self._list: TodoList | None = None

    def run(self) -> Synced | None:
        """One sync; None: no list is connected, or another process is at it. Raises ServerTrouble, StoreTrouble,
        BadInput; whatever it raises, the next run goes on from there."""
        with only_one(self._home) as alone:
            known = kept(self._home) if alone else None
            if known is None:
                return None
            with Shop(self._home, settings=self._settings) as shop:
                now = self._clock()
                todos = self._connected(known, shop)
                return sync(
                    todos, ShopSide(shop, now), known.state, now,
                    lambda state: keep(self._home, replace(known, state=state)),
                )  # fmt: skip

    def close(self) -> None:
        """Closes the connection; the next run opens it anew."""
        if self._wire is not None:
            self._wire.close()
        self._wire = self._list = self._at = None

    def _connected(self, known: Kept, shop: Shop) -> TodoList:
        account = Account(known.url, known.user, self._password())
        if self._list is None or self._at != account:
            self.close()
            self._at, self._wire = account, Wire(account, context=self._context)
            self._list = TodoList(self._wire, known.url, shop.settings.zone, self._clock)
        return self._list
