"""The client against two real servers: finding, making, writing only over what was read, seeing what has changed."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace

from curetrack.phone.caldav import client as client_module
from curetrack.phone.caldav import xml
from curetrack.phone.caldav.client import TodoList
from curetrack.phone.caldav.discover import TodoPlace, discover, make_list
from curetrack.phone.caldav.sync import Conflict
from curetrack.phone.caldav.types import Delete, Put, Texts, Theirs, Wanted
from curetrack.phone.caldav.wire import Account, ServerTrouble, Wire
from tests.phone.caldav.servers import Running

Wires = Callable[[Account], Wire]
T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
STRIP = Wanted("strip@curetrack", "bench", "strip", Texts("Strip", "Wait ½ day; 20 °C"), T0 + timedelta(hours=20))


@pytest.fixture
def todos(wire: Wire, place: TodoPlace) -> TodoList:
    return TodoList(wire, place.url, UTC, lambda: T0)


@pytest.fixture
def phone(server: Running, place: TodoPlace, wires: Wires) -> TodoList:
    """Another device on the same list, with a connection and a memory of its own."""
    return TodoList(wires(server.account), place.url, UTC, lambda: T0)


def new(uid: str = STRIP.uid, href: str = "") -> Put:
    return Put(uid, href or f"{uid.partition('@')[0]}.ics", replace(STRIP, uid=uid), None, 1)


def over(there: Theirs, wanted: Wanted = STRIP, mark: int = 2) -> Put:
    return Put(there.uid, there.href, wanted, there, mark)


def test_the_lists_are_found_and_an_own_one_is_made_once(wire: Wire) -> None:
    before = discover(wire)
    assert before.named("own list") is None
    made = make_list(wire, before, "own list")
    after = discover(wire)
    assert after.named("own list") == made
    assert make_list(wire, after, "own list") == made
    assert make_list(wire, before, "own list") == made  # although it knew of none: "exists" is no fault
    assert discover(wire) == after


def test_the_address_of_a_list_itself_will_do(server: Running, place: TodoPlace, wires: Wires) -> None:
    found = discover(wires(replace(server.account, address=place.url)))
    assert [one.url for one in found.lists] == [place.url]
    with pytest.raises(ServerTrouble, match="list itself"):
        make_list(wires(server.account), found, "another")


def test_nothing_is_found_at_an_address_without_calendars_but_by_the_servers_root(
    server: Running, wires: Wires
) -> None:
    found = discover(wires(replace(server.account, address=f"{server.account.address}no/such/place/")))
    assert found.home == discover(wires(server.account)).home


def test_a_wrong_password_is_said_without_it(server: Running, wires: Wires) -> None:
    wrong = wires(replace(server.account, password="not-this-one"))
    if server.authenticates:
        with pytest.raises(ServerTrouble, match="the name or the password") as error:
            discover(wrong)
        assert "not-this-one" not in repr(error.value)
        assert error.value.status == 401
    else:  # the other server asks for none
        assert discover(wrong).lists


def test_what_was_written_is_listed_by_both(todos: TodoList, phone: TodoList) -> None:
    etag = todos.put(new())
    for one in (todos, phone):
        (there,) = one.listed().values()
        assert (there.uid, there.href, there.etag) == ("strip@curetrack", "strip.ics", etag)
        assert (there.texts, there.due, there.done, there.mark) == (STRIP.texts, STRIP.due, False, 1)


def test_only_over_the_version_that_was_read(todos: TodoList, phone: TodoList) -> None:
    todos.put(new())
    with pytest.raises(Conflict):
        todos.put(new())
    mine, theirs = todos.listed()[STRIP.uid], phone.listed()[STRIP.uid]
    phone.put(over(theirs, replace(STRIP, done_at=T0)))
    with pytest.raises(Conflict):
        todos.put(over(mine))
    with pytest.raises(Conflict):
        todos.delete(Delete(STRIP.uid, mine))
    there = todos.listed()[STRIP.uid]
    assert there.done
    todos.delete(Delete(STRIP.uid, there))
    assert not phone.listed()
    with pytest.raises(Conflict):
        phone.put(over(there))
    with pytest.raises(Conflict):
        phone.delete(Delete(STRIP.uid, there))


def test_one_uid_cannot_be_doubled(todos: TodoList) -> None:
    todos.put(new())
    with pytest.raises(Conflict):
        todos.put(new(href="other.ics"))
    assert len(todos.listed()) == 1


@pytest.mark.parametrize("href", ["a b.ics", "ünï.ics", "100%.ics", "q#+&=.ics", "semi;colon.ics"])
def test_names_of_any_letters(todos: TodoList, phone: TodoList, href: str) -> None:
    phone.put(new("odd@test", href))
    there = todos.listed()["odd@test"]
    assert there.href == href
    todos.put(over(there, replace(STRIP, uid="odd@test", done_at=T0)))
    assert phone.listed()["odd@test"].done
    todos.delete(Delete("odd@test", todos.listed()["odd@test"]))
    assert not phone.listed()


class Counting:
    """Counts the requests of a wire, by method and depth."""

    def __init__(self, wire: Wire, monkeypatch: pytest.MonkeyPatch) -> None:
        self.asked: list[str] = []
        ask = wire.ask

        def counted(method: str, url: str, body: str = "", headers: dict[str, str] | None = None) -> object:
            self.asked.append("MULTIGET" if "calendar-multiget" in body else method)
            return ask(method, url, body, headers)

        monkeypatch.setattr(wire, "ask", counted)

    def of(self, work: Callable[[], object]) -> list[str]:
        self.asked.clear()
        work()
        return list(self.asked)


def test_a_look_at_a_list_that_has_not_changed_is_one_request(
    wire: Wire, todos: TodoList, phone: TodoList, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(20):
        todos.put(new(f"step{number}@test"))
    todos.listed()
    counting = Counting(wire, monkeypatch)
    assert counting.of(todos.listed) == ["REPORT"]
    there = phone.listed()["step7@test"]
    phone.put(over(there, replace(STRIP, uid="step7@test", done_at=T0)))
    assert counting.of(todos.listed) == ["REPORT", "MULTIGET"]
    assert [uid for uid, item in todos.listed().items() if item.done] == ["step7@test"]
    phone.delete(Delete(there.uid, phone.listed()["step7@test"]))
    assert counting.of(todos.listed) == ["REPORT"]
    assert "step7@test" not in todos.listed()


def test_what_was_written_and_deleted_between_two_looks_is_gone(todos: TodoList, phone: TodoList) -> None:
    """One of the two servers does not report it at all."""
    todos.listed()
    todos.put(new())
    phone.delete(Delete(STRIP.uid, phone.listed()[STRIP.uid]))
    assert not todos.listed()


def test_a_token_that_the_server_does_not_know_is_given_up(todos: TodoList, phone: TodoList) -> None:
    for number in range(3):
        todos.put(new(f"step{number}@test"))
    todos.listed()
    phone.delete(Delete("step1@test", phone.listed()["step1@test"]))
    todos._token = "http://example.org/no-such-token"  # as after the server was set up anew
    assert sorted(todos.listed()) == ["step0@test", "step2@test"]
    assert todos._syncs
    assert todos._token != "http://example.org/no-such-token"


def test_a_server_without_collection_sync_is_asked_for_all_etags(
    wire: Wire, todos: TodoList, phone: TodoList, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(xml, "sync", lambda _: "<no-such-report xmlns='DAV:'/>")
    for number in range(3):
        todos.put(new(f"step{number}@test"))
    assert len(todos.listed()) == 3
    assert not todos._syncs
    counting = Counting(wire, monkeypatch)
    assert counting.of(todos.listed) == ["PROPFIND"]
    phone.put(over(phone.listed()["step0@test"], replace(STRIP, uid="step0@test", done_at=T0)))
    phone.delete(Delete("step1@test", phone.listed()["step1@test"]))
    assert counting.of(todos.listed) == ["PROPFIND", "MULTIGET"]
    assert {uid: item.done for uid, item in todos.listed().items()} == {"step0@test": True, "step2@test": False}


def test_more_to_dos_than_go_into_one_request(
    todos: TodoList, phone: TodoList, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(client_module, "TOGETHER", 7)
    for number in range(20):
        todos.put(new(f"step{number}@test"))
    assert len(phone.listed()) == 20


def test_what_is_no_to_do_is_not_listed(wire: Wire, todos: TodoList, place: TodoPlace) -> None:
    """An event in a list that takes all: seen, and left alone."""
    there = discover(wire)
    takes_all = next((one for one in there.lists if one.url.endswith("/calendar/")), None)
    url = takes_all.url if takes_all is not None else place.url
    event = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VEVENT\r\nUID:party\r\n"
    event += "DTSTAMP:20260302T090000Z\r\nDTSTART:20260302T090000Z\r\nSUMMARY:Party\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    wire.ask("PUT", f"{url}party.ics", event, {"Content-Type": "text/calendar", "If-None-Match": "*"})
    other = TodoList(wire, url, UTC, lambda: T0)
    other.put(new("beside@test"))
    assert set(other.listed()) == {"beside@test"}


def test_a_list_that_is_gone_is_said(wire: Wire, todos: TodoList, place: TodoPlace) -> None:
    todos.put(new())
    todos.listed()
    wire.ask("DELETE", place.url)
    with pytest.raises(ServerTrouble, match="any more"):
        todos.listed()


def test_a_connection_that_the_server_closed_is_opened_anew(wire: Wire, todos: TodoList) -> None:
    todos.put(new())
    for connection in wire._open.values():
        if connection.sock is not None:  # one of the two closes after each answer by itself
            connection.sock.shutdown(2)
    assert set(todos.listed()) == {STRIP.uid}
