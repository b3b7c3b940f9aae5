"""The rules: one small function each. It takes the step's situation and says when it holds, and why.

A rule gives `Met`: `when` (None: an input is not known), the Reason's numbers, and for rules that open and close again
(`air`, `slab`, `dew_margin`, `cool_gap`) the spans in which they hold. To add a rule: a field in profile.types.Rules, a
function here, a line in RULES, a sentence in words, a test.
"""

import math
from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from curetrack.climate.course import Course, Side
from curetrack.concrete.handling import strength_needed_MPa
from curetrack.concrete.slab import Slab
from curetrack.profile.types import Mix, Rules, SetRule, Span
from curetrack.timeline.clocks import Clocks, When
from curetrack.timeline.drying import Faces, dried_h, drying_when

__all__ = ["RULES", "Met", "Situation", "Spans", "set_of", "set_when"]

Spans = Callable[[float, Side], list[tuple[float, float]]]  # from an instant on, on a side of the course


class Situation(Struct, frozen=True):
    """All that a rule may ask. Instants in POSIX hours.

    pour_h     where maturity, strength, age, set count from
    after_h    where wait and hardening count from: the latest predecessor's done time, else its plan; None: unknown
    since_h    the same for `hardening.since`
    faces      what the drying clock counts; None: a wetting lies ahead whose time is not in sight
    coat_h, coat_end_h     the same for the recoat window: when the coat before was done, or begins and ends by its plan
    """

    now_h: float
    course: Course
    mix: Mix
    clocks: Clocks
    set_clocks: Clocks
    materials: dict[str, Clocks]
    slab: Slab
    pour_h: float
    after_h: float | None
    since_h: float | None
    coat_h: float | None
    coat_end_h: float | None
    faces: Faces | None


class Met(Struct, frozen=True):
    """One rule's answer. `missing` names the input that is not known."""

    rule: str
    when: When | None
    need: float | None = None
    have: float | None = None
    unit: str = ""
    subject: str = ""
    missing: str = ""
    spans: Spans | None = None
    source: str = ""
    plus_h: float = 0.0


def wait(at: Situation, rules: Rules) -> Met | None:
    """Clock time since the predecessors."""
    if rules.wait_h is None:
        return None
    if at.after_h is None:
        return Met("wait", None, rules.wait_h, unit="h", missing="predecessor")
    return Met("wait", When(at.after_h + rules.wait_h), rules.wait_h, max(0.0, at.now_h - at.after_h), "h")


def age(at: Situation, rules: Rules) -> Met | None:
    """Clock time since the pour."""
    if rules.age_h is None:
        return None
    return Met("age", When(at.pour_h + rules.age_h), rules.age_h, max(0.0, at.now_h - at.pour_h), "h")


def maturity(at: Situation, rules: Rules) -> Met | None:
    """Equivalent age since the pour."""
    if rules.maturity_h is None:
        return None
    if not at.course.has_temperature:
        return Met("maturity", None, rules.maturity_h, unit="h", missing="temperature")
    when = at.clocks.reach(at.pour_h, rules.maturity_h)
    return Met("maturity", when, rules.maturity_h, at.clocks.gained(at.pour_h, at.now_h), "h")


def set_(at: Situation, rules: Rules) -> Met | None:
    """Initial or final set by temperature, and so many clock hours more."""
    if rules.set is None:
        return None
    need = _set_h(at.mix, rules.set)
    if not at.course.has_temperature:
        return Met("set", None, need, unit="h", subject=rules.set.point, missing="temperature")
    have = at.set_clocks.gained(at.pour_h, at.now_h)
    return Met("set", set_when(at, rules.set), need, have, "h", rules.set.point, plus_h=rules.set.plus_h)


def set_when(at: Situation, rule: SetRule, from_h: float | None = None) -> When:
    """When a set is reached, with its margin, counted from the pour (or another instant)."""
    return set_of(at.mix, at.set_clocks, rule, at.pour_h if from_h is None else from_h)


def set_of(mix: Mix, set_clocks: Clocks, rule: SetRule, from_h: float) -> When:
    """When a mix reaches a set, with the rule's margin, counted from an instant."""
    return set_clocks.reach(from_h, _set_h(mix, rule)).shifted(rule.plus_h)


def _set_h(mix: Mix, rule: SetRule) -> float:
    return mix.initial_set_h if rule.point == "initial" else mix.final_set_h


def strength(at: Situation, rules: Rules) -> Met | None:
    """Compressive strength by the mix's growth; its spread belongs to the band."""
    if rules.strength_MPa is None:
        return None
    return _strong("strength", at, rules.strength_MPa, "")


def handling(at: Situation, rules: Rules) -> Met | None:
    """Strong enough in bending for the grip: 0.62 sqrt(fc) >= 1.5 x 2 x stress (concrete/handling.py)."""
    if rules.handling is None:
        return None
    grip = rules.handling.grip
    stress = at.slab.stress_MPa(grip, at.mix.density_lift_kg_m3)
    need_MPa = strength_needed_MPa(stress, breaks_free=rules.handling.breaks_free)
    return _strong("handling", at, need_MPa, grip)


