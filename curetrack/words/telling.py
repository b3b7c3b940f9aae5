"""What several surfaces say of a step and of the warnings in whole sentences: one wording for all."""

from collections.abc import Iterable
from datetime import timedelta

from curetrack.timeline.types import Line, Timeline
from curetrack.words.alerts import alert_said
from curetrack.words.clean import clean
from curetrack.words.kinds import GRADES
from curetrack.words.moments import moment
from curetrack.words.plans import latest_shown, plan_shown, ready_text
from curetrack.words.reasons import opens_text, why_said
from curetrack.words.voice import Voice

__all__ = ["sentence", "warnings_said", "when_text", "why_text"]


def when_text(line: Line, voice: Voice) -> str:
    """Ready with its band, the plan, the latest moment, how a hold opens."""
    parts = []
    if line.state == "waiting" and line.ready_at is not None and not (line.waits_for and line.band is None):
        parts.append(f"ready {ready_text(line, voice)}")
    if line.plan_at is not None and line.plan_at > voice.now + timedelta(minutes=1) and line.plan_at != line.ready_at:
        parts.append(f"plan {moment(plan_shown(line, line.plan_at), voice)}")
    latest = latest_shown(line)
    if latest is not None and line.late_at is not None and line.late_at >= voice.now:  # once late, the reason says when
        parts.append(f"latest {moment(latest, voice)}")
    if line.state == "waiting" and line.hold and line.open_to_do:
        parts.append(opens_text(line, voice))
    return sentence(", ".join(part for part in parts if part))


def why_text(line: Line, voice: Voice) -> str:
    """The binding reason; of what can be done now, how it is done besides."""
    said = why_said(line, voice, opening=False, timed=False)
    return sentence(f"{said}. {clean(line.say)}" if line.say and line.state in ("ready", "late") else said)


def warnings_said(timelines: Iterable[Timeline], voice: Voice) -> list[tuple[str, str]]:
    """Grade and text of all warnings but hints, the gravest first."""
    order = list(GRADES)
    found = [(alert, timeline) for timeline in timelines for alert in timeline.alerts if alert.grade != "hint"]
    found.sort(key=lambda pair: order.index(pair[0].grade))
    return [
        (GRADES[alert.grade], f"{clean(timeline.piece)}: {alert_said(alert, voice, timeline.line(alert.step))}")
        for alert, timeline in found
    ]


def sentence(text: str) -> str:
    """With a capital and a full stop; nothing stays nothing."""
    return text[:1].upper() + text[1:] + ("" if not text or text.endswith((".", "!", "?")) else ".")
