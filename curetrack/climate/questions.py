"""The three things that a logger's file may leave open: the order of day and month, the unit, the column.

Nothing is guessed: what the file itself settles is taken, all else is asked, with a proposal if one answer is likely.
"""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from msgspec import Struct

from curetrack.climate.blocks import text_blocks
from curetrack.climate.cells import clean, read_number
from curetrack.climate.dates import EPOCH_DAY, ORDERS, Order, Weighed, is_numeric, parse_day, weigh_orders
from curetrack.climate.headings import TempUnit
from curetrack.climate.layout import Stamps, to_degC
from curetrack.climate.sniff import Table, split_lines
from curetrack.errors import BadInput

__all__ = [
    "ORDER_NAMES", "UNITS", "Question", "Settled", "Survey", "ask_column", "settle_order", "settle_unit", "sign",
    "survey", "unit_by_values",
]  # fmt: skip

ORDER_NAMES: dict[Order, str] = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
UNITS: tuple[TempUnit, ...] = ("C", "F", "K")
ERROR_CODES = (-60.0, 150.0)  # numbers outside are a sensor's way to say that it failed; they tell nothing of the unit
HOT_SHOP_C, HOT_SLAB_C = 45.0, 60.0
COLD_SHOP_F, FREEZING_F = 5.0, 32.0
COLDEST_K = 230.0


class Question(Struct, frozen=True):
    """One thing to be asked: `what` is "dates", "unit" or "column", `choices` are the answers as they are to be given.

    `proposed` is the likely answer, or None; it is never taken without being asked. `preview` shows what the choices
    would make of the file, one line or more for each.
    """

    what: str
    choices: tuple[str, ...]
    why: str
    preview: tuple[str, ...]
    proposed: str | None = None


class Settled(Struct, frozen=True):
    """An answer with the reason for it, or the question that stands in its place."""

    value: str | None
    reason: str
    question: Question | None = None


class Survey(Struct, frozen=True):
    """All numeric dates of a file in its order (repeats left out), its first and last instant as written, and the
    lowest and highest number of the temperature."""

    dates: tuple[str, ...]
    first: str
    last: str
    low: float | None
    high: float | None


def survey(text: str, table: Table, stamps: Stamps, temp: int) -> Survey:
    """One look through the whole file; needed only if it leaves something open."""
    dates: list[str] = []
    first = last = day_before = ""
    texts: set[str] = set()
    for cells in _rows(text, table, max(stamps.date, stamps.clock, temp)):
        day, written = _day_text(cells, stamps)
        if day != day_before:
            day_before = day
            if is_numeric(clean(day)):
                dates.append(clean(day))
        if dates:
            first, last = first or written, written
        texts.add(cells[temp])
    numbers = [number for number in map(_plain_number, texts) if number is not None]
    return Survey(tuple(dates), first, last, min(numbers, default=None), max(numbers, default=None))


def _rows(text: str, table: Table, highest: int) -> Iterator[list[str]]:
    for block in text_blocks(text, table.skip):
        for cells in split_lines(block.split("\n"), table.separator):
            if len(cells) > highest:
                yield cells


def _day_text(cells: list[str], stamps: Stamps) -> tuple[str, str]:
    """The date and the whole instant as written."""
    if stamps.style == "pair":
        return cells[stamps.date], f"{cells[stamps.date].strip()} {cells[stamps.clock].strip()}"
    text = cells[stamps.date]
    day = text.partition(stamps.divider)[0] if stamps.divider else text.strip().partition(" ")[0].rstrip(",")
    return day, text.strip()


def _plain_number(text: str) -> float | None:
    """The number of a cell without a unit of its own."""
    try:
        number, suffix = read_number(clean(text))
    except ValueError:
        return None
    plausible = ERROR_CODES[0] <= number <= ERROR_CODES[1] or COLDEST_K <= number <= 360.0
    return number if not suffix and plausible else None


def settle_order(seen: Survey, told: str | None, today: int, pour_day: int | None) -> Settled:
    """Whether the day or the month comes first, for the whole file.

    In this order: what was told; a day above 12 (then only one order makes dates of all); both orders make the same
    days. Else it is asked, and the order that has least against it (see `weigh_orders`) is proposed. Raises BadInput if
    no order makes dates of all, or if the one that was told does not.
    """
    if told is not None:
        return Settled(_told_order(seen, told), "as told")
    dates = [text for text in seen.dates if any(_exists(text, order) for order in ORDERS)]
    weighed = weigh_orders(dates, today, pour_day)
    if not weighed:
        raise BadInput(
            "dates that fit no common order", found=_clash(dates),
            remedy="export the file again with one way of writing dates, best 2026-02-03",
        )  # fmt: skip
    if len(weighed) == 1:
        both = all(_exists(text, order) for text in dates for order in ORDERS[:2])
        return Settled(weighed[0].order, "day and month are the same" if both else "by a day above 12")
    return Settled(None, "asked", _ask_order(dates, weighed, seen))


def _ask_order(dates: list[str], weighed: tuple[Weighed, ...], seen: Survey) -> Question:
    fewest = min(len(each.faults) for each in weighed)
    best = [each.order for each in weighed if len(each.faults) == fewest]
    against = "; ".join(f"{ORDER_NAMES[each.order]}: {', '.join(each.faults)}" for each in weighed if each.faults)
    return Question(
        "dates", tuple(each.order for each in weighed),
        f"{dates[0]} can be read in more than one way; {against or 'nothing tells them apart'}",
        tuple(_show_order(each, seen) for each in weighed), best[0] if len(best) == 1 else None,
    )  # fmt: skip


