"""How often a nudge comes. The gaps are common practice, no source; that none is lost or doubled is DESIGN's."""

from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise

from curetrack.facts import NudgeFact
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.due import due
from curetrack.nudge.log import Log
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.quiet import Quiet
from curetrack.timeline.types import Alert, Line
from tests.nudge.lines import T0, hours, line, settle_all, tell, timeline

NEVER = Quiet(UTC)
NIGHT = Quiet(UTC, time(22, 0), time(6, 30))

Seen = Callable[[datetime], Line]


def through(
    seen: Seen, until_h: float, *, every_min: float = 5, quiet: Quiet = NEVER, log: Log | None = None
) -> tuple[list[tuple[float, str]], Log]:
    """Ticks from T0 on; when, in hours, which rung was told. `seen` is the line at a moment."""
    log, came = log or Log(), list[tuple[float, str]]()
    for tick in range(round(until_h * 60 / every_min) + 1):
        now = T0 + timedelta(minutes=tick * every_min)
        piece = timeline(now, seen(now))
        found = due(moments_of(piece, UTC), log, quiet, now, closed=closed_of(piece))
        came += [(round(tick * every_min / 60, 2), nudge.moment.rung) for nudge in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    return came, log


def failed(key: str, now: datetime) -> NudgeFact:
    return NudgeFact(0, key, "failed", "", "bench", "ease", now, now, {"why": "no bus"})


# --- what moves ------------------------------------------------------------------------------------------------------


def test_a_moment_that_shivers_is_told_once_and_stays() -> None:
    """Each reading moves it by some minutes, to and fro over now."""

    def seen(now: datetime) -> Line:
        ready = T0 + timedelta(minutes=7 if round((now - T0).total_seconds() / 300) % 2 else 0)
        state = "ready" if now >= ready else "waiting"
        return line(ready_at=ready, state=state, opened_at=ready if state == "ready" else None, plan_at=max(ready, now))

    came, log = through(seen, 0.5)
    assert came == [(0.0, "ready")]
    assert [told.key for told in log.open_keys] == ["bench/ease/ready"]


def test_a_hold_is_not_said_to_be_open_while_it_is_not() -> None:
    """Even for some minutes: what stands there is taken back, and it is told when it opens."""

    def seen(now: datetime) -> Line:
        opens = T0 if now < hours(0.1) else hours(0.2)
        return line(
            hold=True, opens_at=opens, state="ready" if now >= opens else "waiting", ready_at=T0,
            opened_at=opens if now >= opens else None,
        )  # fmt: skip

    came, _ = through(seen, 0.5, every_min=3)
    assert came == [(0.0, "ready"), (0.2, "ready")]


def test_air_that_comes_and_goes_is_told_less_and_less_often() -> None:
    """Open for 10 minutes of each 20, for 8 hours: no 24 nudges, but one each hour in the end."""

    def seen(now: datetime) -> Line:
        is_open = int((now - T0).total_seconds()) // 600 % 2 == 0
        return line(state="ready" if is_open else "waiting", ready_at=now if is_open else None, plan_at=None,
                    opened_at=now if is_open else None)  # fmt: skip

    came, _ = through(seen, 8)
    assert len(came) <= 11
    assert came[0][0] == 0.0
    assert all(later - sooner >= 1.0 for (sooner, _), (later, _) in pairwise(came[3:]))


def test_one_move_by_hours_is_told_on_the_minute() -> None:
    def seen(now: datetime) -> Line:
        ready = T0 if now < hours(1) else hours(1.5)
        return line(ready_at=ready, state="ready" if now >= ready else "waiting", plan_at=ready,
                    opened_at=ready if now >= ready else None)  # fmt: skip

    came, _ = through(seen, 2.4)
    assert came == [(0.0, "ready"), (1.5, "ready")]


def test_quiet_hours_do_not_take_back_what_stands_there() -> None:
    """A moment that slides with the clock slides into the night; it was told before, and comes again in the morning."""
    came, log = through(lambda now: line(opened_at=now, ready_at=now, plan_at=now), 24, quiet=NIGHT)
    # T0 is 09:00: told, and again after 1, 2, 4 h; 8 h later it is midnight, so at 06:30
    assert came == [(0.0, "ready"), (1.0, "ready"), (3.0, "ready"), (7.0, "ready"), (21.5, "ready")]
    assert [told.attempts for told in log.open_keys] == [5]


def test_a_window_that_has_closed_gets_through_once_and_lets_people_sleep() -> None:
    """It closes at 23:00. That is told, for it ruins the coat; the repeats wait for 06:30."""
    coat = line("coat", kind="coat", state="late", late_at=hours(14), closes="window")

    def seen(now: datetime) -> Line:
        return coat if now > hours(14) else line("coat", kind="coat", late_at=hours(14), closes="window")

    came, _ = through(seen, 23, quiet=NIGHT)
    late = [at for at, rung in came if rung == "late"]
    assert late[0] == 14.0
    assert late[1] == 21.5


def test_in_the_end_a_closed_window_is_told_once_a_day() -> None:
    coat = line("coat", kind="coat", state="late", late_at=T0, closes="window")
    came, _ = through(lambda now: coat, 24 * 9, every_min=10)
    last = [at for at, _ in came][-3:]
    assert [round(later - sooner) for sooner, later in pairwise(last)] == [24, 24]


def test_put_off_by_less_than_a_shiver_comes_back_when_it_was_said() -> None:
    """`later` for five minutes, said in the first: it goes, and comes."""

    def seen(now: datetime) -> Line:
        until = None if now == T0 else hours(0.1)
        return line(put_off_until=until, plan_at=until or now)

    came, _ = through(seen, 0.5, every_min=1)
    assert came == [(0.0, "ready"), (0.1, "ready")]


def test_what_was_told_is_not_said_to_have_been_passed_over() -> None:
    """`over` names what nobody was told of."""
    coat = line("coat", kind="coat", late_at=hours(4), closes="window")
    log, over = Log(), dict[str, tuple[str, ...]]()
    for half in range(9):
        now = hours(half / 2)
        found = due(moments_of(timeline(now, coat), UTC), log, NEVER, now)
        over |= {nudge.moment.rung: nudge.over for nudge in found.nudges}
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert over == {"ready": (), "closing": (), "late": ()}


# --- failures, and clocks that were wrong ----------------------------------------------------------------------------


def test_a_repeat_that_nobody_takes_is_tried_less_and_less_often() -> None:
    """Else a channel that is down is asked at each tick, and each try is written down."""
    log, came = tell(Log(), due(moments_of(timeline(T0, line()), UTC), Log(), NEVER, T0).nudges, T0), []
    for minutes in range(60, 100):
        now = T0 + timedelta(minutes=minutes)
        found = due(moments_of(timeline(now, line()), UTC), log, NEVER, now)
        came += [minutes - 60 for _ in found.nudges]
        log = log.with_facts(failed(nudge.moment.key, now) for nudge in found.nudges)
        assert [pending.at > now for pending in found.pending] == [True] * len(found.pending)
    assert came == [0, 1, 3, 7, 15, 31]
    now = hours(1.7)
    assert due(moments_of(timeline(now, line()), UTC), log, NEVER, now, retry=True).nudges[0].attempt == 2


def test_a_clock_that_was_days_ahead_does_not_silence_what_it_told() -> None:
    """Told in what seemed to be next week; the clock is set right, and it comes again now, then at its gaps."""
    ahead = T0 + timedelta(days=7)
    log = tell(Log(), due(moments_of(timeline(ahead, line()), UTC), Log(), NEVER, ahead).nudges, ahead)
    came, _ = through(lambda now: line(), 4, log=log)
    assert came == [(0.0, "ready"), (2.0, "ready")]


def test_nor_what_nobody_took_while_it_was_wrong() -> None:
    ahead = T0 + timedelta(days=365)
    log = Log().with_facts([failed("bench/ease/ready", ahead)])
    assert len(due(moments_of(timeline(T0, line()), UTC), log, NEVER, T0).nudges) == 1


def test_a_clock_set_back_by_an_hour_doubles_nothing() -> None:
    later = hours(1)
    log = tell(Log(), due(moments_of(timeline(later, line()), UTC), Log(), NEVER, later).nudges, later)
    came, _ = through(lambda now: line(), 0.9, log=log)
    assert came == []


# --- conditions ------------------------------------------------------------------------------------------------------


def test_a_cold_week_is_told_once_a_day_and_not_at_midnight() -> None:
    """The coldest moment lies at 03:00 as long as the night is ahead, and at now by day; so its date jumps."""
    log, came = Log(), []
    for tick in range(4 * 24 * 4):
        now = T0 + timedelta(minutes=15 * tick)
        coldest = now if 9 <= now.hour < 18 else (now + timedelta(hours=6)).replace(hour=3, minute=0)
        cold = Alert("warn", "cold_cure", value=10.0, need=13.0, unit="degC", at=max(now, coldest))
        found = due(conditions_of([timeline(now, alerts=[cold])], UTC), log, NIGHT, now)
        came += [now for _ in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert [at.day for at in came] == [2, 3, 4, 5, 6]
    assert all(6 <= at.hour < 22 for at in came)


def test_told_when_the_night_ends_it_is_not_told_again_when_the_day_begins() -> None:
    """It comes into sight at 02:00, is told at 06:30, and has another date from 08:00 on; another piece is news."""
    start, log = datetime(2026, 3, 3, 2, tzinfo=UTC), Log()
    came = list[tuple[datetime, tuple[str, ...]]]()
    for tick in range(4 * 31):
        now = start + timedelta(minutes=15 * tick)
        cold = Alert("warn", "cold_cure", value=10.0, need=13.0, unit="degC", at=now)
        names = ("bench", "hearth") if now >= start + timedelta(hours=8) else ("bench",)
        pieces = [timeline(now, alerts=[cold], piece=name) for name in names]
        found = due(conditions_of(pieces, UTC), log, NIGHT, now)
        came += [(now, nudge.moment.pieces) for nudge in found.nudges]
        log = settle_all(tell(log, found.nudges, now), found, now)
    assert came == [
        (start + timedelta(hours=4.5), ("bench",)), (start + timedelta(hours=8), ("bench", "hearth")),
        (start + timedelta(hours=30), ("bench", "hearth")),
    ]  # fmt: skip


def test_another_piece_is_told_of_at_once_all_the_same() -> None:
    cold = Alert("warn", "cold_cure", value=10.0, need=13.0, unit="degC", at=T0)
    one, other = timeline(T0, alerts=[cold]), timeline(T0, alerts=[cold], piece="hearth")
    log = tell(Log(), due(conditions_of([one], UTC), Log(), NEVER, T0).nudges, T0)
    assert len(due(conditions_of([one, other], UTC), log, NEVER, hours(0.1)).nudges) == 1
