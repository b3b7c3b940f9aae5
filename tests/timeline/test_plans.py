"""plan_at, without anybody's hours: after now, the rules, each predecessor's hands; leads just in time."""

import pytest

from curetrack.facts import Cutout, Shape
from tests.timeline.making import (
    band,
    course,
    done,
    hours,
    later,
    levels,
    line,
    passed,
    piece,
    poured,
    ready,
    skipped,
    solved,
    state,
    steady,
    step,
    unknown,
)

SECOND = 1.0 / 1800.0
STRONG = 'not_before = { strength = "3.5 MPa" }'  # at 20 degC: 17.0 h, 19.0 h, 23.4 h
NOT_POURED = done("nothing", -99.0)  # a fact that concerns no step


def plan(timeline, step_id: str) -> float | None:
    return hours(line(timeline, step_id).plan_at)


# --- after the pour --------------------------------------------------------------------------------------------------


def test_a_step_is_planned_when_its_rules_hold() -> None:
    timeline = solved(step("go", STRONG), steady(20.0), 1.0)
    assert plan(timeline, "go") == ready(line(timeline, "go"))


def test_nothing_is_planned_in_the_past() -> None:
    assert plan(solved(step("go", STRONG), steady(20.0), 200.0), "go") == 200.0


@pytest.mark.parametrize(("hands_on", "hours_"), [
    ("30 min", 0.5), ("20 min/m2", 20.0 / 60.0 * 1.2 * 0.6), ("10 min/m", 10.0 / 60.0 * 3.6),
])  # fmt: skip
def test_a_step_is_planned_after_the_hands_on_time_of_its_predecessors(hands_on: str, hours_: float) -> None:
    # the piece is 1.2 x 0.6 m: a face of 0.72 m2, an edge of 3.6 m
    steps = step("ease", f'hands_on = "{hands_on}"') + step("go", after="ease")
    timeline = solved(steps, steady(20.0), 5.0)
    assert line(timeline, "ease").hands_on_h == pytest.approx(hours_)
    assert plan(timeline, "go") == pytest.approx(5.0 + hours_, abs=SECOND)


def test_hands_on_time_by_the_bag_follows_the_volume() -> None:
    # 1.2 x 0.6 x 0.04 m = 0.0288 m3; a bag yields 0.017 m3, so 1.694 bags
    made = step("pour", 'hands_on = "10 min/bag"', after="", kind="place") + step("go")
    text = 'growth = { law = "hyperbola", rate = "0.25 /day", start = "7 h" }\nbag = { mass = "36 kg", yield = "17 L" }'
    from tests.timeline.making import profile

    found = line(solved(profile(made, growth=text), steady(20.0), 5.0), "pour")
    assert found.hands_on_h == pytest.approx(10.0 / 60.0 * 0.0288 / 0.017)


def test_a_cutout_takes_its_face_and_adds_its_edge() -> None:
    shape = Shape(0.9, 0.5, 0.04, (Cutout(0.4, 0.3, 0.25, 0.06),))
    steps = step("face", 'hands_on = "60 min/m2"') + step("edge", 'hands_on = "60 min/m"')
    timeline = solved(steps, steady(20.0), 5.0, of=piece(shape))
    assert line(timeline, "face").hands_on_h == pytest.approx(0.9 * 0.5 - 0.4 * 0.3)
    assert line(timeline, "edge").hands_on_h == pytest.approx(2.8 + 1.4)


def test_after_a_done_step_no_hands_are_counted_any_more() -> None:
    steps = step("ease", 'hands_on = "3 h"') + step("go", after="ease")
    assert plan(solved(steps, steady(20.0), 5.0, poured(), done("ease", 4.9)), "go") == 5.0


def test_the_latest_of_several_predecessors_counts() -> None:
    steps = step("a", 'hands_on = "2 h"') + step("b", 'not_before = { age = "6 h" }') + step(
        "go", 'after = ["a", "b"]', after="",
    )  # fmt: skip
    assert plan(solved(steps, steady(20.0), 5.0), "go") == 7.0


def test_a_skipped_or_optional_predecessor_takes_no_time() -> None:
    steps = step("a", 'hands_on = "2 h"\noptional = true') + step("go", after="a")
    assert plan(solved(steps, steady(20.0), 5.0), "go") == 5.0
    steps = step("a", 'hands_on = "2 h"') + step("go", after="a")
    assert plan(solved(steps, steady(20.0), 5.0, poured(), skipped("a", 1.0)), "go") == 5.0


def test_a_wait_after_a_planned_step_counts_from_its_plan() -> None:
    steps = step("a", 'not_before = { age = "6 h" }\nhands_on = "1 h"') + step(
        "go", 'not_before = { wait = "10 h" }', after="a",
    )  # fmt: skip
    timeline = solved(steps, steady(20.0), 5.0)
    assert (ready(line(timeline, "go")), plan(timeline, "go")) == (16.0, 16.0)


