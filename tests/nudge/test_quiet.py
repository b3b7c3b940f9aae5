"""Quiet hours, also on the nights on which the clocks change (case W3 c)."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from curetrack.nudge.due import due
from curetrack.nudge.log import Log
from curetrack.nudge.moments import moments_of
from curetrack.nudge.quiet import Quiet, quiet_of
from curetrack.settings import Settings
from tests.nudge.lines import line, settle_all, tell, timeline

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def test_over_midnight_and_within_a_day() -> None:
    night = Quiet(BERLIN, time(22, 0), time(6, 30))
    assert night.next_open(utc("2026-02-03 21:30")) == utc("2026-02-04 05:30")  # 22:30 local -> 06:30 local (+01:00)
    assert night.next_open(utc("2026-02-04 05:29")) == utc("2026-02-04 05:30")
    assert night.next_open(utc("2026-02-04 05:30")) == utc("2026-02-04 05:30")
    assert not night.holds(utc("2026-02-03 20:59"))
    noon = Quiet(BERLIN, time(12, 0), time(13, 0))
    assert noon.holds(utc("2026-02-04 11:30"))
    assert not noon.holds(utc("2026-02-04 12:00"))
    assert not Quiet(BERLIN).holds(utc("2026-02-04 02:00"))


def test_it_comes_from_the_settings() -> None:
    assert quiet_of(Settings(timezone="Europe/Berlin", quiet_hours="22:00-06:30")) == Quiet(
        BERLIN, time(22, 0), time(6, 30)
    )
    assert quiet_of(Settings(timezone="Europe/Berlin")) == Quiet(BERLIN)


@pytest.mark.parametrize(
    ("zone", "evening", "told"),
    [
        # the case's nights: on 29 March 02:30 does not exist, on 25 October it comes twice
        (BERLIN, "2026-03-28 22:00", "2026-03-29 01:30"),  # 03:30 +02:00
        (BERLIN, "2026-10-24 22:00", "2026-10-25 00:30"),  # 02:30 +02:00
        (NEW_YORK, "2026-03-08 04:00", "2026-03-08 07:30"),  # 03:30 -04:00
        (NEW_YORK, "2026-11-01 04:00", "2026-11-01 07:30"),  # 02:30 -05:00: there the hour from 01:00 comes twice
    ],
)
def test_w3_a_nudge_held_back_over_a_clock_change_comes_once(zone: ZoneInfo, evening: str, told: str) -> None:
    """Every five minutes through the night and the next day."""
    quiet, log, came = Quiet(zone, time(22, 0), time(2, 30)), Log(), []
    since = utc(evening)
    for minutes in range(0, 12 * 60, 5):
        now = datetime.fromtimestamp(since.timestamp() + 60 * minutes, UTC)
        piece = timeline(now, line(opened_at=since, ready_at=since, plan_at=now, floor_at=since))
        found = due(moments_of(piece, zone), log, quiet, now)
        came += [now for nudge in found.nudges if nudge.attempt == 1]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [utc(told)]
