"""What comes first, over all pieces. The order is our own: late, ready by closing window, to look at, by plan."""

from typing import Any

import pytest

from curetrack.timeline.types import Line
from curetrack.words.pressing import next_lines, next_of
from tests.words.making import after, line_with, timeline_with


def _line(step: str, **changes: Any) -> Line:
    return line_with(step=step, **changes)


def _steps(lines: list[Line]) -> list[str]:
    return [line.step for line in lines]


def test_late_then_ready_then_waiting() -> None:
    late = _line("late", state="late", late_at=after(-1), plan_at=after(0))
    ready = _line("ready", state="ready", ready_at=after(-1), plan_at=after(0))
    waiting = _line("waiting", ready_at=after(2), plan_at=after(2))
    assert _steps(next_lines([timeline_with(waiting, ready, late)])) == ["late", "ready", "waiting"]


def test_the_longest_overdue_is_on_top_over_all_pieces() -> None:
    one = timeline_with(_line("b", state="late", late_at=after(-1), plan_at=after(-9), piece="one"), piece="one")
    two = timeline_with(_line("a", state="late", late_at=after(-5), plan_at=after(-6), piece="two"), piece="two")
    assert _steps(next_lines([one, two])) == ["a", "b"]


def test_a_window_about_to_close_comes_before_an_open_one() -> None:
    closing = _line("closing", state="ready", ready_at=after(-1), plan_at=after(0), late_at=after(1))
    easy = _line("easy", state="ready", ready_at=after(-9), plan_at=after(-9))
    assert _steps(next_of(timeline_with(easy, closing))) == ["closing", "easy"]


def test_what_is_put_off_is_no_longer_on_top() -> None:
    put_off = _line("put-off", state="ready", ready_at=after(-1), plan_at=after(3))
    waiting = _line("waiting", ready_at=after(2), plan_at=after(2))
    assert _steps(next_of(timeline_with(put_off, waiting))) == ["waiting", "put-off"]


def test_a_step_that_needs_a_measurement_is_shown_with_what_can_be_done_now() -> None:
    unknown = _line("unknown", check_from=after(-1))
    planned = _line("planned", ready_at=after(3), plan_at=after(3))
    assert _steps(next_of(timeline_with(planned, unknown))) == ["unknown", "planned"]


def test_what_lies_more_than_a_day_ahead_is_left_out_but_for_one() -> None:
    far = _line("far", ready_at=after(80), plan_at=after(80), open_to_do=False)
    farther = _line("farther", ready_at=after(90), plan_at=after(90), open_to_do=False)
    assert _steps(next_of(timeline_with(farther, far))) == ["far"]


def test_an_optional_step_never_stands_for_the_next_one() -> None:
    optional = _line("wax", state="ready", ready_at=after(-1), plan_at=after(0), optional=True)
    far = _line("far", ready_at=after(80), plan_at=after(80), open_to_do=False)
    assert _steps(next_of(timeline_with(optional, far))) == ["wax", "far"]


@pytest.mark.parametrize("state", ["done", "skipped"])
def test_what_is_closed_is_not_next(state: str) -> None:
    assert next_of(timeline_with(_line("old", state=state, done_at=after(-1)))) == []
