"""From an address to the lists behind it (RFC 4791, 6764): whose it is, where their lists are, and a list of our own.
Only `make_list` writes.
"""

from urllib.parse import quote, urljoin

from msgspec import Struct

from curetrack.phone.caldav import xml
from curetrack.phone.caldav.wire import Reply, ServerTrouble, Wire

__all__ = ["LIST_NAME", "Found", "TodoPlace", "discover", "make_list"]

LIST_NAME = "curetrack"
_PROPS = (
    "resourcetype", "displayname", "current-user-principal", "C:calendar-home-set",
    "C:supported-calendar-component-set",
)  # fmt: skip
EXISTS = (403, 405, 409)  # three servers, three answers to making what is there


class TodoPlace(Struct, frozen=True):
    """A list that can hold to-dos."""

    url: str
    name: str


class Found(Struct, frozen=True):
    """What is behind an address. `home` is where a new list can be made; "" if the address is a list itself."""

    home: str
    lists: tuple[TodoPlace, ...]

    def named(self, name: str = LIST_NAME) -> TodoPlace | None:
        """The list of that name, by its address or as people read it."""
        for place in self.lists:
            if place.url.rstrip("/").rpartition("/")[2] == quote(name) or place.name == name:
                return place
        return None


def discover(wire: Wire) -> Found:
    """The lists behind the wire's address: of the person if it is a server, itself if it is a list. Raises
    ServerTrouble."""
    first = _ask(wire, wire.address, "0")
    if first is not None and _is_list(first[1][0]):
        url, (answer, *_) = first
        return Found("", (TodoPlace(_slashed(url), answer.text(f"{xml.DAV}displayname")),))
    home = _home(wire, first)
    if home is None:
        for path in ("/.well-known/caldav", "/"):
            home = _home(wire, _ask(wire, urljoin(wire.address, path), "0"))
            if home is not None:
                break
    if home is None:
        raise ServerTrouble(f"no calendars are found at {wire.address}; give the address of the to-do list itself")
    return Found(home, _lists(wire, home))


def make_list(wire: Wire, found: Found, name: str = LIST_NAME) -> TodoPlace:
    """A list of our own for to-dos only; the one that is there, if it is. Raises ServerTrouble."""
    there = found.named(name)
    if there is not None:
        return there
    if not found.home:
        raise ServerTrouble("the address is a list itself; no other can be made in it")
    url = urljoin(_slashed(found.home), f"{quote(name)}/")
    reply = wire.ask("MKCALENDAR", url, xml.mkcalendar(name))
    if reply.status != 201 and reply.status not in EXISTS:
        raise ServerTrouble(f"{url} cannot be made (answer {reply.status}); make a list there by hand", reply.status)
    made = _ask(wire, url, "0")
    if made is None or not _is_list(made[1][0]):
        raise ServerTrouble(f"{url} cannot be made, or holds no to-dos; make a list there by hand", reply.status)
    return TodoPlace(url, name)


def _home(wire: Wire, there: tuple[str, tuple[xml.Answer, ...]] | None) -> str | None:
    """Where the lists of the person are, asked of a place that knows the person or the home itself."""
    if there is None:
        return None
    url, (answer, *_) = there
    home = answer.href_in(f"{xml.CALDAV}calendar-home-set")
    if home:
        return urljoin(url, home)
    principal = answer.href_in(f"{xml.DAV}current-user-principal")
    person = _ask(wire, urljoin(url, principal), "0") if principal else None
    if person is None:
        return None
    home = person[1][0].href_in(f"{xml.CALDAV}calendar-home-set")
    return urljoin(person[0], home) if home else None


def _lists(wire: Wire, home: str) -> tuple[TodoPlace, ...]:
    there = _ask(wire, home, "1")
    if there is None:
        raise ServerTrouble(f"{home} shows no calendars")
    url, each = there
    return tuple(
        TodoPlace(_slashed(urljoin(url, answer.href)), answer.text(f"{xml.DAV}displayname"))
        for answer in each if _is_list(answer)
    )  # fmt: skip


def _ask(wire: Wire, url: str, depth: str) -> tuple[str, tuple[xml.Answer, ...]] | None:
    """The address after redirects, and at least one answer; None: nothing of use is there."""
    reply: Reply = wire.ask("PROPFIND", url, xml.propfind(*_PROPS), {"Depth": depth})
    if reply.status != 207:
        return None
    try:
        each = xml.answers(reply.body).each
    except ValueError:
        return None
    return (reply.url, each) if each else None


def _is_list(answer: xml.Answer) -> bool:
    """A calendar that takes to-dos; one that does not say what it takes, takes all (RFC 4791, 5.2.3)."""
    kind = answer.props.get(f"{xml.DAV}resourcetype")
    if kind is None or kind.find(f"{xml.CALDAV}calendar") is None:
        return False
    takes = answer.props.get(f"{xml.CALDAV}supported-calendar-component-set")
    names = [comp.get("name", "").upper() for comp in takes] if takes is not None else []
    return not names or "VTODO" in names


def _slashed(url: str) -> str:
    return url if url.endswith("/") else f"{url}/"
