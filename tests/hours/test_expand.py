"""Windows over weeks, exceptions and clock changes.

Expected instants are written with their offsets, by hand: Berlin is +01:00 until 29 March and from 25 October 2026 on,
+02:00 between; New York is -05:00, and -04:00 from 8 March to 1 November.
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curetrack.errors import BadInput, Faults
from curetrack.hours.expand import Rota
from curetrack.hours.rota import rota_of
from curetrack.hours.text import read_away, read_crew, read_extra, read_hours
from curetrack.hours.together import check_together
from curetrack.hours.windows import ALWAYS, common, covered_h, holds, joined, staffed, without
from curetrack.instants import to_h
from curetrack.settings import Settings

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")


def h(text: str) -> float:
    return to_h(datetime.fromisoformat(text))


def maker(
    hours: str, first: date, days: int, *, away: str = "", extra: str = "", zone: ZoneInfo = BERLIN
) -> list[tuple[float, float]]:
    rota = Rota(zone, read_hours(hours)[0] if hours else None, read_away(away)[0], read_extra(extra)[0])
    return [window for window in rota.maker(first, days) if window[1] > h(f"{first}T00:00+00:00") - 2]


def test_a_week_with_a_holiday_and_an_extra_day() -> None:
    found = maker(
        "Mon-Fri 18:00-21:00, Sat-Sun 8:00-12:00 13:00-18:00", date(2026, 12, 23), 5, away="2026-12-24..2026-12-26",
        extra="2026-12-28 9:00-17:00",
    )  # fmt: skip
    assert found[0] == (h("2026-12-23T18:00+01:00"), h("2026-12-23T21:00+01:00"))
    assert found[1:3] == [
        (h("2026-12-27T08:00+01:00"), h("2026-12-27T12:00+01:00")),
        (h("2026-12-27T13:00+01:00"), h("2026-12-27T18:00+01:00")),
    ]  # fmt: skip
    assert found[3] == (h("2026-12-28T09:00+01:00"), h("2026-12-28T17:00+01:00"))  # a Monday, with hours of its own


@pytest.mark.parametrize(
    ("zone", "day", "start", "end", "hours"),
    [
        (BERLIN, date(2026, 3, 28), "2026-03-28T22:00+01:00", "2026-03-29T06:30+02:00", 7.5),
        (BERLIN, date(2026, 10, 24), "2026-10-24T22:00+02:00", "2026-10-25T06:30+01:00", 9.5),
        (NEW_YORK, date(2026, 3, 7), "2026-03-07T22:00-05:00", "2026-03-08T06:30-04:00", 7.5),
        (NEW_YORK, date(2026, 10, 31), "2026-10-31T22:00-04:00", "2026-11-01T06:30-05:00", 9.5),
    ],
)  # fmt: skip
def test_a_window_over_a_night_in_which_the_clocks_change(
    zone: ZoneInfo, day: date, start: str, end: str, hours: float
) -> None:
    found = maker("daily 22:00-6:30", day, 1, zone=zone)
    assert (h(start), h(end)) in found
    assert h(end) - h(start) == hours


def test_hours_that_the_clocks_skip_begin_when_they_have_jumped_and_doubled_ones_the_first_time() -> None:
    """02:30 does not exist on 29 March (03:30 +02:00 is taken), and comes twice on 25 October (02:30 +02:00 is)."""
    assert (h("2026-03-29T03:30+02:00"), h("2026-03-29T08:00+02:00")) in maker("Sun 2:30-8:00", date(2026, 3, 28), 2)
    assert (h("2026-10-25T02:30+02:00"), h("2026-10-25T08:00+01:00")) in maker("Sun 2:30-8:00", date(2026, 10, 24), 2)


def test_the_same_hour_of_the_wall_on_both_sides_of_a_clock_change() -> None:
    starts = [start for start, _ in maker("daily 18:00-21:00", date(2026, 3, 27), 4)]
    assert starts[:3] == [h("2026-03-27T18:00+01:00"), h("2026-03-28T18:00+01:00"), h("2026-03-29T18:00+02:00")]


def test_only_days_away_leave_any_time_else() -> None:
    found = maker("", date(2026, 12, 20), 10, away="2026-12-24")
    assert not holds(found, h("2026-12-24T12:00+01:00"), h("2026-12-24T12:00+01:00"))
    assert holds(found, h("2026-12-25T03:00+01:00"), h("2026-12-26T03:00+01:00"))


@pytest.mark.parametrize(
    ("away", "until", "since"),
    [
        ("2026-01-14", "2026-01-14T00:00+01:00", "2026-01-15T00:00+01:00"),
        ("2026-01-14..2026-01-20", "2026-01-14T00:00+01:00", "2026-01-21T00:00+01:00"),
        ("2026-03-29", "2026-03-29T00:00+01:00", "2026-03-30T00:00+02:00"),  # a day of 23 hours
        ("2026-10-25", "2026-10-25T00:00+02:00", "2026-10-26T00:00+01:00"),  # and one of 25
        ("2026-10-23..2026-10-24", "2026-10-23T00:00+02:00", "2026-10-25T00:00+02:00"),  # back in the long night
    ],
)
def test_days_away_cut_hours_over_midnight_where_they_begin_and_end(away: str, until: str, since: str) -> None:
    """The night before ends at midnight; of the last one only what lies after midnight is left."""
    first = datetime.fromisoformat(until).date() - timedelta(days=1)
    found = [window for window in maker("daily 22:00-6:00", first, 10, away=away) if window[1] > h(until) - 3]
    assert found[0] == (h(until) - 2.0, h(until))
    assert found[1][0] == h(since)
    assert found[1][1] - h(since) == (7.0 if away.endswith("2026-10-24") else 6.0)
    assert found[2][0] - found[1][1] == 16.0


def test_an_evening_over_midnight_before_a_day_away_ends_at_midnight_also_where_it_was_extra() -> None:
    found = maker("Mon 9:00-12:00", date(2026, 12, 22), 4, away="2026-12-24", extra="2026-12-23 20:00-2:00")
    assert found == [(h("2026-12-23T20:00+01:00"), h("2026-12-24T00:00+01:00"))]


def test_the_crew_is_cut_by_days_away_as_the_maker_is() -> None:
    rota = Rota(BERLIN, None, read_away("2026-01-14")[0], (), None, read_crew("Tue-Wed 22:00-2:00")[0])
    assert rota.crew_for(2, date(2026, 1, 13), 3) == (
        (h("2026-01-13T22:00+01:00"), h("2026-01-14T00:00+01:00")),
        (h("2026-01-15T00:00+01:00"), h("2026-01-15T02:00+01:00")),
    )  # fmt: skip


def test_nothing_set_is_always_and_not_known() -> None:
    assert Rota(BERLIN).maker(date(2026, 1, 1), 3) == ALWAYS
    assert not Rota(BERLIN).known
    assert rota_of(Settings(timezone="Europe/Berlin", quiet_hours="22:00-06:30")).known


def test_people_are_there_when_enough_of_them_are() -> None:
    crew = read_crew("anna: Sat 9:00-17:00; ben: Sat-Sun 10:00-14:00")[0]
    rota, first = Rota(BERLIN, crew=crew), date(2026, 1, 10)  # a Saturday
    assert rota.crew_for(1, first, 2) == ALWAYS
    two, three = rota.crew_for(2, first, 2), rota.crew_for(3, first, 2)
    assert (h("2026-01-10T09:00+01:00"), h("2026-01-10T17:00+01:00")) in two
    assert (h("2026-01-11T10:00+01:00"), h("2026-01-11T14:00+01:00")) in two
    assert three == ((h("2026-01-10T10:00+01:00"), h("2026-01-10T14:00+01:00")),)


def test_windows_are_joined_cut_and_counted() -> None:
    assert joined([(3.0, 4.0), (0.0, 1.0), (1.0, 2.0), (5.0, 5.0)]) == ((0.0, 2.0), (3.0, 4.0))
    assert common([(0.0, 4.0), (6.0, 9.0)], [(3.0, 7.0)]) == ((3.0, 4.0), (6.0, 7.0))
    assert without([(0.0, 10.0)], [(2.0, 3.0), (9.0, 12.0)]) == ((0.0, 2.0), (3.0, 9.0))
    assert staffed([[(0.0, 4.0)], [(3.0, 6.0)]], 2) == ((3.0, 4.0),)
    assert covered_h([(0.0, 2.0), (3.0, 4.0)], 1.0, 3.5) == 1.5


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (Settings(hours="Mon-Fri 18:00-21:00", crew_hours="Sat 9:00-17:00"), "the crew never comes while you work"),
        (Settings(hours="Sat 8:00-18:00", crew_hours="anna: Sat 9:00-10:00; ben: Sun 9:00-10:00"), "ben never comes"),
        (Settings(hours="daily 22:00-6:00", quiet_hours="21:00-07:00"), "all of hours lie in quiet_hours"),
        (Settings(hours="Mon 0:00-5:00", quiet_hours="22:00-07:00"), "all of hours lie in quiet_hours"),
        (Settings(away="2026-12-24", extra="2026-12-24 9:00-10:00"), "2026-12-24 is both away and extra"),
        (
            Settings(away="2026-12-24..2026-12-26", extra="2026-12-25 9:00-10:00, 2026-12-26 9:00-10:00"),
            "2026-12-25, 2026-12-26 are both away and extra",
        ),
    ],
)  # fmt: skip
def test_lines_that_do_not_go_together(settings: Settings, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        check_together(settings)


def test_all_lines_that_do_not_go_together_are_said_at_once() -> None:
    with pytest.raises(Faults) as caught:
        check_together(
            Settings(
                hours="Sat 8:00-9:00", quiet_hours="07:00-10:00", away="2026-12-24", extra="2026-12-24 9:00-10:00",
                crew_hours="anna: Sun 9:00-10:00; ben: Sat 8:00-9:00; carl: Mon 9:00-10:00",
            )
        )  # fmt: skip
    assert [fault.partition(":")[0] for fault in caught.value.faults] == ["away", "hours", "crew_hours", "crew_hours"]


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        ("2:15-2:45", "the clocks skip from 2:00 to 3:00"), ("2:30-3:15", "the clocks skip from 2:00 to 3:00"),
        ("1:00-2:30", "the clocks skip from 2:00 to 3:00"), ("2:00-3:00", "the clocks skip from 2:00 to 3:00"),
    ],
)  # fmt: skip
def test_hours_of_a_day_that_the_clocks_skip_are_refused(extra: str, said: str) -> None:
    """On 2026-03-29 clocks in Berlin go from 2:00 to 3:00 (tz database)."""
    with pytest.raises(BadInput, match=said):
        check_together(Settings(timezone="Europe/Berlin", extra=f"2026-03-29 {extra}"))
    check_together(Settings(timezone="UTC", extra=f"2026-03-29 {extra}"))


@pytest.mark.parametrize("extra", ["1:00-2:00", "2:00-4:00", "1:00-4:00", "3:00-4:00"])
def test_hours_beside_what_the_clocks_skip_are_taken(extra: str) -> None:
    check_together(Settings(timezone="Europe/Berlin", extra=f"2026-03-29 {extra}"))


def test_a_crew_on_an_extra_day_is_a_crew() -> None:
    check_together(Settings(hours="Mon-Fri 18:00-21:00", crew_hours="Sat 9:00-17:00", extra="2026-01-10 8:00-18:00"))


def test_what_began_yesterday_may_still_last() -> None:
    """At one in the night: hours and quiet hours that go over midnight."""
    day = date(2026, 1, 10)
    night = (h("2026-01-09T22:00+01:00"), h("2026-01-10T06:30+01:00"))
    assert Rota(BERLIN, read_hours("daily 22:00-6:30")[0]).maker(day, 1)[0] == night
    assert rota_of(Settings(timezone="Europe/Berlin", quiet_hours="22:00-06:30")).quiet_hours(day, 1)[0] == night


def test_extra_days_beyond_those_that_are_asked_for_are_none() -> None:
    assert maker("Mon-Fri 18:00-21:00", date(2026, 1, 10), 30, extra="2026-06-06 9:00-17:00") == maker(
        "Mon-Fri 18:00-21:00", date(2026, 1, 10), 30
    )
