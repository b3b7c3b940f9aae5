"""Five answers to one question: when? By the centre, and at the ends of the two parts of the band.

centre   the mix's own law (never crediting more than the slowest above the reference), on the central course
fast, slow       the fastest and slowest of the rate laws, on the warm and the cold course, strength off by the spread
fast_method, slow_method     the same laws and spread on the central course: the band without the weather

`math.inf` stands for "not within sight". An input that is not known makes the whole answer None.
"""

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from curetrack.climate.course import Course, Side
from curetrack.concrete.laws import RateLaw

__all__ = ["AT_ONCE", "Clocks", "When", "latest"]


class When(Struct, frozen=True):
    """An instant, five ways (POSIX hours). fast <= fast_method <= centre <= slow_method <= slow."""

    centre: float
    fast: float
    slow: float
    fast_method: float
    slow_method: float

    @classmethod
    def sharp(cls, at_h: float) -> "When":
        """An instant that hangs on no law and no weather."""
        return cls(at_h, at_h, at_h, at_h, at_h)

    def shifted(self, hours: float) -> "When":
        """The same, so much later."""
        return When(
            self.centre + hours, self.fast + hours, self.slow + hours, self.fast_method + hours, self.slow_method + hours
        )


AT_ONCE = When.sharp(-math.inf)


def latest(whens: Sequence[When]) -> When:
    """When all of them hold."""
    if not whens:
        return AT_ONCE
    if len(whens) == 1:
        return whens[0]
    return When(
        max(w.centre for w in whens),
        max(w.fast for w in whens),
        max(w.slow for w in whens),
        max(w.fast_method for w in whens),
        max(w.slow_method for w in whens),
    )


class Clocks(Struct, frozen=True):
    """The course with the laws that are asked of it. `band` holds every law of the band, the own one included."""

    course: Course
    own: RateLaw
    band: tuple[RateLaw, ...]

    def reach(self, from_h: float, centre_h: float, fast_h: float | None = None, slow_h: float | None = None) -> When:
        """When so many equivalent hours are gained since `from_h`; `fast_h`, `slow_h` where the need itself is a band."""
        fast_h = centre_h if fast_h is None else fast_h
        slow_h = centre_h if slow_h is None else slow_h
        centre = self._first(self.own, from_h, centre_h, "centre")
        fast_method = min(self._first(law, from_h, fast_h, "centre") for law in self.band)
        slow_method = max(self._first(law, from_h, slow_h, "centre") for law in self.band)
        fast = fast_method
        if not self._measured(from_h, fast_method):
            fast = min(self._first(law, from_h, fast_h, "warm") for law in self.band)
        slow = slow_method
        if not self._measured(from_h, slow_method):
            slow = max(self._first(law, from_h, slow_h, "cold") for law in self.band)
        return When(centre, fast, slow, fast_method, slow_method)

    def gained(self, from_h: float, to_h: float) -> float:
        """Equivalent hours by the centre."""
        return self.course.gained_h(self.own, from_h, to_h) if to_h > from_h else 0.0

    def gained_band(self, from_h: float, to_h: float) -> tuple[float, float]:
        """The least and the most equivalent hours, over laws and weather."""
        if to_h <= from_h:
            return 0.0, 0.0
        low = min(self.course.gained_h(law, from_h, to_h, "cold") for law in self.band)
        return low, max(self.course.gained_h(law, from_h, to_h, "warm") for law in self.band)

    def _first(self, law: RateLaw, from_h: float, amount_h: float, side: Side) -> float:
        if amount_h == math.inf:
            return math.inf
        at_h = self.course.reach(law, from_h, amount_h, side)
        return math.inf if at_h is None else at_h

    def _measured(self, from_h: float, to_h: float) -> bool:
        """Whether the course is measured without a gap all the way, so that its sides are one."""
        end_h = self.course.measured_until_h
        if end_h is None or to_h > end_h or from_h < self.course.first_h:
            return False
        return not any(gap.from_h < to_h and gap.to_h > from_h for gap in self.course.gaps)


def by_side(ask: Callable[[Side], float]) -> When:
    """A moment that hangs on the weather alone: the same on every law."""
    centre = ask("centre")
    others = (centre, ask("warm"), ask("cold"))
    return When(centre, min(others), max(others), centre, centre)
