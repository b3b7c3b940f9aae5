"""From breaks to a mix and to a profile: the spread, the remarks, wild scatter, and the document there and back."""

import random
import tomllib
from datetime import date
from math import exp

import pytest

from curetrack.concrete.strength import Hyperbola
from curetrack.errors import Faults
from curetrack.fit.ages import Aged
from curetrack.fit.breaks import Break, Specimen
from curetrack.fit.document import own_document, written
from curetrack.fit.mix import LEAST_SPREAD, ONE_BATCH_SPREAD, OwnMix, own_mix
from curetrack.profile.load import compile_profile, load_document
from tests.profile.docs import document, loaded

TRUE = Hyperbola(31.0, 0.30, 8.0)
AGES = (16.0, 24.0, 48.0, 72.0, 168.0, 336.0, 672.0)


def breaks(scatter: float = 0.05, batches: int = 2, each: int = 2, ages: tuple[float, ...] = AGES) -> list[Break]:
    dice = random.Random(7)
    found = []
    for number, age in enumerate(age for age in ages for _ in range(each)):
        strength = TRUE.strength_MPa(age) * exp(dice.gauss(0.0, scatter))
        batch = f"batch {number % batches}" if batches else ""
        found.append(Break(number + 2, "cylinder", strength, strength, equivalent_h=age, batch=batch))
    return found


def fitted(rows: list[Break]) -> OwnMix:
    ages = tuple(row.equivalent_h or 0.0 for row in rows)
    return own_mix(rows, Aged(ages), loaded("bagged-tabletop"), "hyperbola", "breaks.csv")


def rules(own: OwnMix) -> set[str]:
    return {remark.rule for remark in own.remarks}


# --- the spread ----------------------------------------------------------------------------------------------------


def test_a_close_fit_narrows_the_spread_no_further_than_the_next_batch_allows() -> None:
    """Common practice, no source: 15 % for one batch, 10 % for several."""
    assert (LEAST_SPREAD, ONE_BATCH_SPREAD) == (0.10, 0.15)
    assert fitted(breaks(0.01)).spread == LEAST_SPREAD  # the strip lies within the breaks
    assert fitted(breaks(0.01, batches=1)).spread == ONE_BATCH_SPREAD
    assert fitted(breaks(0.01, batches=0)).spread == ONE_BATCH_SPREAD


def test_scatter_widens_it() -> None:
    """One more break: 1.80 (Student's t, 90 %, 11 left) x 8 % and a little for the law itself, so 15 to 22 %."""
    own = fitted(breaks(0.08))
    assert own.fitted.freedom == 11
    assert 0.12 <= own.spread <= 0.24
    assert own.spread >= own.fitted.spread()
    assert fitted(breaks(0.16)).spread > own.spread


def test_steps_that_lie_outside_the_breaks_widen_it() -> None:
    """The strip at 17 h by breaks from 30 h on: what is not known there is in the band."""
    ages = (30.0, 48.0, 72.0, 168.0, 336.0)
    own = fitted(breaks(0.05, ages=ages))
    assert own.gates[0].outside == "before"
    assert own.spread > own.fitted.spread() * 1.2
    low, high = own.fitted.limits_MPa(own.gates[0].own_h or 0.0, single=True)
    assert own.spread >= min(0.6, high / own.gates[0].need_MPa - 1.0) - 1e-6
    assert low < own.gates[0].need_MPa < high


def test_too_much_scatter_is_refused() -> None:
    with pytest.raises(Faults, match=r"scatter too much|do not settle"):
        fitted(breaks(0.40, ages=AGES[2:]))


# --- wild scatter --------------------------------------------------------------------------------------------------


def _row(line: int, age: float, measured: float, specimen: Specimen = "cylinder") -> Break:
    return Break(line, specimen, measured, measured, equivalent_h=age)


def test_one_age_a_factor_of_two_apart_is_refused_at_every_such_age() -> None:
    rows = breaks(0.0, each=1)
    wild = [*rows, _row(20, 24.0, 30.0), _row(21, 168.3, 4.0)]
    with pytest.raises(Faults) as caught:
        fitted(wild)
    assert len(caught.value.faults) == 2
    assert "breaks.csv: lines 3 and 20: one age, and a factor of two apart, found" in caught.value.faults[0]
    assert "breaks.csv: lines 6 and 21" in caught.value.faults[1]


