"""Hours as a maker writes them, one line each.

    hours        Mon-Fri 18:00-21:00, Sat-Sun 8:00-12:00 13:00-18:00      (also: daily 7:00-22:00)
    away         2026-12-24..2026-12-26, 2027-01-02                        days on which nobody works
    extra        2026-12-28 9:00-17:00                                     hours of one day, instead of the week's
    crew_hours   Sat 9:00-17:00          or, named:  anna: Sat 9:00-17:00; ben: Sat-Sun 10:00-14:00

A range that ends before it begins goes over midnight. Each reader gives types, and the text as it is kept: spelled one
way, so that a file is readable whatever was typed.
"""

import re
from datetime import date, timedelta

from msgspec import Struct

from curetrack.errors import BadInput
from curetrack.hours.noted import Noted
from curetrack.hours.spans import SPAN, Span, in_order, overlaps, read_spans

__all__ = [
    "DAYS", "Day", "Member", "Weekly", "read_away", "read_crew", "read_extra", "read_hours",
]  # fmt: skip

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HOURS_LIKE = 'write it like "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"'
AWAY_LIKE = 'write it like "2026-12-24..2026-12-26, 2027-01-02"'
EXTRA_LIKE = 'write it like "2026-12-28 9:00-17:00"'
CREW_LIKE = 'write it like "Sat 9:00-17:00", or "anna: Sat 9:00-17:00; ben: Sun 10:00-14:00"'
LONGEST, MOST_DAYS, MOST_PEOPLE = 1000, 400, 20
FIRST_YEAR, LAST_YEAR = 2000, 2199

_DAY = r"[a-z]{3,9}"
_WEEK = re.compile(rf"({_DAY}(?:\s*[-–]\s*{_DAY})?)\s+(.+)", re.IGNORECASE)
_DATE = r"(\d{4}-\d{2}-\d{2})"


class Weekly(Struct, frozen=True):
    """The same hours each week: for each weekday (Monday first) its spans, sorted."""

    days: tuple[tuple[Span, ...], ...] = ((),) * 7


class Day(Struct, frozen=True):
    """Spans of one local date."""

    date: date
    spans: tuple[Span, ...]


class Member(Struct, frozen=True):
    """One of the crew and the hours in which they can come; the name is empty where the whole crew comes together."""

    name: str
    weekly: Weekly


def read_hours(text: str, where: str = "hours") -> tuple[Weekly, str]:
    """A week's hours, and how they are kept. Raises Faults; ("", no days) where nothing is written."""
    days: list[list[Span]] = [[] for _ in DAYS]
    kept: list[str] = []
    noted = Noted(where)
    for part in _parts(text, ",", where):
        with noted.each():
            match = _WEEK.fullmatch(part)
            if match is None:
                what = "hours without a day, or a day without hours"
                raise BadInput(what, where=where, found=part, remedy=HOURS_LIKE)
            numbers, named = _weekdays(match[1], where)
            spans = read_spans(match[2], where, HOURS_LIKE)
            for number in numbers:
                days[number] += spans
            kept.append(f"{named} {' '.join(span.text for span in spans)}")
    for fault in overlaps([(n, DAYS[n], span) for n, spans in enumerate(days) for span in spans], where, in_week=True):
        noted.add(fault)
    noted.check()
    return Weekly(tuple(in_order(spans) for spans in days)), ", ".join(kept)


def read_away(text: str) -> tuple[tuple[date, ...], str]:
    """Days on which nobody works, and how they are kept. The same day twice is a fault. Raises Faults."""
    found: dict[date, str] = {}
    kept: list[str] = []
    noted = Noted("away")
    for part in _parts(text, ",", "away"):
        with noted.each():
            days = _row_of_days(part)
            again = next((day for day in days if day in found), None)
            if again is not None:
                raise BadInput(f"{again} stands in two exceptions ({found[again]} and {part})", where="away",
                               remedy="leave one of them out")  # fmt: skip
            found |= dict.fromkeys(days, part)
            kept.append(f"{days[0]}..{days[-1]}" if len(days) > 1 else f"{days[0]}")
    noted.check()
    return tuple(sorted(found)), ", ".join(kept)


