"""From breaks to a mix: the fitted law, how well it holds, and what it means for the steps of a profile."""

from collections.abc import Sequence
from math import ceil

from msgspec import Struct

from curetrack.concrete.fitting import SAME_AGE, Fitted, Law, fit_growth
from curetrack.concrete.strength import DAYS_28_H
from curetrack.errors import BadInput
from curetrack.fit.ages import Aged
from curetrack.fit.breaks import Break
from curetrack.profile.faulty import Sheet, one_fault, said
from curetrack.profile.types import Profile

__all__ = ["LEAST_SPREAD", "ONE_BATCH_SPREAD", "WILD", "Gate", "OwnMix", "Remark", "own_mix"]

WILD = 2.0  # specimens of one age this factor apart are no measurement (common practice, no source)
# a fit sees the scatter of its own breaks; the next batch has its own water (common practice, no source)
ONE_BATCH_SPREAD, LEAST_SPREAD = 0.15, 0.10
MOST_SPREAD = 0.60  # as a profile takes it
THIN_m = 0.6  # below it EN 1992-1-1, eq. 3.23, gives bars more in bending than in plain tension


class Gate(Struct, frozen=True):
    """A strength that a step of the profile waits for, and the equivalent age at which it is there (None: never): by
    the profile as it stands, and by the fit. `outside`: before the first break, or after the last."""

    step: str
    need_MPa: float
    base_h: float | None
    own_h: float | None
    outside: str = ""  # "before", "after"


class Remark(Struct, frozen=True):
    """What limits the fit. rule: bars (value: what EN adds to bars as thin), cubes, mean_temp, temp_aside (count), gaps
    (value: the longest, count), one_batch, held (the start), late (28 days lie behind the last break), set (the start
    lies far from the profile's set times), before, after (steps whose strength lies outside the breaks)."""

    rule: str
    value: float = 0.0
    count: int = 0
    steps: tuple[str, ...] = ()


class OwnMix(Struct, frozen=True):
    """The fit with all that belongs to it. `spread` goes into the profile."""

    breaks: tuple[Break, ...]
    aged: Aged
    fitted: Fitted
    spread: float
    gates: tuple[Gate, ...]
    remarks: tuple[Remark, ...]


def own_mix(breaks: Sequence[Break], aged: Aged, base: Profile, law: Law, where: str) -> OwnMix:
    """Fits the breaks. Raises Faults: specimens of one age that are a factor of two apart (each such age), too few or
    too close ages, breaks that do not settle the law, a spread beyond what a profile takes."""
    _check_wild(breaks, aged, where)
    try:
        fitted = fit_growth([(age, one.strength_MPa) for one, age in zip(breaks, aged.ages_h, strict=True)], law)
        gates = _gates(base, fitted)
        spread = _spread(breaks, fitted, gates)
    except BadInput as error:
        raise one_fault(where, "", error) from error
    return OwnMix(tuple(breaks), aged, fitted, spread, gates, _remarks(breaks, aged, fitted, base, gates))


def _check_wild(breaks: Sequence[Break], aged: Aged, where: str) -> None:
    sheet = Sheet(where)
    rows = sorted(zip(aged.ages_h, breaks, strict=True), key=lambda pair: (pair[1].specimen, pair[0]))
    group: list[tuple[float, Break]] = []
    for age, one in [*rows, (0.0, None)]:
        if one is not None and group and one.specimen == group[0][1].specimen and age <= group[0][0] * SAME_AGE:
            group.append((age, one))
            continue
        _check_group([each for _, each in group], sheet)
        group = [(age, one)] if one is not None else []
    sheet.check()


def _check_group(group: Sequence[Break], sheet: Sheet) -> None:
    if len(group) < 2:
        return
    low, high = min(group, key=lambda one: one.measured_MPa), max(group, key=lambda one: one.measured_MPa)
    found = said(f"{low.measured_MPa:.3g} and {high.measured_MPa:.3g} MPa")
    if high.measured_MPa > WILD * low.measured_MPa:
        remedy = "look for a slip of the pen or a cracked specimen; leave it out with a note why"
        fault = BadInput("one age, and a factor of two apart", found=found, remedy=remedy)
        sheet.add(f"lines {min(low.line, high.line)} and {max(low.line, high.line)}", "", fault)


def _spread(breaks: Sequence[Break], fitted: Fitted, gates: Sequence[Gate]) -> float:
    """For the profile: one more break, at the ages that were broken and at those that the steps hang on, which may lie
    outside and then widen it; never below what the next batch's water may do."""
    if fitted.spread() > MOST_SPREAD:
        raise BadInput(
            "they scatter too much to build on", found=said(f"one more break may be {fitted.spread() * 100:.0f} % off"),
            remedy=f"a profile takes {MOST_SPREAD * 100:.0f} %; break more, and all in the same way",
        )  # fmt: skip
    ages_h = [fitted.from_h, fitted.to_h, *(gate.own_h for gate in gates if gate.own_h is not None)]
    least = LEAST_SPREAD if len({one.batch for one in breaks if one.batch}) > 1 else ONE_BATCH_SPREAD
    wide = ceil(fitted.spread(min(ages_h), max(ages_h)) * 100.0 - 1e-9) / 100.0
    return min(max(least, wide), MOST_SPREAD)


def _gates(base: Profile, fitted: Fitted) -> tuple[Gate, ...]:
    found = []
    for step in base.steps:
        need = step.not_before.strength_MPa
        if need is None:
            continue
        own_h = fitted.growth.age_h(need)
        outside = "" if own_h is None else "before" if own_h < fitted.from_h else "after" if own_h > fitted.to_h else ""
        found.append(Gate(step.id, need, base.mix.growth.age_h(need), own_h, outside))
    return tuple(found)


def _remarks(
    breaks: Sequence[Break], aged: Aged, fitted: Fitted, base: Profile, gates: Sequence[Gate]
) -> tuple[Remark, ...]:
    found = []
    heights = [one.height_m for one in breaks if one.height_m is not None]
    if heights:
        found.append(Remark("bars", max(1.6 - min(heights), 1.0), len(heights)))
    if cubes := sum(one.specimen == "cube" for one in breaks):
        found.append(Remark("cubes", count=cubes))
    if aged.by_mean:
        found.append(Remark("mean_temp", count=aged.by_mean))
    if aged.aside:
        found.append(Remark("temp_aside", count=aged.aside))
    if aged.gaps_h:
        found.append(Remark("gaps", max(aged.gaps_h), len(aged.gaps_h)))
    if len({one.batch for one in breaks if one.batch}) < 2:
        found.append(Remark("one_batch", ONE_BATCH_SPREAD))
    if fitted.law == "hyperbola":
        start = fitted.parameters[2]
        if start.held:
            found.append(Remark("held"))
        elif not base.mix.initial_set_h / 2.0 <= start.value <= 2.0 * base.mix.final_set_h:
            found.append(Remark("set", start.value))
    if fitted.to_h < 0.95 * DAYS_28_H:
        found.append(Remark("late", fitted.to_h))
    for side, end_h in (("before", fitted.from_h), ("after", fitted.to_h)):
        steps = tuple(gate.step for gate in gates if gate.outside == side)
        found += [Remark(side, end_h, steps=steps)] if steps else []
    return tuple(found)
