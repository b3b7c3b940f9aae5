"""The planned moments as every surface shows them: one rounding for all, so that two texts never name two times."""

from datetime import datetime

from curetrack.timeline.types import Line, Timeline
from curetrack.words.moments import about

__all__ = ["latest_shown", "plan_shown", "planned_lines"]


def plan_shown(line: Line, plan: datetime) -> datetime:
    """The plan of a line, rounded: as coarse as its band where it is the computed moment itself, to five minutes where
    hours, a crew or the steps before it set it."""
    return about(plan, line.band if plan in (line.ready_at, line.opens_at) else None)


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
    above it."""

    def key(line: Line) -> tuple[int, float]:
        plan = line.plan_at.timestamp() if line.plan_at else float("inf")
        ahead = line.plan_at is not None and line.plan_at > timeline.now
        return (2 if ahead else {"late": 0, "ready": 1}.get(line.state, 2)), plan

    found: list[tuple[Line, datetime | None]] = []
    last = timeline.now
    for line in sorted((line for line in timeline.lines if line.state not in ("done", "skipped")), key=key):
        plan = line.plan_at
        if plan is not None and plan > timeline.now:
            plan = last = max(last, plan_shown(line, plan))
        found.append((line, plan))
    return found
