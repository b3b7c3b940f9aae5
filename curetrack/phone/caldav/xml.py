"""The XML of WebDAV (RFC 4918), CalDAV (RFC 4791) and collection sync (RFC 6578): what we ask, and what comes back."""

from collections.abc import Iterable
from xml.etree import ElementTree
from xml.sax.saxutils import escape

from msgspec import Struct

__all__ = [
    "CALDAV",
    "DAV",
    "Answer",
    "Answers",
    "Element",
    "answers",
    "mkcalendar",
    "multiget",
    "propfind",
    "says",
    "sync",
]

DAV, CALDAV = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
_HEAD = '<?xml version="1.0" encoding="utf-8"?>\n'
_SPACES = 'xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"'

Element = ElementTree.Element


class Answer(Struct, frozen=True):
    """What a multistatus says of one place: 200, or what is wrong with it; properties that were found."""

    href: str
    status: int
    props: dict[str, Element]

    def text(self, name: str) -> str:
        """A property's text; "" where there is none."""
        found = self.props.get(name)
        return (found.text or "").strip() if found is not None else ""

    def href_in(self, name: str) -> str:
        """The address within a property."""
        found = self.props.get(name)
        inner = found.find(f"{DAV}href") if found is not None else None
        return (inner.text or "").strip() if inner is not None else ""


class Answers(Struct, frozen=True):
    """A multistatus; `token` of a sync report."""

    each: tuple[Answer, ...]
    token: str


def propfind(*names: str) -> str:
    """Asks for properties: `getetag`, or `C:calendar-home-set`."""
    inner = "".join(f"<{name}/>" for name in names)
    return f"{_HEAD}<propfind {_SPACES}><prop>{inner}</prop></propfind>"


def sync(token: str) -> str:
    """Asks for what has changed since the token; for all if it is empty."""
    return (
        f"{_HEAD}<sync-collection {_SPACES}><sync-token>{escape(token)}</sync-token><sync-level>1</sync-level>"
        "<prop><getetag/></prop></sync-collection>"
    )


def multiget(hrefs: Iterable[str]) -> str:
    """Asks for the texts of these."""
    inner = "".join(f"<href>{escape(href)}</href>" for href in hrefs)
    return (
        f"{_HEAD}<C:calendar-multiget {_SPACES}><prop><getetag/><C:calendar-data/></prop>{inner}</C:calendar-multiget>"
    )


def mkcalendar(name: str) -> str:
    """Asks for a list of to-dos."""
    return (
        f"{_HEAD}<C:mkcalendar {_SPACES}><set><prop><displayname>{escape(name)}</displayname>"
        '<C:supported-calendar-component-set><C:comp name="VTODO"/></C:supported-calendar-component-set>'
        "</prop></set></C:mkcalendar>"
    )


def answers(body: bytes) -> Answers:
    """A multistatus read. Raises ValueError for what is none."""
    root = _root(body)
    if root.tag != f"{DAV}multistatus":
        raise ValueError(root.tag)
    token = root.find(f"{DAV}sync-token")
    each = tuple(_answer(response) for response in root.findall(f"{DAV}response"))
    return Answers(each, (token.text or "").strip() if token is not None else "")


def says(body: bytes, name: str) -> bool:
    """Whether an answer, of an error mostly, holds that element of DAV."""
    try:
        return _root(body).find(f".//{DAV}{name}") is not None
    except ValueError:
        return False


def _answer(response: Element) -> Answer:
    props: dict[str, Element] = {}
    for part in response.findall(f"{DAV}propstat"):
        if _status(part) == 200:
            props.update({prop.tag: prop for found in part.findall(f"{DAV}prop") for prop in found})
    href = response.find(f"{DAV}href")
    return Answer((href.text or "").strip() if href is not None else "", _status(response), props)


def _status(element: Element) -> int:
    status = element.find(f"{DAV}status")
    words = (status.text or "").split() if status is not None else []
    return int(words[1]) if len(words) > 1 and words[1].isdigit() else 200


def _root(body: bytes) -> Element:
    """Raises ValueError. Without a document type: what has one wants to be larger than it looks."""
    if b"<!DOCTYPE" in body[:4096].upper():
        raise ValueError("document type")
    try:
        return ElementTree.fromstring(body)  # noqa: S314 - no document type, so nothing in it can grow
    except ElementTree.ParseError as error:
        raise ValueError(str(error)) from error
