"""A shop with one piece, a clock that is set by hand, and a phone that edits to-dos by a library that is not ours."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from icalendar import Calendar

from curetrack.facts import Event, Forecast, Shape
from curetrack.phone.caldav.discover import discover
from curetrack.phone.caldav.run import Syncer, connect
from curetrack.phone.caldav.store import Kept, kept
from curetrack.phone.caldav.sync import Synced
from curetrack.phone.caldav.wire import Account, Wire
from curetrack.phone.entries import uid_of
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SETTINGS = Settings(timezone="Europe/Berlin")
SHAPE = Shape(1.8, 0.6, 0.04)
OPEN = "vibrate"  # the first step after the pour: no hold
NEXT = "screed"
HELD = "strip"


class Clock:
    """The same moment until it is moved."""

    def __init__(self) -> None:
        self.now = T0

    def __call__(self) -> datetime:
        return self.now

    def wait(self, **span: float) -> datetime:
        self.now += timedelta(**span)
        return self.now


class Maker:
    """A shop with a piece that was poured at T0, at a steady 20 °C."""

    def __init__(self, home: Path) -> None:
        self.home, self.clock = home, Clock()
        self.shop = Shop(home, settings=SETTINGS)
        self.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=T0)
        self.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=T0, now=T0)
        self.shop.pour("bench", profile="bagged-tabletop", shape=SHAPE, at=T0, now=T0)

    def line(self, step: str) -> Line:
        found = self.shop.timeline("bench", View(self.clock.now)).line(step)
        assert found is not None
        return found

    def events(self, *kinds: str) -> list[Event]:
        return [event for event in self.shop.events("bench", View(self.clock.now)) if event.kind in kinds]

    def uid(self, step: str) -> str:
        return uid_of(self.shop.piece("bench", View(self.clock.now)), step)


class Connected(Maker):
    """The same with a list on a server, and its sync."""

    def __init__(self, home: Path, wire: Wire, account: Account, name: str) -> None:
        super().__init__(home)
        self.list: Kept = connect(home, wire, account, name)
        self.syncer = Syncer(home, lambda: account.password, self.clock, settings=SETTINGS)

    def sync(self) -> Synced:
        done = self.syncer.run()
        assert done is not None
        assert done.troubles == ()
        return done

    def known(self) -> Kept:
        found = kept(self.home)
        assert found is not None
        return found


class Phone:
    """A device with its own copy of the list: changed offline, sent when it is told to."""

    def __init__(self, wire: Wire, url: str, clock: Clock) -> None:
        self._wire, self._url, self._clock = wire, url, clock
        self._copies: dict[str, tuple[str, Calendar]] = {}

    def fetch(self, uid: str) -> Any:
        """Reads a to-do from the server into its copy."""
        reply = self._wire.ask("GET", self._at(uid))
        assert reply.status == 200, reply.status
        self._copies[uid] = (reply.headers["etag"], Calendar.from_ical(reply.body.decode()))
        return self.todo(uid)

    def there(self, uid: str) -> bool:
        return self._wire.ask("GET", self._at(uid)).status == 200

    def todo(self, uid: str) -> Any:
        (found,) = self._copies[uid][1].walk("VTODO")
        return found

    def change(self, uid: str, **values: object) -> None:
        """In its copy only. None takes a line out."""
        todo = self.todo(uid)
        for name, value in {**values, "last_modified": self._clock.now}.items():
            key = name.replace("_", "-")
            todo.pop(key, None)
            if value is not None:
                todo.add(key, value)

    def tick(self, uid: str) -> None:
        self.change(uid, status="COMPLETED", completed=self._clock.now, percent_complete=100)

    def reopen(self, uid: str) -> None:
        self.change(uid, status="NEEDS-ACTION", completed=None, percent_complete=None)

    def send(self, uid: str) -> int:
        """Over the version that it has read; 412: another is there."""
        etag, calendar = self._copies[uid]
        headers = {"If-Match": etag, "Content-Type": "text/calendar; charset=utf-8"}
        return self._wire.ask("PUT", self._at(uid), calendar.to_ical().decode(), headers).status

    def delete(self, uid: str) -> int:
        return self._wire.ask("DELETE", self._at(uid), headers={"If-Match": self._copies[uid][0]}).status

    def _at(self, uid: str) -> str:
        return f"{self._url}{uid.partition('@')[0]}.ics"


Wires = Callable[[Account], Wire]


def connected(home: Path, wires: Wires, account: Account, name: str) -> Connected:
    """A maker whose list is on the server."""
    wire = wires(account)
    assert discover(wire).named(name) is None
    return Connected(home, wire, account, name)
