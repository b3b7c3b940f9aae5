"""A step that was left out, or is only offered, stands for what stands before it."""

import pytest

from tests.timeline.making import course, done, hourly, line, poured, skipped, solved, state, steady, step

WARM = steady(20.0)


def test_leaving_a_step_out_does_not_open_the_way_round_a_hold() -> None:
    steps = step("strip", 'not_before = { strength = "3.5 MPa" }\nhold = true\ncheck = "A coin leaves no mark."')
    steps += step("ease", after="strip") + step("cover", after="ease")
    found = line(solved(steps, WARM, 5.0, poured(), skipped("ease", 4.0)), "cover")
    assert (found.state, found.waits_for) == ("waiting", ("strip",))


def test_an_offered_step_that_is_out_of_sight_holds_nothing_up() -> None:
    frozen = course(hourly(-1.0))
    steps = step("trim") + step("wax", 'not_before = { strength = "3.5 MPa" }\noptional = true', after="trim")
    steps += step("rest", 'not_before = { wait = "2 h" }', after="wax")
    timeline = solved(steps, frozen, 10.0, poured(), done("trim", 1.0))
    assert (line(timeline, "wax").plan_at, state(timeline, "rest")) == (None, "ready")


def test_the_next_of_a_row_counts_from_the_one_that_was_left_out() -> None:
    steps = step("cover") + step("mist", 'during = ["cover", "flip"]\nevery = "24 h"', kind="wet")
    steps += step("flip", 'not_before = { age = "96 h" }', after="cover")
    facts = done("cover", 1.0), done("mist", 25.0), skipped("mist.2", 50.0)
    found = line(solved(steps, WARM, 51.0, poured(), *facts), "mist.3")
    assert (found.state, found.late_at) == ("waiting", found.ready_at)


@pytest.mark.parametrize("left_out", ["strip", "ease"])
def test_what_is_next_agrees_with_the_whole_when_a_step_was_left_out(left_out: str) -> None:
    steps = step("strip", 'not_before = { age = "10 h" }') + step("ease", after="strip")
    steps += step("seal", 'not_before = { wait = "24 h" }', after="ease", kind="coat")
    facts = [done("strip", 12.0), skipped("ease", 13.0)] if left_out == "ease" else [skipped("strip", 12.0)]
    whole = solved(steps, WARM, 14.0, poured(), *facts)
    short = solved(steps, WARM, 14.0, poured(), *facts, only_next=True)
    assert short.lines == tuple(one for one in whole.lines if short.line(one.step) is not None) != ()
