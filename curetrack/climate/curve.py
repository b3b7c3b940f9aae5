"""A curve of straight pieces, and the equivalent hours gained along it by any rate law.

Where the temperature changes by more than 0.5 K from one node to the next, the piece is cut, so that the rate may be
taken as straight within a piece: the integral is the trapezoid's, off by less than 0.05 % for the steepest law (its
error is the change squared / 12 times the law's relative curvature, at most 0.02 / K^2 near 0 degC). A forecast, known
to 2 K at best, is cut at 1 K. Pieces that cross a kink of the law are cut there exactly and integrated by the two Gauss
points of each part, which never touch the kink. Gained hours and their inverse use the same straight rates, so
that each undoes the other.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from itertools import accumulate, compress, count, islice, pairwise
from math import ceil, inf, sqrt
from operator import add, mul, ne, sub

from curetrack.concrete.laws import RateLaw

__all__ = ["MOST_KEPT", "SAME_H", "Curve", "common_length", "cut"]

_MOST_K = 0.5  # change within a piece
SAME_H = 1e-9  # equivalent hours (4 us) that count as none, so that rounding never jumps over a night of frost
MOST_KEPT = 20_000  # answers
_ALL = 1 << 62
_GAUSS = 1.0 / sqrt(3.0)

Piece = tuple[float, float, float, float]  # from_h, to_h, rate at the start, rate at the end


class Curve:
    """Values at rising instants, straight between them, constant before the first and after the last.

    An instant may stand twice: the value jumps there. Sums by law are made when first asked for, `at_once` nodes or
    more at a time, and kept.
    """

    __slots__ = ("_at_once", "_crossings", "_gained", "_halves", "jumps", "sums", "times", "values")

    def __init__(self, times: list[float], values: list[float], at_once: int = _ALL) -> None:
        self.times, self.values, self._at_once = times, values, at_once
        self.jumps: tuple[float, ...] = ()  # instants that stand twice
        self.sums: dict[RateLaw, list[float]] = {}
        self._gained: dict[tuple[RateLaw, float], float] = {}
        self._crossings: dict[float, list[int]] = {}
        self._halves: list[float] | None = None

    @classmethod
    def through(cls, times: list[float], values: list[float], older: "Curve | None" = None, same: int = 0) -> "Curve":
        """The curve through these nodes, cut into pieces of at most 0.5 K. The first `same` nodes are those that
        `older` was made through: its pieces and sums are taken over as far as they reach."""
        if older is None or same == 0:
            return cls(*cut(times, values))
        kept = bisect_left(older.times, times[same - 1]) + 1
        more_times, more_values = cut(times[same - 1 :], values[same - 1 :])
        curve = cls(older.times[:kept] + more_times[1:], older.values[:kept] + more_values[1:])
        curve.take_over(older, kept)
        return curve

    def take_over(self, older: "Curve", kept: int) -> None:
        """Continue every sum of `older`, whose first `kept` nodes (at least one) are this curve's too."""
        for law, sums in older.sums.items():
            self.sums[law] = sums[:kept]
            self.sums_of(law, len(self.times) - 1)

    def value(self, at_h: float) -> float:
        """The value at an instant."""
        return self.value_after(at_h)

    def value_after(self, at_h: float) -> float:
        """The value at an instant; where it jumps, the one after."""
        return self._between(bisect_right(self.times, at_h), at_h)

    def value_before(self, at_h: float) -> float:
        """The value at an instant; where it jumps, the one before."""
        index = bisect_left(self.times, at_h)
        if index < len(self.times) and self.times[index] == at_h:
            return self.values[index]
        return self._between(index, at_h)

    def values_at(self, times: list[float]) -> list[float]:
        """The values at rising instants."""
        values: list[float] = []
        nodes, known, last = self.times, self.values, len(self.times)
        index = bisect_right(nodes, times[0]) if times else 0
        for at_h in times:
            while index < last and nodes[index] <= at_h:
                index += 1
            if index in (0, last):
                values.append(known[index - 1 if index else 0])
            else:
                start_h, start = nodes[index - 1], known[index - 1]
                values.append(start + (known[index] - start) * ((at_h - start_h) / (nodes[index] - start_h)))
        return values

    def gained_to(self, law: RateLaw, at_h: float) -> float:
        """Equivalent hours from the first node to an instant; negative before it. Kept: a solver asks for the same few
        instants (a pour, a tick, the end of the readings) again and again."""
        known = self._gained.get((law, at_h))
        if known is None:
            if len(self._gained) >= MOST_KEPT:
                self._gained.clear()
            known = self._gained[law, at_h] = self._gained_to(law, at_h)
        return known

    def _gained_to(self, law: RateLaw, at_h: float) -> float:
        times, values = self.times, self.values
        index = bisect_right(times, at_h)
        if index == 0:
            return (at_h - times[0]) * law.rates(values[:1])[0]
        gained = self.sums_of(law, index - 1)[index - 1]
        if at_h == times[index - 1]:
            return gained
        if index == len(times):
            return gained + (at_h - times[-1]) * law.rates(values[-1:])[0]
        for from_h, to_h, rate, end_rate in self._pieces(law, index):
            if at_h < to_h:
                share = (at_h - from_h) / (to_h - from_h)
                return gained + (rate + 0.5 * (end_rate - rate) * share) * (at_h - from_h)
            gained += 0.5 * (rate + end_rate) * (to_h - from_h)
        return gained

    def reach(self, law: RateLaw, from_h: float, amount_h: float) -> float:
        """The first instant at which `amount_h` is gained since `from_h`; inf if never. After the last node its
        value holds for ever."""
        if amount_h <= SAME_H:
            return from_h
        start = self.gained_to(law, from_h)
        target = start + amount_h
        if target <= SAME_H:  # before the first node, where the rate cannot be 0 then
            return max(from_h, self.times[0] + target / law.rates(self.values[:1])[0])
        sums = self.sums_of(law, 0)
        while sums[-1] < target - SAME_H and len(sums) < len(self.times):
            sums = self.sums_of(law, len(sums))
        if sums[-1] < target - SAME_H:
            return max(from_h, self.times[-1] + _over(target - sums[-1], law.rates(self.values[-1:])[0]))
        index = bisect_left(sums, target - SAME_H)
        return max(from_h, self._reach_within(law, index, target - sums[index - 1]))

    def sums_of(self, law: RateLaw, upto: int) -> list[float]:
        """Equivalent hours from the first node to each node, at least as far as the node with index `upto`."""
        sums = self.sums.get(law)
        if sums is None:
            sums = self.sums[law] = self._first_sums(law)
        if len(sums) <= upto:
            self._continue(law, sums, min(len(self.times) - 1, max(upto, len(sums) + self._at_once)))
        return sums

    def nodes(self, from_h: float, to_h: float) -> tuple[list[float], list[float]]:
        """Instants and values from one instant to another: both ends and every node between them."""
        first, last = bisect_right(self.times, from_h), bisect_left(self.times, to_h)
        times = [from_h, *self.times[first:last], to_h]
        return times, [self.value_after(from_h), *self.values[first:last], self.value_before(to_h)]

    def _first_sums(self, law: RateLaw) -> list[float]:  # noqa: ARG002 - a side with gaps needs the law
        return [0.0]

    def _continue(self, law: RateLaw, sums: list[float], last: int) -> None:
        """Make the sums reach as far as a node."""
        first = len(sums) - 1
        whole = first == 0 and last == len(self.times) - 1
        values = self.values if whole else self.values[first : last + 1]
        rates = law.rates(values)
        gains = list(map(mul, self._half_steps(first, last, whole), map(add, rates, islice(rates, 1, None))))
        for kink in law.kinks_degC:
            for index in self._crossing(kink, values, whole):
                pieces = self._pieces(law, first + index)
                gains[index - 1] = sum(0.5 * (rate + end_rate) * (b - a) for a, b, rate, end_rate in pieces)
        sums.extend(islice(accumulate(gains, initial=sums[-1]), 1, None))

    def _half_steps(self, first: int, last: int, whole: bool) -> list[float]:
        if whole and self._halves is not None:
            return self._halves
        times = self.times if whole else self.times[first : last + 1]
        halves = [0.5 * step for step in map(sub, islice(times, 1, None), times)]
        if whole:
            self._halves = halves
        return halves

    def _crossing(self, kink: float, values: list[float], whole: bool) -> list[int]:
        """The ends of those pieces that go through a kink, or up from it."""
        if whole and kink in self._crossings:
            return self._crossings[kink]
        found: list[int] = []
        if min(values) <= kink < max(values):
            above = list(map(kink.__lt__, values))
            found = list(compress(count(1), map(ne, above, islice(above, 1, None))))
        if whole:
            self._crossings[kink] = found
        return found

    def _pieces(self, law: RateLaw, index: int) -> list[Piece]:
        """The piece that ends at a node, cut at the law's kinks, each part with a straight rate."""
        start_h, end_h = self.times[index - 1], self.times[index]
        start, end = self.values[index - 1], self.values[index]
        low, high = (start, end) if start < end else (end, start)
        kinks = [kink for kink in law.kinks_degC if low <= kink < high]
        if not kinks:
            rate, end_rate = law.rates([start, end])
            return [(start_h, end_h, rate, end_rate)]
        marks = sorted((kink for kink in kinks if kink > low), reverse=start > end)
        return list(_parts(law, start_h, end_h, [start, *marks, end]))

    def _reach_within(self, law: RateLaw, index: int, amount_h: float) -> float:
        """The instant within the piece that ends at a node; an amount that is beyond it by no more than SAME_H is
        reached where the gaining stops."""
        for from_h, to_h, rate, end_rate in self._pieces(law, index):
            gain = 0.5 * (rate + end_rate) * (to_h - from_h)
            if amount_h <= gain + SAME_H and to_h > from_h:
                # rate x + slope x^2 / 2 = amount, solved in the form that is stable for a slope near 0
                slope, amount_h = (end_rate - rate) / (to_h - from_h), min(amount_h, gain)
                root = sqrt(max(rate * rate + 2.0 * slope * amount_h, 0.0))
                return min(to_h, from_h + _over(2.0 * amount_h, rate + root))
            amount_h -= gain
        return self.times[index]

    def _between(self, index: int, at_h: float) -> float:
        if index == 0:
            return self.values[0]
        if index == len(self.times):
            return self.values[-1]
        start_h, start = self.times[index - 1], self.values[index - 1]
        return start + (self.values[index] - start) * ((at_h - start_h) / (self.times[index] - start_h))


