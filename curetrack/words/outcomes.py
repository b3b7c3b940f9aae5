"""The milestones of a timeline, for laying several side by side: when the strip, the lift, the first fill and coat are
planned, when all is done, and what has no date."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.moments import about
from curetrack.words.plans import plan_shown
from curetrack.words.reasons import why_said
from curetrack.words.voice import Voice

__all__ = ["done_at", "milestones", "shift_text", "unseen_text"]

Milestones = dict[str, datetime | None]


def milestones(timeline: Timeline) -> Milestones:
    """By label, in the order in which they come, as every text shows them; what is done already is left out."""
    found: Milestones = {}
    for line in timeline.lines:
        label = _label(line)
        if label and label not in found and line.state not in ("done", "skipped"):
            found[label] = None if line.plan_at is None else plan_shown(line, line.plan_at)
    done = done_at(timeline)
    found["all done"] = None if done is None else about(done)
    return found


def done_at(timeline: Timeline) -> datetime | None:
    """When the last step that wants somebody is over; None if that one is not in sight."""
    lines = [line for line in timeline.lines if line.state not in ("done", "skipped") and not line.optional]
    lines = [line for line in lines if line.hands_on_h > 0.0 or line.check]
    if not lines or lines[-1].plan_at is None:
        return None
    return max(line.plan_at + timedelta(hours=line.hands_on_h) for line in lines if line.plan_at is not None)


def unseen_text(timeline: Timeline, voice: Voice) -> str:
    """The first step that has no date, and why: what stands behind it has none either. "": all have one, or the pour
    has none."""
    if timeline.poured_at is None and timeline.planned_pour_at is None:
        return ""
    wanted = (line for line in timeline.lines if line.state not in ("done", "skipped") and not line.optional)
    line = next((line for line in wanted if line.plan_at is None), None)
    if line is None:
        return ""
    binding = line.reasons[0].rule if line.reasons else ""
    why = f"the {binding} does not come within its range" if binding in ("air", "slab") else why_said(line, voice)
    return f"{clean(line.step)} is not in sight{f': {why}' if why else ''}."


def shift_text(at: datetime | None, before: datetime | None) -> str:
    """How much later or earlier: "+14 h", "-2 d 3 h", "same"; nothing where one of them is not known."""
    if at is None or before is None:
        return ""
    from curetrack.words.moments import duration

    hours = (at - before).total_seconds() / 3600.0
    if abs(hours) < 0.25:
        return "same"
    return f"{'+' if hours > 0.0 else '-'}{duration(abs(hours))}"


def _label(line: Line) -> str:
    by_kind: Mapping[str, str] = {"fill": "first fill", "coat": "first coat"}
    if line.optional or line.step.startswith(("try-", "colour-")):
        return ""
    if line.step == "strip":
        return "strip"
    if line.kind == "lift" and line.crew > 1:
        return "first lift"
    return by_kind.get(line.kind, "")
