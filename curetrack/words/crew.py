"""The text for those who come to help, to copy into any message: what, when, how many, careful."""

from curetrack.timeline.types import Line
from curetrack.words.cautions import AUTHORITY, caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.moments import about, banded, clock, duration, moment
from curetrack.words.reasons import check_text
from curetrack.words.voice import Voice

__all__ = ["careful_of", "crew_text"]


def careful_of(line: Line) -> tuple[str, list[str]]:
    """The cautions by name in one line, and each in full."""
    if not line.cautions:
        return "", []
    names = ", ".join(caution_name(key) for key in line.cautions)
    return f"{names}. {AUTHORITY}", [caution_text(key) for key in line.cautions]


def crew_text(line: Line, voice: Voice) -> str:
    """Times with their day, since it is read elsewhere; with the band where the plan is no more than the computed
    moment, alone where it was put to an hour at which people can come."""
    parts = [f"{clean(line.title)}, {clean(line.piece)}: {_when(line, voice)}.", f"{line.crew} people."]
    parts += [f"Check before: {check_text(line)}"] if line.hold and check_text(line) else []
    return "\n".join([*parts, *careful_of(line)[1]])


def _when(line: Line, voice: Voice) -> str:
    at = line.plan_at or line.ready_at
    if at is None or at <= voice.now:
        return f"now ({clock(voice.now, voice)})"
    if line.ready_at is None or at == line.ready_at:
        return banded(at, line.band, voice)
    hands = f", for about {duration(line.hands_on_h)}" if line.hands_on_h > 0.0 else ""
    return f"{moment(about(at), voice)}{hands}"
