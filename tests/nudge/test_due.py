"""What is due: rungs, repeats, settling, order, conditions; each for one reason."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from curetrack.facts import NudgeFact
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.due import due
from curetrack.nudge.log import Log, read_log
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.parcels import parcels
from curetrack.nudge.quiet import Quiet
from curetrack.nudge.types import Due, Moment
from curetrack.timeline.types import Alert, Line
from tests.nudge.lines import T0, hours, line, settle_all, tell, timeline

NEVER = Quiet(UTC)


def ask(
    log: Log, now: datetime, *lines: Line, alerts: Sequence[Alert] = (), absent: bool = False, retry: bool = False
) -> Due:
    """What is due of one piece with these lines."""
    piece = timeline(now, *lines, alerts=alerts)
    moments = [*moments_of(piece, UTC), *conditions_of([piece], UTC)]
    return due(moments, log, NEVER, now, closed=closed_of(piece), absent=absent, retry=retry)


def told(found: Due) -> list[str]:
    return [nudge.moment.key for nudge in found.nudges]


def rungs(now: datetime, one: Line) -> dict[str, Moment]:
    return {moment.rung: moment for moment in moments_of(timeline(now, one), UTC)}


# --- the rungs of a step -------------------------------------------------------------------------------------------


def test_a_lift_has_an_evening_and_an_hour() -> None:
    """18:00 the day before, and an hour before: common practice, no source."""
    flip = line("flip", kind="lift", state="waiting", crew=4, plan_at=hours(24), ready_at=hours(24), opened_at=None)
    found = rungs(T0, flip)
    assert found["evening"].at == datetime(2026, 3, 2, 18, tzinfo=UTC)  # it is planned on the 3rd at 09:00
    assert found["evening"].key == "bench/flip/evening/2026-03-03"
    assert found["soon"].at == hours(23)
    assert found["ready"].at == hours(24)


def test_no_evening_for_what_waits_for_an_overdue_step() -> None:
    """Its plan is always a little ahead of now, and falls on the next day just before midnight."""
    now = datetime(2026, 3, 2, 23, 50, tzinfo=UTC)
    flip = line("flip", kind="lift", state="waiting", crew=4, plan_at=now + timedelta(minutes=30), open_to_do=False)
    assert told(ask(Log(), now, flip)) == []


def test_a_hold_with_a_check_speaks_when_the_check_counts_and_when_it_should_be_ready() -> None:
    strip = line(
        "strip", state="waiting", hold=True, check="A coin.", check_from=hours(2), ready_at=hours(5), opens_at=hours(9),
        opened_at=None,
    )  # fmt: skip
    found = rungs(T0, strip)
    assert {rung: moment.at for rung, moment in found.items()} == {
        "check": hours(2), "due": hours(5), "ready": hours(9),
    }  # fmt: skip
    assert found["check"].hold


def test_a_check_of_which_nothing_is_known_counts_at_once() -> None:
    tile = line(
        "tile", state="waiting", hold=True, check="Dry?", ready_at=None, plan_at=None, check_from=T0, opened_at=None
    )
    assert told(ask(Log(), T0, tile)) == ["bench/tile/check"]


def test_looks_come_one_after_another_until_it_is_ready() -> None:
    trowel = line(
        "trowel", kind="place", state="waiting", look_from=hours(1), look_every_h=0.25, ready_at=hours(2),
        plan_at=hours(2), opened_at=None, floor_at=hours(0),
    )  # fmt: skip
    log, came = Log(), []
    for minutes in range(60, 120, 5):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, trowel)
        came += [(key, minutes) for key in told(found) if "/look/" in key]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [(f"bench/trowel/look/{n}", 60 + 15 * (n - 1)) for n in (1, 2, 3, 4)]


def test_an_hour_before_a_window_closes() -> None:
    """Case S3: 60 min before closing."""
    coat = line("coat", kind="coat", late_at=hours(4), closes="window")
    assert rungs(T0, coat)["closing"].at == hours(3)
    short = line("coat", kind="coat", late_at=hours(1), closes="window")
    assert rungs(T0, short)["closing"].at == hours(0.5)  # half of a short one
    assert rungs(T0, coat)["late"].grade == "ruin"


def test_a_step_that_is_planned_or_optional_or_done_is_silent() -> None:
    silent = [
        line("a", state="waiting", open_to_do=False, plan_at=hours(1), opened_at=None), line("b", optional=True),
        line("c", state="done", done_at=T0, open_to_do=False), line("d", state="skipped", open_to_do=False),
    ]  # fmt: skip
    assert told(ask(Log(), hours(3), *silent)) == []


def test_a_dropped_piece_is_silent() -> None:
    assert moments_of(timeline(T0, line(), dropped=True), UTC) == []


# --- told once, then again and again, less and less ------------------------------------------------------------------


def test_it_is_told_once_then_after_one_hour_two_four() -> None:
    log, came = Log(), []
    for minutes in range(0, 16 * 60, 5):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, line())
        came += [(minutes / 60, nudge.attempt) for nudge in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [(0, 1), (1, 2), (3, 3), (7, 4), (15, 5)]


def test_fresh_concrete_comes_again_sooner() -> None:
    log, came = Log(), []
    for minutes in range(0, 80, 5):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, line("float", kind="place"))
        came += [minutes for _ in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [0, 10, 30, 70]


def test_what_moved_away_is_settled_and_told_anew_when_it_comes() -> None:
    log = tell(Log(), ask(Log(), T0, line()).nudges, T0)
    later = line(state="waiting", ready_at=hours(5), plan_at=hours(5), opened_at=None)
    found = ask(log, hours(0.5), later)
    assert [(one.key, one.how) for one in found.settled] == [("bench/ease/ready", "moved")]
    log = settle_all(log, found, hours(0.5))
    again = ask(log, hours(5), line(ready_at=hours(5), opened_at=hours(5)))
    assert [(nudge.moment.key, nudge.attempt) for nudge in again.nudges] == [("bench/ease/ready", 1)]


def test_a_moment_that_slides_with_the_clock_is_told_once() -> None:
    """Rules of the air are asked from now on: it seems to have opened just now, each time."""
    log, count = Log(), 0
    for minutes in range(0, 55, 5):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, line(opened_at=now, ready_at=now))
        count += len(found.nudges)
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert count == 1


def test_put_off_comes_back_when_it_was_said() -> None:
    log = tell(Log(), ask(Log(), T0, line()).nudges, T0)
    put_off = line(put_off_until=hours(2), plan_at=hours(2))
    found = ask(log, hours(0.1), put_off)
    assert [one.how for one in found.settled] == ["put-off"]
    assert [(p.key, p.at) for p in found.pending] == [("bench/ease/ready", hours(2))]
    log = settle_all(log, found, hours(0.1))
    assert told(ask(log, hours(2), put_off)) == ["bench/ease/ready"]


def test_a_closing_window_is_not_put_off() -> None:
    coat = line("coat", kind="coat", late_at=hours(2), closes="window", put_off_until=hours(9), plan_at=hours(9))
    assert told(ask(Log(), hours(1.5), coat)) == ["bench/coat/closing"]


@pytest.mark.parametrize(("state", "how"), [("done", "done"), ("skipped", "skipped")])
def test_done_or_skipped_elsewhere_settles(state: str, how: str) -> None:
    log = tell(Log(), ask(Log(), T0, line()).nudges, T0)
    found = ask(log, hours(1), line(state=state, open_to_do=False, done_at=hours(1)))
    assert [(one.key, one.how) for one in found.settled] == [("bench/ease/ready", how)]


def test_a_step_that_is_no_more_is_gone() -> None:
    log = tell(Log(), ask(Log(), T0, line()).nudges, T0)
    assert [one.how for one in ask(log, hours(1)).settled] == ["gone"]


def test_a_higher_rung_takes_the_place_of_the_lower() -> None:
    coat = line("coat", kind="coat", late_at=hours(4), closes="window")
    log = tell(Log(), ask(Log(), T0, coat).nudges, T0)
    found = ask(log, hours(3), coat)
    assert told(found) == ["bench/coat/closing"]
    assert [(one.key, one.how) for one in found.settled] == [("bench/coat/ready", "superseded")]


def test_seen_comes_no_more() -> None:
    log = tell(Log(), ask(Log(), T0, line()).nudges, T0)
    log = log.with_facts([NudgeFact(0, "bench/ease/ready", "answered", "", "", "", T0, T0, {"how": "seen"})])
    found = ask(log, hours(9), line())
    assert told(found) == []
    assert found.waiting == ()
    assert found.settled == ()


# --- crashes, failures, absences -------------------------------------------------------------------------------------


def test_in_flight_at_a_crash_comes_again_under_its_key() -> None:
    (nudge,) = ask(Log(), T0, line()).nudges
    intent = NudgeFact(1, nudge.moment.key, "intent", "desktop", "bench", "ease", T0, T0, {"attempt": 1})
    assert told(ask(read_log([intent]), hours(0.1), line())) == ["bench/ease/ready"]


def test_what_nobody_took_is_tried_after_one_two_four_minutes() -> None:
    log, came = Log(), []
    for minutes in range(40):
        now = T0 + timedelta(minutes=minutes)
        for nudge in ask(log, now, line()).nudges:
            came.append(minutes)
            fact = NudgeFact(0, nudge.moment.key, "failed", "", "bench", "ease", now, now, {"why": "no bus"})
            log = log.with_facts([fact])
    assert came == [0, 1, 3, 7, 15, 31]
    assert [told.why for told in log.undelivered] == ["no bus"]
    assert told(ask(log, hours(0.6), line(), retry=True)) == ["bench/ease/ready"]  # a channel came up


def test_after_an_absence_what_was_missed_says_so_and_names_what_it_stands_for() -> None:
    coat = line("coat", kind="coat", late_at=hours(4), closes="window")
    (nudge,) = ask(Log(), hours(5), coat, absent=True).nudges
    assert nudge.moment.key == "bench/coat/late"
    assert nudge.missed
    assert nudge.over == ("bench/coat/ready", "bench/coat/closing")
    assert not ask(Log(), hours(5), coat).nudges[0].missed


def test_two_after_an_absence_are_one_card_and_three_always_are() -> None:
    two = ask(Log(), hours(1), line("a"), line("b"))
    assert len(parcels(two, hours(1), absent=False)) == 2
    (digest,) = parcels(two, hours(1), absent=True)
    assert digest.key == "digest/2026-03-02T10:00:00Z"
    three = ask(Log(), hours(1), line("a"), line("b"), line("c"))
    assert len(parcels(three, hours(1), absent=False)) == 1


def test_the_order_of_a_digest() -> None:
    """Case W1, and what would ruin a piece before all."""
    lines = [
        line("look", opened_at=hours(-9)), line("mist", state="late", late_at=hours(-2), closes="row"),
        line("strip", hold=True, opened_at=hours(-1)), line("trowel", kind="place", opened_at=hours(0)),
        line("flip", kind="lift", state="waiting", crew=4, plan_at=hours(20), ready_at=hours(20), opened_at=None),
    ]  # fmt: skip
    found = ask(Log(), hours(9.5), *lines, absent=True)
    steps = [nudge.moment.step for nudge in found.nudges]
    assert steps == ["trowel", "mist", "strip", "look", "flip"]


# --- conditions ------------------------------------------------------------------------------------------------------

FROST = Alert("warn", "frost", value=-4.0, need=0.0, unit="degC", at=datetime(2026, 3, 3, 4, tzinfo=UTC))


def test_a_frost_is_told_when_it_comes_into_sight_and_at_eight_in_the_evening() -> None:
    """Case C2: at 20:00 an evening alarm to cover and warm."""
    log, came = Log(), []
    for minutes in range(0, 14 * 60, 30):
        now = T0 + timedelta(minutes=minutes)
        found = ask(log, now, alerts=[FROST])
        came += [(nudge.moment.key, now.hour) for nudge in found.nudges if nudge.attempt == 1]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [("frost/2026-03-03", 9), ("frost/2026-03-03/night", 20)]


def test_one_condition_over_all_pieces_is_one_nudge_and_a_new_piece_is_told() -> None:
    one, other = timeline(T0, alerts=[FROST]), timeline(T0, alerts=[FROST], piece="hearth")
    moments = conditions_of([one, other], UTC)
    assert {moment.pieces for moment in moments} == {("bench", "hearth")}
    log = tell(Log(), due(conditions_of([one], UTC), Log(), NEVER, T0).nudges, T0)
    assert told(due(conditions_of([one], UTC), log, NEVER, hours(0.1))) == []
    assert told(due(moments, log, NEVER, hours(0.1))) == ["frost/2026-03-03"]


def test_a_condition_that_comes_and_goes_is_told_once_in_six_hours() -> None:
    log = tell(Log(), ask(Log(), T0, alerts=[FROST]).nudges, T0)
    gone = ask(log, hours(1))
    assert gone.settled == ()
    assert told(ask(settle_all(log, gone, hours(1)), hours(2), alerts=[FROST])) == []
    assert [one.how for one in ask(log, hours(7)).settled] == ["gone"]


def test_frost_and_a_drying_face_get_through_at_night() -> None:
    act = Alert("warn", "evaporation", value=1.1, need=1.0, unit="kg/m2/h")
    watch = Alert("warn", "evaporation", value=0.6, need=0.5, unit="kg/m2/h")
    grades = {
        a.rule + str(a.value): conditions_of([timeline(T0, alerts=[a])], UTC)[0].grade for a in (FROST, act, watch)
    }
    assert grades == {"frost-4.0": "ruin", "evaporation1.1": "ruin", "evaporation0.6": "step"}


def test_hints_and_overrides_are_no_nudges() -> None:
    quiet = [
        Alert("hint", "cold_water", value=20.0),
        Alert("hint", "override", subject="why", step="strip"),
        Alert("hint", "gap"),
    ]
    assert conditions_of([timeline(T0, alerts=quiet)], UTC) == []
