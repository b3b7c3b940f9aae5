"""Remarks on one step in words: overrides, missed windows, failed checks, who lifted and how."""

from curetrack.timeline.types import Line, Note
from curetrack.words.clean import clean
from curetrack.words.moments import about, moment
from curetrack.words.rules import GRIPS
from curetrack.words.voice import Voice

__all__ = ["NOTES", "note_text", "notes_said"]

NOTES = ("override", "missed", "crew", "grip", "clash", "failed", "unrecorded", "ended")


def notes_said(line: Line, voice: Voice) -> tuple[str, ...]:
    """All remarks of a line, in order."""
    return tuple(note_text(note, voice) for note in line.notes)


def note_text(note: Note, voice: Voice) -> str:
    """One remark. A rule without words of its own shows its text."""
    text = clean(note.text)
    match note.rule:
        case "override":
            return f'done against the hold, with the note "{text}"'
        case "missed":
            due = f" {moment(about(note.at, closing=True), voice)}" if note.at else ""
            return f"its window closed{due}. {text}" if text else f"its window closed{due}"
        case "crew":
            return f"{note.value:.0f} people" if note.value is not None else "crew noted"
        case "grip":
            return GRIPS.get(note.text, text)
        case "clash":
            latest = f" {moment(about(note.at, closing=True), voice)}" if note.at else ""
            return f"planned after its latest moment{latest}"
        case "failed":
            when = f" {moment(note.at, voice)}" if note.at else ""
            return f"the check failed{when}. {text or 'Wait and look again.'}"
        case "unrecorded":
            return "not recorded"
        case "ended":
            return "not needed"
        case _:
            return text or note.rule
