"""What the calendar has against a pour: who mixes, who helps, steps that fit badly, moments known as bands only."""

import math
from collections.abc import Iterable, Sequence

from curetrack.timeline.graph import POUR
from curetrack.timeline.planning.calendar import Calendar, Need, SLACK_h
from curetrack.timeline.planning.called import counts_people
from curetrack.timeline.planning.choice import Fault
from curetrack.timeline.planning.fits import Spot, how_at
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.unseen import way_at
from curetrack.timeline.rules import set_of

__all__ = [
    "alone_h",
    "crew_at_pour",
    "hands_at_pour",
    "mixed_in_hours_h",
    "mixes_in_hours",
    "of_spot",
    "too_few",
    "watched",
]

MINUTE_h = 1.0 / 60.0
LOOKED_FOR_h = 14 * 24.0  # for longer nobody looks for a set: in the cold its band may have no end


def mixes_in_hours(net: Net, calendar: Calendar, pour_h: float) -> bool:
    """Whether the maker is there at the pour, and for the mixing right before it."""
    window = calendar.window_of(pour_h)
    return window is not None and window[0] <= pour_h - _mixing_h(net) + SLACK_h


def mixed_in_hours_h(net: Net, calendar: Calendar, pour_h: float) -> float:
    """Hours of that mixing for which the maker is there; where nothing is mixed, a minute of the pour counts."""
    return calendar.in_hours_h(pour_h - max(_mixing_h(net), MINUTE_h), pour_h)


def _mixing_h(net: Net) -> float:
    """The hands of what comes right before the pour."""
    return sum(net.jobs[lead].need.hands_h for lead, lead_h in _pour_leads(net) if lead_h <= 0.0)


def _pour_leads(net: Net) -> Sequence[tuple[int, float]]:
    pour = net.number.get(POUR)
    return () if pour is None else net.jobs[pour].leads


def hands_at_pour(net: Net, calendar: Calendar, pour_h: float) -> list[Fault]:
    """Whether the form can be filled before the last batch, which is the pour's moment. Asked before the piece's own
    steps are booked."""
    pour = net.number.get(POUR)
    if pour is None:
        return []
    job = net.jobs[pour]
    start_h = pour_h - job.need.hands_h
    how = how_at(calendar, job, start_h)
    return [Fault(how, POUR, job.need.hands_h, "h", start_h)] if how in ("busy", "loud") else []


def crew_at_pour(net: Net, calendar: Calendar, pour_h: float) -> list[Fault]:
    """Whether those who help to mix and fill can be there."""
    pour = net.number.get(POUR)
    people = max((net.jobs[n].need.people for n in [lead for lead, at in _pour_leads(net) if at <= 0.0]), default=1)
    people = max(people, net.jobs[pour].need.people if pour is not None else 1)
    allowed = calendar.allowed(Need(0.0, people))
    start_h = pour_h - _mixing_h(net)
    if people <= 1 or any(first <= start_h + SLACK_h and pour_h <= last + SLACK_h for first, last in allowed):
        return []
    return [Fault("crew", POUR, float(people), "", pour_h)]


def too_few(net: Net, calendar: Calendar) -> list[Fault]:
    """The step that wants most, if it wants more people than can be called; where that is not known ("uncounted"), if
    it wants anybody besides the maker. It is the same for each pour."""
    most = max((job for job in net.jobs if not job.through), key=_people, default=None)
    counted = counts_people(calendar.rota)
    if most is None or most.need.people <= (calendar.rota.people if counted else 1):
        return []
    return [Fault("few", most.id, float(most.need.people), way="" if counted else "uncounted")]


def alone_h(net: Net, placed: Iterable[tuple[Job, Spot]], faults: Sequence[Fault], calendar: Calendar) -> float:
    """Hours of work for which fewer people can come than it wants: at the pour, at steps that the crew misses, and all
    that wants more than can be called."""
    most = calendar.rota.people if counts_people(calendar.rota) else math.inf
    at_pour = {lead for lead, lead_h in _pour_leads(net) if lead_h <= 0.0} | {net.number.get(POUR)}
    missed = any(fault.rule == "crew" for fault in faults)
    found_h = 0.0
    for job, spot in placed:
        people = job.need.people
        if not job.through and people > 1 and (
            people > most or spot.how == "alone" or (missed and job.index in at_pour)
        ):  # fmt: skip
            found_h += job.need.hands_h
    return found_h


def _people(job: Job) -> tuple[int, bool]:
    """Of those that want as many, a lift is the one to name."""
    return job.need.people, job.node.step.kind == "lift"


def of_spot(net: Net, job: Job, spot: Spot, calendar: Calendar) -> list[Fault]:
    """What a step's place in the calendar has against the pour; what nobody has to do has nothing."""
    if job.through:
        return []
    end_h = spot.start_h + job.need.hands_h
    if job.taken is not None and (spot.how == "short" or job.taken.until_h is None):
        return [Fault("taken", job.taken.thing, at_h=job.taken.until_h)]
    if spot.how == "short":
        return [Fault("short", job.id, max(0.0, end_h - (spot.late_h or 0.0)), "h", spot.start_h)]
    found: list[Fault] = []
    if net.is_early(job) and net.suits(job, spot.start_h) > spot.start_h + SLACK_h:
        way, limit_degC = way_at(net, job, spot.start_h)
        found.append(Fault("unmet", job.id, limit_degC, "degC" if way else "", spot.start_h, way))
    if spot.how in ("outside", "night") and (job.index, 0.0) in _pour_leads(net):
        found.append(Fault("absent", job.id, job.need.hands_h, "h", spot.start_h))
    elif spot.how in ("outside", "night"):
        outside_h = job.need.hands_h - calendar.in_hours_h(spot.start_h, end_h)
        found.append(Fault(spot.how, job.id, outside_h, "h", spot.start_h))
    elif spot.how:
        way = "crew" if spot.how == "long" and calendar.is_crew_short(job.need) else ""
        found.append(Fault(spot.how, job.id, job.need.hands_h, "h", spot.start_h, way))
    if spot.late_h is not None and job.is_window and spot.start_h > spot.late_h + SLACK_h:
        found.append(Fault("late", job.id, spot.start_h - spot.late_h, "h", spot.start_h))
    return found


def watched(net: Net, calendar: Calendar) -> tuple[float, str]:
    """Steps that wait for a set must be looked for over the whole band: by how many hours it reaches beyond hours."""
    if not calendar.has_hours or not net.basis.course.has_temperature or net.basis.pour_h is None:
        return 0.0, ""
    most_h, step = 0.0, ""
    for job in net.jobs:
        rule = job.node.step.not_before.set
        if rule is None or job.closed or job.through or not job.is_window:
            continue
        when = set_of(net.basis.mix, net.basis.set_clocks, rule, net.basis.pour_h)
        first_h, last_h = when.fast, min(when.slow, when.fast + LOOKED_FOR_h) + job.need.hands_h
        if not math.isfinite(first_h):  # it is not in sight at all, which is said elsewhere
            continue
        beyond_h = last_h - first_h - calendar.in_hours_h(first_h, last_h)
        if beyond_h > most_h:
            most_h, step = beyond_h, job.id
    return most_h, step
