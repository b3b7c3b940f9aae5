"""The drying clock: hours of open faces since the last wetting, by the air's thirst, at most 1.5-fold."""

import pytest

from curetrack.facts import Event, Forecast
from tests.timeline.making import (
    POUR_H,
    course,
    done,
    hourly,
    hours,
    line,
    poured,
    reading,
    ready,
    skipped,
    solved,
    state,
    steady,
    step,
)
from tests.timeline.oracle import drying_rate

MATCH = 1e-3  # two sets of Magnus constants differ by 0.02 degC of dew point; rates by a few 1e-4

DRY = 'not_before = { drying = "24 h" }'
AT_REFERENCE = steady(20.0, 50.0)  # one drying hour an hour


def row(*steps: str) -> str:
    """Steps one after another, then `go` that must have dried."""
    return "".join(steps) + step("go", DRY, after="pour")


def go(steps: str, *facts: Event, now: float = 300.0, weather=AT_REFERENCE):
    return line(solved(steps, weather, now, poured(), *facts), "go")


UNCOVER = step("uncover", 'leaves = "open"')
HALF = step("half", 'leaves = "one-face"')
COVER = step("cover", kind="cover")  # kind cover: covered, unless it says otherwise
WET = step("mist", kind="wet")


# --- the rate --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("temp_degC", "humidity_pct"), [(20.0, 50.0), (15.0, 70.0), (8.0, 85.0), (24.0, 60.0)])
def test_an_hour_counts_by_the_vapour_pressure_deficit(temp_degC: float, humidity_pct: float) -> None:
    found = go(row(), now=1.0, weather=steady(temp_degC, humidity_pct))
    assert ready(found) == pytest.approx(24.0 / drying_rate(temp_degC, humidity_pct), rel=MATCH)


def test_case_s1_72_drying_hours_take_about_165_h_at_15_degC_and_70_percent() -> None:
    # acceptance case S1, from wet grinding at 21:00 on
    steps = WET + step("go", 'not_before = { drying = "72 h" }')
    found = go(steps, done("mist", 107.0), now=108.0, weather=steady(15.0, 70.0))
    assert ready(found) == pytest.approx(107.0 + 165.0, abs=2.0)


def test_warm_dry_air_is_credited_at_most_one_and_a_half_fold() -> None:
    # 32 degC at 20 %: the deficit is 3.3 times that of 20 degC and 50 %
    found = go(row(), now=1.0, weather=steady(32.0, 20.0))
    assert ready(found) == pytest.approx(24.0 / 1.5, rel=MATCH)


def test_saturated_air_dries_nothing() -> None:
    assert go(row(), now=1.0, weather=steady(20.0, 100.0)).ready_at is None


def test_the_air_dries_not_the_slab() -> None:
    readings = [*hourly(8.0), *hourly(20.0, place="air", humidity_pct=50.0)]
    assert ready(go(row(), now=1.0, weather=course(readings))) == pytest.approx(24.0, rel=MATCH)


def test_drying_follows_the_humidity_as_it_changes() -> None:
    readings = hourly(20.0) + [reading(h, humidity_pct=50.0 if h <= 10 else 75.0, place="air") for h in range(-30, 400)]
    # 10 h at rate 1, half an hour's worth less in the hour between, then rate 0.5
    found = go(row(), now=1.0, weather=course(readings))
    assert ready(found) == pytest.approx(11.0 + (24.0 - 10.75) / 0.5, rel=MATCH)


# --- the last wetting ------------------------------------------------------------------------------------------------


def test_it_begins_at_the_pour() -> None:
    assert ready(go(row(), now=1.0)) == pytest.approx(24.0, rel=MATCH)


@pytest.mark.parametrize("at_h", [30.0, 100.0])
def test_it_begins_again_after_every_wet_step(at_h: float) -> None:
    assert ready(go(row(WET), done("mist", at_h))) == pytest.approx(at_h + 24.0, rel=MATCH)


def test_what_does_not_wet_does_not_start_it_again() -> None:
    damp = step("mist", "wets = false", kind="wet")
    assert ready(go(row(damp), done("mist", 30.0))) == pytest.approx(24.0, rel=MATCH)


