"""Gaps in the readings, and the coldest and warmest course that is plausible through them.

Readings up to 2 h apart are joined by a straight line. Over a longer gap, and before the first reading, nobody knows;
the plausible range is from the lowest to the highest of the readings within 24 h before and after the gap (its two ends
among them), wider by d on both sides: 2 K just over 2 h, 1 K more per 4 h of gap, 5 K at most (common practice, ours).
The cold side of a course stands at the low end all through the gap, the warm side at the high end.
"""

from bisect import bisect_left, bisect_right
from typing import Literal

from msgspec import Struct

from curetrack.climate.curve import Curve
from curetrack.climate.merge import Track
from curetrack.concrete.laws import RateLaw

__all__ = ["HELD_BACK_H", "Gap", "Sign", "Spliced", "gaps_of", "head_of", "plausible_K", "range_before"]

Sign = Literal[-1, 0, 1]  # the cold side, the centre, the warm side

HELD_BACK_H = 2.0  # so long before it the first reading is taken to hold
_CONTEXT_H = 24.0
_LEAST_K, _MOST_K, _HOURS_PER_K = 2.0, 5.0, 4.0


class Gap(Struct, frozen=True):
    """A stretch longer than 2 h between two readings, with the plausible range in it. POSIX hours."""

    from_h: float
    to_h: float
    cold_degC: float
    warm_degC: float


def plausible_K(length_h: float) -> float:
    """How far beyond the readings around it a gap of this length may have gone: 2 to 5 K."""
    return min(_MOST_K, max(_LEAST_K, _LEAST_K + (length_h - HELD_BACK_H) / _HOURS_PER_K))


def gaps_of(track: Track, long_steps: list[int]) -> tuple[Gap, ...]:
    """The gaps after those readings of a track whose next one is more than 2 h away."""
    times, values = track
    found = []
    for index in long_steps:
        from_h, to_h = times[index], times[index + 1]
        around = values[bisect_left(times, from_h - _CONTEXT_H) : index + 1]
        around += values[index + 1 : bisect_right(times, to_h + _CONTEXT_H)]
        beyond = plausible_K(to_h - from_h)
        found.append(Gap(from_h, to_h, min(around) - beyond, max(around) + beyond))
    return tuple(found)


def range_before(track: Track, from_h: float) -> tuple[float, float]:
    """The plausible range from an instant, more than 2 h before the first reading, up to it."""
    times, values = track
    around = values[: bisect_right(times, times[0] + _CONTEXT_H)]
    beyond = plausible_K(times[0] - from_h)
    return min(around) - beyond, max(around) + beyond


def head_of(track: Track, sign: Sign) -> Curve:
    """A side of the course more than 2 h before the first reading; the further back, the wider, up to 5 K."""
    first_h = track[0][0]
    widest_h = first_h - HELD_BACK_H - (_MOST_K - _LEAST_K) * _HOURS_PER_K
    times = [widest_h, first_h - HELD_BACK_H]
    end = 0 if sign < 0 else 1
    return Curve.through(times, [range_before(track, at_h)[end] for at_h in times])


class Spliced(Curve):
    """A side of a measured curve: the centre, but in each gap the end of the plausible range, with a jump to it and
    a jump back. Its sums are those of the centre, shifted after each gap; only the gaps are integrated anew."""

    __slots__ = ("_centre", "_gaps", "_stretches")

    def __init__(self, centre: Curve, gaps: tuple[Gap, ...], sign: Sign) -> None:
        self._centre = centre
        self._gaps = [(gap, gap.cold_degC if sign < 0 else gap.warm_degC) for gap in gaps]
        self._stretches: list[tuple[int, int]] = []  # slices of the centre's nodes, one more than there are gaps
        times: list[float] = []
        values: list[float] = []
        first = 0
        for gap, value in self._gaps:
            last = bisect_left(centre.times, gap.from_h) + 1
            self._stretches.append((first, last))
            times += centre.times[first:last]
            times += gap.from_h, gap.to_h
            values += centre.values[first:last]
            values += value, value
            first = bisect_left(centre.times, gap.to_h)
        self._stretches.append((first, len(centre.times)))
        super().__init__(times + centre.times[first:], values + centre.values[first:])
        self.jumps = tuple(at_h for gap in gaps for at_h in (gap.from_h, gap.to_h))

    def continue_sums(self, older: "Spliced", same_until_h: float) -> None:
        """Continue every sum of `older`; up to that reading the centres of the two are the same."""
        kept = 0
        for index, (first, last) in enumerate(self._stretches):
            kept += bisect_right(self._centre.times, same_until_h, first, last) - first
            if (
                self._centre.times[last - 1] > same_until_h
                or self._gaps[index : index + 1] != older._gaps[index : index + 1]
            ):
                break
            kept += 2 * len(self._gaps[index : index + 1])
        for law, sums in older.sums.items():
            self.sums[law] = self._shifted(law, sums[:kept])

    def value(self, at_h: float) -> float:
        """The value at an instant; at a reading it is the reading's."""
        index = bisect_left(self.times, at_h)
        if index < len(self.times) and self.times[index] == at_h:
            return self._centre.value(at_h)
        return self._between(index, at_h)

    def _first_sums(self, law: RateLaw) -> list[float]:
        return self._shifted(law, [])

    def _shifted(self, law: RateLaw, sums: list[float]) -> list[float]:
        """The sums of all nodes, given those of the first ones."""
        centre = self._centre.sums_of(law, len(self._centre.times) - 1)
        start = 0  # index of the stretch's first node
        shift = 0.0
        for index, (first, last) in enumerate(self._stretches):
            if index:
                shift = sums[start - 1] - centre[first]
            done = len(sums) - start
            if done < last - first:
                sums.extend([gained + shift for gained in centre[first + max(done, 0) : last]])
            start += last - first
            if index < len(self._gaps):
                gap, value = self._gaps[index]
                before = sums[start - 1]
                after = before + (gap.to_h - gap.from_h) * law.rates([value])[0]
                sums.extend([before, after][max(len(sums) - start, 0) :])
                start += 2
        return sums
