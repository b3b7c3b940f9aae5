"""When to pour: each half-hour of a stretch judged by the whole timeline that would follow from it.

A pour is judged by what bars it first (frost, heat, hands that are busy, loud work in quiet hours, nobody there to mix,
a window missed, too late: `BARS`), then by the crew, nights, hours outside the maker's, whether the moments that cannot
be told to the minute (a trowel after the initial set) lie within hours over their whole band, milder risks, and then by
when it is done and how often one must go there. Pure.
"""

import math
from collections.abc import Callable, Sequence

from msgspec.structs import replace

from curetrack.hours.windows import holds
from curetrack.timeline.planning.against import crew_at_pour, hands_at_pour, mixes_in_hours, of_spot, too_few, watched
from curetrack.timeline.planning.calendar import Calendar, SLACK_h
from curetrack.timeline.planning.choice import Choice, Fault, weight
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.risks import Risks
from curetrack.timeline.planning.serial import Pass, deadline_first

__all__ = ["HALF_h", "half_hours", "judge", "judge_one"]

HALF_h = 0.5


def half_hours(from_h: float, to_h: float) -> list[float]:
    """The half-hours of the clock in a stretch. All zones of today are whole quarters off UTC; the few that are off by
    a quarter get the quarters before and after the hour."""
    first = math.ceil(from_h / HALF_h - SLACK_h)
    return [number * HALF_h for number in range(first, math.floor(to_h / HALF_h + SLACK_h) + 1)]


def judge(
    net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float],
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> list[Choice]:  # fmt: skip
    """Each pour of a piece that is not poured yet, beside what is booked in the calendar. Pours for which the maker
    would have to mix outside their hours, or at night where no hours are set, are judged only if there is no other.

    net_at   the piece for a pour at that moment; the same weather for all
    """
    within = [pour_h for pour_h in pours_h if mixes_in_hours(net_at(pour_h), calendar, pour_h)]
    if not calendar.has_hours:
        within = [pour_h for pour_h in within if not holds(calendar.nights, pour_h, pour_h)]
    pours_h = within or list(pours_h)
    risks = Risks(net_at(pours_h[0]).basis, pours_h)
    found: list[Choice] = []
    for number, pour_h in enumerate(pours_h):
        found.append(judge_one(net_at(pour_h), calendar, pour_h, risks(pour_h)))
        tell(number + 1, len(pours_h))
    return found


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
        unseen = next((job.id for job in net.open if net.end[job.index] is None and not net.is_early(job)), "")
        faults.append(Fault("unseen", unseen))
    if net.need_by_h is not None and done_h is not None and done_h > net.need_by_h:
        faults.append(Fault("past_need", "", done_h - net.need_by_h, "h", done_h))
    if watch_h > 0.0:
        faults.append(Fault("watch", watched_step, watch_h, "h"))
    marks = tuple((net.jobs[index].id, spot.start_h) for (_, index), spot in trial.spots.items()) if marked else ()
    trial.retract(0)
    faults = _said_once(faults)
    slow_h = _slow_h(net, calendar) if marked else None
    need_by_h = net.need_by_h
    if slow_h is not None and need_by_h is not None and done_h is not None and done_h <= need_by_h < slow_h:
        faults.append(Fault("past_need_maybe", "", slow_h - need_by_h, "h", slow_h))
    return Choice(pour_h, done_h, cost, watch_h, tuple(sorted(faults, key=weight)), marks, slow_h)


def _said_once(faults: list[Fault]) -> list[Fault]:
    """Without what follows from another: who mixes alone works alone, a form that is not built misses all windows."""
    rules = {fault.rule for fault in faults}
    follows = {"crew": ("alone",), "short": ("late",), "absent": ("watch",), "taken": ("short", "late")}
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
