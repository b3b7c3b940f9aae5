"""Frost on young concrete: did it freeze before it could bear it, and does a hardness check count?"""

import math

from msgspec import Struct

from curetrack.climate.course import Course, Quantity, Side
from curetrack.profile.types import Mix
from curetrack.timeline.clocks import Clocks
from curetrack.timeline.history import HARDNESS, History

__all__ = ["FREEZING_degC", "Frost", "hardness_counts", "read_frost"]

FREEZING_degC = 0.0
THAWED_degC = 10.0  # frozen concrete rings and resists a nail (common practice, no source)
THAWED_FOR_h = 24.0
LOOKED_AHEAD_h = 21 * 24.0  # a piece that is not past frost within three weeks has other troubles


class Frost(Struct, frozen=True):
    """Frost and the young piece, POSIX hours.

    bears_h      from when it bears one freeze, by the slowest law (inf: not in sight, or no frost anywhere)
    froze_h      it was measured under 0 degC before that; the first time, or the first after a check that counts
    cleared_h    a hardness check that counts was passed after it
    ahead_h, ahead_degC     the forecast's centre reaches 0 degC before bears_h; its lowest till then
    maybe_h      only the cold side does
    unknown_h    a gap in the readings in which it may have frozen
    """

    bears_h: float
    froze_h: float | None = None
    froze_at_age_h: tuple[float, float] | None = None
    cleared_h: float | None = None
    ahead_h: float | None = None
    ahead_degC: float | None = None
    maybe_h: float | None = None
    maybe_degC: float | None = None
    unknown_h: float | None = None

    @property
    def suspect(self) -> bool:
        """Froze young, and nobody has found it hard since."""
        return self.froze_h is not None and self.cleared_h is None


def read_frost(clocks: Clocks, mix: Mix, history: History, pour_h: float, now_h: float) -> Frost:
    """What the course says of frost from the pour until the piece bears one freeze (3.5 MPa and an age, the mix's)."""
    course = clocks.course
    if not course.has_temperature:
        return Frost(math.inf)
    if course.minimum(_where(course), pour_h, now_h + LOOKED_AHEAD_h, "cold")[0] > FREEZING_degC:
        return Frost(math.inf)
    bears_h = _bears(clocks, mix, pour_h)
    seen_h = course.measured_until_h if course.measured_until_h is not None else -math.inf
    young_h = min(bears_h, seen_h)
    froze_h = _first_freeze(course, pour_h, young_h, "centre")
    cleared_h = None
    while froze_h is not None and (cleared_h := _cleared(course, history, froze_h, now_h)) is not None:
        again_h = _first_freeze(course, cleared_h, young_h, "centre")
        if again_h is None:
            break
        froze_h = again_h  # found hard, and frozen once more while still young
    ages = clocks.gained_band(pour_h, froze_h) if froze_h is not None else None
    from_h = max(pour_h, seen_h)
    until_h = min(bears_h, from_h + LOOKED_AHEAD_h)
    ahead_h = _first_freeze(course, from_h, until_h, "centre")
    maybe_h = _first_freeze(course, from_h, until_h, "cold")
    gaps = course.gaps_within(pour_h, min(bears_h, max(seen_h, pour_h)))
    unknown_h = next((max(gap.from_h, pour_h) for gap in gaps if gap.cold_degC <= FREEZING_degC), None)
    return Frost(
        bears_h, froze_h, ages, cleared_h, ahead_h, _lowest(course, from_h, until_h, "centre", ahead_h),
        maybe_h, _lowest(course, from_h, until_h, "cold", maybe_h), unknown_h,
    )  # fmt: skip


def hardness_counts(course: Course, at_h: float) -> bool:
    """A hardness check is worth something only thawed: at 10 degC or more for the last 24 h, measured."""
    if not course.has_temperature or course.measured_until_h is None or course.measured_until_h < at_h - 3.0:
        return False
    lowest, _ = course.minimum(_where(course), at_h - THAWED_FOR_h, at_h, "centre")
    return lowest >= THAWED_degC


def _where(course: Course) -> Quantity:
    """Heat and a lag that are computed save nothing from frost: then it is asked of the air."""
    return "air" if course.slab_is_computed else "slab"


def _bears(clocks: Clocks, mix: Mix, pour_h: float) -> float:
    age_h = mix.growth.age_h(mix.frost_strength_MPa / (1.0 - mix.spread))
    strong_h = math.inf if age_h is None else clocks.reach(pour_h, age_h).slow
    return max(strong_h, clocks.reach(pour_h, mix.frost_maturity_h).slow)


def _first_freeze(course: Course, from_h: float, to_h: float, side: Side) -> float | None:
    if to_h <= from_h:
        return None
    return course.first_below(_where(course), FREEZING_degC, from_h, to_h, side)


def _lowest(course: Course, from_h: float, to_h: float, side: Side, froze_h: float | None) -> float | None:
    if froze_h is None:
        return None
    return course.minimum(_where(course), from_h, min(to_h, froze_h + 48.0), side)[0]


def _cleared(course: Course, history: History, froze_h: float, now_h: float) -> float | None:
    """When the newest pass that counts was recorded, unless a fail came after it."""
    for answer in reversed([a for a in history.answers.get(HARDNESS, []) if froze_h < a.at_h <= now_h]):
        if not answer.passed:
            return None
        if hardness_counts(course, answer.at_h):
            return answer.at_h
    return None
