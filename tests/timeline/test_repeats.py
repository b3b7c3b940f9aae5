"""Repeats, `during` and `every`: one open at a time, from the last tick, closed by a step or by `until`."""

import pytest

from curetrack.facts import Event
from tests.reference.published import Row, rows
from tests.timeline.making import (
    course,
    done,
    hourly,
    hours,
    levels,
    line,
    poured,
    ready,
    skipped,
    solved,
    state,
    steady,
    step,
    unknown,
)
from tests.timeline.oracle import OWN, steady_h, uno_kg_m2_h

SECOND = 1.0 / 1800.0
TABLE_AT_70_F = rows(
    "06_evaporation.csv",
    "published",
    lambda row: (
        row["air_temp_degF"] == row["concrete_temp_degF"] == "70" and row.number("table_value_kg_per_m2_h") > 0.1
    ),
)


def row(every: str = '"24 h"', rules: str = "") -> str:
    """cover, mist (from cover to flip), flip."""
    return (
        step("cover", kind="cover")
        + step("mist", f'during = ["cover", "flip"]\nevery = {every}\n{rules}', after="", kind="wet")
        + step("flip", 'not_before = { age = "48 h" }', after="cover", kind="lift")
    )


def at_20(now: float, *facts: Event, steps: str = "", weather=None):
    return solved(steps or row(), weather or steady(20.0), now, poured(), *facts)


def mists(timeline) -> dict[str, str]:
    return {one.step: one.state for one in timeline.lines if one.step.startswith("mist")}


# --- one at a time ---------------------------------------------------------------------------------------------------


def test_a_repeat_waits_for_the_step_that_opens_it() -> None:
    assert mists(at_20(5.0)) == {"mist": "waiting"}


def test_there_is_one_open_occurrence_at_a_time() -> None:
    facts = [done("cover", 1.0)]
    assert mists(at_20(30.0, *facts)).keys() == {"mist"}
    facts += [done("mist", 26.0)]
    assert mists(at_20(30.0, *facts)) == {"mist": "done", "mist.2": "waiting"}
    facts += [done("mist.2", 49.0)]
    assert mists(at_20(72.9, *facts)) == {"mist": "done", "mist.2": "done", "mist.3": "waiting"}


def test_the_next_is_due_so_long_after_the_last_actual_tick() -> None:
    # not after the missed plan: acceptance case W1, "recompute next misting from the actual tick"
    timeline = at_20(40.0, done("cover", 1.0), done("mist", 33.0))
    assert ready(line(timeline, "mist.2")) == 57.0
    assert [mists(at_20(now, done("cover", 1.0), done("mist", 33.0)))["mist.2"] for now in (56.9, 57.1)] == [
        "waiting", "late",
    ]  # fmt: skip


def test_the_first_must_be_done_within_one_interval_of_the_first_step() -> None:
    found = line(at_20(5.0, done("cover", 1.0)), "mist")
    assert hours(found.late_at) == 25.0
    assert mists(at_20(25.1, done("cover", 1.0))) == {"mist": "late"}


def test_the_rules_hold_for_each_occurrence() -> None:
    # no water with frost ahead: the air is cold from 30 h to 60 h
    steps = row(rules='not_before = { air = { from = "2 degC", for = "12 h" } }')
    weather = course(levels((-30.0, 12.0), (30.0, 0.0), (60.0, 12.0)))
    timeline = at_20(31.0, done("cover", 1.0), done("mist", 2.0), steps=steps, weather=weather)
    assert ready(line(timeline, "mist.2")) == pytest.approx(60.0, abs=0.01)
    assert state(timeline, "mist.2") == "waiting"


def test_a_skipped_occurrence_makes_room_for_the_next() -> None:
    assert mists(at_20(30.0, done("cover", 1.0), skipped("mist", 25.0))).keys() == {"mist", "mist.2"}


# --- closed by the second step ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("fact", [done, skipped])
def test_the_second_step_closes_it(fact) -> None:
    facts = done("cover", 1.0), done("mist", 25.0), fact("flip", 50.0)
    assert mists(at_20(60.0, *facts)) == {"mist": "done", "mist.2": "skipped"}


def test_what_the_second_step_closed_is_not_called_unrecorded() -> None:
    facts = done("cover", 1.0), done("mist", 25.0), done("flip", 50.0)
    assert "unrecorded" not in [note.rule for note in line(at_20(60.0, *facts), "mist.2").notes]


def test_the_second_step_need_not_wait_for_it() -> None:
    assert state(at_20(50.0, done("cover", 1.0)), "flip") == "ready"


def test_a_step_after_the_repeat_goes_on_when_it_is_closed() -> None:
    steps = row() + step("dry", after="mist", kind="dry")
    facts = done("cover", 1.0), done("mist", 25.0)
    assert state(at_20(50.0, *facts, steps=steps), "dry") == "waiting"
    assert state(at_20(60.0, *facts, done("flip", 51.0), steps=steps), "dry") == "ready"