def test_later_puts_a_plan_off_and_leaves_the_rest() -> None:
    steps = step("go", STRONG) + step("next", after="go")
    timeline = solved(steps, steady(20.0), 30.0, poured(), later("go", 29.0, 35.0))
    assert (plan(timeline, "go"), plan(timeline, "next"), state(timeline, "go")) == (35.0, 35.0, "ready")


def test_a_putting_off_that_is_over_does_nothing() -> None:
    assert plan(solved(step("go"), steady(20.0), 40.0, poured(), later("go", 29.0, 35.0)), "go") == 40.0


def test_an_opening_rule_is_planned_for_when_it_opens() -> None:
    weather = course(levels((-30.0, 5.0), (40.0, 15.0)))
    steps = step("go", 'not_before = { air = { from = "10 degC" } }')
    assert plan(solved(steps, weather, 5.0), "go") == pytest.approx(40.0, abs=0.01)


# --- holds -----------------------------------------------------------------------------------------------------------


def test_a_hold_with_a_check_is_planned_at_ready_at() -> None:
    found = line(solved(step("go", STRONG + '\nhold = true\ncheck = "Coin."'), steady(20.0), 1.0), "go")
    assert found.plan_at == found.ready_at


def test_a_hold_without_a_check_is_planned_at_the_bands_end() -> None:
    found = line(solved(step("go", STRONG + "\nhold = true"), steady(20.0), 1.0), "go")
    assert hours(found.plan_at) == band(found)[1]


@pytest.mark.parametrize(("check", "expected"), [('check = "Bar."', "ready_at"), ("", "band")])
def test_a_lift_is_planned_alike(check: str, expected: str) -> None:
    found = line(solved(step("go", f"{STRONG}\nhold = true\n{check}", kind="lift"), steady(20.0), 1.0), "go")
    assert hours(found.plan_at) == (ready(found) if expected == "ready_at" else band(found)[1])


def test_a_check_that_passed_early_brings_the_plan_forward() -> None:
    steps = step("go", STRONG + '\nhold = true\ncheck = "Coin."')
    timeline = solved(steps, steady(20.0), 18.0, poured(), passed("go", 17.5))
    assert plan(timeline, "go") == 18.0 < (ready(line(timeline, "go")) or 0.0)


# --- not known -------------------------------------------------------------------------------------------------------


def test_without_a_temperature_nothing_that_hangs_on_it_is_planned() -> None:
    timeline = solved(step("go", STRONG) + step("next", after="go"), unknown(), 50.0)
    assert (plan(timeline, "go"), plan(timeline, "next")) == (None, None)


def test_without_humidity_the_other_rules_plan_a_step() -> None:
    steps = step("go", 'not_before = { age = "40 h", drying = "24 h" }')
    found = line(solved(steps, steady(20.0), 5.0), "go")
    assert (hours(found.plan_at), found.ready_at) == (40.0, None)


def test_what_is_never_ready_is_never_planned() -> None:
    assert plan(solved(step("go", 'not_before = { strength = "90 MPa" }'), steady(20.0), 5.0), "go") is None


# --- what must come before -------------------------------------------------------------------------------------------

LIFT = step("book", 'before = "flip"\nlead = "24 h"\nhands_on = "30 min"') + step(
    "flip", 'not_before = { age = "48 h" }', kind="lift",
)  # fmt: skip


def test_a_step_that_needs_a_lead_is_planned_just_in_time() -> None:
    # 48 h less the lead of 24 h, less the half hour that it takes
    timeline = solved(LIFT, steady(20.0), 1.0)
    assert (plan(timeline, "book"), plan(timeline, "flip")) == (23.5, 48.0)


def test_it_is_a_predecessor_of_the_other() -> None:
    timeline = solved(LIFT, steady(20.0), 60.0)
    assert (state(timeline, "flip"), line(timeline, "flip").waits_for) == ("waiting", ("book",))
    assert state(solved(LIFT, steady(20.0), 60.0, poured(), done("book", 30.0)), "flip") == "ready"


def test_done_late_it_moves_the_other_by_its_lead() -> None:
    assert plan(solved(LIFT, steady(20.0), 41.0, poured(), done("book", 40.0)), "flip") == 64.0


def test_not_done_in_time_it_moves_the_other_as_well() -> None:
    timeline = solved(LIFT, steady(20.0), 41.0)
    assert (plan(timeline, "book"), plan(timeline, "flip"), state(timeline, "book")) == (41.0, 65.5, "late")


def test_skipped_it_moves_nothing() -> None:
    assert plan(solved(LIFT, steady(20.0), 41.0, poured(), skipped("book", 40.0)), "flip") == 48.0


# --- before the pour -------------------------------------------------------------------------------------------------

