"""Dates and times of day in logger files. Expected days come from the standard library's own calendar."""

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.climate.dates import Order, parse_day, parse_tail, split_stamp, weigh_orders

EPOCH = date(1970, 1, 1)
DAYS = st.dates(date(2000, 1, 1), date(2099, 12, 31))


@given(
    DAYS,
    st.sampled_from(["%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d", "%d %b %Y", "%d-%b-%y", "%b %d, %Y", "%d. %B %Y"]),
)
def test_date_without_doubt_needs_no_order(day: date, pattern: str) -> None:
    assert parse_day(day.strftime(pattern)) == (day - EPOCH).days


@given(DAYS, st.sampled_from([("dmy", "%d/%m/%Y"), ("mdy", "%m/%d/%y"), ("ymd", "%y-%m-%d"), ("dmy", "%d.%m.%y")]))
def test_numeric_date_is_read_in_the_given_order(day: date, written: tuple[Order, str]) -> None:
    order, pattern = written
    assert parse_day(day.strftime(pattern), order) == (day - EPOCH).days


@pytest.mark.parametrize("text", ["3. Februar 2026", "03 Févr 2026", "3-FEB-26", "feb 3 2026", "3 fev 2026"])
def test_month_may_be_named_in_several_languages(text: str) -> None:
    assert parse_day(text) == (date(2026, 2, 3) - EPOCH).days


@pytest.mark.parametrize(
    ("text", "order"),
    [("03/02/2026", None), ("13/13/2026", "dmy"), ("2026-02-30", None), ("03/02/2026", "ymd"), ("3.5", "dmy"),
     ("1/2", "dmy"), ("3 foo 2026", None), ("", None)],
)  # fmt: skip
def test_what_is_no_date_is_refused(text: str, order: Order | None) -> None:
    with pytest.raises(ValueError, match=r".+"):
        parse_day(text, order)


TAILS = [
    # text, h, min, s, ms, offset in minutes
    ("18:00", 18, 0, 0, 0, None),
    ("6:05:09", 6, 5, 9, 0, None),
    ("18.30", 18, 30, 0, 0, None),
    ("18h30", 18, 30, 0, 0, None),
    ("18:00:00.5", 18, 0, 0, 500, None),
    ("18:00:00,123456", 18, 0, 0, 123, None),
    ("12:00 AM", 0, 0, 0, 0, None),
    ("12:15 PM", 12, 15, 0, 0, None),
    ("6:00:00 p.m.", 18, 0, 0, 0, None),
    ("11:59pm", 23, 59, 0, 0, None),
    ("24:00", 24, 0, 0, 0, None),
    ("18:00Z", 18, 0, 0, 0, 0),
    ("18:00:00.000Z", 18, 0, 0, 0, 0),
    ("18:00 UTC", 18, 0, 0, 0, 0),
    ("18:00:00+01:00", 18, 0, 0, 0, 60),
    ("18:00-0530", 18, 0, 0, 0, -330),
    ("18:00+02", 18, 0, 0, 0, 120),
    ("180000Z", 18, 0, 0, 0, 0),
]


@pytest.mark.parametrize(("text", "h", "m", "s", "ms", "offset_min"), TAILS)
def test_time_of_day_is_read(text: str, h: int, m: int, s: int, ms: int, offset_min: int | None) -> None:
    offset_ms = None if offset_min is None else offset_min * 60_000
    assert parse_tail(text) == (((h * 60 + m) * 60 + s) * 1000 + ms, offset_ms)


@pytest.mark.parametrize("text", ["24:01", "18:60", "18:00:60", "13:00 PM", "0:30 AM", "18:00+25:00", "18", "noon", ""])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        parse_tail(text)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("2026-02-03T18:00:00Z", ("2026-02-03", "18:00:00Z")),
        ("03/02/2026 6:00 PM", ("03/02/2026", "6:00 PM")),
        ("03/02/2026, 18:00", ("03/02/2026", "18:00")),
        ("3 Feb 2026 18:00", ("3 Feb 2026", "18:00")),
        ("3. Februar 2026  18:00", ("3. Februar 2026", "18:00")),
        ("20260203T180000", ("20260203", "180000")),
        ("Feb 3, 2026 18:00", ("Feb 3, 2026", "18:00")),
    ],
)
def test_date_and_time_in_one_cell_are_divided(text: str, parts: tuple[str, str]) -> None:
    assert split_stamp(text) == parts


@given(
    st.datetimes(datetime.fromisoformat("2000-01-01"), datetime.fromisoformat("2099-12-31")),
    st.sampled_from(["T", " "]),
    st.sampled_from(["minutes", "seconds", "milliseconds"]),
)
def test_iso_is_read_like_the_standard_library_reads_it(at: datetime, divider: str, fineness: str) -> None:
    text = at.isoformat(divider, fineness)
    day, tail = split_stamp(text)
    wanted = datetime.fromisoformat(text) - datetime.fromisoformat("1970-01-01")
    assert parse_day(day) * 86_400_000 + parse_tail(tail)[0] == wanted / timedelta(milliseconds=1)


def days(*isos: str) -> tuple[int, ...]:
    return tuple((date.fromisoformat(iso) - EPOCH).days for iso in isos)


TODAY, POUR = days("2026-02-06", "2026-02-03")


def test_day_above_twelve_leaves_one_order() -> None:
    (only,) = weigh_orders(["12/02/2026", "13/02/2026"], TODAY)
    assert (only.order, only.days) == ("dmy", days("2026-02-12", "2026-02-13"))


def test_orders_that_make_the_same_days_are_one() -> None:
    assert [weighed.order for weighed in weigh_orders(["02/02/2026"], TODAY)] == ["dmy"]


def test_faults_of_each_order_are_listed() -> None:
    day_first, month_first = weigh_orders(["03/02/2026", "04/02/2026", "05/02/2026"], TODAY, POUR)
    assert day_first.faults == ()
    assert month_first.days == days("2026-03-02", "2026-04-02", "2026-05-02")
    assert month_first.faults == ("3 of 3 days in the future", "days up to 31 days apart", "not near the pour")


def test_days_to_and_fro_speak_against_an_order() -> None:
    # day first: 1 Mar, 2 Mar, 1 Apr would be in order; month first: 3 Jan, 3 Feb, 4 Jan
    weighed = {each.order: each for each in weigh_orders(["01/03/2025", "02/03/2025", "01/04/2025"], TODAY)}
    assert "days that run to and fro" in weighed["mdy"].faults
    assert "days that run to and fro" not in weighed["dmy"].faults


def test_year_first_in_two_digits_is_thought_of_if_the_others_are_long_ago() -> None:
    weighed = {each.order: each for each in weigh_orders(["26/02/03", "26/02/04"], TODAY)}
    assert weighed["ymd"].days == days("2026-02-03", "2026-02-04")
    assert weighed["ymd"].faults == ()
    assert "long ago" in weighed["dmy"].faults


def test_no_order_is_left_for_a_mixed_file() -> None:
    assert weigh_orders(["13/02/2026", "02/13/2026"], TODAY) == ()