def test_a_wet_step_that_was_skipped_wetted_nothing() -> None:
    assert ready(go(row(WET), skipped("mist", 30.0))) == pytest.approx(24.0, rel=MATCH)


def test_a_wet_step_after_it_was_ready_closes_it_again() -> None:
    steps = row(WET)
    assert [go(steps, done("mist", 60.0), now=now).state for now in (61.0, 85.0)] == ["waiting", "ready"]


def test_a_wetting_counts_wherever_its_step_stands_in_the_profile() -> None:
    after = step("go", DRY) + step("wash", kind="wet")
    assert ready(go(after, done("wash", 30.0))) == pytest.approx(54.0, rel=MATCH)


def test_so_does_the_last_tick_of_a_repeat() -> None:
    # misted until the flip; the face dries from the last mist on, not from the pour
    steps = (
        step("cover")
        + step("mist", 'during = ["cover", "flip"]\nevery = "24 h"', after="", kind="wet")
        + step("flip", 'leaves = "open"', after="cover", kind="lift")
        + step("go", DRY, after="flip")
    )
    facts = done("cover", 1.0), done("mist", 25.0), done("mist.2", 47.0), done("flip", 48.0)
    assert ready(go(steps, *facts, now=49.0)) == pytest.approx(47.0 + 24.0, rel=MATCH)


def test_a_wet_step_that_still_lies_ahead_starts_it_from_its_plan() -> None:
    steps = step("wash", 'not_before = { age = "40 h" }', kind="wet") + step("go", DRY, after="wash")
    found = line(solved(steps, AT_REFERENCE, 30.0), "go")
    assert ready(found) == pytest.approx(64.0, rel=MATCH)


def test_a_tent_that_is_kept_damp_wets_until_it_ends() -> None:
    body = 'during = "flip"\nuntil = { maturity = "72 h" }\nevery = "24 h"\nwets = true\nleaves = "open"'
    steps = step("flip") + step("tent", body, after="", kind="cover") + step("go", DRY, after="tent")
    facts = poured(), done("flip", 48.0), done("tent", 49.0)
    moments = [ready(line(solved(steps, AT_REFERENCE, now, *facts), "go")) for now in (50.0, 71.0, 73.0, 90.0)]
    assert moments == pytest.approx([96.0] * 4, rel=MATCH)


def test_a_tent_that_ends_before_its_next_misting_covers_no_longer() -> None:
    """Misted each day under the tent until 72 h; between the last misting, at 60 h, and the end the next one would be
    due at 84 h, when the faces have been open for half a day."""
    body = 'during = "flip"\nuntil = { maturity = "72 h" }\nevery = "24 h"\nwets = true\nleaves = "covered"'
    steps = step("flip") + step("tent", body, after="", kind="cover")
    steps += step("uncover", 'leaves = "open"', after="tent") + step("go", DRY, after="uncover")
    facts = poured(), done("flip", 48.0), done("tent", 60.0)
    timelines = [solved(steps, AT_REFERENCE, now, *facts) for now in (61.0, 71.0, 73.0)]
    assert [ready(line(each, "uncover")) for each in timelines] == pytest.approx([72.0] * 3, rel=MATCH)
    assert [ready(line(each, "go")) for each in timelines[:2]] == pytest.approx([96.0] * 2, rel=MATCH)


# --- the faces -------------------------------------------------------------------------------------------------------


def test_covered_faces_do_not_dry() -> None:
    # covered from 6 h, opened at 50 h: 6 h before and 18 h after
    found = go(row(COVER, UNCOVER), done("cover", 6.0), done("uncover", 50.0))
    assert ready(found) == pytest.approx(68.0, rel=MATCH)


def test_a_piece_that_stays_covered_never_dries() -> None:
    found = go(row(COVER), done("cover", 6.0))
    assert (found.ready_at, found.band, found.state) == (None, None, "waiting")


def test_one_open_face_of_two_counts_half() -> None:
    found = go(row(HALF), done("half", 0.0))
    assert ready(found) == pytest.approx(48.0, rel=MATCH)


