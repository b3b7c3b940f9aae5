"""Limits that count from the pour: when a window closes, when a repeat ends by itself. POSIX hours."""

from curetrack.profile.types import Limit
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.job import Time
from curetrack.timeline.rules import set_of

__all__ = ["closes_h", "ends_h"]


def closes_h(limit: Limit, basis: Basis, first_h: float) -> Time:
    """The earliest that a window may close, counted from the first batch; None: on nothing that is known."""
    found = [first_h + limit.age_h] if limit.age_h is not None else []
    if basis.course.has_temperature:
        found += [basis.clocks.reach(first_h, limit.maturity_h).fast] if limit.maturity_h is not None else []
        found += [set_of(basis.mix, basis.set_clocks, limit.set, first_h).fast] if limit.set is not None else []
    return min(found, default=None)


def ends_h(until: Limit, basis: Basis, pour_h: float) -> Time:
    """When a repeat ends, counted from the last batch; None: on nothing that is known."""
    found = [pour_h + until.age_h] if until.age_h is not None else []
    if basis.course.has_temperature:
        found += [basis.clocks.reach(pour_h, until.maturity_h).centre] if until.maturity_h is not None else []
        found += [set_of(basis.mix, basis.set_clocks, until.set, pour_h).centre] if until.set is not None else []
    return max(found, default=None)
