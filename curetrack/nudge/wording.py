"""What a nudge says: next, when, why, careful, in a few lines that fit a notification.

Title: step and piece. Body: time, reason in one line, caution if any. Buttons: what one tap can say.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from curetrack.nudge.channels.base import Button, Message, Urgency
from curetrack.nudge.types import Moment, Nudge, Parcel
from curetrack.timeline.types import Line
from curetrack.words.alerts import alert_said
from curetrack.words.cautions import caution_name
from curetrack.words.clean import clean
from curetrack.words.moments import about, banded, clock, duration, moment, near
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.voice import Voice

__all__ = ["LATER", "LATER_SOON", "confirm_of", "later_for", "message_of", "no_longer", "refusal_of", "title_of"]

LATER, LATER_SOON = timedelta(hours=1), timedelta(minutes=15)
LONGEST = 240  # letters of one line; what is longer belongs on the sheet
LISTED = 8  # nudges of a digest that are named

SEEN = Button("seen", "Understood")
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
        title = f"{len(parcel.nudges)} things waited"
        body = tuple(_listed(nudge, voice) for nudge in parcel.nudges[:LISTED])
        left = len(parcel.nudges) - LISTED
        body += (f"and {left} more: curetrack today",) if left > 0 else ()
    else:
        title, body = title_of(first.moment), tuple(_short(line) for line in _body(first, voice) if line)
    return Message(
        parcel.key, parcel.group, title, body, _urgency(parcel), _buttons(first.moment, digest=parcel.digest),
        data=_data(parcel, voice),
    )  # fmt: skip


def confirm_of(message_key: str, group: str, line: Line) -> Message:
    """A hold is not opened by one tap: the check's own words, and yes or no."""
    body = (check_text(line) or "Is it ready?", "A hold: too soon ruins it.")
    buttons = Button("yes", "Yes, it passed"), Button("no", "No, it failed")
    return Message(message_key, group, f"{clean(line.title)} · {clean(line.piece)}: passed?", body, "normal", buttons)


def refusal_of(message_key: str, group: str, text: str) -> Message:
    """A tap that could not be taken, with the reason."""
    return Message(message_key, group, "Not ticked", (_short(clean(text)),), "normal", (SEEN,))


def no_longer(message_key: str, group: str, line: Line) -> Message:
    """A check that failed: what to do then."""
    said = clean(line.fail) or "Wait and look again."
    return Message(message_key, group, f"{clean(line.title)} · {clean(line.piece)}: stays open", (said,), "low", ())


def later_for(line: Line | None) -> timedelta:
    """For how long `later` puts a step off: fresh concrete and closing windows do not wait an hour."""
    pressing = line is not None and (line.kind == "place" or line.closes == "window")
    return LATER_SOON if pressing else LATER


# --- title and body --------------------------------------------------------------------------------------------------


def title_of(told: Moment) -> str:
    """Step and piece, or condition and pieces."""
    if told.line is None or told.kind == "conditions":
        name = CONDITIONS.get(told.alert.rule, told.alert.rule.replace("_", " ")) if told.alert else told.key
        pieces = ", ".join(clean(piece) for piece in told.pieces or (told.piece,) if piece)
        return f"{name} · {pieces}" if pieces else name
    return f"{clean(told.line.title)} · {clean(told.piece)}"


def _body(nudge: Nudge, voice: Voice) -> Sequence[str]:
    told = nudge.moment
    if told.kind == "conditions":
        if told.alert is not None and told.alert.rule == "clock":
            return (told.alert.subject,)
        return (alert_said(told.alert, voice, told.line),) if told.alert else ()
    line = told.line
    if line is None:
        return ()
    careful = f"Careful: {', '.join(caution_name(key) for key in line.cautions)}." if line.cautions else ""
    return [_when(nudge, line, voice), *_why(nudge, line, voice), careful]


