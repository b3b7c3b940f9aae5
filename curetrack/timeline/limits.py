"""The latest moment of a step: no_later, the recoat window, the next of a row. Windows close early in the heat: where
one hangs on maturity or a set, the band's earliest counts. `no_later` counts from the first batch, rules from the last.
"""

from curetrack.profile.types import Limit
from curetrack.timeline.graph import POUR, Node
from curetrack.timeline.rules import Situation, set_when

__all__ = ["latest_start"]


def latest_start(node: Node, at: Situation, first_h: float | None, from_h: float | None) -> float | None:
    """The earliest of the limits that are known, POSIX hours; None if the step has none."""
    step = node.step
    start_h = first_h if first_h is not None else at.pour_h
    wait_from_h = first_h if first_h is not None and node.after == (POUR,) else from_h
    limits = _limit(step.no_later, at, start_h, wait_from_h) if step.no_later else []
    if from_h is not None and step.recoat is not None and step.recoat.to_h is not None:
        limits.append(from_h + step.recoat.to_h)
    if from_h is not None and step.every is not None and node.occurrence:
        limits.append(from_h + step.every.most_h)
    return min(limits, default=None)


def _limit(limit: Limit, at: Situation, first_h: float, from_h: float | None) -> list[float]:
    found: list[float] = []
    if limit.wait_h is not None and from_h is not None:
        found.append(from_h + limit.wait_h)
    if limit.age_h is not None:
        found.append(first_h + limit.age_h)
    if at.course.has_temperature:
        if limit.maturity_h is not None:
            found.append(at.clocks.reach(first_h, limit.maturity_h).fast)
        if limit.set is not None:
            found.append(set_when(at, limit.set, first_h).fast)
    return [at_h for at_h in found if at_h != float("inf")]