def test_faces_may_change_several_times() -> None:
    # open 4 h, covered, one face from 20 h (10 h count 5), both from 30 h: 24 - 4 - 5 = 15 more
    facts = done("cover", 4.0), done("half", 20.0), done("uncover", 30.0)
    assert ready(go(row(COVER, HALF, UNCOVER), *facts)) == pytest.approx(45.0, rel=MATCH)


def test_a_cover_before_the_last_wetting_still_lies_on_it() -> None:
    facts = done("cover", 6.0), done("mist", 30.0), done("uncover", 40.0)
    assert ready(go(row(COVER, WET, UNCOVER), *facts)) == pytest.approx(64.0, rel=MATCH)


def test_of_two_ticks_at_one_minute_the_later_step_decides_how_the_faces_lie() -> None:
    # `--earlier` ticks a row of steps at the same time
    row_ = step("uncover", 'leaves = "open"') + step("cover", after="uncover", kind="cover")
    found = go(row_ + step("go", DRY), done("uncover", 10.0), done("cover", 10.0))
    assert found.ready_at is None


def test_a_cover_that_lies_ahead_counts_from_its_plan() -> None:
    steps = step("cover", 'not_before = { age = "10 h" }', kind="cover") + step(
        "uncover", 'not_before = { age = "50 h" }\nleaves = "open"', after="cover",
    ) + step("go", DRY, after="uncover")  # fmt: skip
    found = line(solved(steps, AT_REFERENCE, 1.0), "go")
    assert ready(found) == pytest.approx(50.0 + 14.0, rel=MATCH)


def test_what_has_dried_up_to_now_is_said() -> None:
    found = go(row(COVER, UNCOVER), done("cover", 6.0), done("uncover", 50.0), now=55.0)
    assert found.reasons[0].have == pytest.approx(11.0, rel=MATCH)
    assert found.reasons[0].need == 24.0


# --- bands -----------------------------------------------------------------------------------------------------------


def test_measured_drying_is_one_moment() -> None:
    found = go(row(), now=1.0)
    assert found.band is not None
    assert found.band[0] == found.band[1] == found.ready_at


def test_the_forecast_makes_a_warm_and_a_cold_side() -> None:
    # somebody's word: 2 K at once, 1 K a day more: at 20 +- 2.5 degC on average over the day
    weather = course(hourly(20.0, until=0.0, humidity_pct=50.0), Forecast("steady", POUR_H, 20.0))
    found = go(row(), now=0.0, weather=weather)
    assert found.band is not None
    warm, cold = (24.0 / drying_rate(20.0 + sign * 2.5, 50.0) for sign in (1.0, -1.0))
    assert hours(found.band[0]) == pytest.approx(warm, rel=0.01)  # the mean of 2 to 3 K stands for the slope
    assert hours(found.band[1]) == pytest.approx(cold, rel=0.01)
    assert ready(found) == pytest.approx(24.0, rel=MATCH)


def test_without_humidity_it_is_not_known() -> None:
    found = go(row(), weather=steady(20.0))
    assert (found.ready_at, found.state, found.reasons[0].subject) == (None, "waiting", "humidity")


def test_a_humidity_of_the_forecast_is_enough() -> None:
    from curetrack.facts import Forecast

    weather = course(hourly(20.0, until=0.0), Forecast("steady", POUR_H, 20.0, 50.0))
    assert ready(go(row(), now=0.0, weather=weather)) == pytest.approx(24.0, rel=MATCH)


def test_a_done_step_keeps_the_drying_that_it_had() -> None:
    # washed a week after the coat: that does not undo what had dried before it
    steps = row(WET)
    found = go(steps, done("go", 40.0), done("mist", 200.0), now=201.0)
    assert (found.state, ready(found)) == ("done", pytest.approx(24.0, rel=MATCH))


def test_the_state_follows_the_clock() -> None:
    assert [state(solved(row(), AT_REFERENCE, now), "go") for now in (23.5, 24.5)] == ["waiting", "ready"]
