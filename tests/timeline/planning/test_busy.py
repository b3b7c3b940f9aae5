"""What keeps hands busy, and what does not: work within longer work, windows that have passed, repeats that were put
off, moments months ahead.

Expected moments are read off the week by hand, as in test_plan.py: Saturday 10 January 2026 11:00 in Berlin is the
pour; evenings on weekdays 18:00-21:00, weekends 8:00-18:00.
"""

import math

import pytest

from curetrack.timeline.planning.calendar import Calendar, Need
from curetrack.timeline.planning.fits import how_at
from curetrack.timeline.solve import solve_prepared
from tests.timeline.making import POUR_H, done, later, line, poured, steady, step
from tests.timeline.planning.making import Made, local, planned, prepared, rota

WARM = steady(20.0, 50.0)
FRESH = (
    step("pour", after="", kind="place")
    + step("vibrate", 'no_later = { wait = "30 min", else = "Leave it." }\nhands_on = "15 min"\ncrew = 2', kind="place")
    + step("screed", 'no_later = { wait = "1 h", else = "Grind." }\nhands_on = "20 min"', after="vibrate", kind="place")
)


# --- work within longer work -----------------------------------------------------------------------------------------


@pytest.fixture
def nested() -> Calendar:
    """All day open; hands busy from 1 to 6 h after the pour, and, within that, from 2 to 3 h."""
    calendar = Calendar(rota(""), POUR_H)
    calendar.book(POUR_H + 1.0, 5.0)
    calendar.book(POUR_H + 2.0, 1.0)
    return calendar


@pytest.mark.parametrize("start_h", [1.0, 1.5, 2.5, 3.0, 4.0, 5.9])
def test_short_work_within_longer_work_does_not_hide_it(nested: Calendar, start_h: float) -> None:
    at_h, need = POUR_H + start_h, Need(0.5)
    assert nested.free_outside(at_h, at_h, need, ()) is None
    assert nested.free_outside(at_h, math.inf, need, ()) == POUR_H + 6.0
    assert nested.first_fit(at_h, need) == POUR_H + 6.0


def test_nor_does_it_once_days_were_added(nested: Calendar) -> None:
    nested.reach(POUR_H + 200 * 24.0)
    assert nested.first_fit(POUR_H + 3.5, Need(0.5)) == POUR_H + 6.0


def test_how_work_lies_in_hours_far_ahead_is_known() -> None:
    """Noon of a day beyond the hundred that are known at first: in hours, in no quiet ones, with the crew."""
    every = rota("daily 8:00-18:00", quiet_hours="20:00-7:00", crew_hours="daily 8:00-18:00", crew=3)
    made = planned([prepared(step("go", "loud = true\ncrew = 2"), WARM, 1.0)], every, 1.0)
    net = made.plan.nets[0]
    job = net.jobs[net.number["go"]]
    noon_h = POUR_H + 200 * 24.0 + 1.0
    assert how_at(Calendar(every, POUR_H), job, noon_h) == ""
    assert how_at(Calendar(every, POUR_H), job, noon_h + 10.0) == "loud"


# --- windows that have passed ----------------------------------------------------------------------------------------


def _two(now: float, **more: object) -> Made:
    """One piece poured an hour ago and not ticked since, another just now."""
    old = prepared(FRESH, WARM, now, poured(), name="old")
    new = prepared(FRESH, WARM, now, poured(now), name="new")
    return planned([old, new], rota(**more), now)  # type: ignore[arg-type]


def test_a_window_that_has_passed_takes_no_hands_from_one_that_can_be_met() -> None:
    """At 12:15 vibrate (until 11:30) and screed (until 12:45 at the latest) of the old piece are
    over or nearly; the new one is to be vibrated until 12:45 and screeded within the hour after that."""
    made = _two(1.25)
    assert (made.start("vibrate", 1), made.start("screed", 1)) == ("Sat 12:15", "Sat 12:30")
    assert made.spot("screed", 1).how == ""


def test_a_window_that_passed_hours_ago_wants_neither_hands_nor_crew() -> None:
    """Poured in the morning, nothing ticked until 17:00: what there was to do is done or lost, and is asked for. The
    next piece's first steps are booked as if it were not there; the friend is asked for them alone."""
    made = _two(6.0, crew_hours="Sat 17:00-18:00", crew=2)
    assert (made.start("vibrate", 1), made.start("screed", 1)) == ("Sat 17:00", "Sat 17:15")
    assert (made.start("vibrate", 0), made.start("screed", 0)) == ("Sat 17:00", "Sat 17:00")
    alone = planned(
        [prepared(FRESH + step("strip", 'not_before = { age = "7 h" }'), WARM, 6.5, poured())],
        rota("daily 8:00-22:00", crew_hours="Sun 9:00-17:00", crew=2), 6.5,
    )  # fmt: skip
    assert (alone.start("vibrate"), alone.start("strip")) == ("Sat 17:30", "Sat 18:00")
    assert alone.spot("vibrate").how == ""


