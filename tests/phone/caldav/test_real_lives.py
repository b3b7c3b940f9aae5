"""The same random lives, 300 against each of two real servers: the client's kills, races and lost answers included."""

import random
from datetime import UTC, datetime

import pytest
from icalendar import Calendar

from curetrack.phone.caldav.client import TodoList
from curetrack.phone.caldav.discover import discover
from curetrack.phone.caldav.types import Delete, Put, Texts, Theirs
from curetrack.phone.caldav.wire import Wire
from curetrack.phone.caldav.xml import mkcalendar
from tests.phone.caldav.lives import FOREIGN, Killed, Paper, check, life
from tests.phone.caldav.making import Wires
from tests.phone.caldav.servers import Running

SEQUENCES, BLOCKS, STEPS_EACH = 300, 10, 12
HEADERS = {"Content-Type": "text/calendar; charset=utf-8"}
MILK = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VTODO\r\nUID:milk\r\nDTSTAMP:20260302T090000Z\r\n"
    "SUMMARY:Milk\r\nX-OWN:1\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
)


class RealPaper(Paper):
    """A list on a server: our client on one side; on the other a phone with its own connection, whose to-dos are
    changed by a library that is not ours."""

    def __init__(self, ours: Wire, phones: Wire, url: str, seed: int) -> None:
        super().__init__([f"{name}-{seed}@curetrack" for name in ("strip", "flip", "seal")])
        self._url, self._wire = url, phones
        self._phone = TodoList(phones, url, UTC, lambda: self.now)
        self._ours_on, self._dice = ours, random.Random(seed)
        self._ours = self._started()

    def burn(self) -> None:
        """Some kills end the whole process, which then begins without what it had read."""
        try:
            super().burn()
        except Killed:
            if self._dice.random() < 0.5:
                self._ours = self._started()
            raise

    def _started(self) -> TodoList:
        return TodoList(self._ours_on, self._url, UTC, lambda: self.now)

    def listed(self) -> dict[str, Theirs]:
        self.burn()
        return dict(self._ours.listed())

    def look(self) -> dict[str, Theirs]:
        found = self._phone.listed()
        return {uid: there for uid, there in found.items() if uid in self.uids or uid == FOREIGN}

    def write(self, put: Put) -> str:
        return self._ours.put(put)

    def erase(self, delete: Delete) -> None:
        self._ours.delete(delete)

    def phone_writes(self, there: Theirs, now: datetime, **changes: object) -> None:
        calendar = Calendar.from_ical(there.raw)
        (todo,) = calendar.walk("VTODO")
        for name, value in _properties(changes, now).items():
            todo.pop(name, None)
            if value is not None:
                todo.add(name, value)
        url = self._url + there.href
        reply = self._wire.ask("PUT", url, calendar.to_ical().decode(), {**HEADERS, "If-Match": there.etag})
        assert reply.status in (200, 201, 204), reply.status

    def phone_deletes(self, there: Theirs) -> None:
        reply = self._wire.ask("DELETE", self._url + there.href, headers={"If-Match": there.etag})
        assert reply.status in (200, 204), reply.status


def _properties(changes: dict[str, object], now: datetime) -> dict[str, object]:
    found: dict[str, object] = {"LAST-MODIFIED": now}
    if "done" in changes:
        done = bool(changes["done"])
        found["STATUS"] = "COMPLETED" if done else "NEEDS-ACTION"
        found["COMPLETED"] = changes["done_at"] if done else None
        found["PERCENT-COMPLETE"] = 100 if done else None
    if "due" in changes:
        found["DUE"] = changes["due"]
    texts = changes.get("texts")
    if isinstance(texts, Texts):
        found["SUMMARY"], found["DESCRIPTION"] = texts.summary, texts.description
    return found


@pytest.fixture
def both(server: Running, wires: Wires) -> tuple[Wire, Wire, str]:
    """Two connections, and where lists are made."""
    ours = wires(server.account)
    return ours, wires(server.account), discover(ours).home


@pytest.mark.parametrize("block", range(BLOCKS))
def test_random_lives_converge_on_a_real_server(both: tuple[Wire, Wire, str], block: int) -> None:
    """Each on a list of its own, with an item that is not ours."""
    ours, phones, home = both
    for seed in range(block * SEQUENCES // BLOCKS, (block + 1) * SEQUENCES // BLOCKS):
        url = f"{home}life-{seed}/"
        assert ours.ask("MKCALENDAR", url, mkcalendar(f"life {seed}")).status == 201
        assert ours.ask("PUT", f"{url}milk.ics", MILK, {**HEADERS, "If-None-Match": "*"}).status == 201
        try:
            check(life(seed, RealPaper(ours, phones, url, seed), STEPS_EACH))
        except AssertionError as error:
            raise AssertionError(f"seed {seed}: {error}") from error
        ours.ask("DELETE", url)