def _when(nudge: Nudge, line: Line, voice: Voice) -> str:
    """The time, first of all."""
    told = nudge.moment
    match told.rung:
        case "evening" | "soon":
            plan = line.plan_at or told.at
            return f"Get ready: {near(about(plan, line.band), voice)}{_people(line)}"
        case "look":
            return f"Look at the face; again in {duration(line.look_every_h or 0.0)}."
        case "check":
            return f"The check counts from now on; {_expected(line, voice)}."
        case "due":
            return f"Should be ready now; {opens_text(line, voice) or 'the check decides'}."
        case "closing":
            assert line.late_at is not None
            return f"Its window closes {near(about(line.late_at, closing=True), voice)}."
        case "late":
            return f"Late: {_since(line.late_at or told.at, voice)}."
        case _:
            return f"Ready since {_since_clock(told.at, voice)}." if _ago_h(told.at, voice) > 0.1 else "Ready now."


def _why(nudge: Nudge, line: Line, voice: Voice) -> list[str]:
    rung = nudge.moment.rung
    if rung in ("evening", "soon"):
        return [clean(line.say)] if line.say else []
    if rung in ("check", "due"):
        return [f"Check: {check_text(line)}"] if check_text(line) else []
    if rung == "late":
        missed = next((clean(note.text) for note in line.notes if note.rule == "missed" and note.text), "")
        return [missed or clean(line.say)]
    why = why_said(line, voice, opening=False)
    return [f"{why[:1].upper()}{why[1:]}." if why else ""]


def _expected(line: Line, voice: Voice) -> str:
    if line.ready_at is not None and line.ready_at > voice.now:
        return f"it should be ready {banded(line.ready_at, line.band, voice)}"
    return opens_text(line, voice) or "nothing else opens it"


def _people(line: Line) -> str:
    return f", {line.crew} people. Call them now." if line.crew > 1 else "."


def _listed(nudge: Nudge, voice: Voice) -> str:
    """One line of a digest: what, and how long it waited."""
    told = nudge.moment
    match told.rung:
        case "late":
            since = told.line.late_at if told.line is not None and told.line.late_at else told.at
            when = f"{duration(_ago_h(since, voice))} late"
        case "check":
            when = f"its check counts since {_since_clock(told.at, voice)}"
        case "due" | "ready":
            when = f"ready since {_since_clock(told.at, voice)}"
        case "closing":
            assert told.line is not None
            assert told.line.late_at is not None
            when = f"its window closes {near(about(told.line.late_at, closing=True), voice)}"
        case "evening" | "soon":
            when = f"get ready, {moment(told.line.plan_at, voice)}" if told.line and told.line.plan_at else "get ready"
        case "look":
            when = "look at the face"
        case _:
            when = _condition_when(told, voice)
    return _short(f"{title_of(told)}: {when}")


def _condition_when(told: Moment, voice: Voice) -> str:
    at = told.alert.at if told.alert is not None else None
    return near(about(at), voice) if at is not None and at > voice.now else "see the sheet"


def _ago_h(at: datetime, voice: Voice) -> float:
    return max(0.0, (voice.now - at).total_seconds() / 3600.0)


def _since(at: datetime, voice: Voice) -> str:
    return f"it was due {duration(_ago_h(at, voice))} ago, {moment(at, voice)}"


def _since_clock(at: datetime, voice: Voice) -> str:
    return clock(at, voice) if _ago_h(at, voice) < 12.0 else moment(at, voice)


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 3].rsplit(' ', 1)[0]} ..."


# --- buttons, urgency, data ------------------------------------------------------------------------------------------


def _urgency(parcel: Parcel) -> Urgency:
    grades = {nudge.moment.grade for nudge in parcel.nudges}
    return "critical" if "ruin" in grades else "low" if grades == {"info"} else "normal"


def _buttons(told: Moment, *, digest: bool) -> tuple[Button, ...]:
    buttons = () if told.kind == "conditions" else _of_step(told)
    return (*buttons, SEEN) if digest or not buttons else buttons


def _of_step(told: Moment) -> tuple[Button, ...]:
    line = told.line
    if line is None:
        return ()
    off = later_for(line)
    later = Button("later", f"Later, {duration(off / timedelta(hours=1))}")
    if told.rung in ("evening", "soon"):
        return SEEN, later
    if told.rung == "look" or line.step == "pour":
        return (SEEN,)
    tick = Button("passed", "Check passed") if line.hold and line.check and line.state == "waiting" else None
    if line.state == "late" and line.check and tick is None and line.hold:
        tick = Button("passed", "Check passed")
    return tick or Button("done", "Done"), later


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