PREP = (
    step("form", 'before = "pour"\nlead = "24 h"\nhands_on = "2 h"', after="")
    + step("joints", 'before = "pour"\nlead = "1 h"\nhands_on = "1 h"', after="form")
    + step("clean", 'before = "pour"\nlead = "1 h"\nhands_on = "15 min"', after="joints")
)


def planned(steps: str, now: float, *facts, weather=None, at_h: float = 0.0):
    return solved(steps, weather or steady(20.0), now, *(facts or (NOT_POURED,)), of=piece(planned=at_h))


@pytest.mark.parametrize("describes", [True, False])
def test_preparations_are_planned_just_in_time_one_before_the_other(describes: bool) -> None:
    steps = PREP + (step("pour", after="clean", kind="place") if describes else "") + step("cover")
    timeline = planned(steps, -60.0)
    # clean ends an hour before the pour; joints ends when clean begins; form ends a day before the pour
    assert [plan(timeline, name) for name in ("form", "joints", "clean")] == [-26.0, -2.25, -1.25]
    assert [hours(line(timeline, name).late_at) for name in ("form", "joints", "clean")] == [-24.0, -1.25, -1.0]


def test_a_preparation_that_rests_before_the_next_one_is_planned_so_much_sooner() -> None:
    """Worked out by hand: clean begins 1.25 h before the pour, so the joints begin 24 h before that (a wait counts from
    the start of what it follows), and the form ends when the joints begin."""
    steps = PREP.replace('id = "clean"', 'id = "clean"\nnot_before = { wait = "24 h" }')
    assert steps != PREP
    timeline = planned(steps, -60.0)
    assert [plan(timeline, name) for name in ("form", "joints", "clean")] == [-27.25, -25.25, -1.25]
    assert [hours(line(timeline, name).late_at) for name in ("form", "joints")] == [-25.25, -24.25]


def test_preparations_are_ready_from_the_moment_the_piece_is_written_down() -> None:
    timeline = planned(PREP, -60.0)
    assert [state(timeline, name) for name in ("form", "joints", "clean")] == ["ready", "waiting", "waiting"]


def test_a_preparation_that_is_overdue_is_late() -> None:
    timeline = planned(PREP, -10.0)
    assert (state(timeline, "form"), plan(timeline, "form")) == ("late", -10.0)


def test_without_a_planned_pour_preparations_can_be_done_at_once() -> None:
    timeline = solved(PREP, steady(20.0), -60.0, NOT_POURED)
    assert (state(timeline, "form"), plan(timeline, "form"), line(timeline, "form").late_at) == ("ready", -60.0, None)


def test_steps_after_the_pour_are_planned_from_the_planned_pour() -> None:
    timeline = planned(PREP + step("go", 'not_before = { age = "12 h" }'), -60.0)
    assert (ready(line(timeline, "go")), plan(timeline, "go"), state(timeline, "go")) == (12.0, 12.0, "waiting")
    assert line(timeline, "go").waits_for == ("pour",)


def test_a_planned_pour_that_is_past_is_taken_as_now() -> None:
    timeline = planned(step("go", 'not_before = { age = "12 h" }'), 5.0)
    assert ready(line(timeline, "go")) == 17.0


def test_without_a_planned_pour_nothing_after_it_has_a_time() -> None:
    found = line(solved(step("go", 'not_before = { age = "12 h" }'), steady(20.0), -60.0, NOT_POURED), "go")
    assert (found.ready_at, found.plan_at, found.state) == (None, None, "waiting")


def test_after_the_pour_open_preparations_are_skipped_as_not_recorded() -> None:
    timeline = solved(PREP, steady(20.0), 1.0, poured(), done("form", -30.0))
    assert [state(timeline, name) for name in ("form", "joints", "clean")] == ["done", "skipped", "skipped"]
    assert [[note.rule for note in line(timeline, name).notes] for name in ("form", "joints")] == [[], ["unrecorded"]]


def test_so_is_a_preparation_that_only_another_one_names() -> None:
    steps = step("buy", 'before = "form"', after="") + PREP
    assert state(solved(steps, steady(20.0), 1.0), "buy") == "skipped"


def test_the_pours_own_step_is_done_by_the_pour() -> None:
    found = line(solved(PREP + step("pour", after="clean", kind="place"), steady(20.0), 3.0, poured(0.0, 2.0)), "pour")
    assert (found.state, hours(found.done_at)) == ("done", 2.0)


def test_a_preparation_may_ask_for_warmth_ahead() -> None:
    steps = step("weather", 'before = "pour"\nnot_before = { slab = { from = "13 degC", for = "72 h" } }', after="")
    weather = course(levels((-90.0, 8.0), (-20.0, 15.0), since=-90.0))
    timeline = planned(steps, -60.0, weather=weather)
    assert (state(timeline, "weather"), ready(line(timeline, "weather"))) == ("waiting", pytest.approx(-20.0, abs=0.01))
