"""Warnings, each with its number by a route of its own (published relations, common practice, acceptance cases)."""

import pytest

from curetrack.facts import Forecast, Shape
from curetrack.timeline.types import Alert, Timeline
from tests.timeline.making import (
    POUR_H,
    course,
    done,
    hourly,
    hours,
    levels,
    piece,
    poured,
    reading,
    solved,
    steady,
    step,
    unknown,
)
from tests.timeline.oracle import OWN, dew_point_degC, steady_h, uno_kg_m2_h

COVER = step("cover", kind="cover")
NOT_POURED = done("nothing", -99.0)


def the(timeline: Timeline, rule: str) -> Alert:
    """The one alert of a rule."""
    found = [alert for alert in timeline.alerts if alert.rule == rule]
    assert len(found) == 1, [alert.rule for alert in timeline.alerts]
    return found[0]


def rules(timeline: Timeline) -> set[str]:
    return {alert.rule for alert in timeline.alerts}


# --- placing ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("temp_degC", "need"), [(12.0, 13.0), (6.0, 13.0), (30.0, 29.0), (31.9, 29.0)])
def test_a_slab_outside_13_to_29_degC_at_the_pour_is_warned_of(temp_degC: float, need: float) -> None:
    alert = the(solved(COVER, steady(temp_degC), 1.0), "placing")
    assert (alert.grade, alert.value, alert.need, hours(alert.at)) == ("warn", temp_degC, need, 0.0)


@pytest.mark.parametrize("temp_degC", [13.0, 21.0, 29.0])
def test_within_the_limits_nothing_is_said(temp_degC: float) -> None:
    assert rules(solved(COVER, steady(temp_degC), 1.0)).isdisjoint({"placing", "mix_hot"})


@pytest.mark.parametrize(("air_degC", "need"), [(33.0, 29.0), (9.0, 13.0)])
def test_the_air_of_the_shop_counts_as_well(air_degC: float, need: float) -> None:
    # the design: "mix or air outside placing limits"
    weather = course([*hourly(20.0), *hourly(air_degC, place="air")])
    alert = the(solved(COVER, weather, 1.0), "placing")
    assert (alert.value, alert.need, alert.subject) == (air_degC, need, "air")


@pytest.mark.parametrize(("temp_degC", "need"), [(33.0, 32.0), (36.0, 35.0)])
def test_a_mix_over_32_degC_is_too_hot(temp_degC: float, need: float) -> None:
    alert = the(solved(COVER, steady(temp_degC), 1.0), "mix_hot")
    assert (alert.grade, alert.value, alert.need) == ("warn", temp_degC, need)


@pytest.mark.parametrize(("temp_degC", "rule"), [(4.0, "placing"), (36.0, "mix_hot")])
def test_before_the_pour_the_worst_is_a_hold(temp_degC: float, rule: str) -> None:
    # the form never under 5 degC, the mix never over 35
    timeline = solved(COVER, steady(temp_degC), -5.0, NOT_POURED, of=piece(planned=0.0))
    assert the(timeline, rule).grade == "hold"


def test_days_after_the_pour_placing_is_no_matter_any_more() -> None:
    assert "placing" not in rules(solved(COVER, steady(9.0), 80.0))


# --- cold cure -------------------------------------------------------------------------------------------------------


def test_under_13_degC_within_72_equivalent_hours_is_warned_of() -> None:
    weather = course(levels((-30.0, 18.0), (30.0, 11.0), (40.0, 18.0)))
    alert = the(solved(COVER, weather, 5.0), "cold_cure")
    assert (alert.grade, alert.value, alert.need) == ("warn", 11.0, 13.0)
    assert hours(alert.at) == pytest.approx(30.0, abs=0.01)


def test_cold_after_72_equivalent_hours_is_no_matter() -> None:
    end_h = steady_h(OWN, 18.0, 72.0)
    weather = course(levels((-30.0, 18.0), (round(end_h) + 2.0, 8.0)))
    assert "cold_cure" not in rules(solved(COVER, weather, 5.0))


