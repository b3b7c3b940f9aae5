"""What a nudge says: next, when, why, careful, in a few lines that fit a notification.

Title: step and piece. Body: time, reason in one line, caution if any. Buttons: what one tap can say.
"""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from curetrack.nudge.channels.base import Button, Message, Urgency
from curetrack.nudge.replies import SEEN, asks, shortened, titled
from curetrack.nudge.types import Moment, Nudge, Parcel
from curetrack.shop.refusals import missed_text
from curetrack.shop.steps_of import later_for
from curetrack.timeline.types import Alert, Line
from curetrack.words.alerts import alert_said
from curetrack.words.cautions import caution_name
from curetrack.words.clean import clean
from curetrack.words.moments import about, clock, duration, moment, near
from curetrack.words.plans import plan_shown, ready_text
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.voice import Voice

__all__ = ["message_of"]

LISTED = 6  # nudges of a digest that are named
NAMED = 3  # pieces in a title
SENTENCES = 4  # of a warning
FRESH_h = 0.1  # what came up so shortly ago is there now

CONDITIONS = {
    "frost": "Frost ahead", "frost_unknown": "Did it freeze?", "suspect": "Looks like it froze young",
    "placing": "Outside placing limits", "mix_hot": "The mix is hot", "cold_cure": "Cold while it cures",
    "cooling": "Cooling fast", "evaporation": "The face dries fast", "condensation": "Condensation ahead",
    "clock": "The clock looks wrong", "clash": "Planned too late",
    "no_temperature": "No temperature known", "stale": "The last reading is old",
}  # fmt: skip


def message_of(parcel: Parcel, voice: Voice) -> Message:
    """The notification of a parcel."""
    first = parcel.nudges[0]
    if parcel.digest:
        title, body = _digest(parcel.nudges, voice)
    else:
        title, body = _title(first.moment), [line for line in _body(first, voice) if line]
    return Message(
        parcel.key, parcel.group, title, tuple(map(shortened, body)), _urgency(parcel),
        _buttons(first.moment, digest=parcel.digest), data=_data(parcel, voice),
    )  # fmt: skip


# --- one nudge -------------------------------------------------------------------------------------------------------


def _title(told: Moment) -> str:
    if told.line is None or told.kind == "conditions":
        name = CONDITIONS.get(told.alert.rule, told.alert.rule.replace("_", " ")) if told.alert else told.key
        pieces = [clean(piece) for piece in told.pieces or (told.piece,) if piece]
        named = ", ".join(pieces[:NAMED]) + (f" and {len(pieces) - NAMED} more" if len(pieces) > NAMED else "")
        return f"{name} · {named}" if named else name
    return titled(told.line)


def _body(nudge: Nudge, voice: Voice) -> Sequence[str]:
    told = nudge.moment
    if told.kind == "conditions":
        return _condition(told.alert, told.line, voice) if told.alert is not None else ()
    line = told.line
    if line is None:
        return ()
    careful = f"Careful: {', '.join(caution_name(key) for key in line.cautions)}." if line.cautions else ""
    return [_when(told, line, voice), *_why(told, line, voice), careful]


def _condition(alert: Alert, line: Line | None, voice: Voice) -> list[str]:
    """The warning's sentences, one a line: its number, its reason, what mends it."""
    text = alert.subject if alert.rule == "clock" else alert_said(alert, voice, line)
    return re.split(r"(?<=[.!?]) (?=[A-Z])", clean(text))[:SENTENCES]


def _when(told: Moment, line: Line, voice: Voice) -> str:
    """The time, first of all."""
    match told.rung:
        case "evening" | "soon":
            return f"Get ready: {near(plan_shown(line, line.plan_at or told.at), voice)}{_people(told, line)}"
        case "look":
            return f"Look at the face; again in {duration(line.look_every_h or 0.0)}."
        case "check":
            return f"The check counts {_since(told.at, voice) or 'from now on'}; {_expected(line, voice)}."
        case "due":
            opens = opens_text(line, voice) or "the check decides"
            return f"Should be ready {_since(told.at, voice) or 'now'}; {opens}."
        case "closing":
            return f"Its window closes {near(about(line.late_at or told.at, closing=True), voice)}."
        case "late":
            return _late(line.late_at or told.at, voice)
        case _:
            return f"Ready {_since(told.at, voice) or 'now'}."


def _why(told: Moment, line: Line, voice: Voice) -> list[str]:
    check = check_text(line)
    if told.rung in ("evening", "soon"):
        return [clean(line.say)]
    if told.rung in ("check", "due", "look"):
        return [f"Check: {check}" if check else ""]
    if told.rung == "late":
        remedy = missed_text(line) or next((note.text for note in line.notes if note.rule == "missed"), "")
        return [clean(remedy or line.say), f"Check: {check}" if asks(line) and not remedy else ""]
    why = why_said(line, voice, opening=False)
    return [f"{why[:1].upper()}{why[1:]}." if why else "", f"Check: {check}" if asks(line) else ""]