# --- closed by until -------------------------------------------------------------------------------------------------

TENT = step("flip") + step(
    "tent", 'during = "flip"\nuntil = { maturity = "72 h" }\nevery = "24 h"\nwets = true', after="", kind="cover",
) + step("sand", after="tent", kind="grind")  # fmt: skip


@pytest.mark.parametrize("temp_degC", [12.0, 20.0])
def test_until_closes_it_when_it_is_reached(temp_degC: float) -> None:
    end_h = steady_h(OWN, temp_degC, 72.0)
    weather, facts = steady(temp_degC), (poured(), done("flip", 48.0), done("tent", 49.0))
    before, after = (solved(TENT, weather, end_h + gap, *facts) for gap in (-0.1, 0.1))
    assert (state(before, "tent.2"), state(before, "sand")) == ("waiting" if temp_degC == 20.0 else "late", "waiting")
    assert (state(after, "tent.2"), state(after, "sand")) == ("skipped", "ready")


def test_the_step_after_it_is_planned_for_its_end() -> None:
    timeline = solved(TENT, steady(20.0), 50.0, poured(), done("flip", 48.0), done("tent", 49.0))
    assert hours(line(timeline, "sand").plan_at) == pytest.approx(72.0, abs=SECOND)


def test_a_wait_after_it_counts_from_its_end() -> None:
    steps = TENT.replace('after = "tent"', 'after = "tent"\nnot_before = { wait = "10 h" }')
    facts = poured(), done("flip", 48.0), done("tent", 49.0)
    assert ready(line(solved(steps, steady(20.0), 80.0, *facts), "sand")) == pytest.approx(82.0, abs=SECOND)


def test_an_end_that_is_past_before_it_began_closes_it_at_once() -> None:
    timeline = solved(TENT, steady(20.0), 101.0, poured(), done("flip", 100.0))
    assert (state(timeline, "tent"), state(timeline, "sand")) == ("skipped", "ready")


def test_until_does_not_close_what_has_not_begun() -> None:
    timeline = solved(TENT, steady(20.0), 101.0)
    assert (state(timeline, "tent"), line(timeline, "sand").waits_for) == ("waiting", ("tent",))


def test_until_a_set_and_an_age() -> None:
    by_age, by_set = (
        solved(TENT.replace('{ maturity = "72 h" }', until), steady(20.0), 50.0, poured(), done("flip", 1.0))
        for until in ('{ age = "40 h" }', '{ set = "final" }')
    )
    assert (state(by_age, "sand"), state(by_set, "sand")) == ("ready", "ready")
    assert hours(line(by_age, "sand").plan_at) == 50.0


def test_without_a_temperature_until_never_closes_it() -> None:
    timeline = solved(TENT, unknown(), 5000.0, poured(), done("flip", 48.0))
    assert (state(timeline, "tent") != "skipped", state(timeline, "sand")) == (True, "waiting")


# --- every by what has dried -----------------------------------------------------------------------------------------

THIRSTY = '{ drying = "0.15 kg/m2", min = "4 h", max = "24 h" }'


OPEN = 'leaves = "open"'
UNDER_COVER = 0.25  # of what an open face gives off; common practice, no source


def drying_row(cover: str) -> str:
    return (
        step("cover", cover, kind="cover")
        + step("mist", f'during = ["cover", "flip"]\nevery = {THIRSTY}', after="", kind="wet")
        + step("flip", 'not_before = { age = "48 h" }', after="cover", kind="lift")
    )


@pytest.mark.parametrize(("cover", "share"), [(OPEN, 1.0), ('leaves = "one-face"', 1.0), ("", UNDER_COVER)])
@pytest.mark.parametrize(
    ("temp_degC", "humidity_pct"), [(20.0, 50.0), (20.0, 80.0), (20.0, 90.0), (20.0, 99.0), (30.0, 35.0), (8.0, 85.0)]
)
def test_a_repeat_by_drying_is_due_when_so_much_has_dried(
    temp_degC: float, humidity_pct: float, cover: str, share: float
) -> None:
    # Uno's evaporation in still air, a quarter of it under a cover, not sooner than min and not later than max
    expected = min(24.0, max(4.0, 0.15 / (share * uno_kg_m2_h(temp_degC, temp_degC, humidity_pct, 0.0))))
    facts = done("cover", 1.0), done("mist", 10.0)
    timeline = at_20(11.0, *facts, steps=drying_row(cover), weather=steady(temp_degC, humidity_pct))
    assert ready(line(timeline, "mist.2")) == pytest.approx(10.0 + expected, rel=1e-3)


