"""What is said back to a tap: a question before a hold is ticked, a refusal with its reason, what became of it."""

from collections.abc import Sequence
from datetime import datetime

from curetrack.nudge.channels.base import Button, Message
from curetrack.shop.refusals import held, missed_text
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.moments import clock, near
from curetrack.words.plans import plan_shown
from curetrack.words.reasons import check_text, opens_text
from curetrack.words.voice import Voice

__all__ = [
    "SEEN", "answer_of", "asks", "confirm_of", "no_longer", "put_off_of", "refusal_of", "shortened", "titled",
]  # fmt: skip

LONGEST = 240  # letters of one line; what is longer belongs on the sheet
SEEN = Button("seen", "Understood")


def asks(line: Line) -> bool:
    """Whether a tick needs a look first: a hold that is not open, or a window that has closed and wants a remedy."""
    return (held(line) and bool(line.check or line.check_from)) or bool(missed_text(line))


def confirm_of(message_key: str, group: str, line: Line) -> Message:
    """A hold is not opened by one tap: the check's own words, and what the answer writes down."""
    remedy = missed_text(line)
    what = "its window has closed: done first?" if remedy else "passed?"
    body = [check_text(line) or "Is it ready?", "" if remedy else "A hold: too soon ruins it."]
    if line.kind == "lift" and line.crew > 1:
        body.append(f"Ticked as done it says: {line.crew} people.")
    no = Button("keep", "Not yet") if remedy else Button("no", "No, it failed")
    buttons = Button("yes", "Yes, and the step is done"), Button("open", "Yes, the step comes now"), no
    lines = tuple(shortened(text) for text in body if text)
    return Message(message_key, group, f"{titled(line)}: {what}", lines, "normal", buttons)


def refusal_of(message_key: str, group: str, text: str) -> Message:
    """A tap that could not be taken, with the reason."""
    return Message(message_key, group, "Not ticked", (shortened(clean(text), 2 * LONGEST),), "normal", (SEEN,))


def no_longer(message_key: str, group: str, line: Line) -> Message:
    """A check that failed: what to do then."""
    said = clean(line.fail) or "Wait and look again."
    return Message(message_key, group, f"{titled(line)}: stays open", (shortened(said),), "low")


def answer_of(line: Line, after: Timeline, voice: Voice, remarks: Sequence[str] = ()) -> Message:
    """A tick was taken: what comes next on this piece. Stands in a place of its own and goes by itself."""
    said = [clean(text) for text in remarks]
    following = [one for one in after.lines if one.open_to_do and not one.optional and one.state != "done"]
    coming = min(following, key=lambda one: one.plan_at or datetime.max.replace(tzinfo=voice.now.tzinfo), default=None)
    if coming is not None:
        said.append(f"Next: {clean(coming.title)}, {_when(coming, voice)}.")
    elif after.finished:
        said.append("Nothing is left to do on this piece.")
    place = f"answer/{line.piece}"
    return Message(f"{place}/{line.step}", place, f"Done: {titled(line)}", tuple(map(shortened, said)), "low")


def put_off_of(line: Line, until: datetime, voice: Voice, remarks: Sequence[str] = ()) -> Message:
    """It was put off: until when."""
    place = f"answer/{line.piece}"
    body = (f"Until {clock(until, voice)}.", *(clean(text) for text in remarks))
    return Message(f"{place}/{line.step}", place, f"Put off: {titled(line)}", tuple(map(shortened, body)), "low")


def titled(line: Line) -> str:
    """Step and piece."""
    return f"{clean(line.title)} · {clean(line.piece)}"


def shortened(text: str, longest: int = LONGEST) -> str:
    """At most so many letters, cut between words."""
    return text if len(text) <= longest else f"{text[: longest - 3].rsplit(' ', 1)[0]} ..."


def _when(line: Line, voice: Voice) -> str:
    if line.state in ("ready", "late"):
        return "ready now"
    if line.plan_at is None:
        return opens_text(line, voice) or "no time is known yet"
    return near(plan_shown(line, line.plan_at), voice)