def _strong(rule: str, at: Situation, need_MPa: float, subject: str) -> Met:
    if not at.course.has_temperature:
        return Met(rule, None, need_MPa, unit="MPa", subject=subject, missing="temperature")
    growth, spread = at.mix.growth, at.mix.spread
    have = growth.strength_MPa(at.clocks.gained(at.pour_h, at.now_h))
    ages = [growth.age_h(need_MPa / factor) for factor in (1.0, 1.0 + spread, 1.0 - spread)]
    centre, fast, slow = (math.inf if age_h is None else age_h for age_h in ages)
    return Met(rule, at.clocks.reach(at.pour_h, centre, fast, slow), need_MPa, have, "MPa", subject)


def hardening(at: Situation, rules: Rules) -> Met | None:
    """Equivalent hours of a material's own clock since the predecessors, or since a named step."""
    rule = rules.hardening
    if rule is None:
        return None
    since_h = at.since_h if rule.since else at.after_h
    if since_h is None:
        return Met("hardening", None, rule.time_h, unit="h", subject=rule.of, missing="predecessor")
    if not at.course.has_temperature:
        return Met("hardening", None, rule.time_h, unit="h", subject=rule.of, missing="temperature")
    clocks = at.materials.get(rule.of, at.clocks)
    have = clocks.gained(since_h, at.now_h)
    when = clocks.reach(since_h, rule.time_h)
    return Met("hardening", when, rule.time_h, have, "h", rule.of, source=rule.since)


def drying(at: Situation, rules: Rules) -> Met | None:
    """Drying hours of open faces since the last wetting."""
    if rules.drying_h is None:
        return None
    if not at.course.has_humidity or not at.course.has_temperature:
        return Met("drying", None, rules.drying_h, unit="h", missing="humidity")
    if at.faces is None:
        return Met("drying", None, rules.drying_h, unit="h", missing="predecessor")
    when = drying_when(at.course, at.faces, rules.drying_h)
    return Met("drying", when, rules.drying_h, dried_h(at.course, at.faces, at.now_h), "h")


def air(at: Situation, rules: Rules) -> Met | None:
    """Air between two temperatures, now and for some hours ahead (air readings, else slab, else outside)."""
    return None if rules.air is None else _between("air", at, rules.air, at.course.air_source or "")


def slab(at: Situation, rules: Rules) -> Met | None:
    """The slab's own temperature, likewise."""
    return None if rules.slab is None else _between("slab", at, rules.slab, "slab")


def _between(rule: Literal["air", "slab"], at: Situation, span: Span, source: str) -> Met:
    need = span.from_degC if span.from_degC is not None else span.to_degC
    if not at.course.has_temperature:
        return Met(rule, None, need, unit="degC", missing="temperature")
    have = at.course.temp_degC(at.now_h, rule)
    if span.from_degC is not None and span.to_degC is not None and have > span.to_degC:
        need = span.to_degC

    def spans(from_h: float, side: Side) -> list[tuple[float, float]]:
        found = at.course.spans(rule, span.from_degC, span.to_degC, from_h, side)
        return _lasting(found, span.for_h)

    return Met(rule, When(-math.inf), need, have, "degC", spans=spans, source=source)


def dew_margin(at: Situation, rules: Rules) -> Met | None:
    """Slab so much warmer than the dew point of the air, now and for some hours ahead (ISO 8502-4 as described)."""
    rule = rules.dew_margin
    if rule is None:
        return None
    have = at.course.dew_margin_K(at.now_h) if at.course.has_temperature else None
    if not at.course.has_humidity or not at.course.has_temperature:
        return Met("dew_margin", None, rule.least_K, unit="K", missing="humidity")

    def spans(from_h: float, side: Side) -> list[tuple[float, float]]:
        return _lasting(at.course.spans("dew_margin", rule.least_K, None, from_h, side), rule.for_h)

    return Met("dew_margin", When(-math.inf), rule.least_K, have, "K", spans=spans)


def cool_gap(at: Situation, rules: Rules) -> Met | None:
    """Slab no warmer than the air by more than this, so that uncovering is no shock."""
    if rules.cool_gap_K is None:
        return None
    limit = rules.cool_gap_K
    if not at.course.has_temperature:
        return Met("cool_gap", None, limit, unit="K", missing="temperature")
    have = at.course.temp_degC(at.now_h, "slab") - at.course.temp_degC(at.now_h, "air")

    def spans(from_h: float, side: Side) -> list[tuple[float, float]]:
        return at.course.spans("cool_gap", None, limit, from_h, side)

    return Met("cool_gap", When(-math.inf), limit, have, "K", spans=spans)


def _lasting(found: list[tuple[float, float]], hours: float) -> list[tuple[float, float]]:
    """The starts from which a span still lasts so long."""
    return [(start, end - hours) for start, end in found if end - start >= hours]


RULES: tuple[Callable[[Situation, Rules], Met | None], ...] = (
    wait, age, maturity, set_, strength, handling, hardening, drying, air, slab, dew_margin, cool_gap,
)  # fmt: skip
