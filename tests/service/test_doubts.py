"""A clock that cannot be right."""

from datetime import UTC, datetime, timedelta

import pytest

from curetrack.service.doubts import clock_doubt

NOW = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("year", [1970, 2000, 2024, 2101])
def test_years_that_cannot_be(year: int) -> None:
    """1970: a board without a battery; 2000: many a real-time clock after one went flat (from memory)."""
    assert "cannot be" in clock_doubt(datetime(year, 1, 1, tzinfo=UTC), None, None)


def test_before_what_was_recorded_or_beaten() -> None:
    later = NOW + timedelta(minutes=6)
    for doubt in (clock_doubt(NOW, later, None), clock_doubt(NOW, None, later), clock_doubt(NOW, NOW, later)):
        assert "before what was last recorded (2026-03-07 09:06 UTC)" in doubt


def test_a_time_servers_correction_is_no_doubt() -> None:
    assert clock_doubt(NOW, NOW + timedelta(minutes=4), NOW) == ""
    assert clock_doubt(NOW, None, None) == ""
    assert clock_doubt(NOW, NOW - timedelta(days=300), NOW - timedelta(days=300)) == ""
