"""Dates and times of day as loggers write them, and the one question about them: is the day or the month first?

A date like 03/02/2026 is never read on its own. The order is settled for the whole file (`weigh_orders`), else single
rows would swap silently on the first twelve days of each month.
"""

import re
from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Literal

from msgspec import Struct

__all__ = [
    "DAY_MS", "EPOCH_DAY", "HOUR_MS", "ORDERS", "Order", "Weighed", "is_numeric", "parse_day", "parse_tail",
    "split_stamp", "weigh_orders",
]  # fmt: skip

Order = Literal["dmy", "mdy", "ymd"]
ORDERS: tuple[Order, ...] = ("dmy", "mdy", "ymd")
HOUR_MS, DAY_MS = 3_600_000, 86_400_000
EPOCH_DAY = date(1970, 1, 1).toordinal()
MONTH_APART = 20  # days; rows of one file so far apart look like a month taken for a day
NEAR_POUR = 7  # days; a file for a piece begins at most so long after its pour
OLDEST = 3653  # days; no file of a cure is ten years old

_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})|([0-9]{4})([0-9]{2})([0-9]{2})")
_NUMERIC = re.compile(r"([0-9]{1,2})(?:[-/]|\.\s?)([0-9]{1,2})(?:[-/]|\.\s?)([0-9]{4}|[0-9]{2})\.?")
_DAY_NAMED = re.compile(r"([0-9]{1,2})[-. ]{1,2}([^\W\d_]{3,})[-., ]{1,2}([0-9]{4}|[0-9]{2})")
_NAMED_DAY = re.compile(r"([^\W\d_]{3,})[-. ]{1,2}([0-9]{1,2})(?:,\s?|[-. ])([0-9]{4})")
_TAIL = re.compile(
    r"(?:([0-9]{1,2})[:.h]([0-9]{2})(?:[:.]([0-9]{2})(?:[.,]([0-9]{1,9}))?)?|([0-9]{2})([0-9]{2})([0-9]{2})?)"
    r"\s*(?:([ap])\.?\s?m\.?)?\s*(z|utc|gmt)?\s*([+-][0-9]{2}(?::?[0-9]{2})?)?",
    re.IGNORECASE,
)
_STAMP = re.compile(r"(.*?[0-9]\.?)(?:T|,?\s+)([0-9]{1,2}[:.h][0-9]{2}.*|[0-9]{4}(?:[0-9]{2})?(?:Z|[+-][0-9]{2}.*)?)")

# The letters that tell a month apart: English, German, French, Spanish, Italian, Portuguese, Dutch.
_MONTHS = {
    name: month
    for month, names in enumerate(
        (
            "jan ene gen", "feb fév fev", "mar mär mrt maa", "apr avr abr", "may mai mei mag", "jun juin giu",
            "jul juil lug", "aug aoû aou ago", "sep set", "oct okt ott out", "nov", "dec dez déc dic",
        ),
        start=1,
    )
    for name in names.split()
}  # fmt: skip


def is_numeric(text: str) -> bool:
    """Whether the text is a date of three numbers that does not begin with the year, like 03/02/2026 or 3.2.26."""
    return _NUMERIC.fullmatch(text) is not None and _YEAR_FIRST.fullmatch(text) is None


def parse_day(text: str, order: Order | None = None) -> int:
    """Days since 1970-01-01 of a date: year first, with a month's name, or three numbers in the given order.

    Two digits of a year mean 20xx. Raises ValueError if it is no date, or a numeric one while no order is given.
    """
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = (found[1], found[3], found[4]) if found[1] else (found[5], found[6], found[7])
        return _day(int(year), int(month), int(day))
    if found := _NUMERIC.fullmatch(text):
        if order is None:
            raise ValueError(f"the order of {text!r} is not known")
        place = {letter: found[index + 1] for index, letter in enumerate(order)}
        return _day(_year(place["y"]), int(place["m"]), int(place["d"]))
    if found := _DAY_NAMED.fullmatch(text):
        return _day(_year(found[3]), _month(found[2]), int(found[1]))
    if found := _NAMED_DAY.fullmatch(text):
        return _day(_year(found[3]), _month(found[1]), int(found[2]))
    raise ValueError(f"{text!r} is no date")


def _day(year: int, month: int, day: int) -> int:
    return date(year, month, day).toordinal() - EPOCH_DAY