def test_what_has_just_been_missed_is_done_at_once_without_hours_and_crew() -> None:
    """At 11:50 the vibrating was to begin until 11:30, another piece covered until 11:20; hours are in the evening,
    the crew comes on Sundays. Two hours later nobody gets up for the cover; it waits for the evening."""
    cover = step("pour", after="", kind="place") + step(
        "cover", 'no_later = { wait = "20 min", else = "Cover now." }\nhands_on = "5 min"', kind="cover"
    )
    for now, starts in ((0.85, ["Sat 11:51", "Sat 11:51"]), (3.0, ["Sat 14:00", "Sat 18:00"])):
        pieces = [prepared(FRESH, WARM, now, poured(), name="one"), prepared(cover, WARM, now, poured(), name="other")]
        for number, name in enumerate(("vibrate", "cover")):
            made = planned([pieces[number]], rota("daily 18:00-21:00", crew_hours="Sun 18:00-20:00", crew=2), now)
            assert made.start(name) == starts[number]


def test_concrete_does_not_wait_for_a_tick() -> None:
    """Nothing ticked since 11:00: the vibrating was to begin until 11:30 and takes 15 min, the screed within the
    hour: until 12:45 at the latest, however late it is now. Once it was ticked the window counts from the tick."""
    for now in (2.0, 6.0):
        timeline = planned([prepared(FRESH, WARM, now, poured())], rota(), now).timeline()
        assert (local(line(timeline, "vibrate").late_at), local(line(timeline, "screed").late_at)) == (
            "Sat 11:30", "Sat 12:45",
        )  # fmt: skip
    ticked = planned([prepared(FRESH, WARM, 2.0, poured(), done("vibrate", 1.5))], rota(), 2.0).timeline()
    assert local(line(ticked, "screed").late_at) == "Sat 13:30"


# --- repeats ---------------------------------------------------------------------------------------------------------


def test_what_follows_a_repeat_is_never_planned_before_it() -> None:
    """Damp until the age of 7 days; on the second day its first misting is put off to the tenth, Monday 12:00."""
    steps = (
        step("block", 'not_before = { age = "24 h" }\nhands_on = "10 min"')
        + step("tent", 'during = "block"\nuntil = { age = "7 d" }\nevery = "24 h"\nwets = true', after="", kind="wet")
        + step("uncover", 'hands_on = "10 min"', after="tent")
    )
    facts = poured(), done("block", 26.0), later("tent", 27.0, 9 * 24.0 + 1.0)
    made = planned([prepared(steps, WARM, 30.0, *facts)], rota(), 30.0)
    without_hours = solve_prepared(made.prepared[0], made.now)
    for timeline, found in ((made.timeline(), "Mon 18:00"), (without_hours, "Mon 12:00")):
        starts = [local(line(timeline, name).plan_at) for name in ("tent", "uncover")]
        assert starts == [found, found]


# --- an extra day far off --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("extra", ["2026-06-13 6:00-22:00", "2026-01-02 6:00-22:00", ""])
def test_an_extra_day_months_away_is_no_stretch_to_wait_for(extra: str) -> None:
    """Twelve hours in one go; ten are the longest stretch of every week."""
    made = planned([prepared(step("go", 'hands_on = "12 h"'), WARM, 1.0)], rota(extra=extra), 1.0)
    assert (made.start("go"), made.spot("go").how) == ("Sun 08:00", "long")


def test_an_extra_day_soon_is_waited_for() -> None:
    made = planned([prepared(step("go", 'hands_on = "12 h"'), WARM, 1.0)], rota(extra="2026-01-24 6:00-22:00"), 1.0)
    assert (made.start("go"), made.spot("go").how) == ("Sat 06:00", "")


def test_weeks_away_are_waited_for_too() -> None:
    """No hours at all for seven weeks: what is longer than none is not too long."""
    made = planned([prepared(step("go", 'hands_on = "2 h"'), WARM, 1.0)], rota(away="2026-01-10..2026-02-27"), 1.0)
    assert (made.start("go"), made.spot("go").how) == ("Sat 08:00", "")


def test_what_has_just_been_missed_is_within_hours_if_it_is_done_within_them() -> None:
    """At 11:50 the vibrating was to begin until 11:30: it is done at once, in the maker's hours, and nothing is said of
    hours outside them."""
    made = planned([prepared(FRESH, WARM, 0.85, poured())], rota("daily 8:00-18:00"), 0.85)
    assert made.start("vibrate") == "Sat 11:51"
    assert made.spot("vibrate").how == ""
