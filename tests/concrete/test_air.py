"""Moist air and the drying clock against published values, an independent library, and their own promises."""

import math

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.air import (
    ALDUCHOV_ESKRIDGE,
    BOLTON,
    MAGNUS_OLD,
    SONNTAG,
    Magnus,
    dew_point_degC,
    relative_humidity_pct,
    saturation_pressure_Pa,
)
from curetrack.concrete.drying import MOST_CREDITED, drying_rate, drying_rates, vapour_deficit_Pa
from curetrack.units import OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published, rows

psychrolib.SetUnitSystem(psychrolib.SI)
SETS = {set_.a: set_ for set_ in (ALDUCHOV_ESKRIDGE, BOLTON, MAGNUS_OLD, SONNTAG)}


# --- published values ---------------------------------------------------------------------------------------------


@published(
    "10_air_dewpoint_moisture.csv",
    lambda row: row.id in ("DP-2", "DP-3"),
    within=0.0012,
    why="DP-2 is printed to two decimals, from rounded steps",
)
def test_dew_point(row: Row) -> float:
    constants = SETS[row.number("a")]
    return dew_point_degC(row.number("air_temp_degC"), row.number("rel_humidity_pct"), constants)


@published(
    "10_air_dewpoint_moisture.csv",
    lambda row: row.id == "DP-1",
    within=0.01,
    why="that library has since changed its saturation pressure; the constants named give 0.054, it prints 0.048",
)
def test_dew_point_near_freezing(row: Row) -> float:
    return dew_point_degC(row.number("air_temp_degC"), row.number("rel_humidity_pct"), BOLTON)


@published("10_air_dewpoint_moisture.csv", lambda row: row.id == "RH-1", within=1e-6, why="printed to seven decimals")
def test_relative_humidity(row: Row) -> float:
    return relative_humidity_pct(row.number("air_temp_degC"), row.number("dew_point_degC"), SETS[row.number("a")])


@pytest.mark.parametrize("row", rows("10_air_dewpoint_moisture.csv", "computed"), ids=lambda row: row.id)
def test_regression_of_dew_points(row: Row) -> None:
    ours = dew_point_degC(row.number("air_temp_degC"), row.number("rel_humidity_pct"))
    assert ours == pytest.approx(row.number("recomputed_value"), abs=1e-6)


# --- independent oracle -------------------------------------------------------------------------------------------


@given(st.floats(0.1, 45.0), st.floats(10.0, 100.0))
def test_dew_point_agrees_with_psychrolib(temp: float, humidity: float) -> None:
    """To 0.05 K, while it is above freezing: below, that library gives the frost point."""
    expected = psychrolib.GetTDewPointFromRelHum(temp, humidity / 100.0)
    if expected > 0.05:
        assert dew_point_degC(temp, humidity) == pytest.approx(expected, abs=0.05)


@given(st.floats(0.1, 50.0))
def test_saturation_pressure_agrees_with_psychrolib(temp: float) -> None:
    # the Magnus form itself rounds by up to 0.24 % from 0 to 45 degC (Alduchov & Eskridge give 0.384 % over its range)
    assert saturation_pressure_Pa(temp) == pytest.approx(psychrolib.GetSatVapPres(temp), rel=0.0025)


@pytest.mark.parametrize("constants", SETS.values(), ids=lambda constants: str(constants.a))
@pytest.mark.parametrize("temp", [5.0, 15.0, 25.0, 35.0])
def test_all_four_sets_of_constants_are_near_psychrolib(constants: Magnus, temp: float) -> None:
    expected = psychrolib.GetSatVapPres(temp)
    assert saturation_pressure_Pa(temp, constants) == pytest.approx(expected, rel=0.005)


# --- promises of the air ------------------------------------------------------------------------------------------


