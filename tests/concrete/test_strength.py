"""Growth of strength against published values, an independent library, and its own promises."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from structuralcodes.codes import ec2_2004, mc2010

from curetrack.concrete.strength import (
    ACI209_A_B,
    DAYS_28_H,
    EN1992_S,
    Aci209Growth,
    En1992Growth,
    Growth,
    Hyperbola,
    Table,
    aci209_ratio,
    en1992_beta_cc,
)
from curetrack.units import BadInput, OutOfRange
from tests.reference.published import Row, published, rows

ORDINARY = Hyperbola(27.0, 0.25, 7.0)  # ordinary bagged mix, common practice
EARLY = Hyperbola(34.0, 0.45, 5.0)  # high-early bagged mix, common practice
POINTS = Table(((8.0, 0.0), (24.0, 5.0), (72.0, 12.0), (168.0, 20.0), (672.0, 27.0)))
GROWTHS: list[Growth] = [ORDINARY, EARLY, POINTS, En1992Growth(30.0, 0.25), Aci209Growth(30.0, 4.0, 0.85)]
growth_of = st.sampled_from(GROWTHS)


# --- published values ---------------------------------------------------------------------------------------------


@published(
    "02_ec2_strength_temperature.csv",
    lambda row: row.id.startswith("BC-") and not row.id.startswith("BC-MC"),
    within=5e-9,
    why="printed to eight or nine decimals, one of them to seven",
    part=5e-8,
)
def test_beta_cc(row: Row) -> float:
    return en1992_beta_cc(row.number("age_day"), row.number("s_or_class"))


@published(
    "02_ec2_strength_temperature.csv",
    lambda row: row.id.startswith("BC-MC"),
    within=5.1e-6,
    why="printed to five decimals",
)
def test_beta_cc_of_the_model_code_by_cement_class(row: Row) -> float:
    cements = {"0.38": "S", "0.25": "N", "0.2": "R"}
    return en1992_beta_cc(row.number("age_day"), EN1992_S[cements[row["s_or_class"].split(" ")[0]]])


@published(
    "03_aci209_strength.csv",
    lambda row: row.id.startswith("R-") and row["age_day"] != "28",
    within=0.0081,
    why="ratios printed to two decimals; the printed formula differs from its own table by up to 0.8 %",
)
def test_aci209_ratio(row: Row) -> float:
    return aci209_ratio(row.number("age_day"), row.number("a_day"), row.number("beta"))


@published(
    "03_aci209_strength.csv",
    lambda row: row.id.startswith("R-") and row["age_day"] == "28",
    within=1e-9,
    why="the table prints 1.00 at 28 days, the formula 0.995 to 1.014; the growth law is normalised to the table",
)
def test_aci209_growth_is_one_at_28_days(row: Row) -> float:
    return Aci209Growth(50.0, row.number("a_day"), row.number("beta")).strength_MPa(DAYS_28_H) / 50.0


@published("03_aci209_strength.csv", lambda row: row.id.startswith("P-"), how="table", why="constants as printed")
def test_aci209_a(row: Row) -> float:
    return ACI209_A_B[row["cement"].removeprefix("Type "), row["curing"]][0]


@published(
    "03_aci209_strength.csv",
    lambda row: row.id.startswith("P-"),
    column="beta",
    how="table",
    why="constants as printed",
)
def test_aci209_b(row: Row) -> float:
    return ACI209_A_B[row["cement"].removeprefix("Type "), row["curing"]][1]


# --- check values of the trade notes: calculations by another hand ------------------------------------------------


@pytest.mark.parametrize(
    ("growth", "expected"),
    [(ORDINARY, [4.6, 9.2, 12.5, 16.7, 19.4, 21.9]), (EARLY, [9.6, 16.4, 20.4, 25.1, 27.7, 29.9])],
)
def test_growth_of_the_two_bagged_mixes(growth: Growth, expected: list[float]) -> None:
    ages = [24.0, 48.0, 72.0, 120.0, 168.0, 240.0]
    assert [growth.strength_MPa(age) for age in ages] == pytest.approx(expected, abs=0.051)


@pytest.mark.parametrize(
    ("strength", "at_h"),  # of the ordinary mix
    [(5.0, 25), (12.0, 68), (17.0, 124), (19.0, 160), (22.0, 244), (9.0, 46)],
)
def test_age_at_which_a_gate_is_reached(strength: float, at_h: float) -> None:
    assert ORDINARY.age_h(strength) == pytest.approx(at_h, abs=1.0)


@pytest.mark.parametrize(("strength", "early", "late"), [(3.5, 17, 24), (9.0, 36, 68)])
def test_spread_of_a_quarter_makes_a_band(strength: float, early: float, late: float) -> None:
    assert ORDINARY.age_h(strength / 1.25) == pytest.approx(early, abs=0.51)
    assert ORDINARY.age_h(strength / 0.75) == pytest.approx(late, abs=0.51)


# --- independent oracles -------------------------------------------------------------------------------------------


@given(st.floats(1.0, 40_000.0), st.sampled_from(["R", "N", "S"]))
def test_beta_cc_agrees_with_structuralcodes(age_d: float, cement: Any) -> None:
    expected = ec2_2004.beta_cc(age_d, ec2_2004.s_time_development(cement))
    assert en1992_beta_cc(age_d, EN1992_S[cement]) == pytest.approx(expected, rel=1e-12)


@given(st.floats(1.0, 40_000.0), st.floats(1.0, 60.0))
def test_en1992_growth_agrees_with_structuralcodes(age_d: float, fcm: float) -> None:
    expected = ec2_2004.fcm_time(fcm, ec2_2004.beta_cc(age_d, 0.25))
    assert En1992Growth(fcm, 0.25).strength_MPa(age_d * 24.0) == pytest.approx(expected, rel=1e-12)


@given(st.floats(1.0, 40_000.0))
def test_beta_cc_agrees_with_the_model_code_of_structuralcodes(age_d: float) -> None:
    assert en1992_beta_cc(age_d, 0.38) == pytest.approx(mc2010.beta_cc(age_d, 30.0, "32.5 N"), rel=1e-12)


@pytest.mark.parametrize(
    "row",
    rows("02_ec2_strength_temperature.csv", "computed", lambda row: row.id.startswith("BC-C")),
    ids=lambda r: r.id,
)
def test_regression_of_beta_cc(row: Row) -> None:
    ours = en1992_beta_cc(row.number("age_day"), row.number("s_or_class"))
    assert ours == pytest.approx(row.number("recomputed_value"), rel=1e-8)


# --- promises ------------------------------------------------------------------------------------------------------


@given(st.floats(1.0, 200.0), st.floats(0.01, 10.0), st.floats(0.0, 100.0))
def test_hyperbola_reaches_its_strength_at_28_days(strength: float, rate: float, start: float) -> None:
    assert Hyperbola(strength, rate, start).strength_MPa(DAYS_28_H) == pytest.approx(strength, rel=1e-12)


def test_hyperbola_is_half_its_ultimate_one_over_k_after_the_start() -> None:
    assert ORDINARY.strength_MPa(7.0 + 24.0 / 0.25) == pytest.approx(ORDINARY.ultimate_MPa / 2.0, rel=1e-12)


@given(growth_of, st.floats(0.0, 50_000.0), st.floats(0.0, 50_000.0))
def test_older_is_never_weaker(growth: Growth, a: float, b: float) -> None:
    assert growth.strength_MPa(min(a, b)) <= growth.strength_MPa(max(a, b)) + 1e-12


@given(growth_of, st.floats(0.01, 40.0))
def test_age_is_the_inverse_of_strength(growth: Growth, strength: float) -> None:
    age = growth.age_h(strength)
    if age is None:
        assert growth.strength_MPa(900_000.0) < strength * (1.0 + 1e-2)
        return
    assume(age < 900_000.0)
    reached = growth.strength_MPa(age)
    assert reached >= strength * (1.0 - 1e-9)
    if age > 24.0:
        assert reached == pytest.approx(strength, rel=1e-9)


@given(growth_of, st.floats(24.001, 20_000.0))
def test_strength_is_the_inverse_of_age(growth: Growth, age: float) -> None:
    if isinstance(growth, Table):
        assume(age < growth.points[-1][0])
    back = growth.age_h(growth.strength_MPa(age))
    assert back == pytest.approx(age, rel=1e-6)


@pytest.mark.parametrize("growth", GROWTHS, ids=lambda growth: type(growth).__name__)
def test_strength_out_of_reach_has_no_age(growth: Growth) -> None:
    assert growth.age_h(90.0) is None
    assert growth.age_h(1e6) is None
    assert growth.age_h(0.0) == 0.0


@pytest.mark.parametrize("growth", [En1992Growth(30.0, 0.25), Aci209Growth(30.0, 4.0, 0.85)], ids=["en", "aci"])
def test_laws_without_a_dormant_time_credit_nothing_before_24_hours(growth: Growth) -> None:
    assert growth.strength_MPa(23.999) == 0.0
    assert growth.strength_MPa(24.0) > 5.0
    assert growth.age_h(0.5) == 24.0


def test_hyperbola_credits_nothing_in_the_dormant_time() -> None:
    assert ORDINARY.strength_MPa(7.0) == 0.0
    assert ORDINARY.strength_MPa(7.1) > 0.0


def test_table_credits_nothing_before_its_first_point_and_no_more_than_its_last() -> None:
    table = Table(((24.0, 6.0), (48.0, 10.0)))
    assert [table.strength_MPa(age) for age in (23.9, 24.0, 36.0, 48.0, 1000.0)] == [0.0, 6.0, 8.0, 10.0, 10.0]
    assert [table.age_h(strength) for strength in (3.0, 6.0, 8.0, 10.0)] == [24.0, 24.0, 36.0, 48.0]
    assert table.age_h(10.1) is None


def test_flat_piece_of_a_table_gives_the_first_age() -> None:
    table = Table(((24.0, 6.0), (48.0, 10.0), (72.0, 10.0), (96.0, 12.0)))
    assert table.age_h(10.0) == 48.0
    assert table.strength_28d_MPa == 12.0


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ((), "a growth table without points"),
        (((24.0, 5.0), (24.0, 6.0)), "ages of a growth table must rise, found '24 h, then 24 h'"),
        (((24.0, 5.0), (48.0, 4.0)), "must not fall, found '5 MPa, then 4 MPa'"),
        (((24.0, math.nan),), "strength out of range"),
        (((-1.0, 3.0),), "equivalent age out of range"),
    ],
)
def test_table_refuses_what_cannot_be(points: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        Table(points)


BAD = [math.nan, math.inf, -math.inf, -1.0, 1e12]
MAKES: list[tuple[Callable[[float], object], str]] = [
    (lambda bad: Hyperbola(bad, 0.25, 7.0), "28-day strength"),
    (lambda bad: Hyperbola(27.0, bad, 7.0), "rate of growth"),
    (lambda bad: Hyperbola(27.0, 0.25, bad), "start of growth"),
    (lambda bad: En1992Growth(bad, 0.25), "28-day strength"),
    (lambda bad: En1992Growth(27.0, bad), "s of EN 1992-1-1"),
    (lambda bad: Aci209Growth(bad, 4.0, 0.85), "28-day strength"),
    (lambda bad: Aci209Growth(27.0, bad, 0.85), "a of ACI 209"),
    (lambda bad: Aci209Growth(27.0, 4.0, bad), "b of ACI 209"),
    (lambda bad: en1992_beta_cc(bad, 0.25), "age"),
    (lambda bad: en1992_beta_cc(28.0, bad), "s of EN 1992-1-1"),
    (lambda bad: aci209_ratio(bad, 4.0, 0.85), "age"),
    (lambda bad: aci209_ratio(28.0, bad, 0.85), "a of ACI 209"),
]


@pytest.mark.parametrize("bad", BAD)
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    for make, words in MAKES:
        with pytest.raises(OutOfRange, match=words):
            make(bad)


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("growth", GROWTHS, ids=lambda growth: type(growth).__name__)
def test_ages_and_strengths_that_are_none_are_refused(growth: Growth, bad: float) -> None:
    with pytest.raises(OutOfRange, match="equivalent age out of range"):
        growth.strength_MPa(bad)
    with pytest.raises(OutOfRange, match="strength out of range"):
        growth.age_h(bad)
