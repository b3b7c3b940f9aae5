"""Why a step is not in sight: which way the weather stands against its rules."""

import math
from typing import Literal

from curetrack.climate.course import Course
from curetrack.profile.types import Rules, Span
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["way_at", "way_of"]

LOOKED_FOR_h = 21 * 24.0


def way_of(net: Net, job: Job) -> str:
    """cold, hot or damp, where that alone keeps it out of sight: it never ripens or hardens, the air or the slab stays
    on one side of what is asked for, dew always falls or nothing dries. "": none of these, or several."""
    rules, course, basis = job.node.step.not_before, net.basis.course, net.basis
    if not course.has_temperature:
        return ""
    from_h = basis.now_h if basis.pour_h is None else max(basis.now_h, basis.pour_h)
    ways = {_way_of_span(course, "air", rules.air, from_h), _way_of_span(course, "slab", rules.slab, from_h)} - {""}
    if job.moment_h == math.inf:
        ways.add("cold")
    if course.has_humidity and _is_damp(course, rules, from_h):
        ways.add("damp")
    if not ways and (rules.hardening is not None or rules.drying_h is not None):
        ways.add("cold" if rules.hardening is not None else "damp")
    return ways.pop() if len(ways) == 1 else ""


def way_at(net: Net, job: Job, at_h: float) -> tuple[str, float | None]:
    """cold or hot, and the limit in degC, where air or slab lies on that side of what is asked for at a moment, or
    while it is asked for from then on; ("", None): neither."""
    rules, course = job.node.step.not_before, net.basis.course
    asked: tuple[tuple[Literal["air", "slab"], Span | None], ...] = (("air", rules.air), ("slab", rules.slab))
    for quantity, span in asked if course.has_temperature else ():
        if span is None:
            continue
        until_h = at_h + span.for_h
        if span.from_degC is not None and course.minimum(quantity, at_h, until_h)[0] < span.from_degC:
            return "cold", span.from_degC
        if span.to_degC is not None and course.maximum(quantity, at_h, until_h)[0] > span.to_degC:
            return "hot", span.to_degC
    return "", None


def _way_of_span(course: Course, quantity: Literal["air", "slab"], span: Span | None, from_h: float) -> str:
    if span is None:
        return ""
    until_h = from_h + LOOKED_FOR_h
    if span.from_degC is not None and course.maximum(quantity, from_h, until_h)[0] < span.from_degC:
        return "cold"
    if span.to_degC is not None and course.minimum(quantity, from_h, until_h)[0] > span.to_degC:
        return "hot"
    return ""


def _is_damp(course: Course, rules: Rules, from_h: float) -> bool:
    return rules.dew_margin is not None and not course.spans("dew_margin", rules.dew_margin.least_K, None, from_h)
