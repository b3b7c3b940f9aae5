"""Times as people type them, in the shop's zone.

    now · 2h ago · 1 h 30 min ago · in 3 h · 18:30 · today 18:30 · yesterday 18:30 · tomorrow 7:00 · Sat 9:00 ·
    9 am · noon · 10 Jan 10:00 · 10 Jan 2026 10:00 · 2026-01-10 10:00 · 2026-01-10T10:00+01:00

A weekday is the last past one for facts and the next one for what is to come; so is a day without its year. A day alone
lacks its hour, but where a stretch begins or ends with it (`DayAlone`). An hour alone is today's and is never moved to
another day in silence. Orders of day and month in figures are never guessed.
"""

import re
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Literal

from msgspec import Struct

from curetrack.cli.calendar import Recurring, Toward, day_of
from curetrack.cli.localtime import instant_of
from curetrack.errors import BadInput
from curetrack.units import parse

__all__ = ["EXAMPLES", "DayAlone", "Toward", "Typed", "parse_time", "parse_until"]

EXAMPLES = "now, 18:30, yesterday 18:30, 2h ago, Sat 9:00, 10 Jan 10:00 or 2026-01-10 10:00"
LONGEST = 60  # characters
DayAlone = Literal["refused", "first", "last"]  # what a day without an hour means: its first or its last minute
LAST_MINUTE = time(23, 59)
_HOUR = re.compile(
    r"(\d{1,2})(?::(\d{2})(?::(\d{2})(?:\.\d+)?)?)?\s*(am|pm|a\.m\.|p\.m\.)?\s*(z|utc|[+-]\d{2}:?\d{2})?"
)


class Typed(Struct, frozen=True):
    """An instant that a person typed (UTC), and a remark where something was decided for them."""

    at: datetime
    remark: str = ""


def parse_time(
    text: str, *, now: datetime, zone: tzinfo, toward: Toward = "past", day: DayAlone = "refused", where: str = ""
) -> Typed:
    """The instant meant by a text; `now` is aware. Raises BadInput with what would be right.

    A local hour that the clocks skip is refused, naming the two nearest; one that comes twice is taken as the first,
    and the remark says so.
    """
    words = " ".join(text.replace("−", "-").split()).lower()
    if not words or len(words) > LONGEST:
        raise _unreadable(text[:LONGEST], where)
    if words == "now":
        return Typed(now)
    elapsed = _elapsed(words, where)
    if elapsed is not None:
        return Typed(_plus(now, elapsed, text, where))
    local_now = now.astimezone(zone)
    found = day_of(words, local_now.date(), text, where)
    if found is None:
        raise _unreadable(text, where)
    on, rest = found
    alone = day != "refused" and on is not None and not rest.strip(" ,")
    clock, offset = (LAST_MINUTE, None) if alone else _clock(rest, text, where)
    here = (now.astimezone(offset) if offset else local_now).replace(tzinfo=None)
    if on is None:
        on = _today(clock, here, toward, text, where)
    elif isinstance(on, Recurring):
        on = on.pick(clock, here, toward)
    if alone and day == "first":  # where the clocks skip midnight, the first minute after it
        return Typed(datetime.combine(on, time(), zone).astimezone(UTC))
    local = datetime.combine(on, clock)
    if offset is not None:
        return Typed(local.replace(tzinfo=offset).astimezone(UTC))
    return Typed(*instant_of(local, zone, text, where))


def parse_until(text: str, *, now: datetime, zone: tzinfo, where: str = "") -> Typed:
    """A moment to come: a time as above, or a plain duration counted from now ("2h", "1 d")."""
    try:
        hours = parse(text, "time", where=where)
    except BadInput:
        typed = parse_time(text, now=now, zone=zone, toward="future", where=where)
    else:
        typed = Typed(_plus(now, hours, text, where))
    if typed.at <= now:
        raise BadInput("that is already past", where=where, found=text, remedy="write 2h, tomorrow 7:00 or Sat 9:00")
    return typed


def _unreadable(text: str, where: str) -> BadInput:
    return BadInput("cannot read the time", where=where, found=text, remedy=f"write {EXAMPLES}")


def _elapsed(words: str, where: str) -> float | None:
    """ "2h ago" and "in 3 h" as hours: elapsed time, whatever the clocks do meanwhile."""
    if words.endswith("ago"):
        sign, amount = -1.0, words.removesuffix("ago")
    elif words.startswith("in "):
        sign, amount = 1.0, words.removeprefix("in ")
    else:
        return None
    hours = parse(amount.strip(), "time", where=where)
    if hours < 0.0:
        raise BadInput("a negative time", where=where, found=words, remedy="write 2h ago or in 2 h")
    return sign * hours


def _plus(now: datetime, hours: float, text: str, where: str) -> datetime:
    if abs(hours) > 24.0 * 366.0 * 50.0:
        raise BadInput("too far away", where=where, found=text, remedy=f"write {EXAMPLES}")
    return now + timedelta(hours=hours)


def _clock(rest: str, text: str, where: str) -> tuple[time, tzinfo | None]:
    """The hour, and the offset if one was written."""
    rest = rest.strip(" ,").removeprefix("at ")
    if not rest:
        raise BadInput("a time of day is missing", where=where, found=text, remedy=f"add one: {text.strip()} 18:30")
    if rest == "noon":
        return time(12), None
    match = _HOUR.fullmatch(rest)
    if match is None:
        raise _unreadable(text, where)
    hour, half = int(match[1]), (match[4] or "").replace(".", "")
    if not half and match[2] is None:
        raise BadInput("an hour without minutes", where=where, found=text, remedy=f"write {hour}:00")
    if half and not 1 <= hour <= 12:
        raise BadInput("no such hour", where=where, found=text, remedy="write 9 am, 9:30 pm or 21:30")
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return time(hour, int(match[2] or 0), int(match[3] or 0)), _offset(match[5], text, where)
    except ValueError:
        raise BadInput("no such hour", where=where, found=text, remedy="write 0:00 to 23:59") from None


def _offset(written: str | None, text: str, where: str) -> tzinfo | None:
    if not written:
        return None
    if written in ("z", "utc"):
        return UTC
    hours, minutes = int(written[1:3]), int(written[-2:])
    if hours > 14 or minutes > 59:
        raise BadInput("no such offset", where=where, found=text, remedy="write one like +01:00")
    return timezone((1 if written[0] == "+" else -1) * timedelta(hours=hours, minutes=minutes))


def _today(clock: time, here: datetime, toward: Toward, text: str, where: str) -> date:
    """An hour alone is today's; one on the wrong side of now is refused, not moved to another day."""
    at = datetime.combine(here.date(), clock)
    other = ""
    if toward == "past" and at > here + timedelta(minutes=1):
        other, fault = "yesterday", "that hour is still to come today"
    elif toward == "future" and at <= here:
        other, fault = "tomorrow", "that hour is past today"
    if other:
        raise BadInput(fault, where=where, found=text, remedy=f"write {other} {text.strip()} if that is meant")
    return here.date()
