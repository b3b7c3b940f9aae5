"""Frost on a young piece (acceptance case C2): held, whatever the weather, until it is found hard when thawed."""

import pytest

from curetrack.facts import Forecast, ForecastPoint
from tests.timeline.making import (
    POUR_H,
    SAUL,
    band,
    course,
    done,
    event,
    hourly,
    hours,
    levels,
    line,
    passed,
    piece,
    poured,
    profile,
    solved,
    state,
    step,
)
from tests.timeline.oracle import hyperbola_h, steady_h
from tests.timeline.oracle import saul as saul_rate

STEPS = (
    step("strip", 'not_before = { maturity = "24 h" }\nhold = true\ncheck = "Coin."')
    + step("flip", 'not_before = { age = "20 h" }\nhold = true\ncheck = "Bar."', kind="lift")
    + step("sand", 'not_before = { age = "20 h" }', kind="grind")
    + step("seal", 'not_before = { age = "20 h" }', kind="coat")
)
COLD_NIGHT = ((-30.0, 12.0), (9.0, -3.0), (15.0, 2.0), (18.0, 12.0))  # freezes 9 h after the pour, thaws at 15 h
COLD = course(levels(*COLD_NIGHT))


def hardness(answer: str, hour: float):
    return event("check", hour, "hardness", check=answer)


def rules(timeline) -> set[str]:
    return {alert.rule for alert in timeline.alerts}


# --- froze young -----------------------------------------------------------------------------------------------------


def test_case_c2_4_to_6_equivalent_hours_when_it_froze() -> None:
    # acceptance case C2: pour 16:00; 4 h at 12, 4 h at 8, 1 h at 3, 6 h at -3, 3 h at 2, then 10 degC
    weather = course(levels((-30.0, 12.0), (4.0, 8.0), (8.0, 3.0), (9.0, -3.0), (15.0, 2.0), (18.0, 10.0)))
    timeline = solved(profile(STEPS, maturity=SAUL), weather, 18.0)
    alert = next(one for one in timeline.alerts if one.rule == "suspect")
    assert (timeline.suspect, alert.grade) == (True, "hold")
    assert (alert.value, alert.need) == pytest.approx((4.15, 5.77), abs=0.01)  # C2: 4.2-5.8; test_course_hardening
    assert hours(alert.at) == pytest.approx(9.0, abs=0.01)
    # the strip moves to Mon 11:30 - Tue 01:10, 43.5 to 57.2 h after the pour, tolerance 30 min
    assert band(line(timeline, "strip")) == pytest.approx((43.5, 57.2), abs=0.5)


def test_lifts_and_coats_are_held_and_the_rest_goes_on() -> None:
    timeline = solved(STEPS, COLD, 60.0)
    assert {one.step: one.state for one in timeline.lines} == {
        "strip": "ready", "flip": "waiting", "sand": "ready", "seal": "waiting",
    }  # fmt: skip


@pytest.mark.parametrize("step_id", ["flip", "seal"])
def test_what_is_held_says_so_first_and_no_check_of_its_own_opens_it(step_id: str) -> None:
    found = line(solved(STEPS, COLD, 60.0, poured(), passed(step_id, 50.0)), step_id)
    assert (found.state, found.hold, found.reasons[0].rule) == ("waiting", True, "frost")
    assert (found.check_from, found.opens_at) == (None, None)


@pytest.mark.parametrize("now", [100.0, 500.0, 900.0])
def test_it_stays_held_however_warm_it_gets(now: float) -> None:
    weather = course(levels(*COLD_NIGHT, (24.0, 30.0)))
    timeline = solved(STEPS, weather, now)
    assert (timeline.suspect, state(timeline, "flip"), state(timeline, "seal")) == (True, "waiting", "waiting")


def test_a_piece_that_bears_it_is_not_suspect() -> None:
    # 20 degC: 3.5 MPa even if the mix is 25 % weaker at 24.3 h; common practice: and 24 eq h
    bears_h = max(24.0, hyperbola_h(3.5 / 0.75))
    young, old = (
        solved(STEPS, course(levels((-30.0, 20.0), (bears_h + gap, -5.0), (bears_h + 9.0, 12.0))), 60.0)
        for gap in (-0.5, 0.5)
    )
    assert (young.suspect, old.suspect) == (True, False)
    assert state(old, "flip") == "ready"


def test_it_is_the_slowest_law_that_says_when_it_bears_it() -> None:
    # 8 degC: Nurse-Saul with datum 0 is the slowest, 8/20; the freeze comes after all others have had their hours
    slow_h = steady_h(saul_rate(0.0), 8.0, hyperbola_h(3.5 / 0.6))
    made = profile(STEPS, spread="40 %")
    young, old = (
        solved(made, course(levels((-30.0, 8.0), (slow_h + gap, -5.0), (slow_h + 9.0, 12.0))), 200.0)
        for gap in (-0.5, 0.5)
    )
    assert (young.suspect, old.suspect) == (True, False)


def test_frost_before_the_pour_is_no_matter() -> None:
    weather = course(levels((-30.0, -8.0), (-5.0, 15.0)))
    assert not solved(STEPS, weather, 60.0).suspect


# --- the hardness check ----------------------------------------------------------------------------------------------


def test_a_passed_check_clears_it_thawed_and_at_10_degC_for_24_h() -> None:
    timeline = solved(STEPS, COLD, 60.0, poured(), hardness("pass", 43.0), passed("flip", 44.0))  # 12 degC since 18 h
    assert (timeline.suspect, state(timeline, "flip"), state(timeline, "seal")) == (False, "ready", "ready")
    assert "suspect_cleared" in rules(timeline)


