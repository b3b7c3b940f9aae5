"""Moments and durations. Days and offsets are the calendar's; Berlin changes its clocks 29 March, 25 October 2026."""

from datetime import UTC, datetime, timedelta

import pytest

from curetrack.words.moments import about, banded, brief, date_text, duration, moment, near, relative, stamp
from curetrack.words.voice import Voice
from tests.words.making import BERLIN, NOW, after, voice


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (0, "Sat 10:00"),
        (4.25, "Sat 14:15"),
        (14, "Sun 00:00"),
        (-11, "Fri 23:00"),
        (6 * 24, "Fri 10:00"),
        (7 * 24, "Sat 17 Jan 10:00"),
        (-7 * 24, "Sat 3 Jan 10:00"),
        (-14 * 24, "Sat 27 Dec 2025 10:00"),
        (400 * 24, "Sun 14 Feb 2027 10:00"),
    ],
)
def test_a_moment_has_its_day_and_when_far_its_date(hours: float, expected: str) -> None:
    assert moment(after(hours), voice()) == expected


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (0, "Sat 10:00"),
        (7 * 24, "Sat 17 Jan 10:00"),
        (-14 * 24, "Sat 27 Dec 10:00"),
        (-290 * 24, "Wed 26 Mar 10:00"),
        (400 * 24, "Sun 14 Feb 2027"),
    ],
)
def test_a_moment_in_a_column_is_16_cells_at_most(hours: float, expected: str) -> None:
    assert brief(after(hours), voice()) == expected
    assert len(expected) <= 16


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (0.0, "0 min"), (0.4, "24 min"), (1.0, "1 h"), (1 + 25 / 60, "1 h 25 min"), (9.99, "9 h 59 min"),
        (13.4, "13 h"), (47.0, "47 h"), (48.0, "2 d"), (76.0, "3 d 4 h"), (288.0, "12 d"), (-1.0, "0 min"),
    ],
)  # fmt: skip
def test_a_duration_has_its_two_largest_units(hours: float, expected: str) -> None:
    assert duration(hours) == expected


def test_near_moments_are_said_twice() -> None:
    """the look: relative and absolute together when near."""
    assert near(after(1 + 25 / 60), voice()) == "in 1 h 25 min, Sat 11:25"
    assert near(after(-0.5), voice()) == "30 min ago, Sat 09:30"
    assert near(after(50), voice()) == "Mon 12:00"


def test_now_is_now() -> None:
    assert relative(NOW + timedelta(seconds=20), voice()) == "now"


def test_a_band_repeats_no_day_it_shares() -> None:
    """the look: "15:30 (13:50 to 18:10)"."""
    assert banded(after(5.5), (after(3 + 50 / 60), after(8 + 10 / 60)), voice()) == "Sat 15:30 (13:50 to 18:10)"
    assert banded(after(5.5), (after(-10), after(20)), voice()) == "Sat 15:30 (00:00 to Sun 06:00)"


def test_a_band_without_a_late_end_says_so() -> None:
    assert banded(after(5.5), None, voice()) == "Sat 15:30 (or far later: no end in sight yet)"


@pytest.mark.parametrize(
    ("width_h", "minutes"), [(0.0, 5), (2.9, 5), (3.5, 10), (11.0, 10), (13.0, 30), (47.0, 30), (49.0, 60), (500.0, 60)]
)
def test_a_computed_time_is_no_finer_than_its_band(width_h: float, minutes: int) -> None:
    """Our own rule: an hour of a three-day band is shown as an hour. Rounded up where something opens."""
    band = (NOW, after(width_h))
    shown = about(NOW + timedelta(minutes=61), band)
    assert shown.timestamp() % (minutes * 60) == 0
    assert NOW + timedelta(minutes=61) <= shown < NOW + timedelta(minutes=61 + minutes)


def test_what_closes_is_rounded_down() -> None:
    assert about(NOW + timedelta(minutes=59), closing=True) == NOW + timedelta(minutes=55)


def test_a_second_of_rounding_does_not_cost_five_minutes() -> None:
    assert about(NOW + timedelta(seconds=1)) == NOW


def test_an_hour_that_comes_twice_carries_its_offset() -> None:
    """25 October 2026, 02:30 in Berlin: first +02:00 (00:30 UTC), then +01:00 (01:30 UTC)."""
    speaking = Voice(datetime(2026, 10, 24, 12, tzinfo=UTC), BERLIN)
    assert moment(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), speaking) == "Sun 02:30 +02:00"
    assert moment(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), speaking) == "Sun 02:30 +01:00"
    assert moment(datetime(2026, 10, 25, 3, 30, tzinfo=UTC), speaking) == "Sun 04:30"


def test_twenty_four_hours_over_the_spring_change_end_an_hour_later_on_the_clock() -> None:
    """acceptance case W3 (a): poured Sat 28 Mar 20:00, 24 h later is Sun 21:00 +02:00."""
    pour = datetime(2026, 3, 28, 19, tzinfo=UTC)
    assert moment(pour + timedelta(hours=24), Voice(pour, BERLIN)) == "Sun 21:00"


def test_whole_dates() -> None:
    assert stamp(NOW, voice()) == "Sat 10 Jan 2026 10:00"
    assert date_text(after(20), voice()) == "Sun 11 Jan"
