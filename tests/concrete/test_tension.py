"""Tension and stiffness against the standards' tables and an independent library."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from structuralcodes.codes import ec2_2004

from curetrack.concrete.tension import (
    aci318_modulus_MPa,
    aci318_modulus_psi,
    aci318_modulus_short_MPa,
    ecm_at_age_GPa,
    ecm_GPa,
    fctm_at_age_MPa,
    fctm_fl_MPa,
    fctm_MPa,
    modulus_of_rupture_MPa,
)
from curetrack.units import OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published, rows

TABLE = "07_strength_handling.csv"
PSI = 0.006894757293168


# --- published values ---------------------------------------------------------------------------------------------


@published(TABLE, lambda row: row.id.startswith("FCTM-"), within=0.051, why="printed to one decimal")
def test_mean_tensile_strength(row: Row) -> float:
    return fctm_MPa(row.number("input_MPa"))


@published(TABLE, lambda row: row.id.startswith("ECM-"), within=0.51, why="printed in whole GPa")
def test_secant_modulus(row: Row) -> float:
    return ecm_GPa(row.number("input_MPa") + 8.0)


@published(TABLE, lambda row: row.id in ("FLEX-1", "FLEX-2"), within=1e-9, why="printed in full")
def test_flexural_tensile_strength(row: Row) -> float:
    return fctm_fl_MPa(row.number("input_MPa"), row.number("depth_mm") / 1000.0)


@published(TABLE, lambda row: row.id.startswith("EC-") and row["unit"] == "psi", within=0.006, why="two decimals")
def test_modulus_in_psi(row: Row) -> float:
    _, fc, density = row.id.split("-")
    return aci318_modulus_psi(float(fc), float(density))


@published("02_ec2_strength_temperature.csv", lambda row: row.id == "FT-01", within=5e-7, why="printed to six decimals")
def test_tensile_strength_at_an_age(row: Row) -> float:
    return fctm_at_age_MPa(row.number("input_MPa"), 0.32, 2.0 / 3.0)


# --- independent oracles ------------------------------------------------------------------------------------------


@given(st.floats(1.0, 100.0))
def test_tensile_strength_and_modulus_agree_with_structuralcodes(fck: float) -> None:
    assert fctm_MPa(fck) == pytest.approx(ec2_2004.fctm(fck), rel=1e-12)
    assert ecm_GPa(fck + 8.0) * 1000.0 == pytest.approx(ec2_2004.Ecm(fck + 8.0), rel=1e-12)


@given(st.floats(0.05, 1.2), st.floats(5.0, 60.0))
def test_values_at_an_age_agree_with_structuralcodes(beta: float, fcm: float) -> None:
    assert fctm_at_age_MPa(3.0, beta, 1.0) == pytest.approx(ec2_2004.fctm_time(3.0, beta, 1.0), rel=1e-12)
    expected = ec2_2004.Ecm_time(fcm, beta * fcm, 30.0)
    assert ecm_at_age_GPa(30.0, beta) == pytest.approx(expected, rel=1e-9)


@given(st.floats(1.0, 100.0))
def test_modulus_of_rupture_agrees_with_the_us_edition(fc: float) -> None:
    """7.5 sqrt(fc) in psi is 0.6228 sqrt(fc) in MPa; the metric edition rounds it to 0.62."""
    assert modulus_of_rupture_MPa(fc) == pytest.approx(7.5 * math.sqrt(fc / PSI) * PSI, rel=0.005)


@pytest.mark.parametrize("row", rows(TABLE, "computed", lambda r: r.id.startswith(("FR-", "FLEX-", "EC-SI"))), ids=str)
def test_regression_of_formulas(row: Row) -> None:
    fc = row.number("input_MPa")
    ours: dict[str, Callable[[], float]] = {
        "FR": lambda: modulus_of_rupture_MPa(fc),
        "FLEX": lambda: fctm_fl_MPa(fctm_MPa(fc), 0.040),
        "EC": lambda: aci318_modulus_short_MPa(fc),
    }
    assert ours[row.id.split("-")[0]]() == pytest.approx(row.number("recomputed_value"), rel=1e-8)


# --- promises -----------------------------------------------------------------------------------------------------


def test_the_two_editions_of_the_modulus_agree() -> None:
    """To 0.7 %: the constants 33 psi and 0.043 MPa are both rounded."""
    metric = aci318_modulus_MPa(4000.0 * PSI, 145.0 * 0.45359237 / 0.3048**3)
    assert aci318_modulus_psi(4000.0, 145.0) * PSI == pytest.approx(metric, rel=0.007)


def test_a_thin_slab_is_stronger_in_bending_by_en_than_by_aci() -> None:
    """fc 30 MPa, 40 mm: 4.52 against 3.40 MPa (worked by another hand)."""
    assert fctm_fl_MPa(fctm_MPa(30.0), 0.040) == pytest.approx(4.52, abs=0.005)
    assert modulus_of_rupture_MPa(30.0) == pytest.approx(3.40, abs=0.005)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e6])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: modulus_of_rupture_MPa(bad), "compressive strength"),
        (lambda: fctm_MPa(bad), "characteristic strength"),
        (lambda: fctm_at_age_MPa(bad, 0.5, 1.0), "tensile strength"),
        (lambda: fctm_at_age_MPa(3.0, bad, 1.0), "beta_cc"),
        (lambda: fctm_at_age_MPa(3.0, 0.5, bad), "alpha"),
        (lambda: fctm_fl_MPa(bad, 0.04), "tensile strength"),
        (lambda: fctm_fl_MPa(3.0, bad), "depth"),
        (lambda: ecm_GPa(bad), "mean strength"),
        (lambda: ecm_at_age_GPa(bad, 0.5), "modulus"),
        (lambda: ecm_at_age_GPa(30.0, bad), "beta_cc"),
        (lambda: aci318_modulus_MPa(bad, 2400.0), "compressive strength"),
        (lambda: aci318_modulus_MPa(30.0, bad), "density"),
        (lambda: aci318_modulus_short_MPa(bad), "compressive strength"),
        (lambda: aci318_modulus_psi(bad, 145.0), "compressive strength"),
        (lambda: aci318_modulus_psi(4000.0, bad), "density"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()
