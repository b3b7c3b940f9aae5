"""The latest moments: no_later, recoat windows, the next of a row, and steps that must precede another."""

import pytest

from tests.timeline.making import (
    band,
    course,
    done,
    hourly,
    hours,
    levels,
    line,
    passed,
    piece,
    poured,
    ready,
    solved,
    state,
    steady,
    step,
    unknown,
)
from tests.timeline.oracle import BAND, set_h, steady_h

SECOND = 1.0 / 1800.0


def late(steps: str, weather, now: float, *facts, go: str = "go") -> float | None:
    return hours(line(solved(steps, weather, now, *(facts or (poured(),))), go).late_at)


# --- no_later --------------------------------------------------------------------------------------------------------


def test_without_a_limit_there_is_no_latest_moment() -> None:
    assert late(step("go"), steady(20.0), 1.0) is None


def test_wait_counts_from_the_predecessor() -> None:
    steps = step("screed") + step("go", 'no_later = { wait = "1 h" }', after="screed")
    assert late(steps, steady(20.0), 3.0, poured(), done("screed", 2.0)) == 3.0


def test_wait_right_after_the_pour_counts_from_the_first_batch() -> None:
    # the design: not_before counts from the last batch, no_later from the first
    steps = step("go", 'not_before = { wait = "10 min" }\nno_later = { wait = "30 min" }')
    found = line(solved(steps, steady(20.0), 1.6, poured(0.0, 1.5)), "go")
    assert (hours(found.late_at), ready(found)) == (0.5, pytest.approx(1.5 + 1.0 / 6.0, abs=SECOND))


def test_age_counts_from_the_first_batch() -> None:
    steps = step("go", 'not_before = { age = "2 h" }\nno_later = { age = "30 h" }')
    found = line(solved(steps, steady(20.0), 1.6, poured(0.0, 1.5)), "go")
    assert (hours(found.late_at), ready(found)) == (30.0, 3.5)


@pytest.mark.parametrize("temp_degC", [9.0, 20.0, 31.0])
def test_maturity_takes_the_bands_earliest_from_the_first_batch(temp_degC: float) -> None:
    # windows close early in the heat: the fastest of the laws decides
    steps = step("go", 'no_later = { maturity = "48 h" }')
    earliest = min(steady_h(law, temp_degC, 48.0) for law in BAND)
    assert late(steps, steady(temp_degC), 2.0, poured(0.0, 1.5)) == pytest.approx(earliest, abs=SECOND)


@pytest.mark.parametrize("temp_degC", [9.0, 20.0, 31.0])
def test_a_set_takes_the_bands_earliest_too(temp_degC: float) -> None:
    steps = step("go", 'not_before = { set = "initial" }\nno_later = { set = { point = "final", plus = "1 h" } }')
    earliest = min(set_h(temp_degC, 7.0), *(steady_h(law, temp_degC, 7.0) for law in BAND))
    assert late(steps, steady(temp_degC), 2.0, poured(0.0, 1.5)) == pytest.approx(earliest + 1.0, abs=SECOND)


def test_it_takes_the_forecasts_warm_side_into_account() -> None:
    steps = step("go", 'not_before = { maturity = "48 h" }\nno_later = { maturity = "48 h" }')
    found = line(solved(steps, course(hourly(12.0, until=0.0)), 0.0), "go")
    assert hours(found.late_at) == band(found)[0]


def test_the_earliest_of_several_limits_counts() -> None:
    steps = step("go", 'no_later = { age = "30 h", maturity = "48 h", wait = "40 h" }')
    assert late(steps, steady(20.0), 2.0) == 30.0


def test_without_a_temperature_only_the_clock_limits() -> None:
    assert late(step("go", 'no_later = { maturity = "48 h" }'), unknown(), 2.0) is None
    assert late(step("go", 'no_later = { maturity = "48 h", age = "90 h" }'), unknown(), 2.0) == 90.0


