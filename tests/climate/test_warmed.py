"""A course whose slab is computed because only the air is measured: when it is, its sides, and what stays as it was."""

from datetime import UTC
from math import exp

import pytest

from curetrack.climate.course import Course, build_course
from curetrack.climate.warmed import OwnHeat
from curetrack.concrete.heat import ThinSlab, in_its_form_W_m2K, slab_temperatures
from curetrack.concrete.maturity import Arrhenius
from curetrack.facts import Forecast, Reading
from tests.climate.course_histories import START_H as S

LAW = Arrhenius(5000.0)
POUR_H = S + 30.0
SLAB = ThinSlab(0.04, 350.0, in_its_form_W_m2K())
HEAT = OwnHeat(POUR_H, SLAB, LAW)
COLD_SLAB = ThinSlab(0.04, 0.0, in_its_form_W_m2K())


def air(until_h: float, temp_degC: float = 12.0) -> list[Reading]:
    return [Reading(S + k, temp_degC=temp_degC, place="air") for k in range(int(until_h) + 1)]


def course(until_h: float = 200.0, *more: Reading) -> Course:
    return build_course([*air(until_h), *more], None, UTC)


def test_it_is_the_model_on_the_air() -> None:
    made = course().in_slab(HEAT)
    assert made.slab_is_computed
    times, temps = slab_temperatures(SLAB, LAW, [0.0, 100.0], [12.0, 12.0], 12.0)
    for at_h, temp in list(zip(times, temps, strict=True))[::40]:
        assert made.temp_degC(POUR_H + at_h) == pytest.approx(temp, abs=0.02)
    assert max(temps) > 14.0
    assert made.temp_degC(POUR_H + 10.0, "air") == 12.0


def test_the_cold_side_has_no_heat_of_its_own_and_the_warm_one_half_as_much_again() -> None:
    made = course().in_slab(HEAT)
    for at_h in (5.0, 12.0, 20.0, 48.0):
        cold, centre, warm = (made.temp_degC(POUR_H + at_h, side=side) for side in ("cold", "centre", "warm"))
        assert cold == pytest.approx(12.0, abs=1e-6)
        assert cold < centre < warm
    _, temps = slab_temperatures(ThinSlab(0.04, 525.0, SLAB.loss_W_m2K), LAW, [0.0, 12.0], [12.0, 12.0], 12.0)
    assert made.temp_degC(POUR_H + 12.0, side="warm") == pytest.approx(temps[-1], abs=0.02)


def test_before_the_pour_there_is_no_slab_and_a_month_later_it_is_the_air() -> None:
    made, bare = course(1000.0).in_slab(HEAT), course(1000.0)
    for at_h in (-20.0, -1.0, 0.0, 24.0 * 30 + 5.0):
        assert made.temp_degC(POUR_H + at_h) == bare.temp_degC(POUR_H + at_h)


def test_a_slab_that_is_measured_is_not_computed() -> None:
    at_pour = Reading(POUR_H, temp_degC=19.0)
    later = Reading(POUR_H + 5.0, temp_degC=15.0)
    assert course(200.0, at_pour).in_slab(HEAT).slab_is_computed
    assert course(200.0, at_pour).in_slab(HEAT).temp_degC(POUR_H + 1e-6) == pytest.approx(19.0, abs=1e-3)
    measured = course(200.0, at_pour, later)
    assert measured.in_slab(HEAT) is measured


def test_a_warm_mix_in_cold_air_cools_with_the_slab_s_lag() -> None:
    made = course(200.0, Reading(POUR_H, temp_degC=22.0)).in_slab(OwnHeat(POUR_H, COLD_SLAB, LAW))
    expected = 12.0 + 10.0 * exp(-3.0 / COLD_SLAB.lag_h)  # by hand
    assert made.temp_degC(POUR_H + 3.0) == pytest.approx(expected, abs=0.02)


def test_the_same_slab_is_computed_once_and_a_new_reading_asks_anew() -> None:
    bare = course(40.0)
    made = bare.in_slab(HEAT)
    assert bare.in_slab(HEAT) is made
    assert made.in_slab(HEAT) is made
    grown = made.with_reading(Reading(S + 41.0, temp_degC=20.0, place="air"))
    assert not grown.slab_is_computed
    anew = build_course([*air(40.0), Reading(S + 41.0, temp_degC=20.0, place="air")], None, UTC).in_slab(HEAT)
    for at_h in (12.0, 14.0, 30.0):
        assert grown.in_slab(HEAT).temp_degC(POUR_H + at_h) == pytest.approx(anew.temp_degC(POUR_H + at_h))


def test_the_gained_age_is_that_of_the_computed_slab() -> None:
    made = course().in_slab(HEAT)
    times, temps = slab_temperatures(SLAB, LAW, [0.0, 48.0], [12.0, 12.0], 12.0)
    gained = sum(
        0.5 * (LAW.rate(temps[k - 1]) + LAW.rate(temps[k])) * (times[k] - times[k - 1]) for k in range(1, len(times))
    )
    assert made.gained_h(LAW, POUR_H, POUR_H + 48.0) == pytest.approx(gained, rel=1e-3)
    assert made.gained_h(LAW, POUR_H, POUR_H + 48.0) > 1.05 * course().gained_h(LAW, POUR_H, POUR_H + 48.0)
    reached = made.reach(LAW, POUR_H, gained)
    assert reached == pytest.approx(POUR_H + 48.0, abs=0.05)


def test_a_forecast_alone_serves_too_and_nothing_at_all_does_not() -> None:
    alone = build_course([], Forecast("steady", S, temp_degC=12.0), UTC).in_slab(HEAT)
    assert alone.slab_is_computed
    assert alone.temp_degC(POUR_H + 12.0) > 13.0
    nothing = build_course([], None, UTC)
    assert nothing.in_slab(HEAT) is nothing
