"""The grammar of typed times. Instants are the calendar's; zone Berlin, now is Saturday 10 January 2026, 10:00."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curetrack.cli.times import DayAlone, parse_time, parse_until
from curetrack.errors import BadInput

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 1, 10, 9, tzinfo=UTC)

PAST = [
    ("now", "2026-01-10 10:00"),
    ("  NOW ", "2026-01-10 10:00"),
    ("2h ago", "2026-01-10 08:00"),
    ("1 h 30 min ago", "2026-01-10 08:30"),
    ("90min ago", "2026-01-10 08:30"),
    ("2 d ago", "2026-01-08 10:00"),
    ("9:30", "2026-01-10 09:30"),
    ("09:30:30", "2026-01-10 09:30:30"),
    ("9 am", "2026-01-10 09:00"),
    ("12am", "2026-01-10 00:00"),
    ("today 9:30", "2026-01-10 09:30"),
    ("yesterday 18:30", "2026-01-09 18:30"),
    ("Yesterday at 6:30 pm", "2026-01-09 18:30"),
    ("yesterday noon", "2026-01-09 12:00"),
    ("Sat 9:00", "2026-01-10 09:00"),
    ("sat 11:00", "2026-01-03 11:00"),
    ("Friday 9:00", "2026-01-09 09:00"),
    ("Sun 9:00", "2026-01-04 09:00"),
    ("8 Jan 9:00", "2026-01-08 09:00"),
    ("Jan 8, 9:00", "2026-01-08 09:00"),
    ("8 January 2026 9:00", "2026-01-08 09:00"),
    ("20 Dec 9:00", "2025-12-20 09:00"),
    ("29 Feb 9:00", "2024-02-29 09:00"),
    ("2026-01-08 9:00", "2026-01-08 09:00"),
    ("2026-01-08T09:00", "2026-01-08 09:00"),
    ("2026-01-08T09:00:00.250Z", "2026-01-08 10:00"),
    ("2026-01-08T09:00+05:30", "2026-01-08 04:30"),
    ("2026-07-08 09:00+0200", "2026-07-08 09:00"),
]
FUTURE = [
    ("Sat 9:00", "2026-01-17 09:00"),
    ("Sat 10 am", "2026-01-17 10:00"),
    ("Sat 24 Jan 10:30", "2026-01-24 10:30"),
    ("Sun 13 Dec 2026 10:30", "2026-12-13 10:30"),
    ("Sat 11:00", "2026-01-10 11:00"),
    ("Sun 9:00", "2026-01-11 09:00"),
    ("11:00", "2026-01-10 11:00"),
    ("tomorrow 7:00", "2026-01-11 07:00"),
    ("in 3 h", "2026-01-10 13:00"),
    ("8 Jan 9:00", "2027-01-08 09:00"),
]
TAKEN: tuple[DayAlone, ...] = ("first", "last")
DAYS = [
    ("Tue 20 Jan", "2026-01-20"),
    ("20 Jan", "2026-01-20"),
    ("2026-02-01", "2026-02-01"),
    ("Tue", "2026-01-13"),
    ("tomorrow", "2026-01-11"),
    ("today", "2026-01-10"),  # not over yet
    ("Sat", "2026-01-10"),
    ("10 Jan", "2026-01-10"),
    ("9 Jan", "2027-01-09"),
]


def _berlin(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN)


@pytest.mark.parametrize(("text", "expected"), PAST)
def test_times_of_facts(text: str, expected: str) -> None:
    assert parse_time(text, now=NOW, zone=BERLIN).at == _berlin(expected)


@pytest.mark.parametrize(("text", "expected"), FUTURE)
def test_times_to_come(text: str, expected: str) -> None:
    assert parse_time(text, now=NOW, zone=BERLIN, toward="future").at == _berlin(expected)


@pytest.mark.parametrize(("text", "day"), DAYS)
def test_a_day_alone_is_its_first_or_its_last_minute_or_lacks_its_hour(text: str, day: str) -> None:
    """`--from Tue` begins with the day, `--to Tue` and `--need-by Tue` end with it, and no pour is at a day."""
    first, last = (
        parse_time(text, now=NOW, zone=BERLIN, toward="future", day=taken).at for taken in TAKEN
    )  # fmt: skip
    assert (first, last) == (_berlin(f"{day} 00:00"), _berlin(f"{day} 23:59"))
    with pytest.raises(BadInput, match="a time of day is missing"):
        parse_time(text, now=NOW, zone=BERLIN, toward="future")


@pytest.mark.parametrize(
    ("zone", "day", "utc"),
    [
        ("Africa/Cairo", "2026-04-24", "2026-04-23 22:00"),  # at midnight the clocks go to 1:00 (tz database)
        ("America/Havana", "2026-11-01", "2026-11-01 04:00"),  # at 1:00 back to midnight: the first of the two
    ],
)
def test_a_day_begins_with_its_first_minute_whatever_the_clocks_do(zone: str, day: str, utc: str) -> None:
    found = parse_time(day, now=NOW, zone=ZoneInfo(zone), toward="future", day="first").at
    assert found == datetime.fromisoformat(utc).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "hours"),
    [("2h", 2), ("1 d", 24), ("45 min", 0.75), ("in 2 h", 2), ("tomorrow 10:00", 24), ("Sun 10:00", 24)],
)
def test_until(text: str, hours: float) -> None:
    assert parse_until(text, now=NOW, zone=BERLIN).at == NOW + timedelta(hours=hours)


@pytest.mark.parametrize(
    ("text", "what", "remedy"),
    [
        ("", "cannot read the time", "yesterday 18:30"),
        ("soon", "cannot read the time", "yesterday 18:30"),
        ("x" * 200, "cannot read the time", "now"),
        ("Sat", "a time of day is missing", "Sat 18:30"),
        ("yesterday", "a time of day is missing", "yesterday 18:30"),
        ("Sat 9", "an hour without minutes", "9:00"),
        ("9", "an hour without minutes", "9:00"),
        ("25:00", "no such hour", "23:59"),
        ("9:75", "no such hour", "23:59"),
        ("13 pm", "no such hour", "9 am"),
        ("18:30", "still to come today", "yesterday 18:30"),
        ("2026-02-30 9:00", "no such day", "2026-01-10"),
        ("1999-01-01 9:00", "a year from 2000", "2026-01-10"),
        ("2026-01-08 9:00+25:00", "no such offset", "+01:00"),
        ("-2h ago", "a negative time", "2h ago"),
        ("two hours ago", "cannot read a time", "18 h"),
        ("1e9 h ago", "", ""),
        ("999999 d ago", "too far away", "now"),
        ("30 Frim 9:00", "cannot read the time", "10 Jan"),
    ],
)
def test_what_cannot_be_a_time_says_what_would_be_right(text: str, what: str, remedy: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_time(text, now=NOW, zone=BERLIN, where="--at")
    assert what in str(caught.value)
    assert remedy in str(caught.value)
    assert str(caught.value).startswith("--at: ")


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("03/04/2026 10:00", ["2026-04-03 10:00", "2026-03-04 10:00"]),
        ("3.4.26 10:00", ["2026-04-03 10:00", "2026-03-04 10:00"]),
        ("25/12/2025 10:00", ["2025-12-25 10:00"]),
        ("2026/03/04 10:00", ["2026-03-04 10:00"]),
    ],
)
def test_the_order_of_day_and_month_is_never_guessed(text: str, choices: list[str]) -> None:
    with pytest.raises(BadInput, match="order of day and month") as caught:
        parse_time(text, now=NOW, zone=BERLIN)
    assert [choice for choice in choices if choice not in str(caught.value)] == []


def test_a_day_of_the_week_that_its_date_is_not_is_refused() -> None:
    with pytest.raises(BadInput, match="that is a Sun"):
        parse_time("Mon 13 Dec 2026 10:30", now=NOW, zone=BERLIN, toward="future")


def test_an_hour_that_the_clocks_skip_is_refused_with_its_neighbours() -> None:
    """Berlin, 29 March 2026: 01:59 is followed by 03:00."""
    with pytest.raises(BadInput, match="clocks skip") as caught:
        parse_time("2026-03-29 02:30", now=NOW, zone=BERLIN)
    assert "2026-03-29 01:59 or 03:00" in str(caught.value)


def test_an_hour_that_comes_twice_is_the_first_and_this_is_said() -> None:
    """Berlin, 25 October 2026: 02:30 is 00:30 UTC (+02:00), then 01:30 UTC (+01:00)."""
    typed = parse_time("2026-10-25 02:30", now=NOW, zone=BERLIN, toward="future")
    assert typed.at == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert "comes twice" in typed.remark
    assert "2026-10-25 02:30+01:00" in typed.remark
    second = parse_time("2026-10-25 02:30+01:00", now=NOW, zone=BERLIN, toward="future")
    assert second.at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert second.remark == ""


def test_elapsed_time_does_not_care_for_clock_changes() -> None:
    now = datetime(2026, 3, 29, 8, tzinfo=UTC)  # 10:00 in Berlin, after the jump
    assert parse_time("12 h ago", now=now, zone=BERLIN).at == now - timedelta(hours=12)


@pytest.mark.parametrize("text", ["-3h", "yesterday 10:00", "now"])
def test_what_is_past_is_no_until(text: str) -> None:
    with pytest.raises(BadInput):
        parse_until(text, now=NOW, zone=BERLIN)


def test_looking_back_or_ahead_takes_an_hour_of_today_either_way() -> None:
    for text, expected in (
        ("9:00", "2026-01-10 09:00"),
        ("18:30", "2026-01-10 18:30"),
        ("Sat 11:00", "2026-01-03 11:00"),
    ):
        assert parse_time(text, now=NOW, zone=BERLIN, toward="any").at == _berlin(expected)


def test_another_zone() -> None:
    york = ZoneInfo("America/New_York")
    assert parse_time("yesterday 18:30", now=NOW, zone=york).at == datetime(2026, 1, 9, 23, 30, tzinfo=UTC)
