"""Answers that are no, in one line: what stands against it, when it opens, what would open it."""

from curetrack.errors import BadInput, CuretrackError
from curetrack.shop.refusals import (
    BadGrip,
    FailedCheck,
    HeldPour,
    HeldStep,
    MissedWindow,
    OpenPredecessor,
    TooFewHands,
)  # fmt: skip
from curetrack.timeline.types import Line
from curetrack.words.alerts import alert_said
from curetrack.words.clean import clean
from curetrack.words.moments import about, moment
from curetrack.words.plans import ready_text
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.rules import GRIPS, names
from curetrack.words.voice import Voice

__all__ = ["refusal_text", "tapped"]

AS_TAPS = {
    " When that is done: --check pass.": " When that is done, say so with “Done ...”.",
    " Do that first, or tick it along with --earlier.": " Do that first.",
}
AT_THE_BENCH = "say that at the bench"


def tapped(error: CuretrackError, voice: Voice) -> str:
    """The same for whoever has no command line at hand: no options of ours are named."""
    if isinstance(error, BadInput) and "--" in error.remedy:
        return clean(str(error).replace(error.remedy, AT_THE_BENCH))
    text = refusal_text(error, voice)
    for typed, tap in AS_TAPS.items():
        text = text.replace(typed, tap)
    return text


def refusal_text(error: CuretrackError, voice: Voice) -> str:
    """One line for people. What else stands against it follows; an unknown refusal says itself."""
    if not isinstance(error, (HeldStep, OpenPredecessor, TooFewHands, BadGrip, MissedWindow, FailedCheck)):
        return _pour(error, voice) if isinstance(error, HeldPour) else clean(str(error))
    text = _one(error, voice)
    for other in error.also:
        text += f" Also: {_one(other, voice)}"
    return f"{clean(error.line.piece)}, {clean(error.line.step)}: {text}"


def _one(error: CuretrackError, voice: Voice) -> str:
    if isinstance(error, HeldStep):
        return _held(error.line, voice)
    if isinstance(error, OpenPredecessor):
        return _open(error)
    if isinstance(error, TooFewHands):
        return (
            f"{error.need} people are needed and {error.crew} named. Call more, or let wheels, slides or a tilting "
            "frame take the weight."
        )
    if isinstance(error, BadGrip):
        return _grip(error, voice)
    if isinstance(error, MissedWindow):
        due = f" {moment(about(error.line.late_at, closing=True), voice)}" if error.line.late_at else ""
        return f"its window closed{due}. {_stop(clean(error.text))} When that is done: --check pass."
    if isinstance(error, FailedCheck):
        return f"the check failed, so it stays open. {_stop(clean(error.line.fail) or 'Wait and look again')}"
    return clean(str(error))


def _held(line: Line, voice: Voice) -> str:
    """ "too soon: needs 3.5 MPa; 2.1 MPa now at 11 °C. Ready Sat 14:10 (12:30 to 16:00); opens ..." """
    missing = line.check_from is not None and line.check_from <= voice.now
    text = f"{'not without its check' if missing else 'too soon'}: {why_said(line, voice, opening=False, timed=False)}."
    if line.ready_at is not None:
        text += f" Ready {ready_text(line, voice)}."
    opens = opens_text(line, voice)
    text += f" {opens[:1].upper()}{opens[1:]}." if opens else ""
    check = check_text(line)
    return f"{text} Check: {_stop(check)}" if check and line.check_from else text


def _open(error: OpenPredecessor) -> str:
    waits = f"waits for {names(error.blockers)}."
    if error.held:
        return f"{waits} A hold is never ticked along: do {names(error.held)} first."
    if "pour" in error.blockers:
        return f"{waits} Say the pour first."
    return f"{waits} Do that first, or tick it along with --earlier."


def _grip(error: BadGrip, voice: Voice) -> str:
    """Tension in bending has no unit of its own in a shop; both systems get it like strengths."""
    from curetrack.words.amounts import strength

    answer = error.answer
    stress, needed, has, low, high = (
        strength(value, voice.system)
        for value in (
            answer.stress_MPa, answer.needed_MPa, answer.rupture_MPa, answer.rupture_low_MPa, answer.rupture_high_MPa,
        )
    )  # fmt: skip
    return (
        f"{GRIPS.get(error.grip, error.grip)} it bends to {stress}; with a jolt and the margin on cracking {needed} "
        f"are wanted, and it looks like {has} ({low.split()[0]} to {high}). Roll it on the long edge over foam; "
        "carry it on edge."
    )


def _pour(error: HeldPour, voice: Voice) -> str:
    said = " ".join(alert_said(alert, voice) for alert in error.alerts)
    return f'{clean(error.piece)}: better not poured now. {said} If it must be: --override "why".'


def _stop(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
