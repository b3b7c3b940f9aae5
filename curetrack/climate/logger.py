"""Reading the file of a temperature logger, whatever it looks like: bytes or text in, readings and open questions out.

Nothing is guessed that could move a step by a day or a degree: what the file leaves open becomes a question, and no
row is ever given the time of now. `read_logger` is for usual files; for very long ones `open_logger` settles the
questions and `OpenLogger.batches` gives the readings bit by bit.
"""

from collections.abc import Iterator
from datetime import datetime, tzinfo
from itertools import pairwise
from statistics import median_low

from msgspec import Struct

from curetrack.climate.cells import read_number
from curetrack.climate.dates import DAY_MS, EPOCH_DAY, HOUR_MS, ORDERS, Order, parse_day, parse_tail, split_stamp
from curetrack.climate.headings import TempUnit
from curetrack.climate.layout import Layout, Stamps, find_others, find_stamps, find_temperatures
from curetrack.climate.questions import (
    ORDER_NAMES,
    UNITS,
    Question,
    Settled,
    ask_column,
    settle_order,
    settle_unit,
    sign,
    survey,
    unit_by_values,
)
from curetrack.climate.rows import Row, iter_rows
from curetrack.climate.sniff import Table, decode, sniff
from curetrack.climate.tally import Tally
from curetrack.climate.understood import describe_columns, describe_rows, describe_table, describe_zone
from curetrack.errors import BadInput

__all__ = ["LoggerRead", "OpenLogger", "Question", "Row", "open_logger", "read_logger"]


class LoggerRead(Struct, frozen=True):
    """A file that was read. With `questions` there are no rows: answer them and read again.

    rows        (at_ms UTC, temp_degC, humidity_pct, wind_m_s), oldest first, each instant once
    understood  (label, text): encoding, separator, columns, dates, unit, zone, rows used and skipped, coverage
    signature   the same for all files of one device with the same settings, to remember answers by
    """

    rows: list[Row]
    understood: tuple[tuple[str, str], ...]
    questions: tuple[Question, ...]
    signature: str


class OpenLogger(Struct, frozen=True):
    """A file of which the outside is understood. `layout` is None while there are questions."""

    text: str
    layout: Layout | None
    understood: tuple[tuple[str, str], ...]
    questions: tuple[Question, ...]
    signature: str
    zone: tzinfo
    where: str = ""

    @property
    def line_count(self) -> int:
        """Lines of the file; `Tally.lines` of those are done."""
        return self.text.count("\n") + (not self.text.endswith("\n"))

    def batches(self, tally: Tally) -> Iterator[list[Row]]:
        """The readings in the order of the file, about a thousand at a time. `tally` grows on the way."""
        if self.layout is None:
            raise ValueError("the questions come first")
        return self._batches(self.layout, tally)

    def _batches(self, layout: Layout, tally: Tally) -> Iterator[list[Row]]:
        try:
            yield from iter_rows(self.text, layout, tally)
        except BadInput as error:
            raise _placed(error, self.where) from None

    def report(self, tally: Tally, merged: int = 0) -> tuple[tuple[str, str], ...]:
        """All that was understood, once the batches are through; `merged` rows were the same instant again."""
        return (*self.understood, *describe_rows(tally, merged, self.zone))


def read_logger(
    data: bytes | str, *, zone: tzinfo, now: datetime, pour_hint: datetime | None = None, dates: str | None = None,
    unit: str | None = None, place: str = "slab", column: str | None = None, where: str = "",
) -> LoggerRead:  # fmt: skip
    """The readings of a logger's file. Arguments and errors are those of `open_logger`."""
    opened = open_logger(
        data, zone=zone, now=now, pour_hint=pour_hint, dates=dates, unit=unit, place=place, column=column, where=where
    )
    if opened.layout is None:
        return LoggerRead([], opened.understood, opened.questions, opened.signature)
    tally = Tally()
    rows = [row for batch in opened.batches(tally) for row in batch]
    merged = 0
    if tally.backward or tally.same:
        rows, merged = _in_order(rows, tally)
    return LoggerRead(rows, opened.report(tally, merged), (), opened.signature)


def open_logger(
    data: bytes | str, *, zone: tzinfo, now: datetime, pour_hint: datetime | None = None, dates: str | None = None,
    unit: str | None = None, place: str = "slab", column: str | None = None, where: str = "",
) -> OpenLogger:  # fmt: skip
    """Settle what stands where in a logger's file, or ask.

    `zone` is for times without an offset, rows after `now` are left out, `pour_hint` (the pour of the piece) helps to
    weigh the order of day and month. `dates` ("dmy", "mdy", "ymd"), `unit` ("C", "F", "K") and `column` (a heading, or
    its number from 1) are answers to questions. `place` (slab, air, outside, water) picks among several temperatures.
    `where` names the file in errors. Raises BadInput for what cannot be read, for a file without a column of times or
    of temperatures, and for an answer that does not fit the file.
    """
    if now.tzinfo is None or (pour_hint is not None and pour_hint.tzinfo is None):
        raise ValueError("now and pour_hint need a time zone")
    try:
        return _open(data, zone, now, pour_hint, dates, unit, place, column, where)
    except BadInput as error:
        raise _placed(error, where) from None


