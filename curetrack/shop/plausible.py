"""What may be true at all: names, texts, times, sizes, readings, forecasts. Pure; raises BadInput before anything is
written. Limits are common practice and ours, wide enough for real pieces; a slip of unit or order falls outside."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from math import isfinite
from operator import itemgetter
from typing import cast
from unicodedata import normalize

from msgspec.structs import replace

from curetrack.errors import BadInput, OutOfRange
from curetrack.facts import Forecast, Place, Reading, Shape
from curetrack.ledger.readings import Row
from curetrack.ledger.times import ms_to_time

__all__ = [
    "NOT_AHEAD", "check_forecast", "check_reading", "check_rows", "check_shape", "check_source", "check_unit_slip",
    "clean_name", "clean_text", "past", "reading_limits", "spelled",
]  # fmt: skip

NOT_AHEAD = timedelta(minutes=1)  # clocks of two machines may differ by so much
SLIP_K, SLIP_WITHIN_h = 40.0, 6.0
SIDE_m = (0.05, 10.0)
THICKNESS_m = (0.008, 0.4)
RAIL_m = 0.008  # as thin as the thinnest slab
TEXT_LENGTH = 2000

_TEMP_degC = {"slab": (-30.0, 70.0), "water": (-5.0, 70.0)}
_AIR_degC = (-60.0, 80.0)
_WIND_m_s = (0.0, 60.0)
_PLACES = ("slab", "air", "outside", "water")


def spelled(name: str) -> str:
    """A name as the ledger spells it: trimmed, letters composed, so that one keyboard's é is the other's."""
    return normalize("NFC", name).strip()


def clean_name(name: str) -> str:
    """A piece's name: spelled, 1 to 60 printable characters."""
    name = spelled(name)
    if not 1 <= len(name) <= 60:
        raise BadInput("a piece's name has 1 to 60 characters", found=f"{len(name)} characters", remedy="shorten it"
                       if name else "give it a name")  # fmt: skip
    if not name.isprintable():
        raise BadInput("a piece's name has printable characters only", found=name, remedy="type it anew")
    return name


def clean_text(what: str, text: str) -> str:
    """A note or a reason: trimmed, white space made single spaces, 1 to 2000 printable characters."""
    text = " ".join(normalize("NFC", text).split())
    if not text:
        raise BadInput(f"{what} is empty", remedy="say it in a few words")
    if len(text) > TEXT_LENGTH or not text.isprintable():
        what = f"{what} has up to {TEXT_LENGTH} printable characters"
        raise BadInput(what, found=f"{len(text)} characters", remedy="shorten it, or type it anew")
    return text


def check_source(source: str) -> str:
    """Who said it: cli, desk, phone, calendar ..."""
    if not (source.isidentifier() and len(source) <= 20):
        raise BadInput("a source is one short word", found=source[:40])
    return source


def past(what: str, at: datetime, now: datetime, zone: tzinfo = UTC) -> datetime:
    """The time itself, if it is aware, not ahead of now, and not before 1970."""
    if at.tzinfo is None:
        raise BadInput(f"{what} has no time zone", found=at.isoformat())
    if at > now + NOT_AHEAD:
        raise BadInput(f"{what} lies in the future", found=_time(at, zone), remedy=f"it is {_time(now, zone)}")
    if at < datetime(1970, 1, 2, tzinfo=UTC):
        raise BadInput(f"{what} lies before 1970", found=_time(at, zone))
    return at


def check_shape(shape: Shape) -> Shape:
    """The shape itself, if it can be a slab. Thickness is the smallest of the three."""
    sides = (("length", shape.length_m, *SIDE_m), ("width", shape.width_m, *SIDE_m))
    for what, value, low, high in (*sides, ("thickness", shape.thickness_m, *THICKNESS_m)):
        if not (isfinite(value) and low <= value <= high):
            raise OutOfRange(what, value, low, high, "m", where="size")
    if shape.thickness_m > min(shape.length_m, shape.width_m):
        raise BadInput(
            "the thickness is more than a side", where="size", found=f"{shape.thickness_m * 1000:g} mm",
            remedy="write length x width x thickness, like 1800x1050x38mm",
        )  # fmt: skip
    from curetrack.timeline.crew import slab_of

    rail_m = slab_of(shape).narrowest_rail_m  # refuses cut-outs and outlines that cannot be
    if rail_m is not None and rail_m < RAIL_m:
        raise BadInput(
            "a cut-out leaves too narrow a rail", where="size", found=f"{rail_m * 1000:.2g} mm",
            remedy=f"leave {RAIL_m * 1000:g} mm at least, or let it reach the edge",
        )  # fmt: skip
    return shape


def reading_limits(place: Place) -> tuple[float, float]:
    """Plausible temperatures at a place, degC."""
    return _TEMP_degC.get(place, _AIR_degC)


