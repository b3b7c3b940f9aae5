"""Why a step starts when it does, in one sentence with its numbers.

"needs 3.5 MPa; 2.1 MPa now at 11 °C; reaches it Sat 14:10 (12:30 to 16:00)"
"""

from datetime import datetime, tzinfo

from curetrack.timeline.types import Line, Reason
from curetrack.units import System
from curetrack.words.amounts import temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, banded, moment
from curetrack.words.notes import note_text
from curetrack.words.rules import CLOCK, UNKNOWN, WITHOUT_TIME, names, rule_said
from curetrack.words.voice import Voice

__all__ = ["check_text", "opens_text", "why", "why_said"]


def why(line: Line, *, zone: tzinfo, system: System, now: datetime) -> str:
    """The binding reason of a line in one sentence: what it needs, what there is now, when it is met."""
    return why_said(line, Voice(now, zone, system))


def why_said(line: Line, voice: Voice, *, opening: bool = True, timed: bool = True) -> str:
    """The same for a voice at hand. Where a surface shows it beside the sentence, `opening` False leaves out how a hold
    opens, and `timed` False when the rule is met if that is the line's own `ready_at`."""
    if line.state == "done":
        return f"done {moment(line.done_at, voice)}" if line.done_at else "done"
    if line.state == "skipped":
        return next((note_text(note, voice) for note in line.notes if note.rule in ("unrecorded", "ended")), "left out")
    parts = [_binding(line, voice, timed=timed)]
    if line.state == "late" and line.late_at:
        parts.insert(0, f"was due by {moment(about(line.late_at, closing=True), voice)}")
    elif line.state == "waiting" and line.hold and line.open_to_do and opening:
        parts.append(opens_text(line, voice))
    return "; ".join(part for part in parts if part)


def opens_text(line: Line, voice: Voice) -> str:
    """How a hold opens: "opens Sun 02:00, or after a passed check from Sat 21:40"; empty if nothing can be said."""
    opens = f"opens {moment(about(line.opens_at, line.band), voice)}" if line.opens_at else ""
    if line.check_from is None:
        return opens
    if line.opens_at is not None and line.check_from >= line.opens_at:
        return opens
    check = "after a passed check"
    if line.check_from > voice.now:
        check += f" from {moment(about(line.check_from, line.band), voice)}"
    return f"{opens}, or {check}" if opens else f"opens only {check}"


def check_text(line: Line) -> str | None:
    """The hand check of a step: its own, or for an input that is not known what to measure; None if there is none."""
    if line.check:
        return clean(line.check)
    missing = next((reason.subject for reason in line.reasons if reason.rule == "unknown"), None)
    return None if missing is None else UNKNOWN.get(missing, UNKNOWN["temperature"])[1]


def _binding(line: Line, voice: Voice, *, timed: bool) -> str:
    if not line.reasons:
        late = line.late_at
        if line.state == "late":
            return ""  # said already
        return f"to be done by {moment(about(late, closing=True), voice)}" if late else "nothing stands before it"
    reason = line.reasons[0]
    said = rule_said(reason, line, voice)
    if reason.rule in WITHOUT_TIME or line.state == "late" or (not timed and reason.at == line.ready_at):
        return said
    return f"{said}; {_met(reason, line, voice)}"


def _met(reason: Reason, line: Line, voice: Voice) -> str:
    """When the rule is met, never without its band or the word that it is a guess."""
    if reason.at is None:
        at_temp = f" at {temperature(reason.temp_degC, voice.system)}" if reason.temp_degC is not None else ""
        return f"not in sight{at_temp}"
    when = moment(about(reason.at), voice)
    if reason.rule in CLOCK:
        open_before = [step for step in line.waits_for if step in line.after]
        return (
            f"looks like {when}, from the plan of {names(tuple(open_before))}"
            if open_before
            else f"{when} by the clock"
        )
    verb = "reached it" if reason.at <= voice.now else "reaches it"
    if line.band is not None and line.band[0] <= reason.at <= line.band[1]:
        return f"{verb} {banded(reason.at, line.band, voice)}"
    return f"looks like {when}"
