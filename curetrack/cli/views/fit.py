"""`fit`: the breaks beside the law, its numbers with their limits, what it moves, and what it rests on."""

from pathlib import Path
from typing import Any

from msgspec import Struct

from curetrack.cli.layout import Row, Span, row, table
from curetrack.concrete.fitting import CONFIDENCE, Parameter
from curetrack.fit.mix import OwnMix, Remark
from curetrack.profile.types import Profile
from curetrack.units import System
from curetrack.words.amounts import hours_of, strength, temperature
from curetrack.words.clean import clean
from curetrack.words.jsons import FORMAT, rounded
from curetrack.words.rules import names

__all__ = ["Answer", "fit_json", "fit_rows", "remark_text"]

NAMES = {"strength_28d": "strength at 28 days", "rate": "rate of growth", "start": "start of growth"}
SHARE = f"{CONFIDENCE * 100:.0f} %"
GATES = "Strengths that steps wait for, and the equivalent ages at which they are there"
DAYS = (1, 3, 7, 28)


class Answer(Struct, frozen=True):
    """The fit, the profile it is held beside, the file that was written (None: none), and what makes no sense in it."""

    own: OwnMix
    base: Profile
    target: Path | None
    sense: tuple[str, ...]
    system: System


def fit_rows(answer: Answer, width: int) -> list[Row]:
    """The whole screen."""
    own, base, system = answer.own, answer.base, answer.system
    fitted = own.fitted
    rows = [row(Span(f"{len(own.breaks)} breaks, {fitted.law}", "title"), flat=True), row()]
    at_reference = f"age at {temperature(base.mix.reference_degC, system)}"
    head = ("line", "what", at_reference, "as cylinder", "law", "off")
    rows += table(head, _break_cells(own, system), width)
    told = [(NAMES.get(one.name, one.name), _parameter(one, system)) for one in fitted.parameters]
    told += [(f"at {day} d", _at_day(own, day, system)) for day in DAYS]
    told += [
        ("scatter", f"{fitted.scatter * 100:.0f} % for a single break; R2 of the logarithms {fitted.r2:.3f}"),
        ("spread", f"{own.spread * 100:.0f} % either way goes into the profile ({base.mix.spread * 100:.0f} % before)"),
    ]
    rows += [row(), *table(("", ""), told, width)]
    if own.gates:
        rows += [row(), row(Span(GATES, "head"), flat=True)]
        cells = [(g.step, strength(g.need_MPa, system), _age(g.base_h), _age(g.own_h)) for g in own.gates]
        rows += table(("step", "needs", f"by {base.id}", "by this fit"), cells, width)
    rows += [row(), *(row(remark_text(one), flat=True, hang=2) for one in own.remarks)]
    return rows + _target_rows(answer.target, answer.sense)


def _target_rows(target: Path | None, warnings: tuple[str, ...]) -> list[Row]:
    if target is None:
        return [row(), row("Nothing is written. With --write my-mix.toml it becomes a profile.", flat=True)]
    rows = [row("warning ", clean(warning), flat=True, hang=8) for warning in warnings]
    pour = f"Written to {target}. To use it: curetrack pour NAME --profile {target} --size S"
    return [row(), *rows, row(Span(pour, "title"), flat=True)]


def fit_json(answer: Answer) -> dict[str, Any]:
    """The answer for programs."""
    own, target = answer.own, answer.target
    fitted = own.fitted
    limits = {day: fitted.limits_MPa(day * 24.0) for day in DAYS}
    return {
        "format": FORMAT,
        "law": fitted.law,
        "profile": answer.base.id,
        "confidence": CONFIDENCE,
        "parameters": [
            {"name": p.name, "value": _exact(p.value), "low": _exact(p.low), "high": _exact(p.high),
             "unit": p.unit or None, "held": p.held}
            for p in fitted.parameters
        ],
        "strengths": [
            {"age_h": day * 24, "strength_MPa": rounded(fitted.growth.strength_MPa(day * 24.0)),
             "low_MPa": rounded(limits[day][0]), "high_MPa": rounded(limits[day][1]),
             "outside": not fitted.from_h <= day * 24.0 <= fitted.to_h}
            for day in DAYS
        ],
        "scatter": _exact(fitted.scatter),
        "r2": _exact(fitted.r2),
        "spread": own.spread,
        "from_h": rounded(fitted.from_h),
        "to_h": rounded(fitted.to_h),
        "breaks": [
            {"line": one.line, "specimen": one.specimen, "age_h": one.age_h, "equivalent_age_h": rounded(age),
             "measured_MPa": rounded(one.measured_MPa), "strength_MPa": rounded(one.strength_MPa), "off": _exact(off)}
            for one, age, off in zip(own.breaks, own.aged.ages_h, fitted.off, strict=True)
        ],
        "gates": [
            {"step": g.step, "need_MPa": g.need_MPa, "base_age_h": rounded(g.base_h), "age_h": rounded(g.own_h),
             "outside": g.outside or None}
            for g in own.gates
        ],
        "warnings": [{"rule": one.rule, "text": remark_text(one)} for one in own.remarks],
        "sense": list(answer.sense),
        "written": None if target is None else str(target),
    }  # fmt: skip