def test_the_limit_follows_the_plan_of_an_open_predecessor() -> None:
    steps = step("screed", 'not_before = { age = "5 h" }') + step("go", 'no_later = { wait = "1 h" }', after="screed")
    assert late(steps, steady(20.0), 1.0) == 6.0


def test_a_plan_after_the_latest_moment_is_a_clash() -> None:
    timeline = solved(step("go", 'not_before = { age = "40 h" }\nno_later = { age = "30 h" }'), steady(20.0), 1.0)
    assert "clash" in [note.rule for note in line(timeline, "go").notes]
    assert [(one.rule, hours(one.at), hours(one.until)) for one in timeline.alerts if one.rule == "clash"] == [
        ("clash", 40.0, 30.0)
    ]


# --- recoat ----------------------------------------------------------------------------------------------------------


def coats(recoat: str, *, more: str = "", rules: str = "") -> str:
    return step("seal", f"coats = 3\nrecoat = {{ {recoat} }}\n{rules}\n{more}", kind="coat")


WINDOW = 'from = "1 h", to = "24 h", else = "Scuff it."'


def test_coats_are_a_chain_and_each_but_the_first_has_a_window() -> None:
    timeline = solved(coats(WINDOW), steady(20.0), 11.0, poured(), done("seal-1", 10.0))
    assert [one.step for one in timeline.lines] == ["seal-1", "seal-2", "seal-3"]
    assert [one.after for one in timeline.lines] == [("pour",), ("seal-1",), ("seal-2",)]
    assert line(timeline, "seal-1").late_at is None
    found = line(timeline, "seal-2")
    assert (ready(found), hours(found.late_at)) == (11.0, 34.0)


def test_the_windows_of_coats_that_lie_ahead_count_from_the_plan() -> None:
    timeline = solved(coats(WINDOW), steady(20.0), 11.0, poured(), done("seal-1", 10.5))
    assert hours(line(timeline, "seal-2").plan_at) == 11.5
    assert (ready(line(timeline, "seal-3")), hours(line(timeline, "seal-3").late_at)) == (12.5, 35.5)


@pytest.mark.parametrize(("now", "expected"), [(10.9, "waiting"), (11.1, "ready"), (33.9, "ready"), (34.1, "late")])
def test_a_coat_waits_for_its_window_and_is_late_after_it(now: float, expected: str) -> None:
    assert state(solved(coats(WINDOW), steady(20.0), now, poured(), done("seal-1", 10.0)), "seal-2") == expected


def test_after_the_window_the_else_text_is_the_check_that_opens_it() -> None:
    facts = poured(), done("seal-1", 10.0)
    assert line(solved(coats(WINDOW), steady(20.0), 30.0, *facts), "seal-2").check is None
    missed = line(solved(coats(WINDOW), steady(20.0), 40.0, *facts), "seal-2")
    assert (missed.state, missed.check) == ("late", "Scuff it.")
    assert [(note.rule, note.text) for note in missed.notes] == [("missed", "Scuff it.")]
    opened = line(solved(coats(WINDOW), steady(20.0), 40.0, *facts, passed("seal-2", 39.0)), "seal-2")
    assert opened.state == "ready"


def test_a_check_passed_before_the_window_closed_does_not_open_it_afterwards() -> None:
    facts = poured(), done("seal-1", 10.0), passed("seal-2", 33.0)
    made = coats(WINDOW, more='check = "Touch-dry."')
    assert state(solved(made, steady(20.0), 40.0, *facts), "seal-2") == "late"


def test_case_s3_a_window_missed_in_the_night() -> None:
    # acceptance case S3: coat 1 Fri 18:00, label window 4-8 h (22:00 to 02:00), now Sat 09:00
    made = coats('from = "4 h", to = "8 h", else = "Abrade evenly, wipe, dry."', more='hold = true\ncheck = "Dry."')
    facts = poured(), done("seal-1", 8.0)  # the pour was Fri 10:00
    found = line(solved(made, steady(20.0), 23.0, *facts), "seal-2")
    assert (ready(found), hours(found.late_at), found.state) == (12.0, 16.0, "late")
    assert (found.hold, found.check) == (True, "Abrade evenly, wipe, dry.")
    assert state(solved(made, steady(20.0), 23.1, *facts, passed("seal-2", 23.0)), "seal-2") == "ready"


