"""What a page says of a step: when, why, careful; and the text for the crew. Plain text, not yet escaped."""

from datetime import timedelta

from curetrack.timeline.types import Line
from curetrack.words.clean import clean
from curetrack.words.moments import duration
from curetrack.words.notes import note_text, to_say
from curetrack.words.plans import plan_shown
from curetrack.words.telling import sentence
from curetrack.words.voice import Voice

__all__ = ["countdown", "notes_of"]

LEFT = timedelta(hours=10)  # so near its end a window says how much of it is left


def countdown(line: Line, voice: Voice) -> tuple[str, str]:
    """The large words under the title, and what they are: now, late, wait."""
    now, plan = voice.now, line.plan_at
    if line.state == "late" and line.late_at is not None:
        return f"late {_short(now - line.late_at)}", "late"
    if line.state == "ready" and (plan is None or plan <= now + timedelta(minutes=1)):
        left = line.late_at - now if line.late_at is not None and line.closes == "window" else None
        return ("now" if left is None or not timedelta() < left <= LEFT else f"now, {_short(left)} left"), "now"
    if line.open_to_do and line.check_from is not None and line.check_from <= now:
        return "check first", "now"
    if plan is None:
        return "not yet", "wait"
    return ("next" if plan <= now else f"in {_short(plan_shown(line, plan) - now)}"), "wait"


def notes_of(line: Line, voice: Voice) -> list[str]:
    """Remarks: a window that has closed and what then is to be done, a check that failed."""
    return [sentence(clean(note.text) if note.rule == "missed" else note_text(note, voice)) for note in to_say(line)]


def _short(span: timedelta) -> str:
    """ "1 h 25", "40 min", "3 d 4 h"."""
    text = duration(max(0.0, span / timedelta(hours=1)))
    return text.removesuffix(" min") if " h " in text else text
