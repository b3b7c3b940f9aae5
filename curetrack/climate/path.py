"""A side of a course from end to end: before the readings, measured, ahead. Also the questions asked of it."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from math import inf

from curetrack.climate.curve import MOST_KEPT, SAME_H, Curve
from curetrack.concrete.laws import RateLaw

__all__ = ["Path", "Spans", "first_below", "spans_of"]

Spans = list[tuple[float, float]]


class Path:
    """Curves one after another, each with the instant up to which it counts; the last counts for ever.

    At such an instant the value is that of the earlier curve (a reading counts before a forecast).
    """

    __slots__ = ("_laid", "_reached", "curves", "ends")

    def __init__(self, curves: Sequence[tuple[float, Curve]]) -> None:
        self.ends = [end_h for end_h, _ in curves[:-1]]
        self.curves = [curve for _, curve in curves]
        self._laid = list(zip(self.curves, [-inf, *self.ends], [*self.ends, inf], strict=True))
        self._reached: dict[tuple[RateLaw, float, float], float | None] = {}

    def value(self, at_h: float) -> float:
        """The value at an instant."""
        return self.curves[bisect_left(self.ends, at_h)].value(at_h)

    def values_at(self, times: list[float]) -> list[float]:
        """The values at rising instants; like `value`, but faster than one by one."""
        values: list[float] = []
        done = 0
        for curve, end_h in zip(self.curves, [*self.ends, inf], strict=True):
            upto = bisect_right(times, end_h)
            values += curve.values_at(times[done:upto])
            done = max(done, upto)
        return values

    def value_before(self, at_h: float) -> float:
        """The value at an instant; where it jumps, the one before."""
        return self.curves[bisect_left(self.ends, at_h)].value_before(at_h)

    def value_after(self, at_h: float) -> float:
        """The value at an instant; where it jumps, the one after."""
        return self.curves[bisect_right(self.ends, at_h)].value_after(at_h)

    def gained_h(self, law: RateLaw, from_h: float, to_h: float) -> float:
        """Equivalent hours from one instant to a later one; 0 if it is not later. Never less than 0, which the last
        digit of a difference of long sums may be where nothing is gained."""
        gained = sum(
            curve.gained_to(law, end_h) - curve.gained_to(law, start_h)
            for curve, start_h, end_h in self._stretches(from_h, to_h)
        )
        return max(0.0, gained)

    def reach(self, law: RateLaw, from_h: float, amount_h: float) -> float | None:
        """The first instant at which so many equivalent hours are gained (to 1e-9 h); None if never. Kept: pieces that
        were poured together, and rounds over the same steps, ask the same."""
        key = law, from_h, amount_h
        if key not in self._reached:
            if len(self._reached) >= MOST_KEPT:
                self._reached.clear()
            self._reached[key] = self._reach(law, from_h, amount_h)
        return self._reached[key]

    def _reach(self, law: RateLaw, from_h: float, amount_h: float) -> float | None:
        if amount_h <= SAME_H:
            return from_h
        for curve, start_h, end_h in self._stretches(from_h, inf):
            gained = inf if end_h == inf else curve.gained_to(law, end_h) - curve.gained_to(law, start_h)
            if gained >= amount_h - SAME_H:
                at_h = min(end_h, curve.reach(law, start_h, amount_h))
                return at_h if at_h < inf else None
            amount_h -= gained
        return None

    def nodes(self, from_h: float, to_h: float = inf) -> tuple[list[float], list[float]]:
        """Instants and values of the straight pieces from one instant to another, both ends included. Where the
        value jumps the instant stands twice. What holds for ever ends at inf."""
        times: list[float] = []
        values: list[float] = []
        for curve, start_h, end_h in self._stretches(from_h, to_h):
            more_times, more_values = curve.nodes(start_h, end_h)
            times += more_times
            values += more_values
        if not times:
            return [from_h], [self.value(from_h)]
        return times, values

    def jumps(self) -> list[float]:
        """Instants at which the value may jump."""
        return [*self.ends, *(at_h for curve in self.curves for at_h in curve.jumps)]

    def _stretches(self, from_h: float, to_h: float) -> list[tuple[Curve, float, float]]:
        if from_h >= to_h:
            return []
        return [
            (curve, from_h if from_h > start_h else start_h, to_h if to_h < end_h else end_h)
            for curve, start_h, end_h in self._laid
            if from_h < end_h and to_h > start_h
        ]


def spans_of(times: list[float], values: list[float], low: float, high: float) -> Spans:
    """The intervals in which low <= value <= high along straight pieces; crossings exact, single instants left out."""
    if min(values) >= low and max(values) <= high:
        return [(times[0], times[-1])]
    found: Spans = []
    for enter_h, leave_h in _stays(times, values, low, high):
        if found and enter_h <= found[-1][1]:
            found[-1] = (found[-1][0], leave_h)
        else:
            found.append((enter_h, leave_h))
    return [(enter_h, leave_h) for enter_h, leave_h in found if enter_h < leave_h]


def _stays(times: list[float], values: list[float], low: float, high: float) -> Iterator[tuple[float, float]]:
    """Runs of nodes within the two values, and the parts within them of the pieces between runs, in order. Only where
    a run ends is anything computed: a month of minutes has few ends."""
    if max(values) <= high:  # 0 below, 1 within, 2 above
        sides = bytes([value >= low for value in values])
    else:
        sides = bytes([(value >= low) + (value > high) for value in values])
    start, last = 0, len(sides) - 1
    while True:
        others = [at for side in (0, 1, 2) if side != sides[start] and (at := sides.find(side, start + 1)) >= 0]
        end = min(others) - 1 if others else last
        if sides[start] == 1:
            yield times[start], times[end]
        if end == last:
            return
        piece = times[end], values[end], times[end + 1], values[end + 1]
        if piece[0] != piece[2]:
            yield _inside(piece, low, high)
        start = end + 1


def first_below(times: list[float], values: list[float], threshold: float) -> float | None:
    """The first instant from which the value is below the threshold along straight pieces; None if it never is."""
    if min(values) >= threshold:
        return None
    index = next(i for i, value in enumerate(values) if value < threshold)
    if index == 0:
        return times[0]
    start_h, start, end_h, end = times[index - 1], values[index - 1], times[index], values[index]
    return start_h + (end_h - start_h) * ((threshold - start) / (end - start))


def _inside(piece: tuple[float, float, float, float], low: float, high: float) -> tuple[float, float]:
    """From when to when a sloping piece, which reaches there, lies between two values."""
    start_h, start, end_h, end = piece
    shares = sorted(((low - start) / (end - start), (high - start) / (end - start)))
    enter_h = start_h + shares[0] * (end_h - start_h) if shares[0] > 0.0 else start_h
    leave_h = start_h + shares[1] * (end_h - start_h) if shares[1] < 1.0 else end_h
    return enter_h, leave_h
