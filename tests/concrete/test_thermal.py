"""Film coefficients and how fast a thin slab follows the air."""

import math
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.thermal import (
    W_M2K_PER_BTU_DAY_IN2_F,
    film_btu_day_in2_F,
    film_W_m2K,
    indoor_film_W_m2K,
    time_constant_h,
)
from curetrack.units import BadInput, OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published, rows

TABLE = "13_hydration_thermal.csv"


@published(TABLE, lambda row: row.id == "HF-0", within=1e-12, why="the constant of the formula as read")
def test_film_coefficient_in_still_air(row: Row) -> float:
    return film_btu_day_in2_F(0.0)


@published(TABLE, lambda row: row.id.startswith("RSI-"), how="table", within=1e-12, why="resistances as printed")
def test_indoor_surface_resistance(row: Row) -> float:
    direction = {"RSI-hori": "side", "RSI-upwa": "up", "RSI-down": "down"}[row.id]
    return 1.0 / indoor_film_W_m2K(direction)  # type: ignore[arg-type]


@pytest.mark.parametrize("row", rows(TABLE, "computed", lambda row: row.id.startswith("HF-")), ids=lambda row: row.id)
def test_regression_of_film_coefficients(row: Row) -> None:
    wind_mph = float(row.id.removeprefix("HF-"))
    assert film_btu_day_in2_F(wind_mph) == pytest.approx(row.number("published_value"), abs=5e-5)
    assert film_W_m2K(wind_mph * 0.44704) == pytest.approx(row.number("recomputed_value"), rel=1e-4)


@pytest.mark.parametrize("row", rows(TABLE, "computed", lambda row: row.id.startswith("TC-")), ids=lambda row: row.id)
def test_regression_of_time_constants(row: Row) -> None:
    assert time_constant_h(0.040, float(row.id.removeprefix("TC-"))) == pytest.approx(row.number("recomputed_value"))


def test_conversion_agrees_with_pint() -> None:
    units: Any = pint.UnitRegistry()
    expected = units("1 Btu_it/day/inch**2/delta_degF").to("W/m**2/delta_degC").magnitude
    assert pytest.approx(expected, rel=1e-9) == W_M2K_PER_BTU_DAY_IN2_F


@given(st.floats(0.0, 10.89), st.floats(0.0, 10.89))
def test_more_wind_takes_more_heat(a: float, b: float) -> None:
    calm, windy = sorted((a, b))
    assert film_btu_day_in2_F(calm) <= film_btu_day_in2_F(windy) < film_btu_day_in2_F(15.0)


def test_the_second_branch_begins_at_ten_point_nine_miles_an_hour() -> None:
    assert film_btu_day_in2_F(10.9) == pytest.approx(0.1132 * 10.9**0.8, rel=1e-12)
    assert film_btu_day_in2_F(math.nextafter(10.9, 0.0)) == pytest.approx(0.165 + 0.0513 * 10.9, rel=1e-12)


def test_the_two_branches_meet_within_six_percent() -> None:
    assert film_btu_day_in2_F(10.9) == pytest.approx(film_btu_day_in2_F(10.8999), rel=0.06)


def test_a_forty_millimetre_slab_follows_the_shop_within_two_hours() -> None:
    assert 1.0 < time_constant_h(0.040, indoor_film_W_m2K("side")) < 2.0


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e6])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: film_btu_day_in2_F(bad), "wind"),
        (lambda: film_W_m2K(bad), "wind"),
        (lambda: time_constant_h(bad, 10.0), "thickness"),
        (lambda: time_constant_h(0.04, bad), "film coefficient"),
        (lambda: time_constant_h(0.04, 10.0, bad), "density"),
        (lambda: time_constant_h(0.04, 10.0, 2400.0, bad), "specific heat"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()


def test_an_unknown_direction_is_refused() -> None:
    with pytest.raises(BadInput, match="use up, side or down"):
        indoor_film_W_m2K("sideways")  # type: ignore[arg-type]
