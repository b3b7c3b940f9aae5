"""A forecast as people type it: steady, steady 16C, low/high 3/12 4/13 2/11, last-day, or a file of points."""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.cli.typed import NAMES, Read, temperature
from curetrack.errors import BadInput
from curetrack.facts import DayRange, Forecast, ForecastPoint
from curetrack.instants import to_h
from curetrack.units import System, format_quantity

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["HOW", "Expected", "forecast_text", "parse_forecast"]

HOW = 'write steady, "steady 16C", "low/high 3/12 4/13 2/11", last-day, or the name of a CSV file'
WHERE = "--forecast"
MOST_DAYS = 16
UNITS = ("C", "F", "K")
AHEAD = timedelta(days=366)


class Expected(Struct, frozen=True):
    """A forecast, and remarks on what was understood."""

    forecast: Forecast
    remarks: tuple[str, ...] = ()


def parse_forecast(typed: Sequence[str], *, system: System, now: datetime, zone: "tzinfo") -> Expected:
    """The forecast meant by the words behind --forecast. Raises BadInput with what would be right."""
    words = " ".join(typed).replace(",", " ").split()
    if not words:
        raise BadInput("nothing is forecast", where=WHERE, remedy=HOW)
    made_h, kind = to_h(now), words[0].lower()
    if kind == "steady":
        if not words[1:]:
            return Expected(Forecast("steady", made_h))
        read = temperature(" ".join(words[1:]), system, WHERE)
        return Expected(Forecast("steady", made_h, temp_degC=read.value), _told([read]))
    if kind == "last-day" and len(words) == 1:
        return Expected(Forecast("last-day", made_h))
    if kind == "low/high":
        return _days(re.sub(r"\s*/\s*", "/", " ".join(words[1:])).split(), system, made_h)
    if len(typed) == 1 and (typed[0].lower().endswith((".csv", ".txt", ".tsv")) or _is_file(typed[0])):
        return _points(typed[0], now, zone)
    raise BadInput("cannot read the forecast", where=WHERE, found=" ".join(words)[:60], remedy=HOW)


def forecast_text(forecast: Forecast | None, system: System) -> str:
    """What is expected, in words."""

    def show(temp_degC: float) -> str:
        return format_quantity(temp_degC, "temperature", system)

    if forecast is None or (forecast.kind == "steady" and forecast.temp_degC is None):
        return "as in the last days"
    if forecast.kind == "steady" and forecast.temp_degC is not None:
        return f"steady {show(forecast.temp_degC)}"
    if forecast.kind == "last-day":
        return "the last 24 h of readings repeat"
    if forecast.kind == "days":
        days = ", ".join(f"{show(day.low_degC).split()[0]}/{show(day.high_degC)}" for day in forecast.days)
        return f"low/high by day: {days}; then the last one again"
    return f"a file of {len(forecast.points)} points"


def _days(pairs: Sequence[str], system: System, made_h: float) -> Expected:
    """Lows and highs, today's first. A unit at the end serves all that have none, also one that stands alone."""
    if pairs and pairs[-1].lstrip("°").upper() in UNITS:
        pairs = [*pairs[:-2], "".join(pairs[-2:])]
    if not 1 <= len(pairs) <= MOST_DAYS:
        raise BadInput(
            f"1 to {MOST_DAYS} days are wanted",
            where=WHERE,
            found=len(pairs),
            remedy="write low/high 3/12 4/13, today first",
        )
    unit = pairs[-1][-1:] if pairs[-1][-1:].upper() in UNITS else ""
    days, remarks = [], []
    for number, text in enumerate(pairs):
        low, slash, high = text.partition("/")
        if not slash or not low or not high:
            raise BadInput("a day is low/high", where=WHERE, found=text[:20], remedy="write it like 3/12")
        reads = [temperature(_with(unit, part), system, WHERE) for part in (low, high)]
        if reads[0].value > reads[1].value:
            raise BadInput("the low is above the high", where=WHERE, found=text[:20], remedy=f"write {high}/{low}")
        days.append(DayRange(number, reads[0].value, reads[1].value))
        remarks += reads
    bare = any(read.remark for read in remarks)
    told = (f"numbers without a unit are taken as {NAMES[system]}",) if bare else ()
    return Expected(Forecast("days", made_h, days=tuple(days)), told)


def _with(unit: str, part: str) -> str:
    return part + unit if unit and part[-1:].isdigit() else part


def _told(reads: Sequence[Read]) -> tuple[str, ...]:
    return tuple(read.remark for read in reads if read.remark)


def _points(path: str, now: datetime, zone: "tzinfo") -> Expected:
    """The points of a file, in the formats that logger files have; what lies before now is left out. Rows that cannot
    be used are told."""
    from curetrack.cli.files import read_bytes
    from curetrack.climate.logger import read_logger

    read = read_logger(read_bytes(path), zone=zone, now=now + AHEAD, place="air", where=path)
    if read.questions:
        question = read.questions[0]
        raise BadInput(
            question.why, where=path, remedy="write times like 2026-02-03 18:00 and name the columns time,temp_degC"
        )
    made_h = to_h(now)
    rows = [(at_ms / 3_600_000.0, temp, humidity) for at_ms, temp, humidity, _ in read.rows]
    points = tuple(
        ForecastPoint(at_h, temp, humidity)
        for at_h, temp, humidity in rows
        if temp is not None and at_h >= made_h - 6.0
    )
    if not points or points[-1].at_h <= made_h:
        raise BadInput("nothing in it lies ahead", where=path, remedy="give temperatures for the coming days")
    left_out = dict(read.understood)["rows skipped"]
    told = () if left_out == "none" else (f"{path}: rows skipped: {left_out}",)
    return Expected(Forecast("points", made_h, points=points), told)


def _is_file(text: str) -> bool:
    try:
        return Path(text).expanduser().is_file()
    except (OSError, ValueError, RuntimeError):
        return False