def read_extra(text: str) -> tuple[tuple[Day, ...], str]:
    """Days with hours of their own, and how they are kept. The same day twice is a fault. Raises Faults."""
    found: dict[date, Day] = {}
    kept: list[str] = []
    noted = Noted("extra")
    for part in _parts(text, ",", "extra"):
        with noted.each():
            match = re.fullmatch(rf"{_DATE}\s+(.+)", part)
            if match is None:
                raise BadInput("no day with its hours", where="extra", found=part, remedy=EXTRA_LIKE)
            day, spans = _date(match[1], "extra"), read_spans(match[2], "extra", EXTRA_LIKE)
            if day in found:
                raise BadInput(f"{day} stands there twice", where="extra", remedy="write all its hours behind one date")
            found[day] = Day(day, in_order(spans))
            kept.append(f"{day} {' '.join(span.text for span in spans)}")
    laid = [(day.date.toordinal(), str(day.date), span) for day in found.values() for span in day.spans]
    for fault in overlaps(laid, "extra"):
        noted.add(fault)
    noted.check()
    return tuple(found[day] for day in sorted(found)), ", ".join(kept)


def read_crew(text: str) -> tuple[tuple[Member, ...], str]:
    """Who can come when, and how it is kept. Without names all come together. Raises Faults."""
    parts = _parts(text, ";", "crew_hours")
    if len(parts) == 1 and ":" not in re.sub(SPAN, "", parts[0]):
        weekly, kept = read_hours(parts[0], "crew_hours")
        return (Member("", weekly),), kept
    found: dict[str, Member] = {}
    lines: list[str] = []
    noted = Noted("crew_hours")
    for part in parts:
        with noted.each():
            match = re.fullmatch(r"([^\W\d_][\w .-]{0,29}?)\s*:\s*(.+)", part)
            if match is None:
                raise BadInput("a name with its hours is wanted", where="crew_hours", found=part, remedy=CREW_LIKE)
            name = match[1]
            if name.casefold() in found:
                raise BadInput("named twice", where="crew_hours", found=name, remedy="write all hours behind one name")
            weekly, kept = read_hours(match[2], f"crew_hours: {name}")
            found[name.casefold()] = Member(name, weekly)
            lines.append(f"{name}: {kept}")
    if len(found) > MOST_PEOPLE:
        noted.add(BadInput(f"more than {MOST_PEOPLE} people", where="crew_hours", found=len(found)))
    noted.check()
    return tuple(found.values()), "; ".join(lines)


# --- pieces of text --------------------------------------------------------------------------------------------------


def _parts(text: str, mark: str, where: str) -> list[str]:
    if len(text) > LONGEST or not text.isprintable():
        raise BadInput("too long, or not plain text", where=where, found=text)
    parts = [" ".join(part.split()) for part in text.split(mark)]
    if parts == [""]:
        return []
    if "" in parts:
        raise BadInput(f"nothing between two marks ({mark})", where=where, found=text)
    return parts


def _weekdays(text: str, where: str) -> tuple[list[int], str]:
    words = [word.strip().lower() for word in re.split("[-–]", text)]
    if words in (["daily"], ["everyday"]):
        return list(range(7)), "daily"
    numbers = [_weekday(word, text, where) for word in words]
    first, last = numbers[0], numbers[-1]
    row = [(first + n) % 7 for n in range((last - first) % 7 + 1)]
    return row, "-".join(DAYS[number] for number in dict.fromkeys(numbers))


def _weekday(word: str, text: str, where: str) -> int:
    full = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    for number, name in enumerate(full):
        if len(word) >= 3 and name.startswith(word):
            return number
    raise BadInput("no such day", where=where, found=text, remedy="use Mon, Tue, Wed, Thu, Fri, Sat, Sun or daily")


def _row_of_days(part: str) -> list[date]:
    """ "2026-12-24", or "2026-12-24..2026-12-26" """
    match = re.fullmatch(rf"{_DATE}(?:\s*\.\.\s*{_DATE})?", part)
    if match is None:
        raise BadInput("no day, and no row of days", where="away", found=part, remedy=AWAY_LIKE)
    first = _date(match[1], "away")
    last = _date(match[2], "away") if match[2] else first
    if last < first:
        raise BadInput("ends before it begins", where="away", found=part, remedy=f"write {last}..{first}")
    if (last - first).days >= MOST_DAYS:
        raise BadInput("longer than a year", where="away", found=part, remedy="name the days themselves")
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def _date(text: str, where: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadInput("no such day", where=where, found=text, remedy="write it like 2026-12-24") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise BadInput("a day far away", where=where, found=text, remedy=f"use years from {FIRST_YEAR} to {LAST_YEAR}")
    return day