def test_a_cube_is_not_held_against_a_cylinder_nor_one_age_against_another() -> None:
    rows = breaks(0.0, each=1)
    fitted([*rows, Break(20, "cube", TRUE.strength_MPa(24.0) * 2.2, TRUE.strength_MPa(24.0), equivalent_h=24.0)])


def test_a_single_break_is_refused() -> None:
    with pytest.raises(Faults, match=r"breaks.csv: too few breaks, found '1'"):
        fitted(breaks()[:1])


# --- what it rests on ----------------------------------------------------------------------------------------------


def test_it_says_which_steps_lie_outside_the_breaks() -> None:
    """3.5 MPa (strip) at 17 h, 9 MPa (flip) at 36 h of this law; profiles/bagged-tabletop.toml."""
    own = fitted(breaks(0.01, ages=(30.0, 48.0, 72.0, 168.0, 336.0)))
    gate = {each.step: each for each in own.gates}
    assert gate["strip"].own_h == pytest.approx(TRUE.age_h(3.5), rel=0.1)
    assert (gate["strip"].outside, gate["flip"].outside) == ("before", "")
    before = next(remark for remark in own.remarks if remark.rule == "before")
    assert (before.steps, before.value) == (("strip",), 30.0)
    assert "late" in rules(own)  # 28 days lie behind the last break


def test_remarks_stand_for_what_was_used() -> None:
    assert rules(fitted(breaks())) == set()
    assert "one_batch" in rules(fitted(breaks(batches=0)))
    bars = [
        Break(row.line, "bar", row.strength_MPa**0.5 * 0.62, row.strength_MPa, equivalent_h=row.equivalent_h,
              height_m=0.04)
        for row in breaks()
    ]  # fmt: skip
    (thin,) = [remark for remark in fitted(bars).remarks if remark.rule == "bars"]
    assert (thin.value, thin.count) == (pytest.approx(1.56), 14)  # EN 1992-1-1, eq. 3.23 at 40 mm


# --- the document --------------------------------------------------------------------------------------------------


def test_the_profile_that_is_written_holds_the_fit_and_all_else_of_its_base() -> None:
    own, base = fitted(breaks()), document("bagged-tabletop")
    made = own_document(base, own, date(2026, 1, 10), "breaks.csv")
    assert base == document("bagged-tabletop")  # the base is left as it is
    text = written(made, "bagged-tabletop")
    assert tomllib.loads(text) == made
    profile = compile_profile(load_document(text), "mine")
    growth, law = profile.mix.growth, own.fitted.growth
    for age in (20.0, 48.0, 168.0, 672.0):
        assert growth.strength_MPa(age) == pytest.approx(law.strength_MPa(age), rel=2e-3)  # as rounded in the file
    assert profile.mix.spread == own.spread
    assert profile.steps == loaded("bagged-tabletop").steps
    assert profile.name.endswith(", own mix")
    fit = profile.mix.fit
    assert fit is not None
    assert (fit.date, fit.source, len(fit.points)) == ("2026-01-10", "breaks.csv", 14)
    assert fit.scatter == pytest.approx(own.fitted.scatter, abs=0.0006)
    assert fit.strength_28d_MPa == pytest.approx(
        (own.fitted.parameters[0].low, own.fitted.parameters[0].high), abs=0.01
    )


def test_fitted_twice_the_name_does_not_grow() -> None:
    own = fitted(breaks())
    once = own_document(document("bagged-tabletop"), own, date(2026, 1, 10), "a.csv")
    assert own_document(once, own, date(2026, 1, 11), "b.csv")["name"] == once["name"]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("date", "10 January", "mix.fit.date: no day, found '10 January'; write it like"),
        ("points", [["3 d", "5 MPa"], ["1 d", "2 MPa"]], "mix.fit.points: ages that fall"),
        ("points", [["3 d", "5 kg"]], "mix.fit.points: a strength is wanted, not a mass"),
        ("scatter", "700 %", "mix.fit.scatter: not plausible"),
        ("strength_28d", ["30 MPa", "20 MPa"], "mix.fit.strength_28d: the lower limit is above the upper"),
        ("strength_28d", "30 MPa", "mix.fit.strength_28d: the lower and the upper limit are wanted"),
        ("by", "me", "mix.fit.by: unknown key"),
    ],
)
def test_what_a_profile_may_not_say_of_a_fit(key: str, value: object, words: str) -> None:
    made = own_document(document("bagged-tabletop"), fitted(breaks()), date(2026, 1, 10), "a.csv")
    made["mix"]["fit"][key] = value
    with pytest.raises(Faults, match=words):
        compile_profile(made, "mine")
