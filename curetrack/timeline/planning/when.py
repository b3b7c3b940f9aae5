"""When to pour: each half-hour of a stretch judged by the whole timeline that would follow from it.

A pour is judged by what cannot be mended first: frost and heat that a pour must not meet, windows missed, the day it
is needed, the crew, nights, hours outside the maker's, whether the moments that cannot be told to the minute (a trowel
after the initial set) lie within hours over their whole band, milder risks, and then by when it is done and how often
one must go there. Pure.
"""

import math
from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from curetrack.hours.windows import holds
from curetrack.timeline.alerts import (
    COLD_CURE_degC,
    COLD_CURE_FOR_h,
    FORM_LEAST_degC,
    MIX_MOST_degC,
    PLACING_degC,
    WATCH_kg_m2_h,
)
from curetrack.timeline.frost import FREEZING_degC, read_frost
from curetrack.timeline.graph import POUR
from curetrack.timeline.history import read_history
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.calendar import Calendar, Need, SLACK_h
from curetrack.timeline.planning.cost import Cost
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.serial import Pass, Spot

__all__ = ["Choice", "Fault", "HALF_h", "best_by_day", "half_hours", "judge"]

HALF_h = 0.5
SIGHT_h = 21 * 24.0
GRAVE = {"frost": 3, "mix_hot": 3, "form_cold": 3}  # what a pour must not meet; the rest is a risk


class Fault(Struct, frozen=True):
    """One thing that speaks against a pour: rule (a risk, or late, night, outside, never, long, short, past_need,
    watch, crew, taken), the step (taken: what is shared), a number in `unit`, when."""

    rule: str
    step: str = ""
    value: float | None = None
    unit: str = ""
    at_h: float | None = None


class Choice(Struct, frozen=True):
    """One pour: when all that wants hands is done, what it costs, and what speaks against it, gravest first.

    watch_h   hours by which a moment that is known as a band may fall outside the maker's hours
    marks     milestones: (step, start)
    slow_h    when it is done by the slow side of every band: a weak mix, cold weather (asked for with the marks)
    """

    pour_h: float
    done_h: float | None
    cost: Cost
    watch_h: float
    faults: tuple[Fault, ...]
    marks: tuple[tuple[str, float], ...] = ()
    slow_h: float | None = None

    @property
    def key(self) -> tuple[float, ...]:
        """Smaller is better."""
        grave = sum(1.0 for fault in self.faults if fault.rule in GRAVE)
        crew = sum({"crew": 10.0, "alone": 1.0}.get(fault.rule, 0.0) for fault in self.faults)
        mild = sum(1.0 for fault in self.faults if fault.rule in MILD)
        late_h, night_h, outside_h, past_h = self.cost.key[:4]
        done_h = math.inf if self.done_h is None else round(self.done_h)
        return (
            grave, late_h, past_h, crew, night_h, outside_h, round(self.watch_h, 1), mild, done_h,
            float(self.cost.visits), self.pour_h,
        )  # fmt: skip

    @property
    def is_clean(self) -> bool:
        """Nothing speaks against it."""
        return not any(self.key[:8])


MILD = ("frost_maybe", "placing", "cold_cure", "evaporation")


def half_hours(from_h: float, to_h: float) -> list[float]:
    """The half-hours of the clock in a stretch. All zones of today are whole quarters off UTC; the few that are off by
    a quarter get the quarters before and after the hour."""
    first = math.ceil(from_h / HALF_h - SLACK_h)
    return [number * HALF_h for number in range(first, math.floor(to_h / HALF_h + SLACK_h) + 1)]


def judge(
    net: Net, calendar: Calendar, pours_h: Sequence[float], tell: Callable[[int, int], None] = lambda _done, _all: None
) -> list[Choice]:
    """Each pour of a piece that is not poured yet, beside what is booked in the calendar. Pours for which the maker
    would have to mix outside their hours, or at night where no hours are set, are judged only if there is no other."""
    within = [pour_h for pour_h in pours_h if _mixes_in_hours(net, calendar, pour_h)]
    if not calendar.has_hours:
        within = [pour_h for pour_h in within if not holds(calendar.nights, pour_h, pour_h)]
    pours_h = within or list(pours_h)
    risks = _Risks(net.basis, pours_h)
    found: list[Choice] = []
    for number, pour_h in enumerate(pours_h):
        found.append(judge_one(net, calendar, pour_h, risks(pour_h)))
        tell(number + 1, len(pours_h))
    return found