def _year(digits: str) -> int:
    if len(digits) == 4:
        return int(digits)
    if len(digits) == 2:
        return 2000 + int(digits)
    raise ValueError(f"{digits!r} is no year")


def _month(name: str) -> int:
    letters = name.lower()
    month = _MONTHS.get(letters[:4]) or _MONTHS.get(letters[:3])
    if month is None:
        raise ValueError(f"{name!r} is no month")
    return month


def parse_tail(text: str) -> tuple[int, int | None]:
    """A time of day as (milliseconds since midnight, offset from UTC in milliseconds or None if none is written).

    18:00, 18:00:00.5, 18.00, 18h00, 6:00 PM, 180000, with Z, UTC, +01:00, -0500 behind. 24:00 is the end of the day.
    Raises ValueError.
    """
    found = _TAIL.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no time of day")
    hour, minute, second = int(found[1] or found[5]), int(found[2] or found[6]), int(found[3] or found[7] or 0)
    if found[8]:
        if not 1 <= hour <= 12:
            raise ValueError(f"{text!r} is no time of day")
        hour = hour % 12 + (12 if found[8] in "pP" else 0)
    ms = ((hour * 60 + minute) * 60 + second) * 1000 + round(float(f"0.{found[4] or 0}") * 1000)
    if minute > 59 or second > 59 or ms > DAY_MS:
        raise ValueError(f"{text!r} is no time of day")
    offset = _offset_ms(found[10]) if found[10] else 0
    return ms, (offset if found[9] or found[10] else None)


def _offset_ms(text: str) -> int:
    digits = text[1:].replace(":", "").ljust(4, "0")
    hours, minutes = int(digits[:2]), int(digits[2:])
    if hours > 14 or minutes > 59:
        raise ValueError(f"{text!r} is no offset from UTC")
    return (-1 if text[0] == "-" else 1) * (hours * 60 + minutes) * 60_000


def split_stamp(text: str) -> tuple[str, str]:
    """The date and the time of day of a cell that holds both. Raises ValueError."""
    found = _STAMP.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no date with a time of day")
    return found[1], found[2]


class Weighed(Struct, frozen=True):
    """One possible order: the days it makes of the file's dates (in the order of the file), and what speaks against."""

    order: Order
    days: tuple[int, ...]
    faults: tuple[str, ...]


def weigh_orders(dates: Sequence[str], today: int, pour_day: int | None = None) -> tuple[Weighed, ...]:
    """The orders in which every numeric date of the file exists, each with what speaks against it.

    A day above 12 leaves one order; orders that make the same days of the whole file count as one. Year-first (for
    26/02/03) is thought of only if neither of the others ends within the ten years before today. What speaks against
    an order: days in the future of `today`, days that run to and fro, gaps of a month, a file that does not begin near
    the pour, a file of long ago. Weighing is not deciding: while two are left, the maker is asked.
    """
    usual = [weighed for order in ORDERS[:2] if (weighed := _weigh(dates, order, today, pour_day))]
    if not any(today - OLDEST <= weighed.days[-1] for weighed in usual):
        year_first = _weigh(dates, "ymd", today, pour_day)
        usual += [year_first] if year_first else []
    different: dict[tuple[int, ...], Weighed] = {}
    for weighed in usual:
        different.setdefault(weighed.days, weighed)
    return tuple(different.values())


def _weigh(dates: Sequence[str], order: Order, today: int, pour_day: int | None) -> Weighed | None:
    try:
        days = tuple(parse_day(text, order) for text in dates)
    except ValueError:
        return None
    return Weighed(order, days, tuple(_faults(days, today, pour_day)))


def _faults(days: tuple[int, ...], today: int, pour_day: int | None) -> list[str]:
    steps = [after - before for before, after in pairwise(days)]
    ahead, widest = sum(day > today for day in days), max((abs(step) for step in steps), default=0)
    faults = []
    if ahead:
        faults.append(f"{ahead} of {len(days)} days in the future" if len(days) > 1 else "the day is in the future")
    if min(steps, default=0) < 0 < max(steps, default=0):
        faults.append("days that run to and fro")
    if widest >= MONTH_APART:
        faults.append(f"days up to {widest} days apart")
    if pour_day is not None and not (min(days) <= pour_day + NEAR_POUR and max(days) >= pour_day):
        faults.append("not near the pour")
    if max(days) < today - OLDEST:
        faults.append("long ago")
    return faults
