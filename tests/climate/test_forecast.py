"""What is expected after the last reading, by each kind of forecast, and how uncertain it is."""

from datetime import UTC, datetime
from math import cos, pi
from zoneinfo import ZoneInfo

import pytest

from curetrack.climate.course import build_course
from curetrack.climate.doubt import A_WORD
from curetrack.concrete.maturity import NurseSaul
from curetrack.facts import DayRange, Forecast, ForecastPoint, Reading
from curetrack.instants import to_h
from tests.climate.course_histories import START_H, readings_of, wave

BERLIN = ZoneInfo("Europe/Berlin")
LAST_H = START_H + 1.0
TWO = readings_of([(0.0, 10.0), (1.0, 12.0)])


def berlin_h(month: int, day: int, hour: int, minute: int = 0) -> float:
    return to_h(datetime(2026, month, day, hour, minute, tzinfo=BERLIN))


@pytest.mark.parametrize(("hours", "expected_K"), [(0.0, 2.0), (24.0, 3.0), (36.0, 3.5), (72.0, 5.0), (900.0, 5.0)])
def test_a_word_is_off_by_2_K_and_a_kelvin_more_each_day_to_5(hours: float, expected_K: float) -> None:
    assert A_WORD.off_K(hours) == pytest.approx(expected_K)
    course = build_course(TWO, Forecast("steady", START_H, temp_degC=12.0), UTC)
    at_h = LAST_H + hours + 1e-7
    assert course.temp_degC(at_h) == 12.0
    assert course.temp_degC(at_h, side="cold") == pytest.approx(12.0 - expected_K)
    assert course.temp_degC(at_h, side="warm") == pytest.approx(12.0 + expected_K)
    assert course.temp_degC(LAST_H, side="cold") == 12.0  # measured


@pytest.mark.parametrize("forecast", [None, Forecast("steady", START_H)])
def test_without_a_temperature_the_last_reading_holds(forecast: Forecast | None) -> None:
    course = build_course(TWO, forecast, UTC)
    assert course.temp_degC(LAST_H + 5000.0) == 12.0


def test_a_steady_forecast_is_joined_in_two_hours() -> None:
    course = build_course(TWO, Forecast("steady", START_H, temp_degC=18.0), UTC)
    temps = [course.temp_degC(LAST_H + hours) for hours in (0.0, 0.5, 1.0, 2.0, 3.0, 9000.0)]
    assert temps == pytest.approx([12.0, 13.5, 15.0, 18.0, 18.0, 18.0])
    assert course.temp_degC(LAST_H + 1.0, side="warm") == pytest.approx(17.0 + 1.0 / 24.0)


def test_the_cold_side_of_a_steady_forecast_by_hand() -> None:
    # 12 degC; datum 0, relative to 20: for 72 h (12 - 2 - t/24)/20, then 7/20
    course = build_course(TWO, Forecast("steady", START_H, temp_degC=12.0), UTC)
    gained = course.gained_h(NurseSaul(0.0), LAST_H, LAST_H + 172.0, "cold")
    assert gained == pytest.approx((72.0 * 8.5 + 100.0 * 7.0) / 20.0)
    assert course.reach(NurseSaul(0.0), LAST_H, gained, "cold") == pytest.approx(LAST_H + 172.0)


def test_a_forecast_alone_is_enough() -> None:
    course = build_course([], Forecast("steady", START_H, temp_degC=18.0), UTC)
    assert course.has_temperature
    assert (course.measured_until_h, course.air_source, course.slab_source) == (None, None, None)
    assert course.temp_degC(START_H - 50.0, "air") == 18.0
    assert course.temp_degC(START_H - 50.0, side="cold") == 16.0
    assert course.temp_degC(START_H + 24.0, side="cold") == pytest.approx(15.0)


@pytest.mark.parametrize("kind", ["steady", "last-day", "days", "points"])
def test_a_forecast_that_says_nothing_is_none(kind: str) -> None:
    assert not build_course([], Forecast(kind, START_H), UTC).has_temperature  # type: ignore[arg-type]