def _expected(line: Line, voice: Voice) -> str:
    if line.ready_at is not None and line.ready_at > voice.now:
        return f"it should be ready {ready_text(line, voice)}"
    return opens_text(line, voice) or "nothing else opens it"


def _people(told: Moment, line: Line) -> str:
    if line.crew < 2:
        return "."
    return f". {line.crew} people are needed: call them now." if told.rung == "evening" else f", {line.crew} people."


def _late(since: datetime, voice: Voice) -> str:
    if _ago_h(since, voice) < 1.0 / 60.0:
        return f"Late from now on: its latest moment was {moment(about(since, closing=True), voice)}."
    return f"Late: it was due {duration(_ago_h(since, voice))} ago, {moment(about(since, closing=True), voice)}."


# --- several in one --------------------------------------------------------------------------------------------------


def _digest(nudges: Sequence[Nudge], voice: Voice) -> tuple[str, list[str]]:
    """The most urgent by name; how many more there are, and where they stand."""
    waited = any(nudge.missed for nudge in nudges)
    shown = nudges if len(nudges) <= LISTED else nudges[: LISTED - 1]
    body = [f"{_title(nudge.moment)}: {_listed(nudge.moment, voice)}" for nudge in shown]
    if len(shown) < len(nudges):
        body.append(f"and {len(nudges) - len(shown)} more: curetrack today")
    return f"{len(nudges)} things {'waited' if waited else 'now'}", body


def _listed(told: Moment, voice: Voice) -> str:
    line = told.line
    match told.rung:
        case "late":
            late_h = _ago_h((line.late_at if line is not None else None) or told.at, voice)
            return f"{duration(late_h)} late" if late_h >= 1.0 / 60.0 else "late from now on"
        case "check":
            return f"its check counts {_since(told.at, voice) or 'now'}"
        case "due" | "ready":
            return f"ready {_since(told.at, voice) or 'now'}"
        case "closing" if line is not None and line.late_at is not None:
            return f"its window closes {near(about(line.late_at, closing=True), voice)}"
        case "evening" | "soon" if line is not None and line.plan_at is not None:
            people = f", {line.crew} people" if line.crew > 1 else ""
            return f"get ready, {near(plan_shown(line, line.plan_at), voice)}{people}"
        case "look":
            return "look at the face"
        case _:
            at = told.alert.at if told.alert is not None else None
            return near(about(at), voice) if at is not None and at > voice.now else "see the sheet"


def _ago_h(at: datetime, voice: Voice) -> float:
    return max(0.0, (voice.now - at).total_seconds() / 3600.0)


def _since(at: datetime, voice: Voice) -> str:
    """ "since 07:30"; empty where that is now."""
    ago_h = _ago_h(at, voice)
    if ago_h <= FRESH_h:
        return ""
    return f"since {clock(at, voice) if ago_h < 12.0 else moment(at, voice)}"


# --- buttons, urgency, data ------------------------------------------------------------------------------------------


def _urgency(parcel: Parcel) -> Urgency:
    grades = {nudge.moment.grade for nudge in parcel.nudges}
    return "critical" if "ruin" in grades else "low" if grades == {"info"} else "normal"


def _buttons(told: Moment, *, digest: bool) -> tuple[Button, ...]:
    """Those of a digest speak of its first, and say so."""
    buttons = () if told.kind == "conditions" else _of_step(told)
    if not digest:
        return buttons or (SEEN,)
    name = shortened(clean(told.line.title), 30) if told.line is not None else ""
    own = tuple(Button(button.id, f"{name}: {button.label}") for button in buttons if button.id != SEEN.id)
    return (*own, SEEN)


def _of_step(told: Moment) -> tuple[Button, ...]:
    line = told.line
    if line is None:
        return ()
    later = Button("later", f"Later, {duration(later_for(line) / timedelta(hours=1))}")
    if told.rung in ("evening", "soon"):
        return SEEN, later
    if told.rung == "look" or line.step == "pour":
        return (SEEN,)
    if not asks(line):
        people = f", {line.crew} people" if line.kind == "lift" and line.crew > 1 else ""
        return Button("done", f"Done{people}"), later
    return Button("passed", "That is done" if missed_text(line) else "Check passed"), later


def _data(parcel: Parcel, voice: Voice) -> dict[str, object]:
    """The same for programs: JSON of format 1."""
    return {
        "format": 1,
        "key": parcel.key,
        "sent_at": voice.now.astimezone(voice.zone).isoformat(timespec="seconds"),
        "nudges": [
            {
                "key": nudge.moment.key, "kind": nudge.moment.kind, "piece": nudge.moment.piece,
                "step": nudge.moment.step or None, "hold": nudge.moment.hold, "urgent": nudge.moment.grade == "ruin",
                "due_at": nudge.due_at.astimezone(voice.zone).isoformat(timespec="seconds"), "missed": nudge.missed,
            }
            for nudge in parcel.nudges
        ],
    }  # fmt: skip
