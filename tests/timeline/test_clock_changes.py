"""Acceptance case W3: nights on which clocks change, in two zones and both directions. Durations are elapsed time."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curetrack.climate.course import build_course
from curetrack.facts import DayRange, Event, Forecast, Piece, Reading
from curetrack.instants import to_h
from curetrack.timeline.solve import solve
from curetrack.timeline.types import Line
from tests.timeline.making import TOP, line, profile, step
from tests.timeline.oracle import hyperbola_h

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
# pour at 20:00 local, 20 degC, strip at 24 eq h: zone, pour, what the clock then shows, hours to UTC
NIGHTS = [
    (zone, datetime.fromisoformat(pour), datetime.fromisoformat(shown), offset_h)
    for zone, pour, shown, offset_h in (
        (BERLIN, "2026-03-28T20:00", "2026-03-29T21:00", 2),
        (BERLIN, "2026-10-24T20:00", "2026-10-25T19:00", 1),
        (NEW_YORK, "2026-03-07T20:00", "2026-03-08T21:00", -4),
        (NEW_YORK, "2026-10-31T20:00", "2026-11-01T19:00", -5),
    )
]
STEPS = (
    step("strip", 'not_before = { maturity = "24 h" }')
    + step("aged", 'not_before = { age = "24 h" }\nno_later = { age = "24 h" }')
    + step("cover")
    + step("waited", 'not_before = { wait = "24 h" }', after="cover")
    + step("mist", 'during = ["cover", "waited"]\nevery = "24 h"', after="")
    + step("strong", 'not_before = { strength = "4.6 MPa" }')
    + step("dried", 'not_before = { drying = "24 h" }')
    + step("book", 'before = "later-on"\nlead = "24 h"')
    + step("later-on", 'not_before = { age = "48 h" }')
    + step("seal", 'coats = 2\nrecoat = { from = "24 h", to = "25 h" }', kind="coat")
)


def solved_over(zone: ZoneInfo, pour: datetime, **more: object) -> list[Line]:
    at = pour.replace(tzinfo=zone)
    start_h = to_h(at)
    readings = [Reading(start_h + k, 20.0, 50.0, **more) for k in range(-30, 200)]
    facts = [Event(1, "top", "pour", at, at)]
    facts += [Event(2 + k, "top", "done", at, at, step=name) for k, name in enumerate(("cover", "mist", "seal-1"))]
    piece = Piece("top", TOP, "test", "sha", at - timedelta(days=1))
    now = (at.astimezone(UTC) + timedelta(hours=1)).astimezone(zone)
    return list(solve(piece, profile(STEPS), facts, build_course(readings, None, zone), now).lines)


@pytest.mark.parametrize(("zone", "pour", "shown", "offset_h"), NIGHTS)
def test_every_clock_runs_24_elapsed_hours_through_the_change(
    zone: ZoneInfo, pour: datetime, shown: datetime, offset_h: int
) -> None:
    lines = {one.step: one for one in solved_over(zone, pour)}
    for name in ("strip", "aged", "waited", "mist.2", "dried", "seal-2"):
        moment = lines[name].ready_at
        assert moment is not None
        local = moment.astimezone(zone)
        assert (local.replace(tzinfo=None), local.utcoffset()) == (shown, timedelta(hours=offset_h)), name
    strong = lines["strong"].ready_at
    assert strong is not None
    elapsed = strong.astimezone(UTC) - pour.replace(tzinfo=zone).astimezone(UTC)
    assert elapsed / timedelta(hours=1) == pytest.approx(
        hyperbola_h(4.6), abs=0.001
    )  # common practice: 4.6 MPa at 24 eq h


@pytest.mark.parametrize(("zone", "pour", "shown", "offset_h"), NIGHTS)
def test_the_latest_moments_run_elapsed_hours_too(
    zone: ZoneInfo, pour: datetime, shown: datetime, offset_h: int
) -> None:
    lines = {one.step: one for one in solved_over(zone, pour)}
    for name in ("aged", "mist.2", "book"):
        late = lines[name].late_at
        assert late is not None
        assert late.astimezone(zone).replace(tzinfo=None) == shown, name
    closes = lines["seal-2"].late_at
    assert closes is not None
    assert closes.astimezone(zone).replace(tzinfo=None) == shown + timedelta(hours=1)


@pytest.mark.parametrize(("zone", "pour"), [(zone, pour) for zone, pour, _, _ in NIGHTS])
def test_the_zone_in_which_the_facts_are_written_changes_nothing(zone: ZoneInfo, pour: datetime) -> None:
    in_utc = pour.replace(tzinfo=zone).astimezone(UTC).replace(tzinfo=None)
    assert solved_over(zone, pour) == solved_over(ZoneInfo("UTC"), in_utc)


@pytest.mark.parametrize(("zone", "pour"), [(zone, pour) for zone, pour, _, _ in NIGHTS])
def test_states_turn_at_the_elapsed_moment(zone: ZoneInfo, pour: datetime) -> None:
    at = pour.replace(tzinfo=zone)
    course = build_course([Reading(to_h(at) + k, 20.0) for k in range(-30, 200)], None, zone)
    piece, made = Piece("top", TOP, "test", "sha", at - timedelta(days=1)), profile(STEPS)
    for gap, expected in ((-1, "waiting"), (1, "ready")):
        now = (at.astimezone(UTC) + timedelta(hours=24, minutes=gap)).astimezone(zone)
        assert line(solve(piece, made, [Event(1, "top", "pour", at, at)], course, now), "strip").state == expected


def test_the_hour_that_comes_twice_is_two_hours() -> None:
    # Berlin, 25 Oct 2026: 02:30 comes at +02:00 and, an hour later, at +01:00
    first = datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN)
    lines = [
        line(_aged(first.replace(fold=fold)), "aged").ready_at
        for fold in (0, 1)
    ]  # fmt: skip
    assert lines[0] is not None
    assert lines[1] is not None
    assert lines[1] - lines[0] == timedelta(hours=1)


def _aged(at: datetime):
    course = build_course([Reading(to_h(at), 20.0)], None, BERLIN)
    piece = Piece("top", TOP, "test", "sha", at - timedelta(days=1))
    return solve(piece, profile(STEPS), [Event(1, "top", "pour", at, at)], course, at.astimezone(UTC))


def test_a_day_of_forecast_has_its_low_at_six_by_the_local_clock_on_both_sides() -> None:
    # the coldest hour of 28 Mar and of 29 Mar (a day of 23 h) in Berlin, low 4 degC: no coat before it is over 10 degC
    at = datetime(2026, 3, 28, 0, tzinfo=BERLIN)
    forecast = Forecast("days", to_h(at), days=(DayRange(0, 4.0, 16.0), DayRange(1, 4.0, 16.0)))
    course = build_course([], forecast, BERLIN)
    for day in (28, 29):
        low = to_h(datetime(2026, 3, day, 6, tzinfo=BERLIN))
        assert course.temp_degC(low) == pytest.approx(4.0)
        assert course.temp_degC(low - 1.0) > 4.0 < course.temp_degC(low + 1.0)
