"""The rules of the to-do sync on two real servers, with a real Shop and a phone that is not ours."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack.phone.caldav.client import TodoList
from curetrack.phone.caldav.run import first_look
from curetrack.phone.caldav.store import FILE_NAME, forget, keep
from curetrack.phone.caldav.types import Put, State
from curetrack.phone.caldav.wire import ServerTrouble, Wire
from tests.phone.caldav.making import HELD, NEXT, OPEN, T0, Connected, Phone, Wires, connected
from tests.phone.caldav.servers import Running

NAMES = count(1)


@pytest.fixture
def maker(server: Running, wires: Wires, tmp_path: Path) -> Iterator[Connected]:
    made = connected(tmp_path, wires, server.account, f"bench {next(NAMES)}")
    made.clock.wait(minutes=5)
    yield made
    made.syncer.close()
    made.shop.close()


@pytest.fixture
def phones(maker: Connected, server: Running, wires: Wires) -> tuple[Phone, Phone]:
    """Two devices on the same list, and what they read when it was put there."""
    maker.sync()
    found = [Phone(wires(server.account), maker.list.url, maker.clock) for _ in range(2)]
    for phone in found:
        for step in (OPEN, NEXT):
            phone.fetch(maker.uid(step))
    return found[0], found[1]


@pytest.fixture
def phone(phones: tuple[Phone, Phone]) -> Phone:
    return phones[0]


def meanwhile(monkeypatch: pytest.MonkeyPatch, deed: Callable[[], None]) -> None:
    """Does it between the look of the next sync and its first write."""
    put, left = TodoList.put, [deed]

    def late(self: TodoList, what: Put) -> str:
        if left:
            left.pop()()
        return put(self, what)

    monkeypatch.setattr(TodoList, "put", late)


def test_the_next_steps_are_on_the_list_with_due_time_and_alarm(maker: Connected, phone: Phone) -> None:
    todo = phone.todo(maker.uid(OPEN))
    assert str(todo["SUMMARY"]).endswith("Vibrate the table or the sides, short and everywhere · bench")
    assert todo["DUE"].dt == T0
    assert not phone.there(maker.uid("seal-top-4"))  # a week ahead
    held = phone.fetch(maker.uid(HELD))
    (alarm,) = held.walk("VALARM")
    assert alarm["TRIGGER"].dt == held["DUE"].dt


def test_it_comes_to_rest(maker: Connected, phone: Phone) -> None:
    assert maker.sync().written == 0
    maker.clock.wait(minutes=2)
    assert maker.sync().written == 0


def test_a_tick_on_the_phone_is_a_tick_at_the_bench(maker: Connected, phone: Phone) -> None:
    at = maker.clock.wait(minutes=1)
    phone.tick(maker.uid(OPEN))
    assert phone.send(maker.uid(OPEN)) in (201, 204)
    maker.clock.wait(minutes=10)
    assert [fact.what for fact in maker.sync().facts] == ["done"]
    (event,) = maker.events("done")
    assert (event.step, event.at) == (OPEN, at)


def test_a_tick_at_the_bench_is_status_percent_and_time_on_the_phone(maker: Connected, phone: Phone) -> None:
    at = maker.clock.wait(minutes=1)
    maker.shop.done("bench", OPEN, now=at)
    maker.sync()
    todo = phone.fetch(maker.uid(OPEN))
    assert (str(todo["STATUS"]), todo["PERCENT-COMPLETE"], todo["COMPLETED"].dt) == ("COMPLETED", 100, at)
    assert maker.sync().written == 0


def test_w6_two_devices_offline_one_tick(maker: Connected, phones: tuple[Phone, Phone]) -> None:
    """Both offline: one ticks, the other writes words and puts it off. The second is told 412, reads anew, keeps the
    tick, adds its words; its later is dropped, since done beats later."""
    one, two = phones
    uid = maker.uid(OPEN)
    at = maker.clock.wait(minutes=3)
    one.tick(uid)
    words = str(two.todo(uid)["DESCRIPTION"])
    two.change(uid, description=f"{words}\nedge is soft at the left", due=at + timedelta(hours=4))
    assert one.send(uid) in (201, 204)
    assert two.send(uid) == 412
    todo = two.fetch(uid)  # as a phone does: the server's state, and its own words and time once more
    assert str(todo["STATUS"]) == "COMPLETED"
    two.change(uid, description=f"{words}\nedge is soft at the left", due=at + timedelta(hours=4))
    assert two.send(uid) in (201, 204)
    maker.clock.wait(minutes=1)
    maker.sync()
    assert [(event.step, event.at) for event in maker.events("done")] == [(OPEN, at)]
    assert [event.text for event in maker.events("note")] == [f"{OPEN}: edge is soft at the left"]
    assert maker.events("later") == []
    there = one.fetch(uid)
    assert str(there["STATUS"]) == "COMPLETED"
    assert "edge is soft" in str(there["DESCRIPTION"])
    assert maker.sync().written == 0


def test_w6_the_bench_ticked_while_the_phone_put_off_and_wrote(maker: Connected, phone: Phone) -> None:
    """Neither knew of the other: both facts arrive at the next sync. The tick stays, the words are a note, the later
    is dropped, and the to-do is completed."""
    uid = maker.uid(OPEN)
    at = maker.clock.wait(minutes=3)
    maker.shop.done("bench", OPEN, now=at)
    phone.change(uid, summary="Vibrate, but gently", due=at + timedelta(hours=4))
    assert phone.send(uid) in (201, 204)
    maker.sync()
    assert len(maker.events("done")) == 1
    assert [event.text for event in maker.events("note")] == [f"{OPEN}: Vibrate, but gently"]
    assert maker.events("later") == []
    todo = phone.fetch(uid)
    assert (str(todo["STATUS"]), todo["PERCENT-COMPLETE"], todo["COMPLETED"].dt) == ("COMPLETED", 100, at)
    assert str(todo["SUMMARY"]) == "Vibrate, but gently"
    assert maker.sync().written == 0


def test_w6_a_tick_that_comes_between_our_look_and_our_write(
    maker: Connected, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    """We want to write a new time, over a version that is not there any more: 412, read anew, done stays."""
    uid = maker.uid(OPEN)
    now = maker.clock.wait(minutes=3)
    maker.shop.later("bench", OPEN, now + timedelta(hours=2), now=now)

    def ticked() -> None:
        phone.tick(uid)
        assert phone.send(uid) in (201, 204)

    meanwhile(monkeypatch, ticked)
    done = maker.sync()
    assert done.conflicts == 1
    assert [event.step for event in maker.events("done")] == [OPEN]
    assert str(phone.fetch(uid)["STATUS"]) == "COMPLETED"
    assert maker.sync().written == 0


def test_w6_reopening_on_the_phone_clears_the_tick(maker: Connected, phone: Phone) -> None:
    uid = maker.uid(OPEN)
    phone.tick(uid)
    phone.send(uid)
    maker.sync()
    maker.clock.wait(minutes=1)
    phone.fetch(uid)
    phone.reopen(uid)
    assert phone.send(uid) in (201, 204)
    assert [fact.what for fact in maker.sync().facts] == ["reopen"]
    assert maker.events("done") == []
    assert maker.line(OPEN).done_at is None


@pytest.mark.parametrize("left", ["completed", "percent_complete", "both"])
def test_w6_a_reopening_that_left_time_or_percent_is_tidied(maker: Connected, phone: Phone, left: str) -> None:
    uid = maker.uid(OPEN)
    phone.tick(uid)
    phone.send(uid)
    maker.sync()
    phone.fetch(uid)
    gone = {name: None for name in ("completed", "percent_complete") if left not in (name, "both")}
    phone.change(uid, status="NEEDS-ACTION", **gone)
    phone.send(uid)
    maker.sync()
    assert maker.events("done") == []
    todo = phone.fetch(uid)
    assert str(todo["STATUS"]) == "NEEDS-ACTION"
    assert "COMPLETED" not in todo
    assert "PERCENT-COMPLETE" not in todo
    assert maker.sync().written == 0


def test_w6_reopening_at_the_bench_clears_status_percent_and_time_together(maker: Connected, phone: Phone) -> None:
    uid = maker.uid(OPEN)
    phone.tick(uid)
    phone.send(uid)
    maker.sync()
    maker.shop.undo("bench", event_id=maker.events("done")[-1].id, now=maker.clock.wait(minutes=1))
    maker.sync()
    todo = phone.fetch(uid)
    assert str(todo["STATUS"]) == "NEEDS-ACTION"
    assert "COMPLETED" not in todo
    assert "PERCENT-COMPLETE" not in todo
    assert maker.events("done") == []
    assert maker.sync().written == 0


def test_a_hold_ticked_too_early_comes_back_open_with_the_reason(maker: Connected, phone: Phone) -> None:
    for step in (OPEN, NEXT, "cover-1", "trowel-back", "free", "cover-2"):
        maker.shop.done("bench", step, now=maker.clock.wait(hours=1))
    maker.sync()
    uid = maker.uid(HELD)
    phone.fetch(uid)
    maker.clock.wait(minutes=1)
    phone.tick(uid)
    phone.send(uid)
    done = maker.sync()
    assert len(done.refusals) == 1
    todo = phone.fetch(uid)
    assert str(todo["STATUS"]) == "NEEDS-ACTION"
    assert "COMPLETED" not in todo
    assert "PERCENT-COMPLETE" not in todo
    first = str(todo["DESCRIPTION"]).splitlines()[0]
    assert first.startswith("Not taken: bench, strip: ")
    assert "MPa" in first
    assert HELD not in [event.step for event in maker.events("done")]
    assert maker.events("note") == []  # our own words are no edit
    assert maker.sync().written == 0


def test_later_on_the_phone_is_later_at_the_bench(maker: Connected, phone: Phone) -> None:
    uid, until = maker.uid(OPEN), maker.clock.now + timedelta(hours=2)
    phone.change(uid, due=until)
    phone.send(uid)
    maker.sync()
    (event,) = maker.events("later")
    assert (event.step, event.until) == (OPEN, until)
    assert phone.fetch(uid)["DUE"].dt == until
    assert maker.sync().written == 0


def test_a_deleted_one_comes_back_once_then_stays_away_until_its_time_changes(maker: Connected, phone: Phone) -> None:
    uid = maker.uid(OPEN)
    assert phone.delete(uid) in (200, 204)
    maker.sync()
    assert maker.events("done") == []
    phone.fetch(uid)
    assert phone.delete(uid) in (200, 204)
    for _ in range(2):
        maker.sync()
        assert not phone.there(uid)
    maker.shop.later("bench", OPEN, maker.clock.now + timedelta(hours=3), now=maker.clock.now)
    maker.sync()
    assert phone.there(uid)
    assert maker.events("done") == []


def test_a_step_that_is_skipped_leaves_the_list_and_a_ticked_one_stays(maker: Connected, phone: Phone) -> None:
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    maker.shop.skip("bench", NEXT, now=maker.clock.now)
    maker.sync()
    assert not phone.there(maker.uid(NEXT))
    assert phone.there(maker.uid(OPEN))
    maker.shop.drop("bench", "broke", now=maker.clock.wait(minutes=1))
    maker.sync()
    assert phone.there(maker.uid(OPEN))
    assert not phone.there(maker.uid(HELD))
    assert maker.sync().written == 0


FOREIGN = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VTODO\r\nUID:milk\r\nDTSTAMP:20260302T090000Z\r\n"
    "SUMMARY:Milk\r\nX-OWN:1\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
)


def test_what_is_not_ours_is_never_touched(maker: Connected, wire: Wire, phone: Phone) -> None:
    url = f"{maker.list.url}milk.ics"
    headers = {"If-None-Match": "*", "Content-Type": "text/calendar; charset=utf-8"}
    assert wire.ask("PUT", url, FOREIGN, headers).status == 201
    before = wire.ask("GET", url)
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    maker.sync()
    maker.shop.drop("bench", "broke", now=maker.clock.wait(minutes=1))
    maker.sync()
    after = wire.ask("GET", url)
    assert (after.body, after.headers["etag"]) == (before.body, before.headers["etag"])


def test_the_first_look_says_what_would_come_and_writes_nothing(
    maker: Connected, server: Running, wires: Wires, tmp_path: Path
) -> None:
    home = tmp_path / "other"
    wire = wires(server.account)
    look = first_look(maker.home, wire, maker.clock.now, "no such list")
    assert look.place is None
    assert look.coming > 3
    assert maker.list.url in [one.url for one in look.others]
    again = first_look(maker.home, wire, maker.clock.now, "no such list")
    assert again == look
    assert not home.exists()
    maker.sync()
    after = first_look(maker.home, wire, maker.clock.now, maker.list.name)
    assert after.place is not None
    assert (after.place.url, after.foreign, after.ours) == (maker.list.url, 0, look.coming)


def test_a_lost_state_doubles_nothing_and_takes_no_tick_back(maker: Connected, phone: Phone) -> None:
    """The file is gone, and both sides went on meanwhile."""
    count_before = len(maker.known().state.known)
    phone.tick(maker.uid(NEXT))
    phone.send(maker.uid(NEXT))
    maker.shop.done("bench", OPEN, now=maker.clock.wait(minutes=1))
    maker.clock.wait(minutes=9)
    known = maker.known()
    assert forget(maker.home)
    assert maker.syncer.run() is None
    keep(maker.home, replace(known, state=State()))
    maker.sync()
    assert [event.step for event in maker.events("done")] == [OPEN, NEXT]
    assert str(phone.fetch(maker.uid(OPEN))["STATUS"]) == "COMPLETED"
    assert count_before <= len(maker.known().state.known) <= count_before + 2
    assert maker.sync().written == 0


def test_a_server_that_is_down_costs_nothing_but_time(
    maker: Connected, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (maker.home / FILE_NAME).read_bytes()

    def down(*_: object, **__: object) -> None:
        raise ServerTrouble("it cannot be reached")

    maker.shop.done("bench", OPEN, now=maker.clock.now)
    with monkeypatch.context() as patch:
        patch.setattr(Wire, "ask", down)
        with pytest.raises(ServerTrouble):
            maker.sync()
    assert (maker.home / FILE_NAME).read_bytes() == before
    maker.sync()
    assert str(phone.fetch(maker.uid(OPEN))["STATUS"]) == "COMPLETED"


def test_no_secret_is_kept(maker: Connected, server: Running, phone: Phone) -> None:
    for path in maker.home.rglob("*"):
        if path.is_file():
            assert server.account.password.encode() not in path.read_bytes(), path.name
    assert (maker.home / FILE_NAME).stat().st_mode & 0o077 == 0
