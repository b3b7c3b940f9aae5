"""From a timeline to the moments at which its steps have something to say: past ones and those ahead. Pure.

The leads here (18:00 the evening before, an hour before a lift, half an hour before other work that needs things
ready, an hour before a window closes) are common practice, no source.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo

from msgspec.structs import replace

from curetrack.nudge.types import Grade, How, Kind, Moment, Rung
from curetrack.timeline.leads import CLOSING, evening_before
from curetrack.timeline.types import Line, Timeline

__all__ = ["closed_of", "group_of", "hangs_on_overdue", "moments_of"]

LEADS = {
    "lift": timedelta(minutes=60), "place": timedelta(minutes=30), "fill": timedelta(minutes=30),
    "coat": timedelta(minutes=30), "grind": timedelta(minutes=30),
}  # fmt: skip
TOO_LATE_TO_CALL = timedelta(hours=3)  # and the plan of what waits for an overdue step is always a little ahead of now
AFTER_A_TICK = timedelta(minutes=10)  # so soon after the step before it the tick's own answer has said what comes
APART = timedelta(minutes=30)  # rungs that lie closer together are one
ROW_GRACE = timedelta(minutes=30)  # the next of a row is due and late at the same moment
FORGOTTEN = timedelta(hours=24)  # overdue for so long: nobody knows any more when what comes after it will be done
STOPS = ("frost", "wax")

KINDS: dict[Rung, Kind] = {
    "evening": "coming", "soon": "coming", "look": "ready", "check": "ready", "due": "ready", "ready": "ready",
    "closing": "closing", "late": "late",
}  # fmt: skip


def moments_of(timeline: Timeline, zone: tzinfo) -> list[Moment]:
    """All moments of the open steps of a piece, in the order of its steps."""
    if timeline.dropped:
        return []
    return [moment for line in timeline.lines if _speaks(line) for moment in _of_line(line, timeline, zone)]


def closed_of(timeline: Timeline) -> dict[str, How]:
    """The groups of steps that are done or skipped, and which of it."""
    how: dict[str, How] = {"done": "done", "skipped": "skipped"}
    return {group_of(line): how[line.state] for line in timeline.lines if line.state in how}


def group_of(line: Line) -> str:
    """What all nudges of one step have in common."""
    return f"{line.piece}/{line.step}"


def hangs_on_overdue(line: Line, timeline: Timeline) -> bool:
    """Whether a step before it could have been done since a day: its own plan, always some hours ahead of now, says
    nothing then."""
    lines, seen, rest = {each.step: each for each in timeline.lines}, set[str](), list(line.waits_for)
    while rest:
        step = rest.pop()
        before = lines.get(step)
        if before is None or step in seen:
            continue
        seen.add(step)
        since = max((at for at in (before.opened_at, before.put_off_until) if at is not None), default=None)
        if before.open_to_do and since is not None and since < timeline.now - FORGOTTEN:
            return True
        rest += before.waits_for
    return False


def _speaks(line: Line) -> bool:
    """Open, wanted, and not stopped until something else is done."""
    stopped = bool(line.reasons) and line.reasons[0].rule in STOPS
    return line.state not in ("done", "skipped") and not line.optional and not stopped


def _of_line(line: Line, timeline: Timeline, zone: tzinfo) -> Iterator[Moment]:
    cast = timeline.poured_at is not None
    for rung, at, until, suffix in _rungs(line, timeline.now, zone, cast=cast):
        if rung == "evening" and hangs_on_overdue(line, timeline):
            continue
        moment = Moment(
            key=f"{group_of(line)}/{rung}{suffix}", group=group_of(line), kind=KINDS[rung], rung=rung,
            grade=_grade(line, rung, cast=cast), at=_put_off(line, rung, at), piece=line.piece, step=line.step,
            until=until, hold=line.hold and rung not in ("evening", "soon", "look"), line=line,
        )  # fmt: skip
        yield moment if moment.until is None or moment.until > moment.at else replace(moment, until=moment.at)


Told = tuple[Rung, datetime, datetime | None, str]  # rung, when, pointless from, what the key ends with


def _rungs(line: Line, now: datetime, zone: tzinfo, *, cast: bool) -> Iterator[Told]:
    yield from _coming(line, zone, cast=cast)
    if not line.open_to_do:
        return
    waiting = line.state == "waiting"
    if waiting:
        yield from _looks(line, now)
        yield from _checks(line)
    opens = _opens(line)
    if opens is not None:
        yield "ready", opens, None, ""
    if line.late_at is None:
        return
    if line.closes == "window":
        yield "closing", _closing(line, opens), line.late_at, ""
    yield "late", line.late_at + (ROW_GRACE if line.closes == "row" else timedelta(0)), None, ""


def _coming(line: Line, zone: tzinfo, *, cast: bool) -> Iterator[Told]:
    """Get ready: the evening before for a crew (of a lift, or of the day of the pour), a while before for tools."""
    plan, lead = line.plan_at, LEADS.get(line.kind)
    if plan is None:
        return
    if line.crew > 1 and (line.kind == "lift" or not cast):
        day = plan.astimezone(zone).date()
        yield "evening", evening_before(plan, zone), plan - TOO_LATE_TO_CALL, f"/{day.isoformat()}"
    if lead is not None and line.open_to_do and (line.state == "waiting" or _is_put_off(line)):
        at = plan - lead
        if line.floor_at is None or at >= line.floor_at + AFTER_A_TICK:
            yield "soon", at, plan, ""


def _looks(line: Line, now: datetime) -> Iterator[Told]:
    """The short look that is due, and the next one."""
    if line.look_from is None or not line.look_every_h:
        return
    every = timedelta(hours=line.look_every_h)
    number = max(0, (now - line.look_from) // every)
    for count in (number, number + 1):
        at = line.look_from + count * every
        yield "look", at, at + every, f"/{count + 1}"


def _checks(line: Line) -> Iterator[Told]:
    """A hand check that would open the step: from when it counts, and when the step should be ready."""
    if not line.hold or not line.check or line.check_passed_at is not None:
        return
    start = max((at for at in (line.check_from, line.floor_at) if at is not None), default=None)
    if line.check_from is None or start is None:
        return
    yield "check", start, None, ""
    if line.ready_at is not None and line.ready_at > start + APART:
        yield "due", line.ready_at, None, ""


def _opens(line: Line) -> datetime | None:
    """Since when it can be done, or from when on it will be."""
    if line.state in ("ready", "late"):
        return line.opened_at or line.late_at or line.floor_at
    if line.hold:
        return line.opens_at
    return max((at for at in (line.ready_at, line.floor_at) if at is not None), default=None) if line.ready_at else None


def _closing(line: Line, opens: datetime | None) -> datetime:
    assert line.late_at is not None
    if opens is None or opens >= line.late_at:
        return line.late_at - CLOSING
    return line.late_at - min(CLOSING, (line.late_at - opens) / 2)


def _put_off(line: Line, rung: Rung, at: datetime) -> datetime:
    """`later` moves all but what would ruin the piece, for a window closes when it closes, and the evening before,
    which goes with the plan."""
    if line.put_off_until is None or rung in ("evening", "closing") or (rung == "late" and line.closes == "window"):
        return at
    return max(at, line.put_off_until)


def _is_put_off(line: Line) -> bool:
    return line.put_off_until is not None and line.plan_at is not None and line.plan_at == line.put_off_until


def _grade(line: Line, rung: Rung, *, cast: bool) -> Grade:
    """Fresh concrete does not wait, and a window that has closed stays closed."""
    if cast and line.kind == "place" and rung not in ("evening", "soon"):
        return "ruin"
    if cast and rung in ("closing", "late") and line.closes == "window":
        return "ruin"
    return "info" if rung in ("evening", "soon", "look") else "step"
