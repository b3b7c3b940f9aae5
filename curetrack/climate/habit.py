"""What a shop has been doing lately: the swing of its day, and how far its level wanders.

A shop that nobody heats evenly follows the weather outside, late and damped, and whoever works in it adds a swing of
their own (a heater in the evening). Both are in the readings of the last days. The *swing* is their mean day, hour by
hour, each day's drift taken out and its mean with it; the *level* is what is left when the swing is taken off.

How late and how damped it follows shows in the swing: a room that follows the outside by dT/dt = (outside - T) / lag
passes a wave of 24 h at 1 / sqrt(1 + (2 pi lag / 24 h)^2) of its height, so the height of the swing beside that of the
days outside gives the lag. A swing that is no such wave (a heater makes corners) says nothing of it; such a shop is
taken to follow in 36 h. Which of all this serves a forecast best was chosen on real weather: tests/bench/hindcast.
"""

from collections.abc import Callable
from itertools import pairwise
from math import cos, pi, sin, sqrt

from msgspec import Struct

from curetrack.climate.merge import Track

__all__ = ["DAY_H", "Habit", "habit_of", "lag_h"]

DAY_H = 24
MOST_DAYS = 3
_SHORT_H = 4.0  # a day counts if readings reach back to within so much of its beginning ...
_STEP_H = 6.0  # ... and no two of them are further apart than this
_SLACK_H = 1e-6
_WAVE = 2.0 * pi / DAY_H
_OWN_SHARE = 0.36  # so much of the swing is no wave of 24 h: somebody heats
_FLAT_K = 0.1  # a swing smaller than that is no swing
_OWN_LAG_H = 36.0
_LEAST_LAG_H, _MOST_LAG_H = 10.0, 240.0


class Habit(Struct, frozen=True):
    """The shop's last days.

    swing_K    by how much it is off its level k hours after the last reading, and so on each day; the mean is 0
    ranged_K   the highest less the lowest level of a day, on average
    wave_K     half the height of the swing's wave of 24 h
    own        the swing is not the weather's alone
    """

    days: int
    swing_K: tuple[float, ...]
    ranged_K: float
    wave_K: float
    own: bool


def habit_of(track: Track, past: Callable[[float], float]) -> Habit | None:
    """The habit of the last one to three days up to the last reading; None if there is not a day of readings that are
    at most 6 h apart. `past` gives the measured value at an instant."""
    days = _days(track[0])
    if days == 0:
        return None
    last_h = track[0][-1]
    hours = [past(last_h - DAY_H * days + k) for k in range(DAY_H * days + 1)]
    swing = [0.0] * DAY_H
    for day in range(days):
        for k, off in enumerate(_off_its_mean(hours[DAY_H * day : DAY_H * (day + 1) + 1])):
            swing[k] += off / days
    levels = [value - swing[k % DAY_H] for k, value in enumerate(hours)]
    ranges = [levels[DAY_H * day : DAY_H * (day + 1) + 1] for day in range(days)]
    ranged_K = sum(max(level) - min(level) for level in ranges) / days
    wave_K, rest_K = _wave(swing)
    whole_K = sqrt(0.5 * wave_K**2 + rest_K**2)
    own = whole_K > _FLAT_K and rest_K >= _OWN_SHARE * whole_K
    return Habit(days, tuple(swing), ranged_K, wave_K, own)


def lag_h(habit: Habit, outside_K: float) -> float:
    """The lag [h] with which the shop follows days whose highs stand `outside_K` (above 0) above their lows."""
    if habit.own:
        return _OWN_LAG_H
    share = habit.wave_K / max(0.5 * outside_K, _FLAT_K)
    lag = sqrt(max(1.0 / max(share, 1e-3) ** 2 - 1.0, 0.0)) / _WAVE
    return min(max(lag, _LEAST_LAG_H), _MOST_LAG_H)


def _days(times: list[float]) -> int:
    """How many whole days back the readings reach without a step of more than 6 h."""
    if not times:
        return 0
    back_h = times[-1]
    for before_h, at_h in pairwise(reversed(times)):
        if before_h - at_h > _STEP_H + _SLACK_H or back_h <= times[-1] - DAY_H * MOST_DAYS:
            break
        back_h = at_h
    return min(MOST_DAYS, int((times[-1] - back_h + _SHORT_H + _SLACK_H) // DAY_H))


def _off_its_mean(day: list[float]) -> list[float]:
    """24 values of a day (its 25th is the next day's first), the straight drift and the mean taken off."""
    drift = (day[-1] - day[0]) / DAY_H
    level = [value - drift * k for k, value in enumerate(day[:-1])]
    mean = sum(level) / DAY_H
    return [value - mean for value in level]


def _wave(swing: list[float]) -> tuple[float, float]:
    """Half the height of the wave of 24 h in a swing, and the root mean square of what is left without it."""
    along = sum(off * cos(_WAVE * k) for k, off in enumerate(swing)) * 2.0 / DAY_H
    across = sum(off * sin(_WAVE * k) for k, off in enumerate(swing)) * 2.0 / DAY_H
    rest = [off - along * cos(_WAVE * k) - across * sin(_WAVE * k) for k, off in enumerate(swing)]
    return sqrt(along**2 + across**2), sqrt(sum(off**2 for off in rest) / DAY_H)
