"""The shop's habit: its swing, its level, its lag; and what a forecast makes of it, by hand and by a general solver."""

from datetime import UTC
from math import cos, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from curetrack.climate.course import Course, build_course
from curetrack.climate.doubt import A_GUESS, Doubt, doubt_of
from curetrack.climate.habit import Habit, habit_of, lag_h
from curetrack.facts import DayRange, Forecast, ForecastPoint
from tests.climate.course_histories import START_H as S
from tests.climate.course_histories import readings_of, wave

Nodes = list[tuple[float, float]]


def habit(nodes: Nodes) -> Habit | None:
    track = [at_h for at_h, _ in nodes], [temp for _, temp in nodes]
    course = build_course(readings_of(nodes), None, UTC)
    return habit_of(([S + at_h for at_h in track[0]], track[1]), course.temp_degC)


def known(nodes: Nodes) -> Habit:
    found = habit(nodes)
    assert found is not None
    return found


def course(nodes: Nodes, forecast: Forecast | None = None) -> Course:
    return build_course(readings_of(nodes), forecast, UTC)


def heated(days: int) -> Nodes:
    """Steady but for four warm hours each evening."""
    return [(float(hour), 10.0 + (6.0 if hour % 24 in (18, 19, 20, 21) else 0.0)) for hour in range(24 * days + 1)]


# --- what is found ---------------------------------------------------------------------------------------------------


def test_a_daily_wave_is_found_with_its_height() -> None:
    found = known(wave(72.0, 1.0, 12.0, 3.0))
    assert (found.days, found.own) == (3, False)
    assert found.wave_K == pytest.approx(3.0, abs=1e-9)  # by hand: it is one wave of 3 K
    assert found.ranged_K == pytest.approx(0.0, abs=1e-9)
    assert sum(found.swing_K) == pytest.approx(0.0, abs=1e-9)


def test_a_straight_drift_is_no_swing_but_a_range() -> None:
    found = known([(float(hour), 10.0 + hour / 24.0) for hour in range(73)])
    assert found.swing_K == pytest.approx([0.0] * 24, abs=1e-9)
    assert found.ranged_K == pytest.approx(1.0)  # 1 K a day: by hand
    assert (found.wave_K, found.own) == (pytest.approx(0.0, abs=1e-9), False)


def test_a_heater_in_the_evening_is_no_wave() -> None:
    found = known(heated(3))
    assert found.own
    assert found.swing_K[18] == pytest.approx(6.0 - 6.0 * 4.0 / 24.0)  # off the mean of a day with four warm hours
    assert lag_h(found, 10.0) == lag_h(found, 1.0) == 36.0


@pytest.mark.parametrize(("hours", "days"), [(19.9, 0), (20.0, 1), (43.9, 1), (44.0, 2), (68.0, 3), (400.0, 3)])
def test_a_day_counts_from_twenty_hours_on_and_three_are_most(hours: float, days: int) -> None:
    count = 80
    found = habit([(hours * k / count, 10.0) for k in range(count + 1)])
    assert (0 if found is None else found.days) == days


def test_readings_more_than_six_hours_apart_break_a_day() -> None:
    nodes = wave(72.0, 1.0, 12.0, 3.0)
    assert known([node for node in nodes if not 30.0 < node[0] < 36.0]).days == 3  # 6 h apart
    assert known([node for node in nodes if not 30.0 < node[0] < 37.0]).days == 1  # reaches back to hour 37
    assert habit([node for node in nodes if not 60.0 < node[0] < 67.0]) is None
    assert habit([]) is None


@pytest.mark.parametrize("lag", [10.0, 12.0, 24.0, 36.0, 100.0])
def test_the_lag_is_read_from_the_height_of_the_swing(lag: float) -> None:
    # a wave of 24 h passes at 1 / sqrt(1 + (2 pi lag / 24)^2): a sine through a first-order lag
    passed = 1.0 / sqrt(1.0 + (2.0 * pi * lag / 24.0) ** 2)
    found = known(wave(72.0, 1.0, 12.0, 5.0 * passed))
    assert lag_h(found, 10.0) == pytest.approx(lag, rel=1e-6)


def test_the_lag_stays_within_ten_hours_and_ten_days() -> None:
    assert lag_h(known(wave(72.0, 1.0, 12.0, 9.0)), 10.0) == 10.0
    assert lag_h(known(wave(72.0, 1.0, 12.0, 0.0)), 10.0) == 240.0
    assert lag_h(known(wave(72.0, 1.0, 12.0, 1.0)), 0.0) == 10.0


# --- what is expected ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("forecast", [None, Forecast("steady", S)])
def test_the_shop_goes_on_around_the_level_it_has_now(forecast: Forecast | None) -> None:
    nodes = [(at_h, temp + at_h / 24.0) for at_h, temp in wave(72.0, 1.0, 12.0, 3.0)]  # and 1 K a day
    found = course(nodes, forecast)
    for hours in (1.0, 6.0, 18.0, 30.0, 54.0):
        expected = 15.0 + 3.0 * (wave(24.0, 1.0, 0.0, 1.0)[int(hours) % 24][1])
        assert found.temp_degC(S + 72.0 + hours) == pytest.approx(expected, abs=1e-6)
    assert found.temp_degC(S + 72.0 + 2000.0) == pytest.approx(15.0)  # after ten days the level
    assert found.temp_degC(S + 72.0, side="cold") == found.temp_degC(S + 72.0) == pytest.approx(15.0)


