"""Moments of a step's own time: put off, planned after what is overdue, several rounds, before the pour."""

from datetime import UTC, datetime, timedelta
from typing import Any

from curetrack.nudge.due import due
from curetrack.nudge.log import Log
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.quiet import Quiet
from curetrack.nudge.types import Moment
from curetrack.timeline.types import Line, Reason
from tests.nudge.lines import T0, hours, line, settle_all, tell, timeline

NEVER = Quiet(UTC)


def moments(now: datetime, *lines: Line, **more: Any) -> dict[str, Moment]:
    return {moment.key: moment for moment in moments_of(timeline(now, *lines, **more), UTC)}


def test_a_crew_hears_the_evening_before_the_day_a_lift_was_put_off_to() -> None:
    """Put off on Monday until Wednesday 10:00: the crew is called on Tuesday at 18:00."""
    until = datetime(2026, 3, 4, 10, tzinfo=UTC)
    flip = line("flip", kind="lift", crew=4, put_off_until=until, plan_at=until)
    found = moments(T0, flip)
    assert found["bench/flip/evening/2026-03-04"].at == datetime(2026, 3, 3, 18, tzinfo=UTC)
    assert found["bench/flip/ready"].at == until
    tuesday = datetime(2026, 3, 3, 18, tzinfo=UTC)
    told = due(list(moments(tuesday, flip).values()), Log(), NEVER, tuesday)
    assert [nudge.moment.key for nudge in told.nudges] == ["bench/flip/evening/2026-03-04"]


def test_nobody_calls_a_crew_for_what_waits_for_a_step_forgotten_since_a_day() -> None:
    """However far before the lift it lies; an hour of it is no reason."""
    for opened_h, count in ((-1.0, 1), (-25.0, 0)):
        lines = [
            line("strip", opened_at=hours(opened_h)),
            line("ease", state="waiting", open_to_do=False, waits_for=("strip",), opened_at=None),
            line("flip", kind="lift", state="waiting", open_to_do=False, waits_for=("ease",), crew=4,
                 plan_at=hours(30), opened_at=None),
        ]  # fmt: skip
        assert sum("evening" in key for key in moments(T0, *lines)) == count


def test_a_forgotten_step_beside_it_does_not_matter() -> None:
    lines = [
        line("tile", opened_at=hours(-90)), line("strip", opened_at=hours(-1)),
        line("flip", kind="lift", state="waiting", open_to_do=False, waits_for=("strip",), crew=4, plan_at=hours(30),
             opened_at=None),
    ]  # fmt: skip
    assert "bench/flip/evening/2026-03-03" in moments(T0, *lines)


def test_nor_does_one_that_was_put_off() -> None:
    lines = [
        line("strip", opened_at=hours(-90), put_off_until=hours(20), plan_at=hours(20)),
        line("flip", kind="lift", state="waiting", open_to_do=False, waits_for=("strip",), crew=4, plan_at=hours(30),
             opened_at=None),
    ]  # fmt: skip
    assert "bench/flip/evening/2026-03-03" in moments(T0, *lines)


def test_later_and_a_new_time_the_later_counts() -> None:
    """Put off until 11:00, then a cold reading makes it ready at 14:00; or a warm one at 10:00."""
    waiting: dict[str, Any] = {"state": "waiting", "opened_at": None, "put_off_until": hours(2)}
    assert moments(T0, line(ready_at=hours(5), plan_at=hours(5), **waiting))["bench/ease/ready"].at == hours(5)
    assert moments(T0, line(ready_at=hours(1), plan_at=hours(2), **waiting))["bench/ease/ready"].at == hours(2)


def test_put_off_and_then_moved_away_and_back() -> None:
    """Told, put off, re-timed beyond that, ready: told at each of its moments, once."""
    log, came = Log(), list[tuple[float, str]]()
    for quarter in range(4 * 6):
        at_h = quarter / 4
        ready_h = 0.0 if at_h < 1.5 else 4.0
        put_off = hours(2) if at_h >= 0.25 else None
        is_ready = at_h >= ready_h
        one = line(
            ready_at=hours(ready_h), state="ready" if is_ready else "waiting", put_off_until=put_off,
            opened_at=hours(ready_h) if is_ready else None, plan_at=max(hours(ready_h), put_off or T0),
        )  # fmt: skip
        piece = timeline(hours(at_h), one)
        found = due(moments_of(piece, UTC), log, NEVER, hours(at_h))
        came += [(at_h, f"{nudge.moment.rung} {nudge.attempt}") for nudge in found.nudges]
        log = settle_all(tell(log, found.nudges, hours(at_h)), found, hours(at_h))
    assert came == [(0.0, "ready 1"), (4.0, "ready 1"), (5.0, "ready 2")]


