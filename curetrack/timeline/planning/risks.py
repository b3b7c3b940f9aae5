"""What the forecast has against a pour: heat and cold at it, frost after it, cold first days, a face that dries."""

from collections.abc import Sequence

from curetrack.timeline.alerts import (
    COLD_CURE_degC,
    COLD_CURE_FOR_h,
    FORM_LEAST_degC,
    MIX_MOST_degC,
    PLACING_degC,
    WATCH_kg_m2_h,
)
from curetrack.timeline.frost import FREEZING_degC, read_frost
from curetrack.timeline.history import read_history
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.choice import Fault

__all__ = ["Risks"]

SIGHT_h = 21 * 24.0


class Risks:
    """Asked for one pour of a stretch. Questions that no pour of the stretch can raise are asked once."""

    def __init__(self, basis: Basis, pours_h: Sequence[float]) -> None:
        self.basis = basis
        course = basis.course
        self.known = course.has_temperature and bool(pours_h)
        self.frost = self.cold = False
        if self.known:
            first_h, last_h = min(pours_h), max(pours_h) + SIGHT_h
            self.frost = course.minimum("slab", first_h, last_h, "cold")[0] <= FREEZING_degC
            self.cold = course.minimum("slab", first_h, last_h, "centre")[0] < COLD_CURE_degC

    def __call__(self, pour_h: float) -> list[Fault]:
        if not self.known:
            return []
        basis, course = self.basis, self.basis.course
        slab, air = course.temp_degC(pour_h), course.temp_degC(pour_h, "air")
        found: list[Fault] = []
        if slab > MIX_MOST_degC:
            found.append(Fault("mix_hot", "", slab, "degC", pour_h))
        elif slab < FORM_LEAST_degC:
            found.append(Fault("form_cold", "", slab, "degC", pour_h))
        else:
            wrong = [degC for degC in (slab, air) if not PLACING_degC[0] <= degC <= PLACING_degC[1]]
            found += [Fault("placing", "", wrong[0], "degC", pour_h)] if wrong else []
        if self.frost:
            found += self._frost(pour_h)
        if self.cold:
            end_h = basis.clocks.reach(pour_h, COLD_CURE_FOR_h).centre
            lowest, at_h = course.minimum("slab", pour_h, min(end_h, pour_h + 14 * 24.0), "centre")
            found += [Fault("cold_cure", "", lowest, "degC", at_h)] if lowest < COLD_CURE_degC else []
        rate = course.evaporation_kg_m2_h(pour_h) if course.has_humidity else None
        if rate is not None and rate >= WATCH_kg_m2_h:
            found.append(Fault("evaporation", "", rate, "kg/m2/h", pour_h))
        return found

    def _frost(self, pour_h: float) -> list[Fault]:
        frost = read_frost(self.basis.clocks, self.basis.mix, read_history(()), pour_h, self.basis.now_h)
        if frost.ahead_h is not None:
            return [Fault("frost", "", frost.ahead_degC, "degC", frost.ahead_h)]
        return [Fault("frost_maybe", "", frost.maybe_degC, "degC", frost.maybe_h)] if frost.maybe_h is not None else []
