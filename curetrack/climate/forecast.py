"""What is expected after the last reading, as nodes of straight pieces.

none      the shop goes on as in its last days: the swing of its day around the level it has now (habit.py). Without a
          day of readings the last one holds
days      lows and highs of the days outside, as a weather report has them. The level follows their means with the lag
          that the shop's swing shows beside theirs (habit.py), the swing goes on. Without a day of readings they are
          taken as the shop's own: a low at 06:00 and a high at 15:00 local time (common practice), cosine between them,
          in pieces of about 1 h. Before the first day given that day repeats, after the last one that
steady    one temperature (none given: like none)
last-day  the last 24 h of the course repeat, one sample an hour, each side of the course its own; needs readings that
          reach back 20 h, else it is steady
points    the given points, straight between them

From the last reading the course runs straight into the forecast, in 2 h (or up to the first point, if that is later);
what goes on from a habit begins there by itself. A habit is laid out for 10 days, then the level holds; `days` alone
and `last-day` for 42 days, then their last day's mean. A forecast of points that ends before the last reading says
nothing about what follows. How far each may be off: doubt.py.
"""

from bisect import bisect_right
from collections.abc import Callable
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from itertools import pairwise
from math import cos, exp, pi

from msgspec import Struct

from curetrack.climate.curve import Curve, cut
from curetrack.climate.doubt import A_GUESS, A_WORD, Doubt, doubt_of
from curetrack.climate.gaps import Sign
from curetrack.climate.habit import DAY_H, Habit, lag_h
from curetrack.climate.merge import Track
from curetrack.facts import DayRange, Forecast
from curetrack.instants import SECONDS_PER_HOUR

__all__ = ["JOIN_H", "ahead", "humidity_ahead", "leans_on_habit"]

JOIN_H = 2.0
_PIECE_K = 1.0  # change within a piece: a forecast is known to 2 K at best
_LOW_AT, _HIGH_AT = 6, 15  # local clock hours
_HORIZON_DAYS = 42
_HABIT_H = 240
_MEAN_AT_H = 0.5 * (_LOW_AT + _HIGH_AT)  # a day's mean is passed half-way from its low to its high
_LAST_DAY_NEEDS_H = 20.0
_SLACK_H = 1e-6
_NODES_AT_ONCE = 400  # sums over a forecast are made about ten days at a time: few questions look further

Last = tuple[float, float]  # the last reading: instant and value


class _Ahead(Struct, frozen=True):
    """What is expected, how far it may be off, and whether it begins at the last reading by itself."""

    nodes: Track
    doubt: Doubt = A_WORD
    begins: bool = False


def leans_on_habit(forecast: Forecast | None) -> bool:
    """Whether the shop's habit is asked for. Points that may have ended before the last reading ask too."""
    if forecast is None or forecast.kind in ("days", "points"):
        return True
    return forecast.kind == "steady" and forecast.temp_degC is None


def ahead(
    forecast: Forecast | None, zone: tzinfo, measured: Track,
    *, past: Callable[[float], float] | None, habit: Habit | None, sign: Sign,
) -> Curve | None:  # fmt: skip
    """One side of the course after the last reading. `past`, for last-day, is the same side up to there; `habit`, if
    it is known, that of the centre. None: nothing is known."""
    times, values = measured
    last = (times[-1], values[-1]) if times else None
    expected = _expected(forecast, zone, measured, past, habit)
    if expected is None:
        return None
    nodes = expected.nodes if last is None or expected.begins else _joined(last, expected.nodes)
    since_h = last[0] if last is not None else forecast.made_h if forecast is not None else nodes[0][0]
    times, values = cut(*_spread(nodes, since_h, expected.doubt, sign), _PIECE_K)
    return Curve(times, values, _NODES_AT_ONCE)


def humidity_ahead(forecast: Forecast | None, measured: Track) -> Track:
    """The track of humidity, the forecast's nodes appended; without a forecast of it the last value holds."""
    times, values = measured
    last = (times[-1], values[-1]) if times else None
    if forecast is None:
        return measured
    points = sorted((p.at_h, p.humidity_pct) for p in forecast.points if p.humidity_pct is not None)
    if forecast.kind == "points" and points:
        expected: Track = [at_h for at_h, _ in points], [humidity for _, humidity in points]
        if last is not None and expected[0][-1] <= last[0]:
            return measured
    elif forecast.humidity_pct is not None:
        expected = [forecast.made_h if last is None else last[0]], [forecast.humidity_pct]
    else:
        return measured
    if last is None:
        return expected
    more_times, more_values = _joined(last, expected)
    return times + more_times[1:], values + more_values[1:]


def _expected(
    forecast: Forecast | None, zone: tzinfo, measured: Track, past: Callable[[float], float] | None,
    habit: Habit | None,
) -> _Ahead | None:  # fmt: skip
    times, values = measured
    if forecast is not None:
        if forecast.kind == "steady" and forecast.temp_degC is not None:
            return _Ahead(([times[-1] if times else forecast.made_h], [forecast.temp_degC]))
        if forecast.kind == "days" and forecast.days:
            if habit is not None:
                return _led((times[-1], values[-1]), habit, forecast, zone)
            today = _local_date(times[-1] if times else forecast.made_h, zone) - _local_date(forecast.made_h, zone)
            return _Ahead(_days(forecast, zone, today.days), A_GUESS)
        if forecast.kind == "points" and forecast.points:
            points = sorted({point.at_h: point.temp_degC for point in forecast.points}.items())
            if not times or points[-1][0] > times[-1]:
                return _Ahead(([at_h for at_h, _ in points], [temp for _, temp in points]))
        if past is not None and times and times[-1] - times[0] >= _LAST_DAY_NEEDS_H - _SLACK_H:
            return _Ahead(_last_day(times[-1], past))
    if not times:
        return None
    if habit is None:
        return _Ahead(([times[-1]], [values[-1]]), A_GUESS)
    level = values[-1] - habit.swing_K[0]
    return _Ahead(_swung(times[-1], [level] * (_HABIT_H + 1), habit), doubt_of(habit), begins=True)