def test_typed_days_lead_the_level_with_the_lag_of_the_swing() -> None:
    """The level against scipy on L' = (mean - L) / lag, means straight from noon to noon; the swing on top."""
    lag = 24.0
    passed = 1.0 / sqrt(1.0 + (2.0 * pi * lag / 24.0) ** 2)
    nodes = wave(72.0, 1.0, 12.0, 5.0 * passed)
    made_h = S + 72.0  # 16:00 UTC
    days = (DayRange(0, 7.0, 17.0), DayRange(1, 3.0, 13.0), DayRange(2, -1.0, 9.0))
    found = course(nodes, Forecast("days", made_h, days=days))
    noons = [10.5 - 16.0 - 24.0, 10.5 - 16.0, 10.5 - 16.0 + 24.0, 10.5 - 16.0 + 48.0, 1000.0]
    means = [12.0, 12.0, 8.0, 4.0, 4.0]

    def mean(at_h: float) -> float:
        k = max(i for i in range(4) if noons[i] <= at_h)
        return means[k] + (means[k + 1] - means[k]) * (at_h - noons[k]) / (noons[k + 1] - noons[k])

    hours = [12.0, 36.0, 60.0, 120.0]
    levels = solve_ivp(lambda t, y: [(mean(t) - y[0]) / lag], (0.0, 120.0), [12.0], t_eval=hours, max_step=0.1)
    for at_h, level in zip(hours, levels.y[0], strict=True):
        swing = wave(24.0, 1.0, 0.0, 5.0 * passed)[int(at_h) % 24][1]
        assert found.temp_degC(made_h + at_h) == pytest.approx(level + swing, abs=0.02)


def test_a_shop_kept_at_one_temperature_hardly_hears_of_the_frost_outside() -> None:
    nodes = [(float(hour), 18.0) for hour in range(73)]
    found = course(nodes, Forecast("days", S + 72.0, days=(DayRange(0, -8.0, 2.0),)))
    assert 16.0 < found.temp_degC(S + 72.0 + 24.0) < 18.0


def test_with_less_than_a_day_of_readings_typed_days_are_the_shop_s_own() -> None:
    found = course([(0.0, 12.0), (1.0, 12.0)], Forecast("days", S, days=(DayRange(0, -4.0, 10.0),)))
    assert found.minimum("slab", S, S + 48.0)[0] == pytest.approx(-4.0)
    after = S + 1.0 + 1e-6
    assert found.temp_degC(after) - found.temp_degC(after, side="cold") == pytest.approx(4.0, abs=1e-3)


def test_points_that_ended_leave_the_habit() -> None:
    points = (ForecastPoint(S, 25.0),)
    nodes = wave(72.0, 1.0, 12.0, 3.0)
    assert course(nodes, Forecast("points", S, points=points)).temp_degC(S + 90.0) == pytest.approx(
        course(nodes).temp_degC(S + 90.0)
    )


# --- how far it may be off -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("hours", "expected"), [(0.0, 4.0), (36.0, 4.5), (72.0, 5.0), (900.0, 5.0)])
def test_a_guess_is_off_by_4_K_at_once_and_5_K_after_three_days(hours: float, expected: float) -> None:
    assert A_GUESS.off_K(hours) == pytest.approx(expected)
    after = S + 1.0 + hours + 1e-7
    found = course([(0.0, 12.0), (1.0, 12.0)])
    assert found.temp_degC(after, side="warm") - found.temp_degC(after) == pytest.approx(expected, abs=1e-4)


def a_habit(ranged_K: float, *, own: bool = False) -> Habit:
    return Habit(3, tuple(2.0 * cos(2.0 * pi * k / 24.0) for k in range(24)), ranged_K, 2.0, own)


@given(st.floats(0.0, 15.0), st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.booleans())
def test_a_doubt_begins_at_nil_and_grows(ranged_K: float, one_h: float, other_h: float, own: bool) -> None:
    first_h, later_h = sorted((one_h, other_h))
    for typed_until_h in (None, 60.0):
        doubt: Doubt = doubt_of(a_habit(ranged_K, own=own), typed_until_h)
        assert doubt.off_K(0.0) == 0.0
        assert doubt.off_K(first_h) <= doubt.off_K(later_h) + 1e-12


@given(st.floats(0.0, 15.0), st.floats(1.0, 60.0), st.booleans())
def test_typed_days_narrow_what_is_within_them(ranged_K: float, hours: float, own: bool) -> None:
    typed, past = doubt_of(a_habit(ranged_K, own=own), 60.0), doubt_of(a_habit(ranged_K, own=own))
    mean_typed, mean_past = (sum(each.off_K(k * hours / 50) for k in range(51)) / 51 for each in (typed, past))
    if hours >= 24.0 and not own:
        assert mean_typed < mean_past
    assert doubt_of(a_habit(ranged_K + 1.0), 60.0).off_K(hours) > doubt_of(a_habit(ranged_K), 60.0).off_K(hours)
