"""What follows from several tracks at once: dew margin, cool gap, drying, evaporation, as curves of straight pieces.

A signal is computed at the nodes of all its inputs, the first of each 10 minutes only, and at every jump; between them
it is taken as straight. It is computed from an hour before it is wanted, so that nothing hangs on where it begins.
Where an input leaves the range in which a relation is known, the relation is asked at the end of its range: a hot lamp
on a sensor must not take the whole timeline down.
"""

from collections.abc import Callable, Sequence
from math import floor, inf

from curetrack.climate.curve import Curve
from curetrack.climate.path import Path
from curetrack.concrete.air import dew_point_degC
from curetrack.concrete.drying import drying_rate, evaporation_kg_m2_h

__all__ = ["AS_IT_IS", "cool_gap_K", "day_before", "dew_margin_K", "drying_per_h", "evaporation_per_h", "signal"]

_PER_HOUR = 6.0  # one node in 10 minutes
_RUN_UP_H = 1.0
_COLDEST_degC, _HOTTEST_degC = -40.0, 60.0  # of the air relations
_DRIEST_PCT, _DAMPEST_PCT = 1.0, 100.0
_WINDIEST_m_s = 40.0


class AsItIs:
    """The law of a signal that is a rate already: each hour counts by its value."""

    kinks_degC: tuple[float, ...] = ()

    def rate(self, temp_degC: float) -> float:
        """The value itself."""
        return temp_degC

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The values themselves."""
        return temps_degC


AS_IT_IS = AsItIs()


def dew_margin_K(slab_degC: float, air_degC: float, humidity_pct: float) -> float:
    """Slab less the dew point of the air [K]."""
    return slab_degC - dew_point_degC(_air(air_degC), min(max(humidity_pct, _DRIEST_PCT), _DAMPEST_PCT))


def cool_gap_K(slab_degC: float, air_degC: float) -> float:
    """Slab less air [K]."""
    return slab_degC - air_degC


def drying_per_h(air_degC: float, humidity_pct: float) -> float:
    """Drying hours per hour of an open face."""
    return drying_rate(_air(air_degC), min(max(humidity_pct, 0.0), _DAMPEST_PCT))


def evaporation_per_h(slab_degC: float, air_degC: float, humidity_pct: float, wind_m_s: float = 0.0) -> float:
    """Evaporation from a wet face [kg/m2/h]; still air where no wind is known."""
    humidity, wind = min(max(humidity_pct, 0.0), _DAMPEST_PCT), min(max(wind_m_s, 0.0), _WINDIEST_m_s)
    return evaporation_kg_m2_h(_air(slab_degC), _air(air_degC), humidity, wind)


def day_before(at_h: float) -> float:
    """The last midnight UTC at or before an instant: a signal that is asked from there on is made from midnight."""
    return 24.0 * floor(at_h / 24.0)


def signal(formula: Callable[..., float], inputs: Sequence[Path], start_h: float) -> Path:
    """The path of formula(*inputs) from `start_h` on; after the last node its value holds."""
    start_h -= _RUN_UP_H
    jumps = {at_h for path in inputs for at_h in path.jumps() if at_h >= start_h}
    times = _nodes(inputs, start_h, jumps)
    columns = [path.values_at(times) for path in inputs]
    for index, at_h in enumerate(times):
        if at_h in jumps:
            first = index == 0 or times[index - 1] != at_h
            for path, column in zip(inputs, columns, strict=True):
                column[index] = path.value_before(at_h) if first else path.value_after(at_h)
    return Path([(inf, Curve(times, list(map(formula, *columns))))])


def _nodes(inputs: Sequence[Path], start_h: float, jumps: set[float]) -> list[float]:
    """Where a signal is computed; a jump stands twice."""
    first_of: dict[int, float] = {}  # by 10 minutes
    for path in inputs:
        for at_h in path.nodes(start_h)[0]:
            if at_h < inf:
                number = int(at_h * _PER_HOUR)
                if at_h < first_of.get(number, inf):
                    first_of[number] = at_h
    return sorted([*({*first_of.values()} - jumps), *jumps, *jumps])


def _air(temp_degC: float) -> float:
    return min(max(temp_degC, _COLDEST_degC), _HOTTEST_degC)
