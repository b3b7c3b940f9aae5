"""One pour that was judged: what speaks against it, and how it stands beside others."""

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from curetrack.timeline.planning.cost import Cost

__all__ = ["Choice", "Fault", "best_by_day", "weight"]

GRAVE = ("frost", "mix_hot", "form_cold", "busy", "loud")  # what a pour must not meet; the rest is a risk
# With one of these it is not recommended.
BARS = (*GRAVE, "absent", "taken", "short", "late", "never", "unseen", "past_need")
MILD = ("frost_maybe", "placing", "unmet", "cold_cure", "evaporation")
WATCH_h = 1.0  # a band that may reach less than an hour beyond one's hours is no reason to wait for days (judgement)
APART_h = 6.0  # pours that are nearer to each other are no choice (judgement)
ORDER = (
    "frost", "mix_hot", "form_cold", "busy", "loud", "absent", "taken", "short", "late", "never", "unseen", "past_need",
    "crew", "alone", "night", "outside", "long", "watch", "past_need_maybe", "frost_maybe", "placing", "unmet",
    "evaporation", "cold_cure", "few",
)  # fmt: skip


class Fault(Struct, frozen=True):
    """One thing that speaks against a pour: rule, the step, a number in `unit`, when.

    The rule is a risk of the weather, or busy, loud, late, night, outside, never, long, short, alone, as in `Spot`;
    absent (nobody is there to mix), crew (cannot come to the pour), few (more are wanted than can be called), unseen
    (a step is never due), unmet (a rule before the pour), past_need, past_need_maybe, watch; taken
    (`step` is what is shared, free from `at_h` on).
    """

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
            float(not self.holds), grave, late_h, past_h, crew, night_h, outside_h, self.watch_h // WATCH_h, mild,
            done_h, round(self.watch_h, 1), float(self.cost.visits), self.pour_h,
        )  # fmt: skip

    @property
    def holds(self) -> bool:
        """Whether it can be recommended: nothing bars it, whatever else may speak against it."""
        return not any(fault.rule in BARS for fault in self.faults)


def weight(fault: Fault) -> tuple[int, float]:
    return ORDER.index(fault.rule), -(fault.value or 0.0)


def best_by_day(choices: Sequence[Choice], day_of: Callable[[float], object]) -> list[Choice]:
    """The best pour of each local day, the best day first; none within hours of a better one over midnight."""
    best: dict[object, Choice] = {}
    for choice in sorted(choices, key=lambda choice: choice.key):
        if all(abs(other.pour_h - choice.pour_h) >= APART_h for other in best.values()):
            best.setdefault(day_of(choice.pour_h), choice)
    return list(best.values())
