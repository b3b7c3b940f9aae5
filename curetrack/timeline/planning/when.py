"""When to pour: a half-hour of a stretch judged by the whole timeline that would follow from it.

A pour is judged by what bars it first (frost, heat, hands that are busy, loud work in quiet hours, nobody there to mix,
a window missed, too late: `BARS`), then by rules before it that the weather does not meet, and then by when it is done.
The crew, nights, hours outside the maker's, moments that cannot be told to the minute (a trowel after the initial set)
and may lie outside of them, milder risks: each is as bad as so many days (`choice.py`). Pure.
"""

import math
from collections.abc import Callable, Sequence

from msgspec.structs import replace

from curetrack.hours.windows import holds
from curetrack.instants import from_h
from curetrack.timeline.planning.against import (
    alone_h,
    crew_at_pour,
    hands_at_pour,
    mixed_in_hours_h,
    mixes_in_hours,
    of_spot,
    too_few,
    watched,
)
from curetrack.timeline.planning.calendar import Calendar, SLACK_h
from curetrack.timeline.planning.choice import Choice, Fault, weight
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.risks import Risks
from curetrack.timeline.planning.serial import Pass, deadline_first
from curetrack.timeline.planning.unseen import way_of

__all__ = ["HALF_h", "half_hours", "judge_one", "worth"]

HALF_h = 0.5
THIRD_h = 3.0


def half_hours(since_h: float, until_h: float) -> list[float]:
    """The half-hours of the clock in a stretch. All zones of today are whole quarters off UTC; the few that are off by
    a quarter get the quarters before and after the hour."""
    first = math.ceil(since_h / HALF_h - SLACK_h)
    return [number * HALF_h for number in range(first, math.floor(until_h / HALF_h + SLACK_h) + 1)]


def worth(net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float]) -> list[float]:
    """The pours that are looked at: those for which the maker is there to mix, by day where no hours are set. If there
    is none: of each day those for which somebody is there for the longest, busy hands and quiet hours aside; none of
    days without anybody. If all are such, each third hour will do, since none can be recommended."""
    within = [pour_h for pour_h in pours_h if mixes_in_hours(net_at(pour_h), calendar, pour_h)]
    if not calendar.has_hours:
        within = [pour_h for pour_h in within if not holds(calendar.nights, pour_h, pour_h)]
    return within or _least_absent(net_at, calendar, pours_h)


def _least_absent(net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float]) -> list[float]:
    best: dict[object, tuple[float, ...]] = {}
    ranked: list[tuple[float, object, tuple[float, ...]]] = []
    for pour_h in pours_h:
        net = net_at(pour_h)
        there_h = mixed_in_hours_h(net, calendar, pour_h)
        taken = float(bool(hands_at_pour(net, calendar, pour_h)))
        rank = taken, -round(there_h, 3), float(holds(calendar.nights, pour_h, pour_h))
        day = from_h(pour_h).astimezone(calendar.zone).date()
        best[day] = min(best.get(day, rank), rank)
        ranked.append((pour_h, day, rank))
    somebody = any(rank[1] < 0.0 for rank in best.values())
    found = [pour_h for pour_h, day, rank in ranked if rank == best[day] and (rank[1] < 0.0 or not somebody)]
    return found if somebody else [pour_h for pour_h in found if pour_h % THIRD_h == 0.0] or found


def judge_one(
    net: Net, calendar: Calendar, pour_h: float, risks: Sequence[Fault] | None = None, *, marked: bool = False
) -> Choice:
    """One pour, with its milestones if they are asked for. The calendar is left as it was."""
    if risks is None:
        risks = Risks(net.basis, [pour_h])(pour_h)
    net.pour_at(replace(net.basis, pour_h=pour_h, first_h=pour_h))
    taken = hands_at_pour(net, calendar, pour_h)
    trial = Pass([net], calendar)
    trial.run(deadline_first)
    cost, done_h = trial.cost(), trial.done_h(0)
    watch_h, watched_step = watched(net, calendar)
    faults = [*risks, *crew_at_pour(net, calendar, pour_h), *too_few(net, calendar)]
    for (_, index), spot in trial.spots.items():
        faults += of_spot(net, net.jobs[index], spot, calendar) if spot.how or spot.late_h is not None else []
    faults += [fault for fault in taken if fault.rule not in {other.rule for other in faults}]
    if done_h is None:
        unseen = next((job for job in net.open if net.end[job.index] is None and not net.is_early(job)), None)
        way = way_of(net, unseen) if unseen is not None and marked else ""
        faults.append(Fault("unseen", "" if unseen is None else unseen.id, way=way))
    if net.need_by_h is not None and done_h is not None and done_h > net.need_by_h:
        faults.append(Fault("past_need", "", done_h - net.need_by_h, "h", done_h))
    if watch_h > 0.0:
        faults.append(Fault("watch", watched_step, watch_h, "h"))
    unhelped_h = alone_h(net, [(net.jobs[index], spot) for (_, index), spot in trial.spots.items()], faults, calendar)
    marks = tuple((net.jobs[index].id, spot.start_h) for (_, index), spot in trial.spots.items()) if marked else ()
    trial.retract(0)
    faults = _said_once(faults)
    slow_h = _slow_h(net, calendar) if marked else None
    need_by_h = net.need_by_h
    if slow_h is not None and need_by_h is not None and done_h is not None and done_h <= need_by_h < slow_h:
        faults.append(Fault("past_need_maybe", "", slow_h - need_by_h, "h", slow_h))
    return Choice(pour_h, done_h, cost, watch_h, tuple(sorted(faults, key=weight)), marks, slow_h, unhelped_h)


def _said_once(faults: list[Fault]) -> list[Fault]:
    """Without what follows from another: who mixes alone works alone, a form that is not built misses all windows,
    nobody helps a maker who is not there."""
    rules = {fault.rule for fault in faults}
    follows = {"crew": ("alone",), "short": ("late",), "absent": ("watch", "crew"), "taken": ("short", "late")}
    gone = {other for rule, others in follows.items() if rule in rules for other in others}
    return [fault for fault in faults if fault.rule not in gone]


def _slow_h(net: Net, calendar: Calendar) -> float | None:
    """When all is done if every step is ready no sooner than at its band's end."""
    net.pour_at(net.basis, slow=True)
    trial = Pass([net], calendar)
    trial.run(deadline_first)
    done_h = trial.done_h(0)
    trial.retract(0)
    net.pour_at(net.basis)
    return done_h