def judge_one(
    net: Net, calendar: Calendar, pour_h: float, risks: Sequence[Fault] | None = None, *, marked: bool = False
) -> Choice:
    """One pour, with its milestones if they are asked for. The calendar is left as it was."""
    if risks is None:
        risks = _Risks(net.basis, [pour_h])(pour_h)
    net.pour_at(replace(net.basis, pour_h=pour_h, first_h=pour_h))
    trial = Pass([net], calendar)
    trial.run(_in_order)
    cost, done_h = trial.cost(), trial.done_h(0)
    watch_h, watched = _watched(net, calendar)
    faults = [*risks, *_crew_at_pour(net, calendar, pour_h)]
    for (_, index), spot in trial.spots.items():
        faults += _of_spot(net.jobs[index], spot, calendar) if spot.how or spot.late_h is not None else []
    if any(fault.rule == "taken" for fault in faults):
        faults = [fault for fault in faults if fault.rule != "short"]  # said once
    if done_h is None:
        unseen = next((job.id for job in net.open if net.end[job.index] is None and not net.is_early(job)), "")
        faults.append(Fault("unseen", unseen))
    if net.need_by_h is not None and done_h is not None and done_h > net.need_by_h:
        faults.append(Fault("past_need", "", done_h - net.need_by_h, "h", done_h))
    if watch_h > 0.0:
        faults.append(Fault("watch", watched, watch_h, "h"))
    marks = tuple((net.jobs[index].id, spot.start_h) for (_, index), spot in trial.spots.items()) if marked else ()
    trial.retract(0)
    if any(fault.rule == "crew" for fault in faults):
        faults = [fault for fault in faults if fault.rule != "alone"]  # said once
    slow_h = _slow_h(net, calendar) if marked else None
    need_by_h = net.need_by_h
    if slow_h is not None and need_by_h is not None and done_h is not None and done_h <= need_by_h < slow_h:
        faults.append(Fault("past_need_maybe", "", slow_h - need_by_h, "h", slow_h))
    return Choice(pour_h, done_h, cost, watch_h, tuple(sorted(faults, key=_weight)), marks, slow_h)


def _slow_h(net: Net, calendar: Calendar) -> float | None:
    """When all is done if every step is ready no sooner than at its band's end."""
    net.pour_at(net.basis, slow=True)
    trial = Pass([net], calendar)
    trial.run(_in_order)
    done_h = trial.done_h(0)
    trial.retract(0)
    net.pour_at(net.basis)
    return done_h


def best_by_day(choices: Sequence[Choice], day_of: Callable[[float], object]) -> list[Choice]:
    """The best pour of each local day, the best day first."""
    best: dict[object, Choice] = {}
    for choice in sorted(choices, key=lambda choice: choice.key):
        best.setdefault(day_of(choice.pour_h), choice)
    return list(best.values())


# --- one pour --------------------------------------------------------------------------------------------------------


def _in_order(_piece: int, _job: Job, earliest_h: float, late_h: float | None) -> tuple[float, ...]:
    return (math.inf if late_h is None else late_h, earliest_h)


def _mixes_in_hours(net: Net, calendar: Calendar, pour_h: float) -> bool:
    """Whether the maker is there at the pour, and for the mixing right before it."""
    window = calendar.window_of(pour_h)
    return window is not None and window[0] <= pour_h - _mixing_h(net) + SLACK_h


def _mixing_h(net: Net) -> float:
    """The hands of what comes right before the pour."""
    return sum(net.jobs[lead].need.hands_h for lead, lead_h in _pour_leads(net) if lead_h <= 0.0)


def _pour_leads(net: Net) -> Sequence[tuple[int, float]]:
    pour = net.number.get(POUR)
    return () if pour is None else net.jobs[pour].leads


def _crew_at_pour(net: Net, calendar: Calendar, pour_h: float) -> list[Fault]:
    """Whether those who help to mix and fill can be there."""
    pour = net.number.get(POUR)
    people = max((net.jobs[n].need.people for n in [lead for lead, at in _pour_leads(net) if at <= 0.0]), default=1)
    people = max(people, net.jobs[pour].need.people if pour is not None else 1)
    allowed = calendar.allowed(Need(0.0, people))
    start_h = pour_h - _mixing_h(net)
    if people <= 1 or any(first <= start_h + SLACK_h and pour_h <= last + SLACK_h for first, last in allowed):
        return []
    return [Fault("crew", POUR, float(people), "", pour_h)]


