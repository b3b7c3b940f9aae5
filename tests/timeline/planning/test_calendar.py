"""The calendar by itself: how far it sees, and what comes back when a booking is taken back.

Expected moments are read off the week by hand; 10 January 2026 is a Saturday, and the calendar begins at 11:00 of it in
Berlin (tests/timeline/planning/making.py).
"""

from datetime import datetime, timedelta

import pytest

from curetrack.instants import from_h, to_h
from curetrack.timeline.planning.calendar import Calendar, Need
from tests.timeline.making import POUR_H
from tests.timeline.planning.making import BERLIN, rota

FAR_DAYS = (101, 131, 260, 400)  # beyond the days that are known at first; summer time begins and ends among them
EACH_DAY = "daily 8:00-18:00"


def clock(days: int, hour: int) -> float:
    """An hour of the wall in Berlin, so many days after the pour's day."""
    return to_h(datetime(2026, 1, 10, hour, tzinfo=BERLIN) + timedelta(days=days))


@pytest.mark.parametrize("days", FAR_DAYS)
def test_hours_are_known_on_far_days_whatever_is_asked_first(days: int) -> None:
    def new() -> Calendar:
        return Calendar(rota(EACH_DAY, quiet_hours="20:00-7:00"), POUR_H)

    noon, six, ten = clock(days, 12), clock(days, 18), clock(days, 22)
    assert new().window_of(noon) == (clock(days, 8), six)
    assert new().window_of(ten) is None
    assert new().in_hours_h(clock(days, 6), ten) == 10.0
    assert new().last_fit(noon, ten, Need(2.0)) == clock(days, 16)
    assert new().last_moment_before(ten, POUR_H) == six
    assert new().first_fit(ten, Need(2.0)) == clock(days + 1, 8)


@pytest.mark.parametrize("days", FAR_DAYS)
def test_nights_are_quiet_on_far_days_too(days: int) -> None:
    """Where no hours are set, only the quiet ones keep loud work from the night."""
    calendar = Calendar(rota("", quiet_hours="20:00-7:00"), POUR_H)
    night = (clock(days, 20), clock(days + 1, 7))
    assert calendar.first_fit(clock(days, 19), Need(2.0, loud=True)) == night[1]
    assert night in calendar.quiet
    fresh = Calendar(rota("", quiet_hours="20:00-7:00"), POUR_H)
    fresh.reach(night[1])
    assert night in fresh.quiet
    assert night in fresh.nights


def test_loud_work_that_a_full_calendar_pushes_far_out_is_not_done_at_night() -> None:
    """Hands are taken until midnight of the hundred-and-fiftieth day; the question itself is of today."""
    calendar = Calendar(rota("", quiet_hours="20:00-7:00"), POUR_H)
    calendar.book(POUR_H, clock(151, 0) - POUR_H)
    assert calendar.first_fit(POUR_H, Need(1.0, loud=True)) == clock(151, 7)


def test_a_crew_is_known_on_far_days() -> None:
    """The first Saturday after the 260th day; that is a Sunday, 27 September."""
    calendar = Calendar(rota(EACH_DAY, crew_hours="Sat 9:00-17:00"), POUR_H)
    assert calendar.first_fit(clock(260, 12), Need(1.0, people=3)) == clock(266, 9)


@pytest.mark.parametrize("hours", [EACH_DAY, "daily 0:00-24:00", "Sat-Sun 8:00-12:00 13:00-18:00", ""])
def test_what_was_booked_before_days_were_added_can_be_taken_back(hours: str) -> None:
    """A day of 24 hours makes one window of all that is known: its end moves when days are added."""
    calendar, untouched = (Calendar(rota(hours), POUR_H) for _ in range(2))
    tokens = [calendar.book(clock(days, 9), 2.5) for days in (1, 98, 200)]
    taken = clock(200, 9), clock(200, 9) + 2.5
    assert calendar.free_outside(taken[0], taken[0] + 9.0, Need(1.0), ()) == taken[1]
    calendar.reach(clock(300, 0))
    for token in reversed(tokens):
        calendar.retract(token)
    for days in (1, 98, 99, 100, 101, 200):
        asked = clock(days, 8), Need(4.0)
        assert calendar.first_fit(*asked) == untouched.first_fit(*asked), days
        assert calendar.last_fit(asked[0] - 48.0, asked[0] + 48.0, asked[1]) == untouched.last_fit(
            asked[0] - 48.0, asked[0] + 48.0, asked[1]
        )


def test_nothing_set_is_always_open() -> None:
    calendar = Calendar(rota(""), POUR_H)
    assert calendar.first_fit(clock(2000, 3), Need(2.0, people=4, loud=True)) == clock(2000, 3)
    assert calendar.in_hours_h(clock(400, 3), clock(400, 5)) == 2.0


def test_extra_days_months_ahead_take_nothing_from_the_weeks_before() -> None:
    """By brute force over the windows of a year, whichever day is asked for first."""
    shop = rota("Mon-Fri 18:00-21:00", extra="2026-06-06 9:00-17:00, 2026-06-07 9:00-17:00, 2026-06-13 9:00-17:00")
    windows = shop.maker(from_h(POUR_H).date(), 400)
    calendar = Calendar(shop, POUR_H)
    for day in (120, 60, 145, *range(0, 200, 7)):
        at_h = POUR_H + day * 24.0
        wanted = next(max(start_h, at_h) for start_h, end_h in windows if end_h >= max(start_h, at_h) + 1.0)
        assert calendar.first_fit(at_h, Need(1.0)) == wanted


def test_a_week_is_free_again_once_its_bookings_are_taken_back() -> None:
    """Sixteen windows are looked over at once: the room of all of them comes back, so that six hours fit on the next
    day again."""
    calendar = Calendar(rota(), POUR_H)
    evening_h = POUR_H + 14 * 24.0 + 8.0  # a Saturday; the second sixteen windows begin on the Sunday after it
    first = calendar.first_fit(evening_h, Need(6.0))
    tokens = [calendar.book(at_h, 10.0) for at_h in (POUR_H + day * 24.0 - 3.0 for day in (15, 21, 22, 28, 29))]
    assert calendar.first_fit(evening_h, Need(6.0)) != first
    for token in reversed(tokens):
        calendar.retract(token)
    assert calendar.first_fit(evening_h, Need(6.0)) == first


def test_days_away_and_extra_days_alone_are_no_hours() -> None:
    assert not Calendar(rota("", away="2026-12-24"), POUR_H).has_hours
    assert not Calendar(rota("", extra="2026-12-28 9:00-17:00"), POUR_H).has_hours
    assert Calendar(rota(), POUR_H).has_hours
