"""The day in a typed time: words, weekdays, names of months, ISO dates. Figures whose order is open are refused."""

import re
from datetime import date, datetime, time, timedelta
from typing import Literal

from msgspec import Struct

from curetrack.errors import BadInput

__all__ = ["Recurring", "Toward", "day_of"]

Toward = Literal["past", "future", "any"]  # any: an hour alone is today's, days that recur are past ones

_WORDS = {"yesterday": -1, "today": 0, "tomorrow": 1}
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMES = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[t\s]+(.*))?")
_FIGURES = re.compile(r"(\d{1,4})\s*([/.\-])\s*(\d{1,2})\s*\2\s*(\d{1,4})\b\s*(.*)")
_NAMED = re.compile(
    r"(?:(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]+)|([a-z]+)\.?\s+(\d{1,2})(?:st|nd|rd|th)?)(?![:\d])"
    r"\.?,?(?:\s+(\d{4})\b)?,?\s*(.*)"
)


class Recurring(Struct, frozen=True):
    """A day that comes again: a weekday (0 is Monday), or a day of a month."""

    weekday: int | None = None
    month: int = 0
    day: int = 0

    def pick(self, clock: time, here: datetime, toward: Toward) -> date:
        """The nearest such day whose hour lies on the wanted side of `here` (naive local time)."""
        days = self._days(here.date())
        if toward == "future":
            return min(day for day in days if datetime.combine(day, clock) > here)
        return max(day for day in days if datetime.combine(day, clock) <= here)

    def _days(self, today: date) -> list[date]:
        if self.weekday is not None:
            shift = self.weekday - today.weekday()
            return [today + timedelta(days=shift + 7 * week) for week in (-2, -1, 0, 1, 2)]
        years = range(today.year - 8, today.year + 9)  # 29 February may be eight years off
        return [date(year, self.month, self.day) for year in years if _exists(year, self.month, self.day)]


def day_of(words: str, today: date, text: str, where: str) -> tuple[date | Recurring | None, str] | None:
    """The day that lower-case words begin with, and the rest; (None, words) if there is no day; None: not readable."""
    head, _, rest = words.partition(" ")
    head = head.rstrip(".,")
    if head in _WORDS:
        return today + timedelta(days=_WORDS[head]), rest
    if head in _DAYS or head in _DAY_NAMES:
        weekday = _DAYS.index(head[:3])
        named = _NAMED.fullmatch(rest)
        dated = _named(named, text, where) if named else None
        if dated is not None and dated[0] is not None:  # as our own screens write it: Sat 12 Dec 10:30
            _check_weekday(dated[0], weekday, text, where)
            return dated
        return Recurring(weekday), rest
    if iso := _ISO.fullmatch(words):
        return _date(int(iso[1]), int(iso[2]), int(iso[3]), text, where), iso[4] or ""
    if figures := _FIGURES.fullmatch(words):
        raise _order(figures, text, where)
    if named := _NAMED.fullmatch(words):
        return _named(named, text, where)
    return None, words


def _named(match: re.Match[str], text: str, where: str) -> tuple[date | Recurring | None, str] | None:
    day, name = int(match[1] or match[4]), match[2] or match[3]
    if name not in _MONTHS and name not in _MONTH_NAMES:
        return (None, match[0])
    month = _MONTHS.index(name[:3]) + 1
    if match[5]:
        return _date(int(match[5]), month, day, text, where), match[6]
    _date(2024, month, day, text, where)  # a leap year, so that 29 Feb is a day
    return Recurring(None, month, day), match[6]


def _check_weekday(day: date | Recurring, weekday: int, text: str, where: str) -> None:
    """With a year, the day of the week has to be the right one."""
    if isinstance(day, date) and day.weekday() != weekday:
        raise BadInput(
            f"that is a {_DAYS[day.weekday()].capitalize()}", where=where, found=text,
            remedy="leave the day of the week out, or take another day",
        )  # fmt: skip


def _date(year: int, month: int, day: int, text: str, where: str) -> date:
    if not 2000 <= year <= 2199:
        raise BadInput("a year from 2000 to 2199 is wanted", where=where, found=text, remedy="write 2026-01-10 10:00")
    if not _exists(year, month, day):
        raise BadInput("no such day", where=where, found=text, remedy="write year-month-day, as in 2026-01-10")
    return date(year, month, day)


def _exists(year: int, month: int, day: int) -> bool:
    try:
        date(year, month, day)
    except ValueError:
        return False
    return True


def _order(match: re.Match[str], text: str, where: str) -> BadInput:
    """The error for figures with slashes or dots: the choices."""
    first, second, third = int(match[1]), int(match[3]), int(match[4])
    if len(match[1]) == 4:
        year, orders = first, [(second, third)]
    else:
        year, orders = third + (2000 if third < 100 else 0), [(second, first), (first, second)]
    rest = f" {match[5]}" if match[5] else ""
    choices = [f"{year:04}-{month:02}-{day:02}{rest}" for month, day in orders if _exists(year, month, day)]
    shown = " or ".join(dict.fromkeys(choices)) or "2026-01-10 10:00"
    return BadInput("the order of day and month is not certain", where=where, found=text, remedy=f"write {shown}")