def _placed(error: BadInput, where: str) -> BadInput:
    if not where or type(error) is not BadInput:
        return error
    return BadInput(error.what, where=where, found=error.found, remedy=error.remedy)


def _open(  # noqa: PLR0917 -- the arguments of open_logger, passed on
    data: bytes | str, zone: tzinfo, now: datetime, pour_hint: datetime | None, dates: str | None, unit: str | None,
    place: str, column: str | None, where: str,
) -> OpenLogger:  # fmt: skip
    text, encoding = decode(data)
    table = sniff(text)
    stamps = find_stamps(table, zone)
    temps = find_temperatures(table, stamps, place, column)
    humidity, wind, wind_factor = find_others(table, stamps, temps[0], place)
    today, pour_day = _day(now, zone), None if pour_hint is None else _day(pour_hint, zone)

    order, unit_settled = Settled(None, "year first, or the month by name"), settle_unit(table, temps[0], unit)
    if dates is not None and dates not in ORDERS:
        raise BadInput("unknown order of dates", found=dates, remedy=f"use {', '.join(ORDERS)}")
    if stamps.numeric or unit_settled is None:
        seen = survey(text, table, stamps, temps[0])
        order = settle_order(seen, dates, today, pour_day) if seen.dates else order
        unit_settled = unit_settled or unit_by_values(seen, place)
    questions = [ask_column(table, temps)] if len(temps) > 1 else []
    questions += [settled.question for settled in (order, unit_settled) if settled.question]

    layout = None
    if not questions:
        layout = Layout(
            table.separator, table.skip, stamps, _order(order.value), temps[0], _unit(unit_settled.value),
            humidity, wind, wind_factor, _step_ms(table, stamps, _order(order.value)), round(now.timestamp() * 1000),
        )  # fmt: skip
    understood = [
        *describe_table(table, encoding), *describe_columns(table, stamps, temps, humidity, wind),
        ("dates", _describe_order(order, stamps)), ("unit", _describe_unit(unit_settled)), *describe_zone(stamps),
    ]  # fmt: skip
    return OpenLogger(text, layout, tuple(understood), tuple(questions), _signature(table), zone, where)


def _day(at: datetime, zone: tzinfo) -> int:
    return at.astimezone(zone).date().toordinal() - EPOCH_DAY


def _order(value: str | None) -> Order | None:
    return next((order for order in ORDERS if order == value), None)


def _unit(value: str | None) -> TempUnit:
    return next((unit for unit in UNITS if unit == value), "C")


def _signature(table: Table) -> str:
    names = [heading.name.strip() for heading in table.headings] or [f"{table.width} columns"]
    return table.separator.join(names)


def _step_ms(table: Table, stamps: Stamps, order: Order | None) -> int:
    """The usual step of the first rows, below 0 if the newest comes first; good enough to tell the hours of a clock
    change apart."""
    ats = [at for row in table.sample if (at := _local_ms(row, stamps, order)) is not None]
    steps = [after - before for before, after in pairwise(ats) if after != before]
    return median_low(steps) if steps else HOUR_MS


def _local_ms(row: tuple[str, ...], stamps: Stamps, order: Order | None) -> int | None:
    try:
        if stamps.style == "pair":
            day, tail = row[stamps.date], row[stamps.clock]
        elif stamps.style == "joined":
            day, tail = split_stamp(row[stamps.date])
        else:
            scale = {"epoch_s": 1000, "epoch_ms": 1, "sheet": DAY_MS}[stamps.style]
            return round(read_number(row[stamps.date])[0] * scale)
        return parse_day(day, order) * DAY_MS + parse_tail(tail)[0]
    except (ValueError, IndexError):
        return None


def _describe_order(order: Settled, stamps: Stamps) -> str:
    if order.question is not None:
        return "not settled: " + " or ".join(order.question.choices)
    if stamps.style not in {"joined", "pair"}:
        return "numbers"
    known = _order(order.value)
    return f"{ORDER_NAMES[known]}, {order.reason}" if known else order.reason


def _describe_unit(unit: Settled) -> str:
    return "not settled: °C or °F" if unit.question is not None else f"{sign(unit.value)}, {unit.reason}"


def _in_order(rows: list[Row], tally: Tally) -> tuple[list[Row], int]:
    """Oldest first, each instant once (the last one in the file counts), and how many were merged by that."""
    latest = {row[0]: row for row in rows}
    ordered = [latest[at_ms] for at_ms in sorted(latest)]
    tally.recount([row[0] for row in ordered])
    return ordered, len(rows) - len(ordered)