def test_days_have_their_low_at_six_and_their_high_at_fifteen_local_time_through_a_clock_change() -> None:
    # clocks go forward on 29 March 2026 and back on 25 October 2026 in Berlin
    for month, first in ((3, 28), (10, 24)):
        days = tuple(DayRange(day, 4.0 + day, 14.0 + 2.0 * day) for day in range(3))
        forecast = Forecast("days", berlin_h(month, first, 5), days=days)
        course = build_course([], forecast, BERLIN)
        for day in range(3):
            assert course.temp_degC(berlin_h(month, first + day, 6)) == pytest.approx(4.0 + day)
            assert course.temp_degC(berlin_h(month, first + day, 15)) == pytest.approx(14.0 + 2.0 * day)
        assert course.maximum("slab", berlin_h(month, first + 1, 0), berlin_h(month, first + 2, 0)) == pytest.approx(
            (16.0, berlin_h(month, first + 1, 15))
        )


def test_days_run_smoothly_from_low_to_high() -> None:
    forecast = Forecast("days", berlin_h(3, 2, 5), days=(DayRange(0, 4.0, 14.0),))
    course = build_course([], forecast, BERLIN)
    for hour in range(6, 16):  # cosine: half-way at 10:30
        expected = 4.0 + 10.0 * 0.5 * (1.0 - cos(pi * (hour - 6) / 9.0))
        assert course.temp_degC(berlin_h(3, 2, hour)) == pytest.approx(expected)
    assert course.temp_degC(berlin_h(3, 2, 10, 30)) == pytest.approx(9.0, abs=1e-9)


def test_the_last_day_given_repeats_and_the_first_one_held_before_it() -> None:
    days = (DayRange(0, 4.0, 14.0), DayRange(1, 8.0, 9.0))
    course = build_course([], Forecast("days", berlin_h(3, 2, 20), days=days), BERLIN)
    assert course.temp_degC(berlin_h(3, 2, 6)) == pytest.approx(4.0)
    for day in (3, 4, 9, 30):
        assert course.temp_degC(berlin_h(3, day, 6)) == pytest.approx(8.0)
        assert course.temp_degC(berlin_h(3, day, 15)) == pytest.approx(9.0)
    assert course.temp_degC(berlin_h(9, 1, 6)) == pytest.approx(8.5)  # far beyond six weeks: the mean


def test_a_day_left_out_is_taken_like_the_one_before() -> None:
    days = (DayRange(0, 4.0, 14.0), DayRange(2, 8.0, 9.0))
    course = build_course([], Forecast("days", berlin_h(3, 2, 5), days=days), BERLIN)
    assert course.temp_degC(berlin_h(3, 3, 15)) == pytest.approx(14.0)


def test_readings_that_end_before_or_after_the_days_were_made_meet_them() -> None:
    forecast = Forecast("days", berlin_h(3, 2, 5), days=(DayRange(0, 4.0, 14.0),))
    for day in (1, 20):
        last_h = berlin_h(3, day, 13)
        course = build_course([Reading(last_h, temp_degC=20.0)], forecast, BERLIN)
        assert course.temp_degC(last_h + 1.0) == pytest.approx(17.0)  # half-way to 14 at 15:00
        assert course.temp_degC(last_h + 2.0) == pytest.approx(14.0)
        assert course.temp_degC(berlin_h(3, day + 1, 6)) == pytest.approx(4.0)


def test_the_last_day_of_readings_repeats() -> None:
    nodes = wave(48.0, 1.0, 12.0, 5.0)
    course = build_course(readings_of(nodes), Forecast("last-day", START_H), UTC)
    temps = dict(nodes)
    for hours in (2.0, 5.0, 24.0, 30.0, 24.0 * 20 + 7.0):
        assert course.temp_degC(START_H + 48.0 + hours) == pytest.approx(temps[24.0 + hours % 24.0])
    assert course.temp_degC(START_H + 48.0 + 24.0 * 100) == pytest.approx(12.0)  # beyond six weeks: the mean