def test_cold_that_is_past_is_no_matter() -> None:
    weather = course(levels((-30.0, 18.0), (3.0, 11.0), (8.0, 18.0)))
    assert "cold_cure" not in rules(solved(COVER, weather, 20.0))


# --- evaporation -----------------------------------------------------------------------------------------------------


def draughty(wind_m_s: float | None, *, slab: float = 30.0, air: float = 32.0, humidity: float = 35.0):
    readings = [*hourly(slab), *hourly(air, place="air", humidity_pct=humidity)]
    return course(readings + ([reading(0.0, place="air", wind_m_s=wind_m_s)] if wind_m_s is not None else []))


@pytest.mark.parametrize(("wind_km_h", "expected"), [(10.0, 0.68), (15.0, 0.93)])
def test_case_c4_a_hot_dry_breezy_pour(wind_km_h: float, expected: float) -> None:
    alert = the(solved(COVER, draughty(wind_km_h / 3.6), 0.5), "evaporation")
    assert (alert.grade, alert.need) == ("warn", 0.5)
    assert alert.value == pytest.approx(expected, abs=0.005)
    assert alert.value == pytest.approx(uno_kg_m2_h(30.0, 32.0, 35.0, wind_km_h), rel=1e-3)


def test_over_one_kilogram_the_act_level_is_named() -> None:
    assert the(solved(COVER, draughty(20.0 / 3.6), 0.5), "evaporation").need == 1.0


def test_without_a_wind_reading_calm_is_assumed_and_said() -> None:
    assert uno_kg_m2_h(38.0, 25.0, 20.0, 0.0) > 0.35
    weather = draughty(None, slab=44.0, air=25.0, humidity=15.0)
    alert = the(solved(COVER, weather, 0.5), "evaporation")
    assert alert.value == pytest.approx(uno_kg_m2_h(44.0, 25.0, 15.0, 0.0), rel=1e-3)
    assert alert.subject == "calm assumed"


def test_under_half_a_kilogram_nothing_is_said() -> None:
    assert "evaporation" not in rules(solved(COVER, draughty(5.0 / 3.6), 0.5))


def test_once_it_is_covered_nothing_is_said() -> None:
    assert "evaporation" not in rules(solved(COVER, draughty(10.0 / 3.6), 1.0, poured(), done("cover", 0.8)))


def test_once_it_has_set_nothing_is_said() -> None:
    assert "evaporation" not in rules(solved(COVER, draughty(10.0 / 3.6), 30.0))


def test_before_a_planned_pour_it_is_that_moment_that_counts() -> None:
    timeline = solved(COVER, draughty(10.0 / 3.6), -5.0, NOT_POURED, of=piece(planned=3.0))
    assert hours(the(timeline, "evaporation").at) == 3.0


def test_without_humidity_nothing_is_said() -> None:
    assert "evaporation" not in rules(solved(COVER, steady(35.0), 0.5))


# --- cooling ---------------------------------------------------------------------------------------------------------


def test_cooling_by_more_than_14_K_in_a_day_is_a_shock() -> None:
    weather = course(levels((-30.0, 20.0), (5.0, 36.0), (20.0, 18.0)))
    alert = the(solved(COVER, weather, 60.0), "cooling")
    assert (alert.grade, alert.value, alert.need) == ("warn", pytest.approx(18.0), 14.0)


@pytest.mark.parametrize("low_degC", [16.0, 18.0])
def test_cooling_that_is_slower_or_less_is_none(low_degC: float) -> None:
    # from 30 degC: 14 K and 12 K in a day; and 20 K spread over three days
    assert "cooling" not in rules(solved(COVER, course(levels((-30.0, 30.0), (9.0, low_degC))), 60.0))
    slope = course(hourly(lambda h: 34.0 - 20.0 * min(1.0, max(0.0, h / 72.0))))
    assert "cooling" not in rules(solved(COVER, slope, 90.0))


