"""What comes before a planned pour.

Backwards from it first: each step as late as its lead and its followers leave. Where one of them does not fit any more
all go forwards from now, each at its first fit, and what then ends too late for the pour is said ("short"). The pour
stays where its maker has set it.
"""

import math

from msgspec import Struct

from curetrack.timeline.planning.calendar import Calendar, Need, SLACK_h, Token
from curetrack.timeline.planning.fits import SOONER_h, Spot, first_fit, freely, how_at, latest_fit
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["Early", "backwards", "early_of", "forwards"]


class Early(Struct, frozen=True):
    """The open steps before a pour, in walking order; of each the lead to the pour (none: another step follows it), and
    when it has to be over at the latest for all that follows it to be in time."""

    jobs: tuple[Job, ...]
    leads: dict[int, float]
    over_h: dict[int, float]

    def mixes(self, job: Job) -> bool:
        """Whether it goes into the pour itself."""
        return self.leads.get(job.index, 1.0) <= 0.0


def early_of(net: Net, pour: Job, pour_h: float) -> Early:
    """What is still to be done before the pour."""
    open_ = [job for job in net.jobs if net.is_early(job) and not job.closed and job.index != pour.index and job.ok]
    leads, over_h = dict(pour.leads), dict[int, float]()
    for job in reversed(open_):
        over_h[job.index] = _limit_h(net, job, pour_h - leads.get(job.index, 0.0), {
            number: over_h[number] - net.jobs[number].need.hands_h for number in over_h
        })  # fmt: skip
    return Early(tuple(open_), leads, over_h)


def _limit_h(net: Net, job: Job, limit_h: float, starts_h: dict[int, float]) -> float:
    """When a step has to be over for its followers to start then."""
    for number in net.successors[job.index]:
        if number in starts_h:
            wait_h = net.jobs[number].wait_h or 0.0
            limit_h = min(limit_h, starts_h[number] - net.rest_h(job, wait_h))
    return limit_h


def backwards(calendar: Calendar, net: Net, early: Early, pour_h: float) -> dict[int, Spot] | None:
    """Where each step goes; None if one of them has no time. The calendar is left as it was."""
    now_h = net.basis.now_h
    spots: dict[int, Spot] = {}
    chosen: dict[int, float] = {}
    tokens: list[Token] = []
    for job in reversed(early.jobs):
        late_h = _limit_h(net, job, pour_h - early.leads.get(job.index, 0.0), chosen)
        latest_h = late_h - job.need.hands_h
        if early.mixes(job) and latest_h >= now_h:
            at_h, how = latest_h, how_at(calendar, job, latest_h)
        else:
            at_h, how = latest_fit(calendar, net, job, latest_h)
        if how == "short" and job.through:  # nobody waits for it
            spots[job.index] = Spot(at_h, late_h, now_h)
            continue
        spots[job.index] = Spot(at_h, late_h, now_h, how)
        if how == "short":
            break
        chosen[job.index] = at_h
        if job.takes_hands:
            tokens.append(calendar.book(at_h, job.need.hands_h))
    for token in reversed(tokens):
        calendar.retract(token)
    return spots if all(job.index in chosen or job.through for job in early.jobs) else None


def forwards(calendar: Calendar, net: Net, job: Job, early: Early) -> Spot | None:
    """Its first fit once the steps before it are placed; None if it cannot be planned. Hours outside the maker's,
    awake, are taken where these alone leave it in time."""
    earliest_h = net.earliest_h(job)
    if earliest_h is None:
        return None
    asked, over_h, need = net.ask(job), early.over_h[job.index], job.need
    earliest_h = earliest_h if asked is None else asked[0]
    latest_h = over_h - need.hands_h
    if early.mixes(job) and earliest_h <= latest_h + SLACK_h:
        at_h = max(earliest_h, latest_h)
        return Spot(at_h, over_h, earliest_h, how_at(calendar, job, at_h))
    found_h, how = first_fit(calendar, net, job, earliest_h)
    at_h = math.inf if found_h is None else found_h
    if at_h > latest_h + SLACK_h:
        saved = _saved(calendar, need, earliest_h, latest_h)
        if saved is not None:
            return Spot(saved[0], over_h, earliest_h, saved[1])
        at_h = _sooner_alone(calendar, need, earliest_h, at_h)
    if at_h == math.inf:
        return Spot(freely(calendar, need, earliest_h), over_h, earliest_h, "never")
    too_late = at_h > latest_h + SLACK_h and not job.through  # nobody waits for what is optional
    return Spot(at_h, over_h, earliest_h, "short" if too_late else how)


def _sooner_alone(calendar: Calendar, need: Need, earliest_h: float, at_h: float) -> float:
    """What comes too late anyway does not wait for a crew that would make it a day later still."""
    alone_h = calendar.first_fit(earliest_h, Need(need.hands_h, 1, need.loud)) if need.people > 1 else None
    return at_h if alone_h is None or at_h <= alone_h + SOONER_h else alone_h


def _saved(calendar: Calendar, need: Need, earliest_h: float, latest_h: float) -> tuple[float, str] | None:
    """In time all the same: without the crew, else outside hours."""
    alone_h = calendar.first_fit(earliest_h, Need(need.hands_h, 1, need.loud)) if need.people > 1 else None
    if alone_h is not None and alone_h <= latest_h + SLACK_h:
        return alone_h, "alone"
    at_h = calendar.free_outside(earliest_h, latest_h, need, calendar.nights)
    return None if at_h is None else (at_h, "outside")
