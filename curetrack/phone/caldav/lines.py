"""Content lines of iCalendar text (RFC 5545, 3.1), each with its raw form, so that what is not changed stays as it was.
Pure.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime, tzinfo

from msgspec import Struct

__all__ = ["ContentLine", "as_text", "content_lines", "folded", "from_text", "moment_of", "parsed", "stamp"]

FOLD_OCTETS = 75  # RFC 5545, 3.1: without the line break


class ContentLine(Struct, frozen=True):
    """One unfolded line. `raw` is as it came, with its folds and without its last line break; the name in capitals."""

    raw: str
    name: str
    params: dict[str, str]
    value: str


def content_lines(raw: str) -> list[ContentLine]:
    """All lines of a text with any line breaks; empty ones are left out."""
    folds: list[list[str]] = []
    for piece in raw.replace("\r\n", "\n").replace("\r", "\n").split("\n"):
        if piece[:1] in (" ", "\t") and folds:
            folds[-1].append(piece)
        elif piece:
            folds.append([piece])
    return [parsed("\r\n".join(pieces), pieces[0] + "".join(p[1:] for p in pieces[1:])) for pieces in folds]


def parsed(raw: str, line: str | None = None) -> ContentLine:
    """One line; what is none has its whole text as its name."""
    line = raw if line is None else line
    head, value = _split(line)
    name, *params = _parts(head)
    pairs = (param.partition("=") for param in params)
    return ContentLine(
        raw, name.strip().upper(), {key.strip().upper(): text.strip('"') for key, _, text in pairs}, value
    )


def _split(line: str) -> tuple[str, str]:
    """At the first colon outside quotes."""
    quoted = False
    for place, letter in enumerate(line):
        quoted ^= letter == '"'
        if letter == ":" and not quoted:
            return line[:place], line[place + 1 :]
    return line, ""


def _parts(head: str) -> list[str]:
    """At the semicolons outside quotes."""
    parts, quoted = [""], False
    for letter in head:
        quoted ^= letter == '"'
        if letter == ";" and not quoted:
            parts.append("")
        else:
            parts[-1] += letter
    return parts


def folded(line: str) -> str:
    """The line in pieces of at most 75 octets, none of which cuts a letter; control characters are taken out."""
    line = "".join(letter for letter in line if letter == "\t" or letter.isprintable())
    pieces, octets = [""], 0
    for letter in line:
        size = len(letter.encode())
        if octets + size > FOLD_OCTETS:
            pieces.append(" ")
            octets = 1
        pieces[-1] += letter
        octets += size
    return "\r\n".join(pieces)


def as_text(value: str) -> str:
    """A value of type TEXT (3.3.11)."""
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        value = value.replace(plain, written)
    return value


def from_text(value: str) -> str:
    """What a value of type TEXT says."""
    found, letters = [], iter(value)
    for letter in letters:
        if letter != "\\":
            found.append(letter)
            continue
        escaped = next(letters, "\\")
        found.append("\n" if escaped in "nN" else escaped)
    return "".join(found)


def stamp(at: datetime) -> str:
    """A UTC moment to the second."""
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def moment_of(line: ContentLine, zone: tzinfo) -> datetime | date | None:
    """A DATE or DATE-TIME, aware, UTC. None: no such thing. Floating times, and zones that are not known by name, are
    the shop's: the phone lies on the bench."""
    text = line.value.strip()
    try:
        if len(text) == 8:
            return datetime.strptime(text, "%Y%m%d").date()  # noqa: DTZ007 - a day has no zone
        if text[-1:] in ("Z", "z"):
            return datetime.strptime(text[:-1], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
        naive = datetime.strptime(text, "%Y%m%dT%H%M%S")  # noqa: DTZ007 - its zone comes next
        return naive.replace(tzinfo=_zone(line.params.get("TZID", ""), zone)).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def _zone(name: str, zone: tzinfo) -> tzinfo:
    """By its name, of which some write more before it."""
    from zoneinfo import ZoneInfo

    parts = [part for part in name.split("/") if part]
    for tried in _tails(parts):
        try:
            return ZoneInfo(tried)
        except (ValueError, OSError, KeyError):  # not found is a KeyError
            continue
    return zone


def _tails(parts: list[str]) -> Iterable[str]:
    return ("/".join(parts[first:]) for first in range(len(parts)))