def check_reading(reading: Reading) -> Reading:
    """The reading, humidity up to 105 % taken as 100; at least one quantity, each within its limits."""
    if reading.place not in _PLACES:
        raise BadInput("no such place", found=reading.place, remedy="use " + ", ".join(_PLACES))
    if reading.temp_degC is None and reading.humidity_pct is None and reading.wind_m_s is None:
        raise BadInput("a reading says nothing", remedy="give a temperature, a humidity or a wind")
    if reading.temp_degC is not None:
        _within(f"{reading.place} temperature", reading.temp_degC, *reading_limits(reading.place), "°C")
    if reading.wind_m_s is not None:
        _within("wind", reading.wind_m_s, *_WIND_m_s, "m/s")
    if reading.humidity_pct is not None:
        _within("humidity", reading.humidity_pct, 0.0, 105.0, "%")
        reading = replace(reading, humidity_pct=min(100.0, float(reading.humidity_pct)))
    return reading


def check_unit_slip(reading: Reading, earlier: Sequence[Reading]) -> None:
    """A leap of more than 40 K within 6 h at one place is no weather: the unit is asked for."""
    if reading.temp_degC is None:
        return
    same = [other for other in earlier if other.place == reading.place and other.temp_degC is not None]
    near = [other for other in same if abs(other.at_h - reading.at_h) <= SLIP_WITHIN_h]
    last = min(near, key=lambda other: abs(other.at_h - reading.at_h), default=None)
    if last is None or last.temp_degC is None or abs(reading.temp_degC - last.temp_degC) <= SLIP_K:
        return
    as_celsius = (reading.temp_degC - 32.0) / 1.8
    guess = abs(as_celsius - last.temp_degC) < abs(reading.temp_degC - last.temp_degC)
    remedy = "see the number and its unit"
    if guess:
        remedy = f"if the thermometer shows {reading.temp_degC:g} °F, write {reading.temp_degC:g}F"
    raise BadInput(
        f"{reading.place} temperature leaps from {last.temp_degC:g} °C within 6 h", found=f"{reading.temp_degC:g} °C",
        remedy=remedy,
    )  # fmt: skip


def check_rows(rows: Sequence[Row], place: Place, now: datetime) -> tuple[Sequence[Row], datetime, datetime]:
    """The same limits for the rows of a file (one at least), quick enough for a million; humidity up to 105 % is
    taken as 100. With the times of the first and the last."""
    times = list(map(itemgetter(0), rows))
    first, last = ms_to_time(min(times)), ms_to_time(max(times))
    if last > now + NOT_AHEAD:
        raise BadInput("a reading lies in the future", found=_time(last, UTC), remedy="see the dates and the zone")
    _check_column(f"{place} temperature", list(map(itemgetter(1), rows)), *reading_limits(place), "°C")
    dampest = _check_column("humidity", list(map(itemgetter(2), rows)), 0.0, 105.0, "%")
    _check_column("wind", list(map(itemgetter(3), rows)), *_WIND_m_s, "m/s")
    if dampest > 100.0:
        rows = [(at, temp, None if damp is None else min(damp, 100.0), wind) for at, temp, damp, wind in rows]
    return rows, first, last


def _check_column(what: str, column: list[float | None], low: float, high: float, unit: str) -> float:
    """The column's highest value, 0 where it is empty."""
    unknown = column.count(None)
    if unknown == len(column):
        return 0.0
    values = cast("list[float]", column if not unknown else [value for value in column if value is not None])
    if not isfinite(sum(values)):
        raise BadInput(f"{what} is no number in some row", remedy="leave such rows out")
    highest = max(values)
    for value in (min(values), highest):
        _within(what, value, low, high, unit)
    return highest


def check_forecast(forecast: Forecast) -> Forecast:
    """The forecast itself, if its numbers can be weather and its days and points are in order."""
    temps = [forecast.temp_degC, *(t for day in forecast.days for t in (day.low_degC, day.high_degC))]
    temps += [point.temp_degC for point in forecast.points]
    for temp in temps:
        if temp is not None:
            _within("forecast temperature", temp, *_AIR_degC, "°C")
    for humidity in (forecast.humidity_pct, *(point.humidity_pct for point in forecast.points)):
        if humidity is not None:
            _within("forecast humidity", humidity, 0.0, 100.0, "%")
    for day in forecast.days:
        if day.low_degC > day.high_degC:
            raise BadInput(
                f"forecast of day {day.day}: the low is above the high", found=f"{day.low_degC:g}..{day.high_degC:g} °C"
            )
    if forecast.kind == "days" and not forecast.days:
        raise BadInput("a forecast of days names no day", remedy="give a low and a high for each")
    if forecast.kind == "points" and not forecast.points:
        raise BadInput("a forecast of points has none")
    return forecast


def _within(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise OutOfRange(what, value, low, high, unit)


def _time(at: datetime, zone: tzinfo) -> str:
    try:
        return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"
    except OverflowError:  # the first and the last day that a calendar knows, in another zone
        return at.isoformat()
