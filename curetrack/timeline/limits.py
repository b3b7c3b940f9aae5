"""The latest moment of a step: no_later, the recoat window, the next of a row. Windows close early in the heat: where
one hangs on maturity or a set, the band's earliest counts. `no_later` counts from the first batch, rules from the last.
"""

import math

from curetrack.profile.types import Limit
from curetrack.timeline.clocks import When
from curetrack.timeline.graph import POUR, Node
from curetrack.timeline.rules import Situation, set_when

__all__ = ["latest_start"]


def latest_start(
    node: Node, at: Situation, first_h: float | None, end_h: float | None, ready: When | None
) -> float | None:
    """The earliest of the limits that are known, POSIX hours; None if the step has none.

    `end_h` is when the steps before it are done, else when they are planned to be: their hands-on time is over then.
    The first of a row is never late before its own rules hold (`ready`).
    """
    step = node.step
    start_h = first_h if first_h is not None else at.pour_h
    wait_from_h = start_h if node.after == (POUR,) else end_h
    limits = _limit(step.no_later, at, start_h, wait_from_h) if step.no_later else []
    if at.coat_end_h is not None and step.recoat is not None and step.recoat.to_h is not None:
        limits.append(at.coat_end_h + step.recoat.to_h)
    if end_h is not None and step.every is not None and node.occurrence:
        due_h = end_h + step.every.most_h
        limits.append(max(due_h, ready.centre) if node.occurrence == 1 and ready is not None else due_h)
    return min((at_h for at_h in limits if math.isfinite(at_h)), default=None)


def _limit(limit: Limit, at: Situation, first_h: float, end_h: float | None) -> list[float]:
    found: list[float] = []
    if limit.wait_h is not None and end_h is not None:
        found.append(end_h + limit.wait_h)
    if limit.age_h is not None:
        found.append(first_h + limit.age_h)
    if at.course.has_temperature:
        if limit.maturity_h is not None:
            found.append(at.clocks.reach(first_h, limit.maturity_h).fast)
        if limit.set is not None:
            found.append(set_when(at, limit.set, first_h).fast)
    return found