def test_each_round_of_a_step_is_told_for_itself() -> None:
    """A row of mistings: the first done, the second due; what was told of the first is settled."""
    first = line("mist", kind="wet")
    log = tell(Log(), due(moments_of(timeline(T0, first), UTC), Log(), NEVER, T0).nudges, T0)
    done = line("mist", kind="wet", state="done", done_at=hours(1), open_to_do=False)
    second = line("mist.2", kind="wet", round=2, ready_at=hours(9), opened_at=hours(9), plan_at=hours(9))
    piece = timeline(hours(9), done, second)
    found = due(moments_of(piece, UTC), log, NEVER, hours(9), closed=closed_of(piece))
    assert [nudge.moment.key for nudge in found.nudges] == ["bench/mist.2/ready"]
    assert [(one.key, one.how) for one in found.settled] == [("bench/mist/ready", "done")]


def test_undone_after_done_is_told_anew() -> None:
    log = tell(Log(), due(moments_of(timeline(T0, line()), UTC), Log(), NEVER, T0).nudges, T0)
    ticked = timeline(hours(0.5), line(state="done", done_at=hours(0.5), open_to_do=False))
    found = due(moments_of(ticked, UTC), log, NEVER, hours(0.5), closed=closed_of(ticked))
    log = settle_all(log, found, hours(0.5))
    again = due(moments_of(timeline(hours(0.6), line()), UTC), log, NEVER, hours(0.6))
    assert [(nudge.moment.key, nudge.attempt) for nudge in again.nudges] == [("bench/ease/ready", 1)]


def test_done_and_undone_while_nobody_ran_is_no_second_telling() -> None:
    log = tell(Log(), due(moments_of(timeline(T0, line()), UTC), Log(), NEVER, T0).nudges, T0)
    found = due(moments_of(timeline(hours(0.5), line()), UTC), log, NEVER, hours(0.5), absent=True)
    assert (found.nudges, found.settled) == ((), ())


def test_a_piece_that_was_dropped_is_settled_as_gone() -> None:
    log = tell(Log(), due(moments_of(timeline(T0, line()), UTC), Log(), NEVER, T0).nudges, T0)
    dropped = timeline(hours(1), line(), dropped=True)
    found = due(moments_of(dropped, UTC), log, NEVER, hours(1), closed=closed_of(dropped))
    assert [(one.key, one.how) for one in found.settled] == [("bench/ease/ready", "gone")]


def test_moved_while_nobody_ran() -> None:
    """Told at 09:00; the machine slept; readings from the logger have moved it to the afternoon meanwhile."""
    log = tell(Log(), due(moments_of(timeline(T0, line()), UTC), Log(), NEVER, T0).nudges, T0)
    later = line(state="waiting", ready_at=hours(6), plan_at=hours(6), opened_at=None)
    found = due(moments_of(timeline(hours(2), later), UTC), log, NEVER, hours(2), absent=True)
    assert found.nudges == ()
    assert [one.how for one in found.settled] == ["moved"]
    assert [(pending.key, pending.at) for pending in found.pending] == [("bench/ease/ready", hours(6))]


def test_what_frost_or_wax_has_stopped_is_silent() -> None:
    """There the warning speaks, and the step cannot be done."""
    for rule in ("frost", "wax"):
        assert moments(T0, line(state="waiting", reasons=(Reason(rule),))) == {}


def test_the_pour_itself_is_told_and_ruins_nothing_yet() -> None:
    """A planned piece: get ready, pour; nothing is lost if it is poured another day."""
    pour = line("pour", kind="place", state="waiting", crew=2, plan_at=hours(24), ready_at=hours(24), opened_at=None)
    found = moments(T0, pour, poured_at=None, planned_pour_at=hours(24))
    assert {key.split("/")[2]: moment.grade for key, moment in found.items()} == {
        "evening": "info", "soon": "info", "ready": "step",
    }  # fmt: skip
    assert found["bench/pour/soon"].at == hours(24) - timedelta(minutes=30)