def test_abrading_does_not_warm_the_air() -> None:
    # the window is missed, the else was done, but it is too cold to coat
    made = coats(WINDOW, rules='not_before = { air = { from = "10 degC" } }')
    weather = course(levels((-30.0, 15.0), (30.0, 5.0), (60.0, 15.0)))
    facts = poured(), done("seal-1", 10.0), passed("seal-2", 39.0)
    assert [state(solved(made, weather, now, *facts), "seal-2") for now in (40.0, 61.0)] == ["waiting", "ready"]


def test_a_window_without_an_end_never_closes() -> None:
    made = coats('from = "1 h"')
    found = line(solved(made, steady(20.0), 900.0, poured(), done("seal-1", 10.0)), "seal-2")
    assert (found.state, found.late_at) == ("ready", None)


def test_the_window_counts_from_the_coat_not_from_what_stands_between() -> None:
    # a wipe after each coat; the label's 4 h run from the coat
    made = coats('from = "1 h", to = "4 h"') + step("wipe", "each = true", after="seal")
    facts = poured(), done("seal-1", 10.0), done("wipe-1", 12.5)
    found = line(solved(made, steady(20.0), 13.0, *facts), "seal-2")
    assert (ready(found), hours(found.late_at), found.state) == (11.0, 14.0, "ready")
    assert state(solved(made, steady(20.0), 13.0, *facts[:2]), "seal-2") == "waiting"


def test_drying_gates_the_first_coat_only_and_air_each_one() -> None:
    body = 'not_before = { drying = "24 h", air = { from = "10 degC" } }'
    weather = course(levels((-30.0, 15.0), (51.5, 5.0)))  # no humidity: drying is not known
    timeline = solved(coats(WINDOW, rules=body), weather, 52.0, poured(), done("seal-1", 51.0))
    assert {reason.rule for reason in line(timeline, "seal-3").reasons}.isdisjoint({"drying"})
    assert "humidity" not in {reason.subject for reason in line(timeline, "seal-3").reasons}
    assert (state(timeline, "seal-2"), line(timeline, "seal-2").ready_at) == ("waiting", None)


def test_no_later_limits_the_first_coat_only() -> None:
    made = coats(WINDOW, more='no_later = { wait = "48 h" }')
    timeline = solved(made, steady(20.0), 11.0, poured(), done("seal-1", 10.0))
    assert hours(line(timeline, "seal-2").late_at) == 34.0


# --- before another step ---------------------------------------------------------------------------------------------


def test_a_step_before_another_must_be_done_its_lead_before_that_one_is_ready() -> None:
    steps = step("book", 'before = "flip"\nlead = "24 h"') + step("flip", 'not_before = { age = "48 h" }', kind="lift")
    assert late(steps, steady(20.0), 1.0, go="book") == 24.0


def test_before_the_pour_it_is_the_planned_pour_that_counts() -> None:
    steps = step("joints", 'before = "pour"\nlead = "1 h"', after="") + step("pour", after="", kind="place")
    timeline = solved(steps, steady(20.0), -5.0, done("nothing", -9.0), of=piece(planned=0.0))
    assert hours(line(timeline, "joints").late_at) == -1.0


def test_so_it_is_where_the_profile_does_not_describe_the_pour() -> None:
    # the design: `pour` is always there; a step of that id only describes it
    steps = step("joints", 'before = "pour"\nlead = "1 h"', after="") + step("cover")
    timeline = solved(steps, steady(20.0), -5.0, done("nothing", -9.0), of=piece(planned=0.0))
    assert hours(line(timeline, "joints").late_at) == -1.0