def _led(last: Last, habit: Habit, forecast: Forecast, zone: tzinfo) -> _Ahead:
    """The habit with a level that follows the means of typed days: L' = (mean - L) / lag, hour by hour, exact for means
    that run straight from day to day."""
    last_h, value = last
    made_on = _local_date(forecast.made_h, zone)
    known = {day.day: day for day in forecast.days}
    first = (_local_date(last_h, zone) - made_on).days - 1
    numbers = range(first, max(first, *known) + _HABIT_H // DAY_H + 3)
    ranges = [_day(known, number) for number in numbers]
    noons = [_local_h(made_on + timedelta(days=number), 0, zone) + _MEAN_AT_H for number in numbers]
    outside = Curve(noons, [0.5 * (day.low_degC + day.high_degC) for day in ranges])
    coming = ranges[1 : 1 + max(1, max(known) + 1 - max(first + 1, 0))]
    lag = lag_h(habit, sum(day.high_degC - day.low_degC for day in coming) / len(coming))
    keeps, levels, mean = exp(-1.0 / lag), [value - habit.swing_K[0]], outside.value(last_h)
    for k in range(1, _HABIT_H + 1):
        before, mean = mean, outside.value(last_h + k)
        behind = (mean - before) * lag  # by how much it runs behind a mean that keeps changing so
        levels.append(mean - behind + (levels[-1] - before + behind) * keeps)
    until_h = _local_h(made_on + timedelta(days=max(known) + 1), 0, zone) - last_h
    return _Ahead(_swung(last_h, levels, habit), doubt_of(habit, until_h), begins=True)


def _swung(last_h: float, levels: list[float], habit: Habit) -> Track:
    """A level with the swing of each day around it, hour by hour; then the level alone."""
    values = [level + habit.swing_K[k % DAY_H] for k, level in enumerate(levels)]
    return _resting([last_h + k for k in range(len(levels))], values, levels[-1])


def _joined(last: Last, expected: Track) -> Track:
    """From the last reading straight into what is expected, in 2 h; a first point later than that is run up to."""
    times, values = expected
    at_h, value = last
    join_h = max(at_h + JOIN_H, times[0])
    first = bisect_right(times, join_h)
    met = Curve(times, values).value(join_h)
    if first == len(times) and met == value:
        return [at_h], [value]
    return [at_h, join_h, *times[first:]], [value, met, *values[first:]]


def _spread(centre: Track, since_h: float, doubt: Doubt, sign: Sign) -> Track:
    """The centre shifted by what it may be off, with a node wherever that bends."""
    if sign == 0:
        return centre
    times, values = centre
    for bend_h in (since_h + after_h for after_h in doubt.bends_h):
        index = bisect_right(times, bend_h)
        if index and times[index - 1] != bend_h:
            value = Curve(times, values).value(bend_h)
            times, values = [*times[:index], bend_h, *times[index:]], [*values[:index], value, *values[index:]]
    return times, [value + sign * doubt.off_K(at_h - since_h) for at_h, value in zip(times, values, strict=True)]


@lru_cache(maxsize=8)
def _days(forecast: Forecast, zone: tzinfo, today: int) -> Track:
    """The nodes of forecast days, from the day before `today` (counted like the forecast's days) on."""
    made_on = _local_date(forecast.made_h, zone)
    known = {day.day: day for day in forecast.days}
    turns: list[tuple[float, float]] = []  # instant and value of each low and high
    for number in range(today - 1, max(today, 0) + _HORIZON_DAYS):
        day = _day(known, number)
        on = made_on + timedelta(days=number)
        turns += [(_local_h(on, _LOW_AT, zone), day.low_degC), (_local_h(on, _HIGH_AT, zone), day.high_degC)]
    times, values = [turns[0][0]], [turns[0][1]]
    for (start_h, start), (end_h, end) in pairwise(turns):
        pieces = max(1, round(end_h - start_h))
        for k in range(1, pieces + 1):
            times.append(start_h + (end_h - start_h) * k / pieces)
            values.append(start + (end - start) * 0.5 * (1.0 - cos(pi * k / pieces)) if k < pieces else end)
    return cut(*_resting(times, values, 0.5 * (turns[-1][1] + turns[-2][1])), _PIECE_K)


def _day(known: dict[int, DayRange], number: int) -> DayRange:
    """The range given for that day, else the last one given before it, else the first."""
    before = [day for day in known if day <= number]
    return known[max(before)] if before else known[min(known)]


def _last_day(last_h: float, past: Callable[[float], float]) -> Track:
    samples = [past(last_h - 24.0 + k) for k in range(24)]
    times = [last_h + k for k in range(24 * _HORIZON_DAYS)]
    return _resting(times, samples * _HORIZON_DAYS, sum(samples) / len(samples))


def _resting(times: list[float], values: list[float], mean: float) -> Track:
    """The nodes and, a quarter of a day after them, the mean that holds from then on."""
    return [*times, times[-1] + 6.0], [*values, mean]


def _local_date(at_h: float, zone: tzinfo) -> date:
    return datetime.fromtimestamp(at_h * SECONDS_PER_HOUR, zone).date()


def _local_h(on: date, hour: int, zone: tzinfo) -> float:
    return datetime(on.year, on.month, on.day, hour, tzinfo=zone).timestamp() / SECONDS_PER_HOUR
