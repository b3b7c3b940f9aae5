"""Conditions: which day and night they belong to, growth, several pieces. What is told of frost is case C2's."""

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from curetrack.facts import NudgeFact
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.due import due
from curetrack.nudge.log import Log
from curetrack.nudge.quiet import Quiet
from curetrack.nudge.types import Due
from curetrack.timeline.types import Alert, Timeline
from tests.nudge.lines import T0, hours, line, settle_all, tell, timeline

BERLIN = ZoneInfo("Europe/Berlin")
NEVER, NIGHT = Quiet(UTC), Quiet(UTC, time(22, 0), time(6, 30))


def frost(at: datetime, *, subject: str = "") -> Alert:
    return Alert("hold", "frost", value=-4.0, need=0.0, unit="degC", at=at, subject=subject)


def evaporation(rate: float) -> Alert:
    return Alert("warn", "evaporation", value=rate, need=0.5, unit="kg/m2/h", at=T0)


def ask(log: Log, now: datetime, *pieces: Timeline, quiet: Quiet = NEVER) -> Due:
    return due(conditions_of(pieces, UTC), log, quiet, now)


def keys(found: Due) -> list[str]:
    return [nudge.moment.key for nudge in found.nudges]


def seen(log: Log, key: str, now: datetime) -> Log:
    return log.with_facts([NudgeFact(0, key, "answered", "", "", "", now, now, {"how": "seen"})])


def groups(local: Sequence[str], rule: str = "frost") -> set[str]:
    times = [datetime.fromisoformat(text).replace(tzinfo=BERLIN).astimezone(UTC) for text in local]
    made = [Alert("warn", rule, value=1.0, at=at) for at in times]
    return {moment.group for each in made for moment in conditions_of([timeline(T0, alerts=[each])], BERLIN)}


def test_one_night_of_frost_is_one_however_its_first_hour_moves() -> None:
    """Forecasts move it over midnight; it has the date of the morning."""
    assert groups(["2026-03-02 21:00", "2026-03-02 23:50", "2026-03-03 00:10", "2026-03-03 11:00"]) == {
        "frost/2026-03-03"
    }
    assert groups(["2026-03-03 21:00"]) == {"frost/2026-03-04"}


def test_a_day_begins_in_the_morning() -> None:
    assert groups(["2026-03-02 08:00", "2026-03-02 23:50", "2026-03-03 07:00"], "cold_cure") == {"cold_cure/2026-03-02"}
    assert groups(["2026-03-03 08:00"], "cold_cure") == {"cold_cure/2026-03-03"}


def test_a_frost_that_has_come_is_no_second_one() -> None:
    """Known at 09:00, told again at 20:00, here from 04:00 on: nothing is told anew then."""
    log, first = Log(), list[str]()
    for minutes in range(0, 26 * 60, 15):
        now = T0 + timedelta(minutes=minutes)
        came = max(datetime(2026, 3, 3, 4, tzinfo=UTC), now)  # it goes on: from the last reading on it is below zero
        found = ask(log, now, timeline(now, alerts=[frost(came)]))
        first += [nudge.moment.key for nudge in found.nudges if nudge.attempt == 1]
        log = settle_all(tell(log, found.nudges, now), found, now)
        if now.hour == 11 and now.day == 3:
            break
    assert first == ["frost/2026-03-03", "frost/2026-03-03/night"]


def test_a_frost_of_the_day_after_tomorrow_repeats_by_day_only() -> None:
    log, came = Log(), list[datetime]()
    for minutes in range(0, 22 * 60, 15):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, timeline(now, alerts=[frost(hours(60))]), quiet=NIGHT)
        came += [now for _ in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [T0, hours(3), hours(9), hours(21.5)]  # 12 h after 18:00 it is quiet until 06:30


def test_one_that_comes_into_sight_at_night_gets_through() -> None:
    now = datetime(2026, 3, 2, 23, tzinfo=UTC)
    assert keys(ask(Log(), now, timeline(now, alerts=[frost(now + timedelta(hours=4))]), quiet=NIGHT)) == [
        "frost/2026-03-03/night"
    ]


@pytest.mark.parametrize("was_seen", [False, True])
def test_what_was_worth_a_look_and_now_ruins_is_told_at_once(was_seen: bool) -> None:
    """A face that dries at 0.6 kg/m2/h, and at 1.1 soon after; FHWA's steps of caution and action (alerts.py)."""
    key = "evaporation/2026-03-02"
    log = tell(Log(), ask(Log(), T0, timeline(T0, alerts=[evaporation(0.6)])).nudges, T0)
    log = seen(log, key, T0) if was_seen else log
    assert keys(ask(log, hours(0.2), timeline(hours(0.2), alerts=[evaporation(0.7)]))) == []
    found = ask(log, hours(0.3), timeline(hours(0.3), alerts=[evaporation(1.1)]))
    assert keys(found) == [key]
    log = tell(log, found.nudges, hours(0.3))
    assert [told.seen for told in log.open_keys] == [False]
    assert keys(ask(log, hours(0.4), timeline(hours(0.4), alerts=[evaporation(0.9)]))) == []  # it falls again
    assert keys(ask(log, hours(0.5), timeline(hours(0.5), alerts=[evaporation(1.2)]))) == []  # and rises


def test_another_piece_is_told_of_though_the_first_was_seen() -> None:
    alert = frost(hours(60))
    one, other = timeline(T0, alerts=[alert]), timeline(T0, alerts=[alert], piece="hearth")
    log = seen(tell(Log(), ask(Log(), T0, one).nudges, T0), "frost/2026-03-05", T0)
    found = ask(log, hours(0.1), one, other)
    assert keys(found) == ["frost/2026-03-05"]
    log = tell(log, found.nudges, hours(0.1))
    after = ask(log, hours(0.2), one, other)
    assert after.nudges == ()
    assert [moment.pieces for moment in after.waiting] == [("bench", "hearth")]  # it is unseen again


def test_a_piece_less_is_no_news() -> None:
    alert = frost(hours(60))
    one, other = timeline(T0, alerts=[alert]), timeline(T0, alerts=[alert], piece="hearth")
    log = tell(Log(), ask(Log(), T0, one, other).nudges, T0)
    found = ask(log, hours(0.1), one, timeline(hours(0.1), alerts=[alert], piece="hearth", dropped=True))
    assert (found.nudges, found.settled) == ((), ())


def test_what_a_second_channel_took_later_does_not_undo_that_it_was_seen() -> None:
    """The maker reads it on the desktop while the mail is still under way."""
    (nudge,) = ask(Log(), T0, timeline(T0, alerts=[frost(hours(60))])).nudges
    log = seen(tell(Log(), [nudge], T0), nudge.moment.key, T0)
    log = tell(log, [nudge], hours(0.01))
    assert [told.seen for told in log.open_keys] == [True]


def test_no_clash_of_a_piece_that_was_left_alone() -> None:
    """What comes after a step that could have been done since a day is planned a little ahead of now, for ever."""
    clash = Alert("warn", "clash", at=hours(30), step="trowel")
    for opened_h, count in ((0.0, 1), (-24.5, 0)):
        lines = [
            line("screed", opened_at=hours(opened_h)),
            line("trowel", state="waiting", open_to_do=False, waits_for=("screed",), opened_at=None),
        ]
        assert len(conditions_of([timeline(T0, *lines, alerts=[clash])], UTC)) == count