@pytest.mark.parametrize("hour", [12.0, 20.0, 41.5])
def test_a_check_on_frozen_or_freshly_thawed_concrete_is_worth_nothing(hour: float) -> None:
    # at 41.5 h it has been at 12 degC for 23.5 h only
    assert solved(STEPS, COLD, 60.0, poured(), hardness("pass", hour)).suspect


def test_nor_is_one_below_10_degC() -> None:
    weather = course(levels(*COLD_NIGHT[:3], (18.0, 9.5)))
    assert solved(STEPS, weather, 400.0, poured(), hardness("pass", 300.0)).suspect


def test_nor_is_one_while_nobody_measures() -> None:
    weather = course(levels(*COLD_NIGHT, until=30.0))  # the last reading 15 h before
    assert solved(STEPS, weather, 60.0, poured(), hardness("pass", 45.0)).suspect


def test_nor_is_one_from_before_the_frost() -> None:
    assert solved(STEPS, COLD, 60.0, poured(), hardness("pass", 8.0)).suspect


def test_a_failed_check_holds_it_and_a_later_pass_clears_it() -> None:
    failed = hardness("fail", 45.0)
    assert solved(STEPS, COLD, 60.0, poured(), failed).suspect
    assert not solved(STEPS, COLD, 60.0, poured(), failed, hardness("pass", 55.0)).suspect


def test_a_later_fail_voids_the_pass() -> None:
    assert solved(STEPS, COLD, 60.0, poured(), hardness("pass", 45.0), hardness("fail", 55.0)).suspect


def test_a_check_after_now_does_not_count_yet() -> None:
    assert solved(STEPS, COLD, 60.0, poured(), hardness("pass", 61.0)).suspect


def test_a_second_frost_while_it_is_still_young_makes_it_suspect_again() -> None:
    # found hard at 43 h; at 50 h it has some 15 eq h by the slowest law and freezes once more
    readings = levels((-30.0, 10.0), (5.0, -3.0), (15.0, 10.0), (50.0, -6.0), (55.0, 12.0))
    facts, weather = (poured(), hardness("pass", 43.0)), course(readings)
    assert not solved(STEPS, course([r for r in readings if r.at_h <= POUR_H + 49.0]), 49.0, *facts).suspect
    assert solved(STEPS, weather, 60.0, *facts).suspect
    assert not solved(STEPS, weather, 100.0, *facts, hardness("pass", 90.0)).suspect


# --- not known -------------------------------------------------------------------------------------------------------


def test_a_gap_in_which_it_may_have_frozen_is_unknown_not_suspect() -> None:
    # 4 degC around; 18 h without readings: as cold as 4 - 5 degC
    readings = [one for one in hourly(4.0) if not 6.0 < one.at_h - POUR_H < 24.0]
    timeline = solved(STEPS, course(readings), 60.0)
    assert (timeline.suspect, "frost_unknown" in rules(timeline)) == (False, True)


def test_a_gap_in_which_it_cannot_have_frozen_is_no_matter() -> None:
    readings = [one for one in hourly(9.0) if not 6.0 < one.at_h - POUR_H < 24.0]
    assert "frost_unknown" not in rules(solved(STEPS, course(readings), 60.0))


def test_a_gap_once_it_bears_frost_is_no_matter() -> None:
    readings = [one for one in hourly(lambda h: 15.0 if h < 80.0 else 4.0) if not 90.0 < one.at_h - POUR_H < 110.0]
    assert "frost_unknown" not in rules(solved(STEPS, course(readings), 200.0))


def test_readings_that_begin_long_after_the_pour_leave_it_unknown() -> None:
    assert "frost_unknown" in rules(solved(STEPS, course(hourly(4.0, since=20.0)), 60.0))


# --- ahead -----------------------------------------------------------------------------------------------------------


def ahead(*points: tuple[float, float], last: float = -10.0):
    made = Forecast("points", POUR_H - 12.0, points=tuple(ForecastPoint(POUR_H + h, t) for h, t in points))
    return course(hourly(12.0, until=last), made)


def test_frost_forecast_before_a_planned_pour_is_a_hold() -> None:
    # acceptance case C2: the forecast at 15:00 already showed -4 degC
    weather = ahead((0.0, 12.0), (5.0, 10.0), (12.0, -4.0), (16.0, -4.0), (24.0, 10.0))
    timeline = solved(STEPS, weather, -9.0, done("nothing", -9.0), of=piece(planned=0.0))
    alert = next(one for one in timeline.alerts if one.rule == "frost")
    assert (alert.grade, alert.value, alert.need) == ("hold", -4.0, 0.0)
    assert hours(alert.at) == pytest.approx(5.0 + 7.0 * 10.0 / 14.0, abs=0.01)  # 10 to -4 degC in 7 h


def test_frost_on_the_cold_side_alone_is_a_warning() -> None:
    weather = ahead((0.0, 8.0), (12.0, 1.0), (16.0, 8.0), last=0.0)
    timeline = solved(STEPS, weather, 1.0)
    alert = next(one for one in timeline.alerts if one.rule == "frost")
    assert (alert.grade, alert.subject) == ("warn", "maybe")
    assert alert.value == pytest.approx(1.0 - 2.5, abs=0.01)  # 2 K and 1 K a day for 12 h


def test_frost_forecast_for_when_it_bears_it_is_none() -> None:
    weather = ahead((0.0, 20.0), (90.0, 20.0), (96.0, -8.0), last=0.0)
    assert "frost" not in rules(solved(STEPS, weather, 1.0))


def test_a_forecast_alone_makes_nothing_suspect() -> None:
    weather = ahead((0.0, 8.0), (6.0, -4.0), (16.0, 8.0), last=0.0)
    timeline = solved(STEPS, weather, 1.0)
    assert (timeline.suspect, "frost" in rules(timeline)) == (False, True)
