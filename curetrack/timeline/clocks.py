"""Five answers to one question: when? By the centre, and at the ends of the two parts of the band.

centre   the mix's own law (never crediting more than the slowest above the reference), on the central course
fast, slow       the fastest and slowest of the rate laws, on the warm and the cold course, strength off by the spread
fast_method, slow_method     the same laws and spread on the central course: the band without the weather
fast_weather, slow_weather   the centre's law on the warm and the cold course: the weather without the method

`math.inf` stands for "not within sight". An input that is not known makes the whole answer None. The centre is known at
once; the ends, which cost two dozen times as much, are worked out when somebody asks.
"""

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from curetrack.climate.course import Course, Side
from curetrack.concrete.laws import RateLaw

__all__ = ["AT_ONCE", "Clocks", "Ends", "SIGHT_h", "When", "by_side", "latest"]

Ends = tuple[float, float, float, float, float, float]  # fast, slow, those of the method alone, the weather's
SIGHT_h = 10 * 8766.0  # a hair above 0 degC nearly stops the clocks; what takes ten years is not within sight


class When:
    """An instant, seven ways (POSIX hours). fast <= fast_method <= centre <= slow_method <= slow, and the same for the
    weather's."""

    __slots__ = ("_ask", "_ends", "centre")

    def __init__(self, centre: float, ask: Callable[[], Ends] | None = None) -> None:
        self.centre = centre
        self._ask = ask
        self._ends: Ends | None = None if ask is not None else (centre,) * 6

    @property
    def ends(self) -> Ends:
        """fast, slow, fast_method, slow_method, fast_weather, slow_weather."""
        if self._ends is None:
            assert self._ask is not None
            self._ends = self._ask()
        return self._ends

    @property
    def fast(self) -> float:
        """Earliest over laws, spread and weather."""
        return self.ends[0]

    @property
    def slow(self) -> float:
        """Latest over laws, spread and weather."""
        return self.ends[1]

    @property
    def is_sharp(self) -> bool:
        """It hangs on no law and no weather."""
        return self._ask is None

    def shifted(self, hours: float) -> "When":
        """The same, so much later."""
        if self._ask is None:
            return When(self.centre + hours)

        def ends() -> Ends:
            a, b, c, d, e, f = self.ends
            return a + hours, b + hours, c + hours, d + hours, e + hours, f + hours

        return When(self.centre + hours, ends)


AT_ONCE = When(-math.inf)


def latest(whens: Sequence[When]) -> When:
    """When all of them hold."""
    if len(whens) == 1:
        return whens[0]
    if not whens:
        return AT_ONCE
    centre = max([when.centre for when in whens])
    if all(when.is_sharp for when in whens):
        return When(centre)

    def ends() -> Ends:
        fast, slow, fast_method, slow_method, fast_weather, slow_weather = zip(*(w.ends for w in whens), strict=True)
        return max(fast), max(slow), max(fast_method), max(slow_method), max(fast_weather), max(slow_weather)

    return When(centre, ends)


def by_side(ask: Callable[[Side], float]) -> When:
    """A moment that hangs on the weather alone: the same on every law."""
    centre = ask("centre")

    def ends() -> Ends:
        others = (centre, ask("warm"), ask("cold"))
        first, last = min(others), max(others)
        return first, last, centre, centre, first, last

    return When(centre, ends)


class Clocks(Struct, frozen=True):
    """The course with the laws that are asked of it. `band` holds every law of the band, the own one included."""

    course: Course
    own: RateLaw
    band: tuple[RateLaw, ...]

    def reach(self, from_h: float, centre_h: float, fast_h: float | None = None, slow_h: float | None = None) -> When:
        """When so many equivalent hours are gained since `from_h`; `fast_h`, `slow_h` where the need is a band."""
        early_h = centre_h if fast_h is None else fast_h
        late_h = centre_h if slow_h is None else slow_h
        at_h = self._first(self.own, from_h, centre_h, "centre")
        return When(at_h, lambda: self._ends(from_h, early_h, late_h, centre_h, at_h))

    def gained(self, from_h: float, to_h: float) -> float:
        """Equivalent hours by the centre."""
        return self.course.gained_h(self.own, from_h, to_h) if to_h > from_h else 0.0

    def gained_band(self, from_h: float, to_h: float) -> tuple[float, float]:
        """The least and the most equivalent hours, over laws and weather."""
        if to_h <= from_h:
            return 0.0, 0.0
        low = min(self.course.gained_h(law, from_h, to_h, "cold") for law in self.band)
        return low, max(self.course.gained_h(law, from_h, to_h, "warm") for law in self.band)

    def _ends(self, from_h: float, early_h: float, late_h: float, centre_h: float, at_h: float) -> Ends:
        fast_method = min([self._first(law, from_h, early_h, "centre") for law in self.band])
        slow_method = max([self._first(law, from_h, late_h, "centre") for law in self.band])
        fast, slow = fast_method, slow_method
        if not self._measured(from_h, fast_method):
            fast = min([self._first(law, from_h, early_h, "warm") for law in self.band])
        if not self._measured(from_h, slow_method):
            slow = max([self._first(law, from_h, late_h, "cold") for law in self.band])
        fast_weather = slow_weather = at_h
        if not self._measured(from_h, at_h):
            fast_weather = min(at_h, self._first(self.own, from_h, centre_h, "warm"))
            slow_weather = max(at_h, self._first(self.own, from_h, centre_h, "cold"))
        return fast, slow, fast_method, slow_method, fast_weather, slow_weather

    def _first(self, law: RateLaw, from_h: float, amount_h: float, side: Side) -> float:
        if amount_h == math.inf:
            return math.inf
        at_h = self.course.reach(law, from_h, amount_h, side)
        return math.inf if at_h is None or at_h > from_h + SIGHT_h else at_h

    def _measured(self, from_h: float, to_h: float) -> bool:
        """Whether the course is measured without a gap all the way, so that its sides are one."""
        if self.course.slab_is_computed:
            return False
        end_h = self.course.measured_until_h
        return end_h is not None and to_h <= end_h and not self.course.gaps_within(from_h, to_h)
