"""Limits that count from the pour: when a window closes, when a repeat ends by itself. POSIX hours."""

from curetrack.profile.types import Limit, SetRule
from curetrack.timeline.clocks import When
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.job import Time

__all__ = ["closes_h", "ends_h"]


def closes_h(limit: Limit, basis: Basis, first_h: float) -> Time:
    """The earliest that a window may close, counted from the first batch; None: on nothing that is known."""
    found = [first_h + limit.age_h] if limit.age_h is not None else []
    if basis.course.has_temperature:
        found += [basis.clocks.reach(first_h, limit.maturity_h).fast] if limit.maturity_h is not None else []
        found += [_set_when(basis, limit.set, first_h).fast] if limit.set is not None else []
    return min(found, default=None)


def ends_h(until: Limit, basis: Basis, pour_h: float) -> Time:
    """When a repeat ends, counted from the last batch; None: on nothing that is known."""
    found = [pour_h + until.age_h] if until.age_h is not None else []
    if basis.course.has_temperature:
        found += [basis.clocks.reach(pour_h, until.maturity_h).centre] if until.maturity_h is not None else []
        found += [_set_when(basis, until.set, pour_h).centre] if until.set is not None else []
    return max(found, default=None)


def _set_when(basis: Basis, rule: SetRule, from_h: float) -> When:
    need_h = basis.mix.initial_set_h if rule.point == "initial" else basis.mix.final_set_h
    return basis.set_clocks.reach(from_h, need_h).shifted(rule.plus_h)
