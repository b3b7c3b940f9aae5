"""Which column of a logger's file is what: the time, the temperature of the wanted place, humidity and wind."""

from datetime import UTC, timedelta, timezone, tzinfo
from typing import Literal

from msgspec import Struct

from curetrack.climate.cells import Kind, read_number
from curetrack.climate.dates import Order, is_numeric, parse_tail, split_stamp
from curetrack.climate.headings import WIND_FACTORS, Role, TempUnit
from curetrack.climate.sniff import EPOCH_MS, EPOCH_S, SHEET_DAYS, Table
from curetrack.errors import BadInput, UnknownName

__all__ = ["Layout", "Stamps", "find_others", "find_stamps", "find_temperatures", "to_degC"]

Style = Literal["joined", "pair", "epoch_s", "epoch_ms", "sheet"]
MOSTLY = 0.8  # of a column's cells must be times for it to be the time; the rest may be broken lines
HALF = 0.5  # of a column's cells must be numbers, or say that there is none, for it to be a measurement
SAME_K = 0.6  # K; columns that differ by no more show one sensor in several units or resolutions


class Stamps(Struct, frozen=True):
    """How a file writes its instants.

    joined: one cell, date and time of day divided by `divider` ("T", " ", or "" where that takes a search); pair: two
    cells; epoch_s, epoch_ms: since 1970 UTC; sheet: days of a spreadsheet, local. `written`: an offset stands behind
    each time. `zone`: that of the heading, else that of the shop. `numeric`: the order of day and month is needed.
    """

    style: Style
    date: int
    clock: int
    divider: str
    written: bool
    numeric: bool
    zone: tzinfo
    zone_in_heading: bool = False


class Layout(Struct, frozen=True):
    """All that is needed to turn the lines of a file into readings; -1 stands for a column that is not there."""

    separator: str
    skip: int
    stamps: Stamps
    order: Order | None
    temp: int
    temp_unit: TempUnit  # of numbers that have no unit of their own
    humidity: int
    wind: int
    wind_factor: float
    step_ms: int  # usual step from row to row; below 0: newest first
    now_ms: int


def find_stamps(table: Table, zone: tzinfo) -> Stamps:
    """The columns of the time: those whose heading means time, is no text, or that stand in a file without headings.

    Several: an offset beside each time comes first, then seconds since 1970, a zone in the heading, one cell with
    date and time, two cells, spreadsheet days. Raises BadInput with what was seen.
    """
    columns = [index for index in range(table.width) if _role(table, index) in {"time", "blank"}]
    found = [stamps for index in columns if (stamps := _one_cell(table, index, zone))]
    found += _two_cells(table, columns, zone)
    if not found:
        raise _no_time(table, columns)
    return min(found, key=_preference)


def _role(table: Table, index: int) -> Role:
    return table.headings[index].role if table.headings else "blank"


def _share(table: Table, index: int, kind: Kind) -> float:
    kinds = [each for _, each in table.column(index)]
    return kinds.count(kind) / len(kinds) if kinds else 0.0


def _zone(table: Table, index: int, zone: tzinfo) -> tuple[tzinfo, bool]:
    offset_ms = table.headings[index].offset_ms if table.headings else None
    if offset_ms is None:
        return zone, False
    return (timezone(timedelta(milliseconds=offset_ms)) if offset_ms else UTC), True


def _one_cell(table: Table, index: int, zone: tzinfo) -> Stamps | None:
    own_zone, in_heading = _zone(table, index, zone)
    if _share(table, index, "stamp") >= MOSTLY:
        texts = [text for text, kind in table.column(index) if kind == "stamp"]
        parts = [split_stamp(text) for text in texts]
        return Stamps(
            "joined", index, -1, _divider(texts), _all_written([tail for _, tail in parts]),
            any(is_numeric(day) for day, _ in parts), own_zone, in_heading,
        )  # fmt: skip
    style = _number_style(table, index)
    return Stamps(style, index, -1, "", style != "sheet", False, own_zone, in_heading) if style else None


def _number_style(table: Table, index: int) -> Style | None:
    if _share(table, index, "number") < MOSTLY:
        return None
    numbers = [read_number(text)[0] for text, kind in table.column(index) if kind == "number"]
    ranges: tuple[tuple[Style, tuple[float, float]], ...] = (
        ("epoch_s", EPOCH_S), ("epoch_ms", EPOCH_MS), ("sheet", SHEET_DAYS),
    )  # fmt: skip
    return next((style for style, (low, high) in ranges if all(low <= n <= high for n in numbers)), None)


def _two_cells(table: Table, columns: list[int], zone: tzinfo) -> list[Stamps]:
    days = [index for index in columns if _share(table, index, "date") >= MOSTLY]
    clocks = [index for index in columns if _share(table, index, "clock") >= MOSTLY]
    if not days or not clocks:
        return []
    day, clock = days[0], clocks[0]
    own_zone, in_heading = _zone(table, clock, zone)
    if not in_heading:
        own_zone, in_heading = _zone(table, day, zone)
    numeric = any(is_numeric(text) for text, kind in table.column(day) if kind == "date")
    written = _all_written([text for text, kind in table.column(clock) if kind == "clock"])
    return [Stamps("pair", day, clock, "", written, numeric, own_zone, in_heading)]


def _divider(texts: list[str]) -> str:
    """T or a space, if the first one divides date and time in every cell."""
    for mark in "T ":
        if all(mark in text and tuple(text.split(mark, 1)) == split_stamp(text) for text in texts):
            return mark
    return ""