def test_a_drop_followed_by_more_heat_is_a_drop_all_the_same() -> None:
    # 16 K within ten hours, then warmer than ever
    weather = course(levels((-30.0, 31.0), (10.0, 15.0), (20.0, 33.0)))
    assert the(solved(COVER, weather, 60.0), "cooling").value == pytest.approx(16.0)


def test_cooling_that_is_only_forecast_is_not_measured() -> None:
    weather = course(hourly(36.0, until=10.0), Forecast("steady", POUR_H + 10.0, 10.0))
    assert "cooling" not in rules(solved(COVER, weather, 10.0))


# --- condensation ----------------------------------------------------------------------------------------------------

COAT = step("seal", 'not_before = { age = "48 h" }', kind="coat")


def test_a_coat_planned_below_3_K_over_the_dew_point_is_warned_of() -> None:
    # air 20 degC at 80 %: dew point 16.4 degC; the slab 18 degC
    weather = course([*hourly(18.0), *hourly(20.0, place="air", humidity_pct=80.0)])
    alert = the(solved(COAT, weather, 30.0), "condensation")
    assert (alert.step, hours(alert.at), alert.need) == ("seal", 48.0, 3.0)
    assert alert.value == pytest.approx(
        18.0 - dew_point_degC(20.0, 80.0), abs=0.05
    )  # the published relations: to 0.05 degC


def test_a_dry_coat_is_not() -> None:
    assert "condensation" not in rules(solved(COAT, steady(20.0, 60.0), 30.0))


def test_a_coat_that_lies_more_than_two_days_ahead_is_not_spoken_of() -> None:
    steps = COAT.replace("48 h", "140 h")
    assert "condensation" not in rules(solved(steps, steady(20.0, 97.0), 30.0))


# --- lifts -----------------------------------------------------------------------------------------------------------

FLIP = step("flip", 'crew = "flip"', kind="lift")


@pytest.mark.parametrize(("length_m", "width_m", "load_kg", "limit_kg"), [
    # 1.83 x 1.07 x 0.038 m at 2350: 175 kg, half of it tilted by 4: 1/2 of 4 x 25 kg; common practice, Lifting
    (1.83, 1.07, 174.9 / 2.0, 50.0),
    (1.2, 0.8, 0.96 * 0.038 * 2350.0 / 2.0, 2.0 / 3.0 * 50.0),
])  # fmt: skip
def test_a_flip_above_the_team_factors_asks_for_an_aid(
    length_m: float, width_m: float, load_kg: float, limit_kg: float
) -> None:
    timeline = solved(FLIP, steady(20.0), 50.0, of=piece(Shape(length_m, width_m, 0.038)))
    alert = the(timeline, "lift")
    assert (alert.grade, alert.step) == ("warn", "flip")
    assert (alert.value, alert.need) == pytest.approx((load_kg, limit_kg), rel=2e-3)


def test_a_carry_takes_the_whole_weight() -> None:
    # 1.2 x 0.6 x 0.04 m at 2350: 67.7 kg, carried by 2: 2/3 of 50 kg
    alert = the(solved(step("carry", 'crew = "carry"', kind="lift"), steady(20.0), 50.0), "lift")
    assert (alert.value, alert.need) == pytest.approx((67.68, 100.0 / 3.0), rel=1e-3)


def test_a_light_flip_does_not() -> None:
    assert "lift" not in rules(solved(FLIP, steady(20.0), 50.0, of=piece(Shape(0.9, 0.5, 0.04))))


def test_a_lift_that_is_done_is_not_spoken_of() -> None:
    heavy = piece(Shape(1.83, 1.07, 0.038))
    assert "lift" not in rules(solved(FLIP, steady(20.0), 50.0, poured(), done("flip", 49.0), of=heavy))


# --- what is known ---------------------------------------------------------------------------------------------------


