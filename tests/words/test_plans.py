"""One moment for all texts: the plan as shown, the latest moment beside it, what a crew reads, and what is said once.

The moment of speaking is Sat 10 Jan 2026 10:00 in Berlin."""

import pytest

from curetrack.cli.layout import Row, laid_out, plain_text
from curetrack.cli.views.parts import times_text, title_spans
from curetrack.timeline.types import Note, Reason
from curetrack.words.crew import asks_for_crew, crew_text
from curetrack.words.moments import banded, moment
from curetrack.words.notes import note_text, to_say
from curetrack.words.plans import latest_shown, plan_shown, planned_lines, ready_text
from curetrack.words.pressing import next_of
from curetrack.words.reasons import why_said
from tests.words.making import after, line_with, timeline_with, voice

WIDE = (after(30.0), after(60.0))  # a band of 30 h: shown to half an hour


def test_a_computed_plan_is_as_coarse_as_its_band_and_an_agreed_one_is_not() -> None:
    computed = line_with(plan_at=after(40.2), ready_at=after(40.2), band=WIDE)
    agreed = line_with(plan_at=after(40.2), ready_at=after(35.0), band=WIDE)
    assert plan_shown(computed, after(40.2)) == after(40.5)
    assert plan_shown(agreed, after(40.2)) == after(40.25)


def test_steps_of_one_visit_stay_as_far_apart_as_they_are() -> None:
    """The lift at 40.2 h is shown at 40.5 h, as coarse as its band; what follows 24 minutes later is
    shown 24 minutes later too, rounded up to five, not at the same minute."""
    flip = line_with(step="flip", plan_at=after(40.2), ready_at=after(40.2), band=WIDE)
    off = line_with(step="base-off", plan_at=after(40.6), ready_at=None, waits_for=("flip",))
    later = line_with(step="sand", plan_at=after(60.0), ready_at=None, waits_for=("base-off",))
    shown = [plan for _, plan in planned_lines(timeline_with(flip, off, later))]
    assert shown == [after(40.5), after(40.5 + 25.0 / 60.0), after(60.0)]


def test_nothing_is_ready_after_the_plan_that_it_allows() -> None:
    """Ready at 40.1 h, which its band rounds to 40.5 h; planned by the shop's hours at 40.25 h."""
    line = line_with(plan_at=after(40.25), ready_at=after(40.1), band=WIDE)
    assert ready_text(line, voice()).startswith(moment(after(40.25), voice()))
    alone = line_with(plan_at=after(50.0), ready_at=after(40.1), band=WIDE)
    assert ready_text(alone, voice()).startswith(moment(after(40.5), voice()))


def test_no_cloth_is_asked_for_where_no_visit_allows_it() -> None:
    cloth, bare = (note_text(Note("overnight", value=9.0, at=at), voice()) for at in (after(1.0), None))
    assert "wet cloth" in cloth
    assert "cloth" not in bare
    assert "close the sheet" in bare


def test_the_crew_reads_the_moments_of_the_sheet() -> None:
    flip = line_with(
        step="flip", title="Roll it over", kind="lift", crew=2, plan_at=after(40.2), ready_at=after(35.0), band=WIDE
    )
    off = line_with(
        step="base-off", title="Take the base off", crew=2, plan_at=after(40.3), ready_at=None, waits_for=("flip",)
    )
    for line, plan in planned_lines(timeline_with(flip, off)):
        assert plan is not None
        assert moment(plan, voice()) in crew_text(line, voice(), plan)


def test_nobody_is_asked_for_fresh_concrete_that_has_hardened_but_for_a_late_lift() -> None:
    now = voice().now
    vibrate = line_with(step="vibrate", kind="place", crew=2, state="late", late_at=after(-30.0), closes="window")
    flip = line_with(step="flip", kind="lift", crew=2, state="late", late_at=after(-30.0), closes="window")
    assert not asks_for_crew(vibrate, now)
    assert asks_for_crew(flip, now)
    assert not asks_for_crew(line_with(kind="lift", crew=1), now)


def test_the_latest_moment_is_never_shown_before_the_plan_it_allows() -> None:
    """10:47:20 rounds to 10:50 where it opens and to 10:45 where it closes."""
    mist = line_with(plan_at=after(0.789), ready_at=after(0.789), late_at=after(0.789), band=None)
    shown = latest_shown(mist)
    assert shown is not None
    assert shown >= after(0.789)


def test_what_may_be_left_out_has_no_latest_moment_once_it_is_planned_after_it() -> None:
    late = line_with(plan_at=after(5.0), ready_at=after(5.0), late_at=after(2.0), optional=True)
    assert latest_shown(late) is None
    assert "latest" not in times_text(late, voice())
    assert latest_shown(line_with(plan_at=after(1.0), late_at=after(2.0), optional=True)) == after(2.0)


def test_a_day_gone_by_is_shown_with_its_date_in_a_band() -> None:
    said = banded(after(-96.0), (after(-120.0), after(24.0)), voice())
    assert said == "Tue 6 Jan 10:00 (Mon 5 Jan 10:00 to Sun 10:00)"


def test_a_late_step_says_once_by_when_it_was_due() -> None:
    late = line_with(state="late", late_at=after(-2.0), reasons=(), notes=(Note("clash", at=after(-2.0)),))
    assert why_said(late, voice()) == "was due by Sat 08:00"
    assert to_say(late) == ()
    ahead = line_with(state="waiting", late_at=after(2.0), notes=(Note("clash", at=after(2.0)),))
    assert len(to_say(ahead)) == 1


def test_a_lead_says_before_what() -> None:
    reason = Reason("lead", 24.0, unit="h", subject="flip")
    assert why_said(line_with(reason, state="ready"), voice()) == "to be done 24 h before flip"


def test_a_misting_that_has_to_wait_does_not_say_that_nobody_is_there() -> None:
    said = note_text(Note("overnight", value=4.0, unit="h", at=after(4.0)), voice())
    assert said.startswith("due 4 h before you come to it: lay a wet cloth")


@pytest.mark.parametrize("width", range(30, 60))
def test_no_row_of_a_title_begins_with_a_comma(width: int) -> None:
    line = line_with(title="Vibrate the table or the sides, short and everywhere", crew=2)
    shown = plain_text(laid_out([Row(title_spans(line))], width))
    assert not any(each.startswith(",") for each in shown.splitlines())


def test_what_may_be_left_out_is_not_next_any_more_once_its_window_has_closed() -> None:
    unblock = line_with(step="unblock", state="ready", optional=True, late_at=after(-2.0), closes="window")
    strip = line_with(plan_at=after(30.0))
    assert next_of(timeline_with(unblock, strip)) == [strip]
    still = line_with(step="unblock", state="ready", optional=True, late_at=after(2.0), closes="window")
    assert next_of(timeline_with(still, strip)) == [still, strip]