def common_length(one: list[float], other: list[float]) -> int:
    """How many leading items of two lists are equal."""
    most = min(len(one), len(other))
    if one[:most] == other[:most]:
        return most
    low = 0
    while low < most:
        middle = (low + most + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            most = middle - 1
    return low


def cut(times: list[float], values: list[float], most_K: float = _MOST_K) -> tuple[list[float], list[float]]:
    """The nodes, and between two that differ by more than `most_K` as many more, evenly, as it takes."""
    steps = map(sub, islice(values, 1, None), values)
    large = list(compress(count(), map(most_K.__lt__, map(abs, steps))))
    if not large:
        return times, values
    new_times: list[float] = []
    new_values: list[float] = []
    done = 0
    for index in large:
        new_times.extend(times[done : index + 1])
        new_values.extend(values[done : index + 1])
        done = index + 1
        parts = ceil((abs(values[done] - values[index])) / most_K)
        step_h, step = (times[done] - times[index]) / parts, (values[done] - values[index]) / parts
        if step_h > 0.0:  # else a jump
            new_times.extend(times[index] + step_h * k for k in range(1, parts))
            new_values.extend(values[index] + step * k for k in range(1, parts))
    new_times.extend(times[done:])
    new_values.extend(values[done:])
    return new_times, new_values


def _parts(law: RateLaw, start_h: float, end_h: float, marks: list[float]) -> Iterator[Piece]:
    """Parts of a straight piece, from mark to mark of its temperature. The straight rate of a part goes through the
    law at its two Gauss points, so its integral is Gauss's and no value at a kink itself is asked for."""
    per_K = (end_h - start_h) / (marks[-1] - marks[0])
    from_h = start_h
    for one, two in pairwise(marks):
        to_h = end_h if two == marks[-1] else start_h + (two - marks[0]) * per_K
        middle, half = 0.5 * (one + two), 0.5 * (two - one)
        early, late = law.rates([middle - half * _GAUSS, middle + half * _GAUSS])
        mean, lean = 0.5 * (early + late), 0.5 * (late - early) / _GAUSS
        yield from_h, to_h, mean - lean, mean + lean
        from_h = to_h


def _over(amount: float, rate: float) -> float:
    return amount / rate if rate > 0.0 else inf
