"""The planned moments as every surface shows them: one rounding for all, so that two texts never name two times."""

from datetime import datetime, timedelta

from curetrack.timeline.types import Line, Timeline
from curetrack.words.moments import about, banded
from curetrack.words.voice import Voice

__all__ = ["latest_shown", "plan_shown", "planned_lines", "ready_text"]

VISIT_h = 1.0  # what is planned within so long of the step above it comes as long after it as it really does


def plan_shown(line: Line, plan: datetime) -> datetime:
    """The plan of a line, rounded: as coarse as its band where it is the computed moment itself, to five minutes where
    hours, a crew or the steps before it set it."""
    return about(plan, line.band if plan in (line.ready_at, line.opens_at) else None)


def ready_text(line: Line, voice: Voice) -> str:
    """The computed moment with its band; never after the plan that it allows. "" where it is not known."""
    if line.ready_at is None:
        return ""
    allows = line.plan_at is not None and line.plan_at >= line.ready_at
    at_most = plan_shown(line, line.plan_at) if allows and line.plan_at is not None else None
    return banded(line.ready_at, line.band, voice, at_most)


def latest_shown(line: Line) -> datetime | None:
    """The latest moment, rounded earlier, but never before the plan that it allows; None where there is none, and where
    a step is planned after it all the same that may be left out, or whose cloth keeps until then (a misting)."""
    if line.late_at is None:
        return None
    latest = about(line.late_at, closing=True)
    if line.plan_at is None:
        return latest
    if line.plan_at > line.late_at:
        return None if line.optional or line.closes == "row" else latest
    return max(latest, min(plan_shown(line, line.plan_at), line.late_at))


def planned_lines(timeline: Timeline) -> list[tuple[Line, datetime | None]]:
    """Open steps: late, ready, then by plan; those without one last. Each with its plan as shown, never before the step
    above it; of one visit, as far behind it as it is planned."""

    def key(line: Line) -> tuple[int, float]:
        plan = line.plan_at.timestamp() if line.plan_at else float("inf")
        ahead = line.plan_at is not None and line.plan_at > timeline.now
        return (2 if ahead else {"late": 0, "ready": 1}.get(line.state, 2)), plan

    found: list[tuple[Line, datetime | None]] = []
    last = before = timeline.now
    for line in sorted((line for line in timeline.lines if line.state not in ("done", "skipped")), key=key):
        plan = line.plan_at
        if plan is not None and plan > timeline.now:
            gap, before = plan - before, plan
            least = about(last + gap) if gap <= timedelta(hours=VISIT_h) else last
            plan = last = max(least, plan_shown(line, plan))
        found.append((line, plan))
    return found