def _told_order(seen: Survey, told: str) -> Order:
    order = next((each for each in ORDERS if each == told), None)
    if order is None:
        raise BadInput("unknown order of dates", found=told, remedy="use dmy, mdy or ymd")
    wrong = next((text for text in seen.dates if not _exists(text, order)), None)
    if wrong is not None and any(_exists(wrong, each) for each in ORDERS):
        raise BadInput(f"the dates are not {ORDER_NAMES[order]}", found=wrong, remedy="give another order, or none")
    return order


def _exists(text: str, order: Order) -> bool:
    try:
        parse_day(text, order)
    except ValueError:
        return False
    return True


def _clash(dates: list[str]) -> str:
    odd = {order: next((text for text in dates if not _exists(text, order)), None) for order in ORDERS[:2]}
    return " and ".join(text for text in odd.values() if text)


def _show_order(weighed: Weighed, seen: Survey) -> str:
    steps = [abs(after - before) for before, after in pairwise(weighed.days)]
    near, far = min(steps, default=0), max(steps, default=0)
    apart = f", {near} to {far} days apart" if near < far else f", {far} day{'s' * (far > 1)} apart" if far else ""
    count = len(set(weighed.days))
    return (
        f"{weighed.order} ({ORDER_NAMES[weighed.order]}): {seen.first} is {_show_day(weighed.days[0])}, "
        f"{seen.last} is {_show_day(weighed.days[-1])}; {count} day{'s' * (count > 1)}{apart}"
    )


def _show_day(day: int) -> str:
    return date.fromordinal(day + EPOCH_DAY).strftime("%a %d %b %Y")


def settle_unit(table: Table, temp: int, told: str | None) -> Settled | None:
    """The unit of the temperatures that have none beside them, or None if only the values can tell (`unit_by_values`).

    In this order: what was told; the heading; units beside the values. Raises BadInput if what was told is no unit.
    """
    heading = table.headings[temp].temp_unit if table.headings else None
    if told is not None:
        unit = _told_unit(told)
        though = f", though the heading says {sign(heading)}" if heading not in {None, unit} else ""
        return Settled(unit, "as told" + though)
    if heading is not None:
        return Settled(heading, "by the heading")
    beside = [read_number(text)[1] for text, kind in table.column(temp) if kind == "number"]
    return Settled(beside[0], "beside the values") if beside and all(unit in UNITS for unit in beside) else None


def _told_unit(told: str) -> TempUnit:
    letter = told.strip().upper().removeprefix("°").removeprefix("DEG")
    unit = next((each for each in UNITS if each == letter), None)
    if unit is None:
        raise BadInput("unknown unit of temperature", found=told, remedy="use C or F")
    return unit


def unit_by_values(seen: Survey, place: str) -> Settled:
    """The unit that the range of all values of a file leaves (common practice, no source).

    Kelvin from 230 on. Fahrenheit if all is above 45 (no shop is so warm all the time in Celsius), or if anything is
    above 60 and nothing below 5. Celsius, but not outside, if nothing is above 45 and either all is below 32 or
    something below 5: in Fahrenheit that would be frozen all the time, or 15 degrees of frost in Celsius, and nobody
    casts in that. What is left, mostly 32 to 45, is a hot shop in Celsius or a cold one in Fahrenheit: asked.
    """
    low, high = seen.low, seen.high
    if low is None or high is None:
        return Settled("C", "there is no number without a unit")
    reason = f"by the values, {low:g} to {high:g}"
    if low >= COLDEST_K:
        return Settled("K", reason)
    if low > HOT_SHOP_C or (high > HOT_SLAB_C and low >= COLD_SHOP_F):
        return Settled("F", reason)
    if high <= HOT_SHOP_C and (low < COLD_SHOP_F or high < FREEZING_F) and place != "outside":
        return Settled("C", reason)
    question = Question(
        "unit", ("C", "F"), f"no unit is given, and {low:g} to {high:g} may be Celsius or Fahrenheit",
        (f"C: {low:g} to {high:g} °C", f"F: {to_degC(low, 'F'):.1f} to {to_degC(high, 'F'):.1f} °C"),
    )  # fmt: skip
    return Settled(None, "asked", question)


def sign(unit: str | None) -> str:
    """The unit as people write it."""
    return "K" if unit == "K" else f"°{unit}"


def ask_column(table: Table, columns: list[int]) -> Question:
    """Which of several temperatures to take. The first rows of each are the preview."""
    numbers = [[text for text, kind in table.column(index) if kind == "number"][:3] for index in columns]
    names = tuple(table.name(index) for index in columns)
    if len({name.casefold() for name in names}) < len(names):  # the same heading twice: then by number
        names = tuple(str(index + 1) for index in columns)
    why = "several columns may be the temperature" if table.headings else "there are no headings over several numbers"
    return Question(
        "column", names, f"{why}; or leave only one, under the heading temp_degC",
        tuple(f"{name}: {', '.join(some)}" for name, some in zip(names, numbers, strict=True)),
    )  # fmt: skip
