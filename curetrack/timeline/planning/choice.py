"""One pour that was judged: what speaks against it, and how it stands beside others."""

from collections.abc import Sequence

from msgspec import Struct

from curetrack.timeline.planning.cost import Cost

__all__ = ["GRAVE", "APART_h", "Choice", "Fault", "bars", "waits_h", "weight"]

GRAVE = ("frost", "mix_hot", "form_cold", "busy", "loud")  # what a pour must not meet; the rest is a risk
# With one of these it is not recommended.
BARS = (*GRAVE, "absent", "taken", "short", "late", "never", "unseen", "past_need")
APART_h = 6.0  # pours that are nearer to each other are no choice (judgement)
# How much later a maker would rather be done than have it so (judgement), in hours; then by the hour.
DAY_h = 24.0
WAITS_h = {
    "crew": 14 * DAY_h, "past_need_maybe": 14 * DAY_h, "alone": 7 * DAY_h, "frost_maybe": 7 * DAY_h,
    "evaporation": 2 * DAY_h, "placing": DAY_h, "cold_cure": 12.0,
}  # fmt: skip
NIGHT_WAITS, OUTSIDE_WAITS, WATCH_WAITS = 28 * DAY_h, 7 * DAY_h, DAY_h  # for an hour of each; the last one only may be
UNSEEN_h = 1e6
ORDER = (
    "frost", "mix_hot", "form_cold", "busy", "loud", "absent", "taken", "short", "late", "never", "unseen", "past_need",
    "unmet", "crew", "alone", "night", "outside", "long", "watch", "past_need_maybe", "frost_maybe", "placing",
    "evaporation", "cold_cure", "few",
)  # fmt: skip


class Fault(Struct, frozen=True):
    """One thing that speaks against a pour: rule, the step, a number in `unit`, when.

    The rule is a risk of the weather, or busy, loud, late, night, outside, never, long, short, alone, as in `Spot`;
    absent (nobody is there to mix), crew (cannot come to the pour), few (more are wanted than can be called), unseen
    (a step is never due), unmet (a rule before the pour), past_need, past_need_maybe, watch; taken
    (`step` is what is shared, free from `at_h` on).

    way   of what is unseen, what it waits for: cold (it is too cold), hot, damp; "": not one of these. Of unmet the
          same, `value` being the limit. Of few: uncounted, where it is not known how many can be called. Of long: crew,
          where it is their hours that are too short
    """

    rule: str
    step: str = ""
    value: float | None = None
    unit: str = ""
    at_h: float | None = None
    way: str = ""


class Choice(Struct, frozen=True):
    """One pour: when all that wants hands is done, what it costs, and what speaks against it, gravest first.

    watch_h   hours by which a moment that is known as a band may fall outside the maker's hours
    alone_h   hours of work for which fewer people can come than it wants
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
    alone_h: float = 0.0

    @property
    def key(self) -> tuple[float, ...]:
        """Smaller is better: what bars it, and by how much; rules before the pour that the weather does not meet, since
        the profile asks for them; then when it is done, and what is as good as so much later. So nothing small is worth
        a week, and of what is alike the sooner one is better."""
        grave = sum(1.0 for fault in self.faults if fault.rule in GRAVE)
        unmet = sum(1.0 for fault in self.faults if fault.rule == "unmet")
        cost, done_h = self.cost.key, self.pour_h + UNSEEN_h if self.done_h is None else self.done_h
        night_h, outside_h = cost[1], max(0.0, cost[2] - cost[1])
        waits = night_h * NIGHT_WAITS + outside_h * OUTSIDE_WAITS + self.watch_h * WATCH_WAITS + waits_h(self.faults)
        return (
            float(not self.holds), grave, cost[0], cost[3], unmet, float(round(done_h + waits)),
            float(self.cost.visits), self.pour_h,
        )  # fmt: skip

    @property
    def holds(self) -> bool:
        """Whether it can be recommended: nothing bars it, whatever else may speak against it."""
        return not bars(self.faults)


def bars(faults: Sequence[Fault]) -> bool:
    """Whether one of them keeps a pour from being recommended."""
    return any(fault.rule in BARS for fault in faults)


def waits_h(faults: Sequence[Fault]) -> float:
    """How much later is as bad as these, beyond what counts by the hour."""
    return sum(WAITS_h.get(fault.rule, 0.0) for fault in faults)


def weight(fault: Fault) -> tuple[int, float]:
    """The gravest first."""
    return ORDER.index(fault.rule), -(fault.value or 0.0)
