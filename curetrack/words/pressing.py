"""Which steps come next, over all pieces, the most pressing first. Every surface shows them in this order."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from curetrack.timeline.types import Line, Timeline

__all__ = ["Pressing", "next_lines", "next_of", "pressing_key"]

AHEAD = timedelta(hours=24)

# group, optional, when, waits for another step, latest moment
Pressing = tuple[int, bool, float, bool, float]


def next_lines(timelines: Iterable[Timeline]) -> list[Line]:
    """What is late or ready, what is planned within a day, and at least the next step of each piece."""
    found = [keyed for timeline in timelines for keyed in _next_of(timeline)]
    return [line for _, line in sorted(found, key=_key)]


def next_of(timeline: Timeline) -> list[Line]:
    """The same for one piece, the most pressing first."""
    return [line for _, line in _next_of(timeline)]


def _next_of(timeline: Timeline) -> list[tuple[Pressing, Line]]:
    now = timeline.now
    opened = [line for line in timeline.lines if line.state not in ("done", "skipped")]
    keyed = sorted(((pressing_key(line, now), line) for line in opened), key=_key)
    shown = [(key, line) for key, line in keyed if _is_next(line, now)]
    if not any(not line.optional for _, line in shown):
        shown += [(key, line) for key, line in keyed if not line.optional and not _is_next(line, now)][:1]
    return shown


def _key(keyed: tuple[Pressing, Line]) -> Pressing:
    return keyed[0]


def pressing_key(line: Line, now: datetime) -> Pressing:
    """Late ones by how long; ready ones by when their window closes; then what can be looked at; then by plan."""
    late, plan, look = _seconds(line.late_at), _seconds(line.plan_at), _seconds(line.check_from)
    if line.state == "late":
        return 0, line.optional, late, False, plan
    if line.state == "ready" and not _put_off(line, now):
        return 1, line.optional, late, False, plan
    if line.open_to_do and line.ready_at is None and line.plan_at is None:
        return 2, line.optional, late, False, plan
    first = min(plan, max(look, now.timestamp())) if line.open_to_do else plan
    return 3, line.optional, first, not line.open_to_do, late


def _is_next(line: Line, now: datetime) -> bool:
    if line.optional and line.closes == "window" and line.late_at is not None and line.late_at < now:
        return False  # it could be left out, and now it is past
    if line.state == "late" or (line.state == "ready" and not _put_off(line, now)):
        return True
    if line.optional and not line.open_to_do:
        return False
    if line.open_to_do and line.check_from is not None and line.check_from <= now + AHEAD:
        return True
    return line.plan_at is not None and line.plan_at <= now + AHEAD


def _put_off(line: Line, now: datetime) -> bool:
    return line.plan_at is not None and line.plan_at > now + timedelta(minutes=1)


def _seconds(at: datetime | None) -> float:
    return float("inf") if at is None else at.timestamp()
