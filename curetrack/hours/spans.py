"""Spans: hours from one time to another, as they are written, and whether they get into each other's way."""

import re
from collections.abc import Iterable, Iterator

from msgspec import Struct

from curetrack.errors import BadInput

__all__ = ["SPAN", "WEEK", "Span", "end_of", "in_order", "overlaps", "read_spans"]

WEEK = 7 * 1440  # minutes
SPAN = re.compile(r"(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})")


class Span(Struct, frozen=True):
    """Minutes of the local day; `end` is over midnight where it is not after `start`."""

    start: int
    end: int

    @property
    def text(self) -> str:
        """As it is kept: 18:00-21:00."""
        return f"{self.start // 60}:{self.start % 60:02d}-{self.end // 60}:{self.end % 60:02d}"


def end_of(span: Span) -> int:
    """Minutes from the midnight before it begins."""
    return span.end if span.end > span.start else span.end + 1440


def read_spans(text: str, where: str, like: str) -> list[Span]:
    """ "8:00-12:00 13:00-18:00". Raises BadInput; `like` shows how it is written."""
    found: list[Span] = []
    rest = text.strip()
    while rest:
        match = SPAN.match(rest)
        if match is None:
            raise BadInput("no hours from one time to another", where=where, found=text, remedy=like)
        hours, minutes = (int(match[1]), int(match[3])), (int(match[2]), int(match[4]))
        start, end = hours[0] * 60 + minutes[0], hours[1] * 60 + minutes[1]
        if max(minutes) > 59 or start >= 1440 or end > 1440:
            raise BadInput("no such hour", where=where, found=match[0], remedy="write 0:00 to 24:00")
        if start == end:
            raise BadInput("hours that never open", where=where, found=match[0], remedy=like)
        found.append(Span(start, end))
        rest = rest[match.end() :].strip()
    if not found:
        raise BadInput("no hours", where=where, found=text, remedy=like)
    return found


def in_order(spans: Iterable[Span]) -> tuple[Span, ...]:
    """By their beginnings."""
    return tuple(sorted(spans, key=lambda span: span.start))


def overlaps(laid: Iterable[tuple[int, str, Span]], where: str, *, in_week: bool = False) -> Iterator[BadInput]:
    """Spans that overlap, each with the number and the name of its day; two spans are named once. `in_week`: Monday
    follows on Sunday."""
    found = ((number * 1440 + span.start, number * 1440 + end_of(span), name, span) for number, name, span in laid)
    row = sorted(found, key=lambda each: each[:3])
    row += [(start + WEEK, end + WEEK, name, span) for start, end, name, span in row if in_week and start < 1440]
    named: set[tuple[Span, Span]] = set()
    for number, (start, _, name, span) in enumerate(row[1:], 1):
        _, end, day, earlier = max(row[:number], key=lambda each: each[1])
        if start < end and (earlier, span) not in named:
            named.add((earlier, span))
            both = f"{day}: {earlier.text} and" if name == day else f"{day} {earlier.text} and {name}"
            yield BadInput(f"{both} {span.text} overlap", where=where, remedy="write them as one")
