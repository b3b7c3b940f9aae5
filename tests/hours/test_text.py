"""Hours as a maker writes them: what is read, how it is kept, and what is refused."""

from datetime import date

import pytest

from curetrack.errors import BadInput, Faults
from curetrack.hours.spans import Span
from curetrack.hours.text import read_away, read_crew, read_extra, read_hours

EVENING, DAY = Span(18 * 60, 21 * 60), Span(8 * 60, 18 * 60)


def test_a_week_is_read_by_days_and_kept_in_one_spelling() -> None:
    week, kept = read_hours(" mon-friday 18:00 - 21:00,Sat-Sun  8:00-18:00 ")
    assert week.days == ((EVENING,),) * 5 + ((DAY,),) * 2
    assert kept == "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"
    assert read_hours(kept) == (week, kept)


def test_several_spans_of_one_day_a_row_over_the_week_s_end_and_every_day() -> None:
    week, _ = read_hours("Sat 13:00-18:00 8:00-12:00")
    assert week.days[5] == (Span(480, 720), Span(780, 1080))
    assert [bool(spans) for spans in read_hours("Fri-Mon 9:00-10:00")[0].days] == [True] + [False] * 3 + [True] * 3
    assert read_hours("daily 7:00-22:00")[0].days == ((Span(420, 1320),),) * 7
    assert read_hours("Sun 22:00-2:00")[0].days[6] == (Span(1320, 120),)  # over midnight
    assert read_hours("Sun 20:00-24:00")[0].days[6] == (Span(1200, 1440),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Mon", "a day without hours"), ("18:00-21:00", "hours without a day"), ("Xyz 9:00-10:00", "no such day"),
        ("Mon 9-12", "no hours from one time to another"), ("Mon 9:00-9:00", "hours that never open"),
        ("Mon 25:00-26:00", "no such hour"), ("Mon 9:60-10:00", "no such hour"),
        ("Mon 9:00-10:00,,Tue 9:00-10:00", "nothing between"),
        ("Mon 9:00-12:00, Mon-Fri 11:00-13:00", "Mon: 9:00-12:00 and 11:00-13:00 overlap"),
        ("Mo 9:00-10:00", "a day without hours"),
        ("Mon 22:00-2:00, Tue 1:00-3:00", "Mon 22:00-2:00 and Tue 1:00-3:00 overlap"),
        ("Mon 1:00-3:00, Sun 22:00-2:00", "Sun 22:00-2:00 and Mon 1:00-3:00 overlap"),
        ("daily 8:00-10:00 22:00-9:00", "Mon 22:00-9:00 and Tue 8:00-10:00 overlap"),
        ("Mon 8:00-18:00 9:00-10:00 17:00-19:00", "Mon: 8:00-18:00 and 17:00-19:00 overlap"),
        ("Mon 9:00-10:00\n", "not plain text"), ("Mon 9:00-10:00, " * 100, "too long"),
    ],
)  # fmt: skip
def test_what_is_no_week_is_refused(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        read_hours(text)


@pytest.mark.parametrize("text", ["Mon 22:00-2:00, Tue 2:00-3:00", "daily 20:00-8:00", "Sun 0:00-24:00, Mon 0:00-5:00"])
def test_hours_that_only_touch_are_hours(text: str) -> None:
    assert read_hours(text)[1] == text


def test_all_that_is_wrong_with_a_line_is_said_at_once_and_each_thing_once() -> None:
    with pytest.raises(Faults) as caught:
        read_hours("Mon 9:00-9:00, Xyz 9:00-10:00, Tue 25:00-26:00, Mon-Fri 8:00-10:00, Mon-Fri 9:00-11:00")
    assert [fault.split(",")[0] for fault in caught.value.faults] == [
        "hours: hours that never open", "hours: no such day", "hours: no such hour",
        "hours: Mon: 8:00-10:00 and 9:00-11:00 overlap; write them as one",
    ]  # fmt: skip
    for read, text in (
        (read_away, "2026-02-30, Christmas"), (read_extra, "2026-02-30 9:00-10:00, 2026-03-01 9-10"),
        (read_crew, "anna: Sat; ben: 9:00"),
    ):  # fmt: skip
        with pytest.raises(Faults) as caught:
            read(text)
        assert len(caught.value.faults) == 2


def test_days_away_and_days_with_hours_of_their_own() -> None:
    days, kept = read_away("2026-12-24..2026-12-26, 2027-01-02")
    assert days == (date(2026, 12, 24), date(2026, 12, 25), date(2026, 12, 26), date(2027, 1, 2))
    assert kept == "2026-12-24..2026-12-26, 2027-01-02"
    extra, kept = read_extra("2026-12-28 9:00-17:00 18:00-19:00")
    assert (extra[0].date, extra[0].spans) == (date(2026, 12, 28), (Span(540, 1020), Span(1080, 1140)))
    assert kept == "2026-12-28 9:00-17:00 18:00-19:00"
    assert read_away("") == ((), "")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2026-12-26..2026-12-24", "ends before it begins"), ("9999-12-31", "a day far away"),
        ("2026-02-30", "no such day"), ("Christmas", "no day"),
        ("2026-12-24..2026-12-26, 2026-12-25", "2026-12-25 stands in two exceptions"),
        ("2026-01-01..2027-12-31", "longer"),
    ],
)  # fmt: skip
def test_exceptions_that_cannot_be(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        read_away(text)


def test_a_day_is_extra_once() -> None:
    with pytest.raises(BadInput, match="2026-12-25 stands there twice"):
        read_extra("2026-12-25 9:00-12:00, 2026-12-25 13:00-14:00")


def test_an_extra_day_does_not_reach_into_the_hours_of_the_next_one() -> None:
    with pytest.raises(BadInput, match="2026-05-01 22:00-3:00 and 2026-05-02 1:00-4:00 overlap"):
        read_extra("2026-05-02 1:00-4:00, 2026-05-01 22:00-3:00")
    assert len(read_extra("2026-05-01 22:00-1:00, 2026-05-02 1:00-4:00, 2026-05-04 0:00-1:00")[0]) == 3


def test_a_crew_together_or_by_name() -> None:
    together, kept = read_crew("Sat 9:00-17:00")
    assert ([member.name for member in together], kept) == ([""], "Sat 9:00-17:00")
    named, kept = read_crew("Anna: Sat 9:00-17:00; ben:Sat-Sun 10:00-14:00")
    assert [member.name for member in named] == ["Anna", "ben"]
    assert kept == "Anna: Sat 9:00-17:00; ben: Sat-Sun 10:00-14:00"


@pytest.mark.parametrize(
    "text", ["anna:", "anna: Sat", "anna: Sat 9:00-10:00; ANNA: Sun 9:00-10:00", "anna: Sat 9:00-10:00;"]
)
def test_a_crew_that_cannot_be(text: str) -> None:
    with pytest.raises(BadInput, match="crew_hours"):
        read_crew(text)