def test_the_longest_gap_since_the_pour_is_said() -> None:
    readings = [
        one for one in hourly(15.0) if not 6.0 < one.at_h - POUR_H < 9.0 and not 20.0 < one.at_h - POUR_H < 31.0
    ]
    alert = the(solved(COVER, course(readings), 50.0), "gap")
    assert (alert.grade, alert.value, alert.need) == ("hint", pytest.approx(11.0), 2.0)
    assert (hours(alert.at), hours(alert.until)) == (20.0, 31.0)


def test_readings_up_to_two_hours_apart_are_no_gap() -> None:
    assert "gap" not in rules(solved(COVER, course([reading(2.0 * k, 15.0) for k in range(-5, 60)]), 50.0))


def test_no_temperature_at_all_is_said() -> None:
    assert the(solved(COVER, unknown(), 5.0), "no_temperature").grade == "warn"


def test_old_readings_are_said_to_be_old() -> None:
    alert = the(solved(COVER, steady(15.0, until=10.0), 30.0), "stale")
    assert (alert.value, alert.need, hours(alert.at)) == (pytest.approx(20.0), 12.0, 10.0)
    assert "stale" not in rules(solved(COVER, steady(15.0, until=20.0), 30.0))


def test_a_step_that_waits_for_humidity_says_so() -> None:
    steps = step("go", 'not_before = { drying = "24 h" }')
    assert the(solved(steps, steady(20.0), 30.0), "no_humidity").step == "go"
    assert "no_humidity" not in rules(solved(steps, steady(20.0, 50.0), 30.0))


# --- water -----------------------------------------------------------------------------------------------------------

MIST = step("mist", kind="wet")


@pytest.mark.parametrize(("water_degC", "said"), [(5.0, True), (17.9, True), (18.1, False), (25.0, False)])
def test_case_c6_cold_water_on_a_warm_slab_is_a_hint_and_delays_nothing(water_degC: float, said: bool) -> None:
    # acceptance case C6: slab 29 degC, older guidance limits the difference to 11 K
    timeline = solved(MIST, steady(29.0), 24.0, water_degC=water_degC)
    assert [(alert.grade, alert.value) for alert in timeline.alerts if alert.rule == "cold_water"] == (
        [("hint", pytest.approx(29.0 - water_degC))] if said else []
    )
    assert timeline.lines[0].state == "ready"


# --- lines -----------------------------------------------------------------------------------------------------------


def test_an_override_is_shown_ever_after() -> None:
    steps = step("strip", 'not_before = { age = "20 h" }\nhold = true')
    timeline = solved(steps, steady(20.0), 700.0, poured(), done("strip", 10.0, override="needed the form"))
    alert = the(timeline, "override")
    assert (alert.step, alert.subject, hours(alert.at)) == ("strip", "needed the form", 10.0)


def test_a_window_that_has_closed_says_what_to_do() -> None:
    # acceptance case H2: the block should have come out by 48 eq h
    steps = step("unblock", 'no_later = { maturity = "48 h", else = "No hammer." }')
    alert = the(solved(steps, steady(20.0), 144.0), "past_limit")
    assert (alert.grade, alert.step, alert.subject) == ("warn", "unblock", "No hammer.")
    assert hours(alert.at) == pytest.approx(48.0, abs=0.001)


# --- order -----------------------------------------------------------------------------------------------------------


def test_the_gravest_comes_first() -> None:
    weather = course(levels((-30.0, 6.0), (5.0, -4.0), (12.0, 6.0), until=20.0))
    grades = [alert.grade for alert in solved(COVER, weather, 40.0).alerts]
    assert {"hold", "warn", "hint"} == set(grades)
    assert grades == sorted(grades, key=["hold", "warn", "hint"].index)


def test_a_piece_in_good_weather_has_nothing_to_be_told() -> None:
    assert solved(COVER, steady(20.0, 60.0), 5.0, poured(), done("cover", 0.5)).alerts == ()