def test_less_than_twenty_hours_do_not_make_a_day() -> None:
    for hours, expected in ((19.0, 15.0), (20.0, 13.0)):
        nodes = [
            (float(hour), 10.0 + (hour == hours) * 5.0 + (hour == hours - 18.0) * 3.0) for hour in range(int(hours) + 1)
        ]
        course = build_course(readings_of(nodes), Forecast("last-day", START_H), UTC)
        assert course.temp_degC(START_H + hours + 6.0) == expected  # 18 h before the last reading


def test_what_was_uncertain_stays_so_when_it_is_repeated() -> None:
    nodes = [(float(hour), 10.0) for hour in range(25) if not 6 <= hour <= 13]  # a gap from 5 to 14: 2 + 7/4 K
    course = build_course(readings_of(nodes), Forecast("last-day", START_H), UTC)
    at_h = START_H + 24.0 + 10.0
    assert course.temp_degC(at_h) == 10.0
    assert course.temp_degC(at_h, side="cold") == pytest.approx(10.0 - 3.75 - A_WORD.off_K(10.0))
    assert course.temp_degC(at_h, side="warm") == pytest.approx(10.0 + 3.75 + A_WORD.off_K(10.0))


def test_points_are_joined_by_straight_lines_and_the_last_one_holds() -> None:
    points = tuple(ForecastPoint(LAST_H + hours, temp) for hours, temp in ((0.0, 8.0), (4.0, 16.0), (10.0, 10.0)))
    course = build_course(TWO, Forecast("points", START_H, points=points), UTC)
    temps = [course.temp_degC(LAST_H + hours) for hours in (0.0, 1.0, 2.0, 4.0, 7.0, 10.0, 99.0)]
    assert temps == pytest.approx([12.0, 12.0, 12.0, 16.0, 13.0, 10.0, 10.0])


def test_points_that_begin_later_are_run_up_to() -> None:
    points = (ForecastPoint(LAST_H + 10.0, 22.0),)
    course = build_course(TWO, Forecast("points", START_H, points=points), UTC)
    assert course.temp_degC(LAST_H + 5.0) == pytest.approx(17.0)


def test_points_that_end_before_the_last_reading_say_nothing() -> None:
    points = (ForecastPoint(LAST_H - 10.0, 22.0), ForecastPoint(LAST_H - 5.0, 30.0))
    course = build_course(TWO, Forecast("points", START_H, points=points), UTC)
    assert course.temp_degC(LAST_H + 50.0) == 12.0


def test_humidity_holds_until_the_forecast_has_some() -> None:
    readings = [Reading(LAST_H, temp_degC=12.0, humidity_pct=60.0)]
    assert build_course(readings, None, UTC).humidity_pct(LAST_H + 90.0) == 60.0
    assert build_course(readings, Forecast("steady", START_H, temp_degC=9.0), UTC).humidity_pct(LAST_H + 90.0) == 60.0
    steady = build_course(readings, Forecast("steady", START_H, humidity_pct=80.0), UTC)
    assert [steady.humidity_pct(LAST_H + hours) for hours in (0.0, 1.0, 2.0, 9.0)] == [60.0, 70.0, 80.0, 80.0]
    points = (
        ForecastPoint(LAST_H, 10.0),
        ForecastPoint(LAST_H + 4.0, 10.0, 50.0),
        ForecastPoint(LAST_H + 6.0, 10.0, 40.0),
    )
    own = build_course(readings, Forecast("points", START_H, points=points), UTC)
    assert [own.humidity_pct(LAST_H + hours) for hours in (2.0, 5.0, 9.0)] == [55.0, 45.0, 40.0]
    alone = build_course([], Forecast("steady", START_H, temp_degC=9.0, humidity_pct=80.0), UTC)
    assert (alone.has_humidity, alone.humidity_pct(START_H)) == (True, 80.0)


def test_each_channel_runs_into_the_forecast_from_its_own_last_reading() -> None:
    readings = [Reading(START_H, temp_degC=20.0), Reading(START_H, temp_degC=10.0, place="air")]
    course = build_course(readings, Forecast("steady", START_H, temp_degC=12.0), UTC)
    assert (course.temp_degC(START_H + 1.0), course.temp_degC(START_H + 1.0, "air")) == pytest.approx((16.0, 11.0))
