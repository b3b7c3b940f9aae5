"""The text for those who come to help, to copy into any message: what, when, how many, careful."""

from datetime import datetime

from curetrack.timeline.types import Line
from curetrack.words.cautions import AUTHORITY, caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.moments import about, banded, clock, duration, moment
from curetrack.words.plans import plan_shown
from curetrack.words.reasons import check_text
from curetrack.words.voice import Voice

__all__ = ["asks_for_crew", "careful_of", "crew_text"]


def careful_of(line: Line) -> tuple[str, list[str]]:
    """The cautions by name in one line, and each in full."""
    if not line.cautions:
        return "", []
    names = ", ".join(caution_name(key) for key in line.cautions)
    return f"{names}. {AUTHORITY}", [caution_text(key) for key in line.cautions]


def asks_for_crew(line: Line, now: datetime) -> bool:
    """Whether somebody is still to be asked for it: not for fresh concrete whose window has closed."""
    if line.crew < 2 or line.optional or line.state in ("done", "skipped"):
        return False
    hardened = line.kind == "place" and line.closes == "window" and line.late_at is not None and line.late_at < now
    return not hardened


def crew_text(line: Line, voice: Voice, plan: datetime | None = None) -> str:
    """Times with their day, since it is read elsewhere; with the band where the plan is no more than the computed
    moment, alone where it was put to an hour at which people can come. `plan`: as another text shows it."""
    parts = [f"{clean(line.title)}, {clean(line.piece)}: {_when(line, voice, plan)}.", f"{line.crew} people."]
    parts += [f"Check before: {check_text(line)}"] if line.hold and check_text(line) else []
    return "\n".join([*parts, *careful_of(line)[1]])


def _when(line: Line, voice: Voice, plan: datetime | None) -> str:
    at = line.plan_at or line.ready_at
    if at is None:
        return "no time is known yet"
    if at <= voice.now:
        return f"now ({clock(voice.now, voice)})"
    shown = plan or plan_shown(line, at)
    if at == line.ready_at and shown == about(at, line.band):
        return banded(at, line.band, voice)
    hands = f", for about {duration(line.hands_on_h)}" if line.hands_on_h > 0.0 else ""
    return f"{moment(shown, voice)}{hands}"