@given(st.floats(-39.0, 60.0), st.floats(1.0, 100.0))
def test_humidity_is_the_inverse_of_the_dew_point(temp: float, humidity: float) -> None:
    dew = dew_point_degC(temp, humidity)
    assert dew <= temp + 1e-9
    assert relative_humidity_pct(temp, min(max(dew, -80.0), temp)) == pytest.approx(humidity, rel=1e-6)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1000.0, -100.0])
def test_air_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: saturation_pressure_Pa(bad), "air temperature"),
        (lambda: dew_point_degC(bad, 50.0), "air temperature"),
        (lambda: dew_point_degC(20.0, bad), "relative humidity"),
        (lambda: relative_humidity_pct(bad, 5.0), "air temperature"),
        (lambda: relative_humidity_pct(20.0, bad), "dew point"),
        (lambda: vapour_deficit_Pa(bad, 50.0), "air temperature"),
        (lambda: drying_rate(20.0, bad), "relative humidity"),
        (lambda: drying_rate(bad, 50.0), "air temperature"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()


def test_dew_point_of_absolutely_dry_air_is_refused() -> None:
    with pytest.raises(OutOfRange, match="relative humidity out of range, found '0 %'; use 1 to 100 %"):
        dew_point_degC(20.0, 0.0)


# --- the drying clock (common practice, no source) ----------------------------------------------------------------


def test_drying_is_counted_relative_to_20_degrees_and_50_percent() -> None:
    assert drying_rate(20.0, 50.0) == 1.0


@given(st.floats(0.1, 60.0), st.floats(0.0, 100.0))
def test_drying_follows_the_vapour_deficit_by_psychrolib_up_to_the_cap(temp: float, humidity: float) -> None:
    deficit = psychrolib.GetSatVapPres(temp) * (1.0 - humidity / 100.0)
    expected = min(deficit / (0.5 * psychrolib.GetSatVapPres(20.0)), 1.5)
    assert drying_rate(temp, humidity) == pytest.approx(expected, rel=0.008, abs=1e-9)  # 0.3 % twice, wider when hot


@pytest.mark.parametrize("humidity", [50.0, 65.0, 80.0, 95.0])
@pytest.mark.parametrize("temp", [8.0, 10.0, 12.0, 15.0, 18.0, 20.0, 22.0, 25.0, 28.0, 30.0, 35.0])
def test_the_drying_clock_of_a_shop_agrees_with_psychrolib_to_a_thousandth(temp: float, humidity: float) -> None:
    """What the product counts is a ratio of two pressures, in which most of the constants' 0.24 % falls out; below
    8 degC it is off by up to 0.18 %."""
    deficit = psychrolib.GetSatVapPres(temp) * (1.0 - humidity / 100.0)
    expected = min(deficit / (0.5 * psychrolib.GetSatVapPres(20.0)), 1.5)
    assert drying_rate(temp, humidity) == pytest.approx(expected, rel=1e-3)


def test_warm_dry_air_is_credited_one_and_a_half_fold_at_most() -> None:
    assert MOST_CREDITED == 1.5
    assert drying_rate(45.0, 10.0) == 1.5
    assert drying_rate(20.0, 20.0) == 1.5  # 1.6 without the cap


@pytest.mark.parametrize(("temp", "humidity"), [(20.0, 100.0), (0.0, 10.0), (-10.0, 10.0)])
def test_nothing_dries_in_saturated_or_freezing_air(temp: float, humidity: float) -> None:
    assert drying_rate(temp, humidity) == 0.0


def test_a_cold_damp_garage_dries_at_a_fifth() -> None:
    """10 degC and 80 %: a fifth of the deficit that counts as one, 12.3 hPa x 0.2 against 23.4 hPa x 0.5."""
    assert drying_rate(10.0, 80.0) == pytest.approx(12.3 * 0.2 / (23.4 * 0.5), abs=0.003)


def test_many_drying_rates_are_the_single_ones() -> None:
    assert drying_rates([10.0, 20.0], [80.0, 50.0]) == [drying_rate(10.0, 80.0), drying_rate(20.0, 50.0)]