def _all_written(tails: list[str]) -> bool:
    return all(parse_tail(tail)[1] is not None for tail in tails)


def _preference(stamps: Stamps) -> tuple[bool, bool, bool, int]:
    dated = stamps.style in {"joined", "pair"}
    rank = ("joined", "pair", "epoch_s", "epoch_ms", "sheet").index(stamps.style)
    return not (dated and stamps.written), stamps.style not in {"epoch_s", "epoch_ms"}, not stamps.zone_in_heading, rank


def _no_time(table: Table, columns: list[int]) -> BadInput:
    seen = ", ".join(table.name(index) for index in range(table.width))[:120]
    remedy = "give the column the heading time (date, Datum, fecha ... are known too) and write 2026-02-03T18:00"
    if any(_share(table, index, "date") >= MOSTLY for index in columns):
        return BadInput("dates without a time of day", found=seen, remedy=remedy)
    if any(_share(table, index, "clock") >= MOSTLY for index in columns):
        return BadInput("times of day without a date", found=seen, remedy=remedy)
    hidden = next((i for i in range(table.width) if _share(table, i, "stamp") >= MOSTLY), None)
    hint = f"{table.name(hidden)!r} looks like it, but is not so named; " if hidden is not None else ""
    return BadInput("no column of times among the headings", found=seen, remedy=hint + remedy)


def find_temperatures(table: Table, stamps: Stamps, place: str, column: str | None) -> list[int]:
    """The columns that may be the wanted temperature, best known first; more than one: the maker has to choose.

    By `column` (a heading, or a number from 1), else all whose heading means temperature and that hold numbers, without
    dew points, set points and the like, nor lowest and highest values if others are left. Of several those named for
    the place; of columns that show the same (within 0.6 K) the one with the finest numbers. Without headings every
    column of numbers may be it. Raises BadInput with what was seen.
    """
    rest = [index for index in range(table.width) if index not in {stamps.date, stamps.clock}]
    if column is not None:
        return [_chosen(table, column, rest)]
    named = [index for index in rest if _role(table, index) in ({"temp"} if table.headings else {"blank"})]
    found = [index for index in named if _is_number_column(table, index)]
    if not found:
        seen = ", ".join(table.name(index) for index in range(table.width))[:120]
        raise BadInput(
            "no column of temperatures among the headings", found=seen,
            remedy="give the column the heading temp_degC or temp_degF (Temperatur, temperatura ... are known too)",
        )  # fmt: skip
    if table.headings:
        found = [index for index in found if not table.headings[index].extreme] or found
        found = [index for index in found if table.headings[index].place == place] or found
    return _finest(table, found) if len(found) > 1 and table.headings else found


def _chosen(table: Table, column: str, rest: list[int]) -> int:
    for index in rest:
        if column.strip().casefold() in {table.name(index).casefold(), str(index + 1)}:
            return index
    raise UnknownName("column", column, [table.name(index) for index in rest])


def _is_number_column(table: Table, index: int) -> bool:
    return _share(table, index, "number") + _share(table, index, "missing") >= HALF


def _finest(table: Table, columns: list[int]) -> list[int]:
    """The one with most decimals (degrees Celsius first among equals), if all show the same temperature; else all."""
    for row in table.sample:
        values = [_degC(table, index, row) for index in columns]
        known = [value for value in values if value is not None]
        if known and max(known) - min(known) > SAME_K:
            return columns

    def fineness(index: int) -> tuple[int, bool]:
        texts = [text.replace(",", ".") for text, kind in table.column(index) if kind == "number"]
        return max((len(text.partition(".")[2]) for text in texts), default=0), table.headings[index].temp_unit == "C"

    return [max(columns, key=fineness)]


def _degC(table: Table, index: int, row: tuple[str, ...]) -> float | None:
    text = row[index] if index < len(row) else ""
    try:
        number, suffix = read_number(text)
    except ValueError:
        return None
    return to_degC(number, suffix or table.headings[index].temp_unit or "C")


def to_degC(number: float, unit: str) -> float:
    """Degrees Celsius of a number in C, F or K, to 0.0001: finer than any logger, coarser than the dust of floats."""
    if unit == "C":
        return number
    return round((number - 32.0) * 5.0 / 9.0 if unit == "F" else number - 273.15, 4)


def find_others(table: Table, stamps: Stamps, temp: int, place: str) -> tuple[int, int, float]:
    """The columns of humidity and wind (-1: none), and the factor from the wind's unit to m/s.

    Of several the one named for the place, else the first. Wind without a unit is left out: it would be a guess.
    """
    if not table.headings:
        return -1, -1, 1.0
    humidity = _best(table, [i for i in _named(table, "humidity") if i not in {stamps.date, stamps.clock, temp}], place)
    wind = _best(table, [i for i in _named(table, "wind") if table.headings[i].wind_unit], place)
    factor = WIND_FACTORS[table.headings[wind].wind_unit or "m/s"] if wind >= 0 else 1.0
    return humidity, wind, factor


def _named(table: Table, role: Role) -> list[int]:
    return [i for i, heading in enumerate(table.headings) if heading.role == role and _is_number_column(table, i)]


def _best(table: Table, columns: list[int], place: str) -> int:
    usual = [index for index in columns if not table.headings[index].extreme] or columns
    near = [index for index in usual if table.headings[index].place == place] or usual
    return near[0] if near else -1
