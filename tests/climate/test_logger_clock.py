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
    st.sampled_from(CHANGES), st.sampled_from([1, 5, 10, 15, 20, 30, 60, 120, 240]), st.integers(0, 239), st.booleans(),
    st.sampled_from(["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"]),
)  # fmt: skip
def test_even_steps_survive_a_clock_change(
    change: tuple[str, datetime], step_min: int, phase_min: int, newest_first: bool, pattern: str
) -> None:
    zone, around = ZoneInfo(change[0]), change[1]
    before_min = max(6 * 60, 6 * step_min)  # enough rows on both sides to show the usual step
    start = around - timedelta(minutes=before_min + phase_min)
    ats = [start + timedelta(minutes=step_min * index) for index in range((2 * before_min + 120) // step_min)]
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


MIN = 60_000
BERLIN_BACK = {  # local time of 25 Oct 2026 -> its first and second instant; the clock goes back at 01:00 UTC
    minute: tuple(round(datetime(2026, 10, 25, hour, minute, tzinfo=UTC).timestamp() * 1000) for hour in (0, 1))
    for minute in range(60)
}


def local_ms(minute: int, year: int = 2026, day: int = 25) -> int:
    return round(datetime(year, 10, day, 2, minute, tzinfo=UTC).timestamp() * 1000)  # as if the wall clock were UTC


def walk(step_min: int, minutes: list[int], before_ms: int | None) -> list[int]:
    wall, found = Wall(ZoneInfo("Europe/Berlin"), step_min * MIN), list[int]()
    for minute in minutes:
        before_ms = wall.utc(local_ms(minute), before_ms)
        found.append(BERLIN_BACK[minute].index(before_ms))
    return found


def test_clock_that_went_back_is_in_the_second_pass_whatever_the_step() -> None:
    assert walk(5, [50, 55, 52], BERLIN_BACK[45][0]) == [0, 0, 1]


def test_no_way_back_from_the_second_pass_after_a_silence() -> None:
    assert walk(1, [58, 59, 0, 45], BERLIN_BACK[57][0]) == [0, 0, 1, 1]


def test_newest_row_first_runs_through_the_passes_backwards() -> None:
    assert walk(-1, [2, 0, 59, 20], BERLIN_BACK[3][1]) == [1, 1, 0, 0]
    assert walk(-5, [2, 7], BERLIN_BACK[5][1]) == [1, 0]


@pytest.mark.parametrize(("step_min", "expected"), [(10, 0), (-10, 1)])
def test_file_that_begins_in_the_repeated_hour_begins_in_its_outer_pass(step_min: int, expected: int) -> None:
    assert walk(step_min, [30], None) == [expected]


@pytest.mark.parametrize(("step_min", "away_min", "expected"), [(40, -10, 0), (-40, 70, 1)])
def test_tie_goes_to_the_pass_that_comes_first_in_the_file(step_min: int, away_min: int, expected: int) -> None:
    # half an hour off the step either way: 40 min expected, 10 or 70 min found
    assert walk(step_min, [5], BERLIN_BACK[5][0] + away_min * MIN) == [expected]


def test_second_pass_of_one_year_says_nothing_of_the_next() -> None:
    wall = Wall(ZoneInfo("Europe/Berlin"), 10 * MIN)
    assert wall.utc(local_ms(30), BERLIN_BACK[20][1]) == BERLIN_BACK[30][1]
    first = round(datetime(2027, 10, 31, 0, 30, tzinfo=UTC).timestamp() * 1000)
    assert wall.utc(local_ms(30, 2027, 31), first - 10 * MIN) == first


def test_clock_without_changes_has_the_same_offset_all_day() -> None:
    assert Wall(UTC, 60_000).smooth_offset(0, 86_400_000) == 0
