"""Remarks on one step in words: overrides, missed windows, failed checks, who lifted and how."""

from curetrack.timeline.types import Line, Note
from curetrack.words.clean import clean
from curetrack.words.moments import about, duration, moment
from curetrack.words.rules import GRIPS
from curetrack.words.voice import Voice

__all__ = ["CALM", "NOTES", "note_text", "notes_said", "to_say"]

PLANNED = (
    "outside", "night", "alone", "busy", "loud", "long", "short", "never", "overnight", "waits", "quiet", "visit",
    "taken",
)  # fmt: skip
NOTES = ("override", "missed", "crew", "grip", "clash", "failed", "unrecorded", "ended", *PLANNED)

CALM = ("visit",)  # what only says why, and asks for nothing


def to_say(line: Line) -> tuple[Note, ...]:
    """The remarks of a line, in order, but for what its state says already: late is after its latest moment."""
    return tuple(note for note in line.notes if note.rule != "clash" or line.state != "late")


def notes_said(line: Line, voice: Voice) -> tuple[str, ...]:
    """All remarks of a line, in order."""
    return tuple(note_text(note, voice) for note in to_say(line))


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
        case _ if note.rule in PLANNED:
            return _planned(note, voice)
        case _:
            return text or note.rule


def _planned(note: Note, voice: Voice) -> str:
    """What the plan has to say of the hours."""
    hours, text = duration(note.value) if note.value else "a moment", note.text
    when = f" {moment(about(note.at, closing=True), voice)}" if note.at else ""
    match note.rule:
        case "outside":
            why = "since its window closes before they open again"
            return f"{hours} of it lie outside your hours, {why}: keep them free"
        case "night":
            return f"{hours} at night: fresh concrete does not wait. An earlier pour keeps the night free"
        case "alone":
            return "the crew cannot come then, and fresh concrete does not wait: ask somebody, or pour on their day"
        case "busy":
            return "your hands have other work then: pour at another time (curetrack when), or let somebody else do it"
        case "loud":
            return "it is loud, and that is in your quiet hours: pour at another time (curetrack when)"
        case "long":
            if text == "crew":
                return f"it wants {hours} in one go, and the crew never stays so long: ask them for more"
            return f"it wants {hours} in one go, and no stretch of your hours is so long: open one with extra hours"
        case "short":
            return f"it ends {hours} too late for the pour: open extra hours before it, or pour later"
        case "never":
            return "no hours for it are in sight: look at yours and the crew's (curetrack shop)"
        case "overnight":
            if not when:
                return f"due {hours} before you come to it: close the sheet all round, and look at the edges then"
            cloth = f"lay a wet cloth under the closed sheet at the last visit,{when}; it keeps until then"
            return f"due {hours} before you come to it: {cloth}"
        case "taken":
            until = f"taken until{when}" if when else "taken, and no end of it is in sight"
            return f"{clean(note.text)}: {until}"
        case "visit":
            return f"with {clean(note.text)}, one visit: it may wait {hours}"
        case "quiet":
            return f"{hours} of its window lie in your quiet hours"
        case _:
            return f"it waits {hours} for the crew; your own hours would have{when}: ask who can come then"
