"""Local times without an offset at clock changes: elapsed time must come out right, whatever the order of the rows."""

from datetime import UTC, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from hypothesis import given
from hypothesis import strategies as st

from curetrack.climate.logger import read_logger
from curetrack.climate.wall import Wall

NOW = datetime(2026, 12, 1, tzinfo=UTC)
CHANGES = [  # zone, an hour before the clock changes, UTC (rules in force in 2026)
    ("Europe/Berlin", datetime(2026, 3, 29, 0, tzinfo=UTC)),
    ("Europe/Berlin", datetime(2026, 10, 25, 0, tzinfo=UTC)),
    ("America/New_York", datetime(2026, 3, 8, 6, tzinfo=UTC)),
    ("America/New_York", datetime(2026, 11, 1, 5, tzinfo=UTC)),
    ("Australia/Lord_Howe", datetime(2026, 4, 4, 14, tzinfo=UTC)),  # back by half an hour
    ("America/Santiago", datetime(2026, 4, 5, 2, tzinfo=UTC)),  # back at midnight
]


def file_of(ats: list[datetime], zone: tzinfo, pattern: str) -> str:
    lines = [f"{at.astimezone(zone).strftime(pattern)},{10 + index % 7}" for index, at in enumerate(ats)]
    return "\n".join(["time,temp_degC", *lines]) + "\n"


@given(
    st.sampled_from(CHANGES), st.sampled_from([1, 5, 10, 15, 20, 30, 60, 120]), st.integers(0, 59), st.booleans(),
    st.sampled_from(["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"]),
)  # fmt: skip
def test_even_steps_survive_a_clock_change(
    change: tuple[str, datetime], step_min: int, phase_min: int, newest_first: bool, pattern: str
) -> None:
    zone, around = ZoneInfo(change[0]), change[1]
    start = around - timedelta(hours=6, minutes=phase_min)
    ats = [start + timedelta(minutes=step_min * index) for index in range(14 * 60 // step_min)]
    result = read_logger(file_of(ats[::-1] if newest_first else ats, zone, pattern), zone=zone, now=NOW)
    assert [row[0] for row in result.rows] == [round(at.timestamp() * 1000) for at in ats]


def test_second_pass_of_the_repeated_hour_is_the_second_occurrence() -> None:
    lines = ["time,temp_degC", "2026-10-25 02:10,9", "2026-10-25 02:40,8", "2026-10-25 02:05,7", "2026-10-25 02:50,6"]
    result = read_logger("\n".join(lines), zone=ZoneInfo("Europe/Berlin"), now=NOW)
    utc = [datetime.fromtimestamp(row[0] / 1000, UTC).strftime("%H:%M") for row in result.rows]
    assert utc == ["00:10", "00:40", "01:05", "01:50"]  # summer time is two hours ahead of UTC, winter time one
    assert "4 x in the hour that comes twice" in dict(result.understood)["changed"]


@pytest.mark.parametrize(
    ("zone", "local"),
    [
        ("Europe/Berlin", "2026-03-29 02:30"),
        ("America/New_York", "2026-03-08 02:01"),
        ("Australia/Lord_Howe", "2026-10-04 02:15"),
    ],
)
def test_time_that_does_not_exist_moves_as_dateutil_moves_it(zone: str, local: str) -> None:
    result = read_logger(f"time,temp_degC\n{local},9\n", zone=ZoneInfo(zone), now=NOW)
    imaginary = datetime.fromisoformat(local).replace(tzinfo=tz.gettz(zone))
    expected = tz.resolve_imaginary(imaginary)
    assert not tz.datetime_exists(imaginary)
    assert result.rows[0][0] == round(expected.timestamp() * 1000)
    assert dict(result.understood)["changed"] == "1 x in the hour that a clock change leaves out, moved forward"


def test_zone_of_dateutil_serves_as_well() -> None:
    zone = tz.gettz("Europe/Berlin")
    assert zone is not None
    result = read_logger("time,temp_degC\n2026-07-01 12:00,20\n", zone=zone, now=NOW)
    assert result.rows[0][0] == round(datetime(2026, 7, 1, 10, tzinfo=UTC).timestamp() * 1000)


def test_offset_in_the_heading_wins_over_the_zone_of_the_shop() -> None:
    text = '"Date Time, GMT-05:00","Temp, °C"\n2026-07-01 12:00:00,20\n'
    result = read_logger(text, zone=ZoneInfo("Europe/Berlin"), now=NOW)
    assert result.rows[0][0] == round(datetime(2026, 7, 1, 17, tzinfo=UTC).timestamp() * 1000)
    assert dict(result.understood)["zone"] == "UTC-05:00, by the heading"


def test_clock_without_changes_has_the_same_offset_all_day() -> None:
    assert Wall(UTC, 60_000).smooth_offset(0, 86_400_000) == 0