@pytest.mark.parametrize("row", TABLE_AT_70_F, ids=lambda row: row.id)
def test_an_open_face_is_misted_as_the_published_evaporation_says(row: Row) -> None:
    """The drying-tendency table (PCA, Menzel 1954; from memory) at 70 degF, wind and all: 1 kg/m2 is gone after 1/rate.
    Uno's form, which is in use, keeps to it within 12 % (tests/concrete/test_evaporation)."""
    temp, humidity = row.number("air_temp_degC"), row.number("rel_humidity_fraction") * 100.0
    wind = row.number("wind_km_per_h") / 3.6
    weather = course(hourly(temp, humidity_pct=humidity, wind_m_s=wind))
    steps = drying_row(OPEN).replace(THIRSTY, '{ drying = "1 kg/m2", min = "30 min", max = "48 h" }')
    found = line(at_20(3.0, done("cover", 1.0), done("mist", 2.0), steps=steps, weather=weather), "mist.2")
    assert ready(found) - 2.0 == pytest.approx(1.0 / row.number("table_value_kg_per_m2_h"), rel=0.12)


def test_by_day_a_covered_piece_is_misted_every_few_hours_and_in_a_cool_night_not() -> None:
    """Every 2 to 6 h by day under the sheet, by the trade (common practice, no source): 4 to 7 h of 20 to 30 degC."""
    for temp, humidity, low, high in ((20.0, 50.0, 4.0, 7.0), (25.0, 45.0, 4.0, 6.0), (30.0, 35.0, 4.0, 4.5)):
        found = at_20(3.0, done("cover", 1.0), done("mist", 2.0), steps=drying_row(""), weather=steady(temp, humidity))
        assert low <= ready(line(found, "mist.2")) - 2.0 <= high
    night = at_20(3.0, done("cover", 1.0), done("mist", 2.0), steps=drying_row(""), weather=steady(8.0, 85.0))
    assert ready(line(night, "mist.2")) - 2.0 == 24.0


def test_a_cover_that_comes_on_between_slows_it_from_then_on() -> None:
    """Open for one hour at Uno's rate, then a quarter of it: 20 degC, 70 %, 0.053 kg/m2/h."""
    rate = uno_kg_m2_h(20.0, 20.0, 70.0, 0.0)
    steps = drying_row(OPEN) + step("again", kind="cover", after="cover")
    facts = done("cover", 1.0), done("mist", 2.0), done("again", 3.0)
    found = at_20(3.5, *facts, steps=steps, weather=steady(20.0, 70.0))
    expected = 1.0 + (0.15 - rate) / (UNDER_COVER * rate)
    assert ready(line(found, "mist.2")) - 2.0 == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("cover", "source"), [(OPEN, "open"), ("", "covered")])
def test_the_reason_says_what_set_the_interval(cover: str, source: str) -> None:
    found = at_20(3.0, done("cover", 1.0), done("mist", 2.0), steps=drying_row(cover), weather=steady(20.0, 60.0))
    (reason,) = [each for each in line(found, "mist.2").reasons if each.rule == "every"]
    assert reason.source == source
    damp = at_20(3.0, done("cover", 1.0), done("mist", 2.0), steps=drying_row(cover), weather=steady(20.0, 99.5))
    (reason,) = [each for each in line(damp, "mist.2").reasons if each.rule == "every"]
    assert reason.source == ""  # the longest interval


def test_without_humidity_a_repeat_by_drying_falls_back_on_its_longest_interval() -> None:
    timeline = at_20(11.0, done("cover", 1.0), done("mist", 10.0), steps=row(THIRSTY))
    assert ready(line(timeline, "mist.2")) == 34.0


def test_its_latest_moment_is_the_longest_interval() -> None:
    timeline = at_20(11.0, done("cover", 1.0), done("mist", 10.0), steps=row(THIRSTY), weather=steady(20.0, 50.0))
    assert hours(line(timeline, "mist.2").late_at) == 34.0


# --- without every ---------------------------------------------------------------------------------------------------


def test_during_without_every_is_one_step_that_the_second_closes() -> None:
    steps = step("cover") + step("watch", 'during = ["cover", "flip"]', after="") + step("flip", after="cover")
    facts = done("cover", 1.0), done("watch", 2.0)
    assert {one.step for one in at_20(5.0, *facts, steps=steps).lines} == {"cover", "watch", "flip"}
    assert state(at_20(5.0, done("cover", 1.0), done("flip", 3.0), steps=steps), "watch") == "skipped"


def test_evaporation_counts_from_the_last_tick_not_from_the_pour() -> None:
    # dry until 30 h, then damp: the tick at 30 h starts the count anew
    readings = hourly(lambda _: 20.0, until=29.0, humidity_pct=40.0) + hourly(20.0, since=30.0, humidity_pct=99.5)
    facts = done("cover", 1.0), done("mist", 30.0)
    timeline = at_20(31.0, *facts, steps=row(THIRSTY), weather=course(readings))
    assert ready(line(timeline, "mist.2")) == pytest.approx(54.0, abs=SECOND)