def _of_spot(job: Job, spot: Spot, calendar: Calendar) -> list[Fault]:
    if job.through:
        return []
    end_h = spot.start_h + job.need.hands_h
    if job.taken is not None and (spot.how == "short" or job.taken.until_h is None):
        return [Fault("taken", job.taken.thing, at_h=job.taken.until_h)]
    if spot.how == "short":
        return [Fault("short", job.id, max(0.0, end_h - (spot.late_h or 0.0)), "h", spot.start_h)]
    found: list[Fault] = []
    if spot.how in ("outside", "night"):
        outside_h = job.need.hands_h - calendar.in_hours_h(spot.start_h, end_h)
        found.append(Fault(spot.how, job.id, outside_h, "h", spot.start_h))
    elif spot.how:
        found.append(Fault(spot.how, job.id, job.need.hands_h, "h", spot.start_h))
    if spot.late_h is not None and job.is_window and spot.start_h > spot.late_h + SLACK_h:
        found.append(Fault("late", job.id, spot.start_h - spot.late_h, "h", spot.start_h))
    return found


def _watched(net: Net, calendar: Calendar) -> tuple[float, str]:
    """Steps that wait for a set must be looked for over the whole band: by how many hours it reaches beyond hours."""
    if not calendar.has_hours or not net.basis.course.has_temperature or net.basis.pour_h is None:
        return 0.0, ""
    most_h, step = 0.0, ""
    for job in net.jobs:
        rule = job.node.step.not_before.set
        if rule is None or job.closed or job.through or not job.is_window:
            continue
        need_h = net.basis.mix.initial_set_h if rule.point == "initial" else net.basis.mix.final_set_h
        when = net.basis.set_clocks.reach(net.basis.pour_h, need_h).shifted(rule.plus_h)
        first_h, last_h = when.fast, when.slow + job.need.hands_h
        beyond_h = last_h - first_h - calendar.in_hours_h(first_h, last_h)
        if beyond_h > most_h:
            most_h, step = beyond_h, job.id
    return most_h, step


ORDER = (
    "frost", "mix_hot", "form_cold", "taken", "short", "late", "never", "unseen", "past_need", "crew", "alone", "night",
    "outside",
    "long", "watch", "past_need_maybe", "frost_maybe", "placing", "evaporation", "cold_cure",
)  # fmt: skip


def _weight(fault: Fault) -> tuple[int, float]:
    return ORDER.index(fault.rule), -(fault.value or 0.0)


# --- the weather -----------------------------------------------------------------------------------------------------


class _Risks:
    """What the forecast has against a pour. Questions that no pour of the stretch can raise are asked once."""

    def __init__(self, basis: Basis, pours_h: Sequence[float]) -> None:
        self.basis = basis
        course = basis.course
        self.known = course.has_temperature and bool(pours_h)
        self.frost = self.cold = False
        if self.known:
            first_h, last_h = min(pours_h), max(pours_h) + SIGHT_h
            self.frost = course.minimum("slab", first_h, last_h, "cold")[0] <= FREEZING_degC
            self.cold = course.minimum("slab", first_h, last_h, "centre")[0] < COLD_CURE_degC

    def __call__(self, pour_h: float) -> list[Fault]:
        if not self.known:
            return []
        basis, course = self.basis, self.basis.course
        slab, air = course.temp_degC(pour_h), course.temp_degC(pour_h, "air")
        found: list[Fault] = []
        if slab > MIX_MOST_degC:
            found.append(Fault("mix_hot", "", slab, "degC", pour_h))
        elif slab < FORM_LEAST_degC:
            found.append(Fault("form_cold", "", slab, "degC", pour_h))
        else:
            wrong = [degC for degC in (slab, air) if not PLACING_degC[0] <= degC <= PLACING_degC[1]]
            found += [Fault("placing", "", wrong[0], "degC", pour_h)] if wrong else []
        if self.frost:
            found += self._frost(pour_h)
        if self.cold:
            end_h = basis.clocks.reach(pour_h, COLD_CURE_FOR_h).centre
            lowest, at_h = course.minimum("slab", pour_h, min(end_h, pour_h + 14 * 24.0), "centre")
            found += [Fault("cold_cure", "", lowest, "degC", at_h)] if lowest < COLD_CURE_degC else []
        rate = course.evaporation_kg_m2_h(pour_h) if course.has_humidity else None
        if rate is not None and rate >= WATCH_kg_m2_h:
            found.append(Fault("evaporation", "", rate, "kg/m2/h", pour_h))
        return found

    def _frost(self, pour_h: float) -> list[Fault]:
        frost = read_frost(self.basis.clocks, self.basis.mix, read_history(()), pour_h, self.basis.now_h)
        if frost.ahead_h is not None:
            return [Fault("frost", "", frost.ahead_degC, "degC", frost.ahead_h)]
        return [Fault("frost_maybe", "", frost.maybe_degC, "degC", frost.maybe_h)] if frost.maybe_h is not None else []