def remark_text(remark: Remark) -> str:
    """What limits the fit, in a sentence or two."""
    value, steps = remark.value, names(remark.steps)
    return {
        "bars": (
            f"{_count(remark.count, 'bar')}: the strength is taken back through 0.62 sqrt(fc), an assumption. For a "
            f"lift it is what the bars bore. As a compressive strength it may be up to {value**2:.1f} times too high, "
            f"since thin bars bear more in bending (EN 1992-1-1: {value:.2f}-fold, and it counts squared). Let the "
            "hand check decide the strip."
        ),
        "cubes": (
            f"{_count(remark.count, 'cube')}: taken down to cylinders by the table of EN 1992-1-1, for 150 mm cubes."
        ),
        "mean_temp": "A mean temperature ages a specimen a little less than its real course does, where that swings.",
        "temp_aside": "The column temp is left aside: the readings of --temps say how warm the specimens were.",
        "gaps": f"The readings leave {_count(remark.count, 'gap')}, taken as straight; the longest: {hours_of(value)}.",
        "one_batch": (
            f"All of one batch, as far as the table says: the next one has its own water, so the spread stays at "
            f"{value * 100:.0f} % or more. A column batch tells them apart."
        ),
        "held": "The start of growth rests at the pour: no break is early enough to tell it. Break one at 12 to 24 h.",
        "set": (
            f"Growth starts at {hours_of(value)}, far from the profile's set times, which are not fitted. Look at "
            "initial_set and final_set."
        ),
        "late": f"The last break is at {hours_of(value)}: what is said of 28 days lies outside the breaks.",
        "before": f"Before the first break ({hours_of(value)}) the law is a guess, and {steps} would fall there.",
        "after": f"After the last break ({hours_of(value)}) the law is a guess, and {steps} would fall there.",
    }[remark.rule]


def _break_cells(own: OwnMix, system: System) -> list[tuple[str, ...]]:
    cells: list[tuple[str, ...]] = []
    for one, age, off in zip(own.breaks, own.aged.ages_h, own.fitted.off, strict=True):
        what = f"{one.specimen} {strength(one.measured_MPa, system)}" if one.specimen != "cylinder" else "cylinder"
        law = strength(own.fitted.growth.strength_MPa(age), system)
        cells.append(
            (str(one.line), what, hours_of(age), strength(one.strength_MPa, system), law, f"{off * 100:+.0f} %")
        )
    return cells


def _parameter(one: Parameter, system: System) -> str:
    def shown(value: float) -> str:
        return strength(value, system) if one.unit == "MPa" else f"{value:.3g} {one.unit}".strip()

    if one.held:
        return f"{shown(one.value)}, where it rests: the breaks do not tell it"
    return f"{shown(one.value)} ({shown(one.low)} to {shown(one.high)}, {SHARE})"


def _at_day(own: OwnMix, day: int, system: System) -> str:
    fitted, age_h = own.fitted, day * 24.0
    low, high = fitted.limits_MPa(age_h)
    outside = "" if fitted.from_h <= age_h <= fitted.to_h else ", outside the breaks"
    centre = fitted.growth.strength_MPa(age_h)
    return f"{strength(centre, system)} ({strength(low, system)} to {strength(high, system)}){outside}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _age(hours: float | None) -> str:
    return "never" if hours is None else hours_of(hours)


def _exact(value: float) -> float:
    return float(f"{value:.6g}")
