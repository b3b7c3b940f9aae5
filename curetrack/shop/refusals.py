"""The answers that are no (exit 1), each with the numbers it rests on; and the small pure functions that decide.

Refused
├── RefusedStep
│   ├── HeldStep          a hold, too soon
│   ├── OpenPredecessor   a step before it is open
│   ├── TooFewHands       fewer people than the lift needs
│   ├── BadGrip           this grip bends the piece too far
│   ├── MissedWindow      its window has closed: what then is to be done comes first
│   └── FailedCheck       the hand check failed
└── HeldPour              the conditions forbid the pour
"""

from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import TYPE_CHECKING

from curetrack.errors import Refused
from curetrack.timeline.types import Alert, Line, Reason, Timeline

if TYPE_CHECKING:
    from curetrack.timeline.crew import GripAnswer

__all__ = [
    "BadGrip", "FailedCheck", "HeldPour", "HeldStep", "MissedWindow", "OpenPredecessor", "RefusedStep", "TooFewHands",
    "blockers_of", "held", "missed_text", "refuse_all", "too_few",
]  # fmt: skip


class RefusedStep(Refused):
    """A refusal about one step. `also`: what else stands against it."""

    also: tuple[Refused, ...] = ()

    def __init__(self, line: Line, text: str, rule: str) -> None:
        self.line = line
        super().__init__(f"{line.piece}, {line.step}: {text}", rule=rule)


class HeldStep(RefusedStep):
    """Too soon: doing it now would ruin the piece. `reason` is what binds, None if nothing can be said."""

    def __init__(self, line: Line, zone: tzinfo = UTC) -> None:
        self.reason: Reason | None = line.reasons[0] if line.reasons else None
        parts = ["held, too soon", _need(self.reason)]
        if line.band is not None and line.ready_at is not None:
            first, last = (_time(at, zone) for at in line.band)
            parts.append(f"ready {_time(line.ready_at, zone)} ({first} to {last})")
        parts.append(_opening(line, zone))
        super().__init__(line, "; ".join(part for part in parts if part), self.reason.rule if self.reason else "hold")


class OpenPredecessor(RefusedStep):
    """Something before it is open. `held`: those of the blockers that `--earlier` may not tick."""

    def __init__(self, line: Line, blockers: Sequence[str], held: Sequence[str] = ()) -> None:
        self.step, self.blockers, self.held = line.step, tuple(blockers), tuple(held)
        remedy = f"--earlier never ticks a hold: do {', '.join(held)} first" if held else (
            "the pour comes first" if "pour" in blockers else "do it first, or tick it at the same time with --earlier"
        )  # fmt: skip
        super().__init__(line, f"waits for {', '.join(blockers)}; {remedy}", "predecessor")


class TooFewHands(RefusedStep):
    """Fewer people than the step needs."""

    def __init__(self, line: Line, crew: int, need: int) -> None:
        self.crew, self.need = crew, need
        super().__init__(line, f"needs {need} people, {crew} are named; call more, or wheels and a frame first", "crew")


class BadGrip(RefusedStep):
    """The piece would bend too far. `answer` holds the stress, what it needs, and what the piece has."""

    def __init__(self, line: Line, answer: "GripAnswer") -> None:
        self.grip, self.answer = answer.grip, answer
        super().__init__(
            line,
            f"held {answer.grip} it bends {answer.stress_MPa:.2f} MPa, which asks for a modulus of rupture of "
            f"{answer.needed_MPa:.2f} MPa; it has about {answer.rupture_MPa:.1f} MPa "
            f"({answer.rupture_low_MPa:.1f} to {answer.rupture_high_MPa:.1f}); roll it on the long edge, "
            "carry it on edge",
            "grip",
        )


class MissedWindow(RefusedStep):
    """The window has closed. `text` is what the profile wants done, and confirmed by a check, before it opens again."""

    def __init__(self, line: Line, text: str, zone: tzinfo = UTC) -> None:
        self.text = text
        closed = f" {_time(line.late_at, zone)}" if line.late_at is not None else ""
        remedy = f"{text.rstrip('. ')}, then say so with --check pass"
        super().__init__(line, f"its window closed{closed}; {remedy}", "missed")


class FailedCheck(RefusedStep):
    """The hand check failed: recorded, and the step is not ticked."""

    def __init__(self, line: Line) -> None:
        text = line.fail or "wait and look again"
        super().__init__(line, f"the check failed, so it is not ticked; {text}", "check")


class HeldPour(Refused):
    """The conditions forbid the pour. `alerts` are those of grade hold."""

    def __init__(self, piece: str, alerts: Sequence[Alert], zone: tzinfo = UTC) -> None:
        self.piece, self.alerts = piece, tuple(alerts)
        said = "; ".join(_alert(alert, zone) for alert in alerts)
        super().__init__(f"{piece}: better not poured now: {said}", rule=alerts[0].rule)


def held(line: Line) -> bool:
    """A hold that is not open yet, with nothing else before it."""
    return line.hold and line.state == "waiting" and not line.waits_for


def missed_text(line: Line) -> str:
    """What must be done, and confirmed, because the window has closed; "" while it is open, or where lateness is
    no hold."""
    note = next((note for note in line.notes if note.rule == "missed"), None)
    return note.text if note is not None and line.state == "late" and line.check == note.text else ""


def too_few(line: Line, crew: int | None) -> bool:
    """Fewer people are named than a lift needs. None: nobody was counted."""
    return crew is not None and line.kind == "lift" and crew < line.crew


def blockers_of(timeline: Timeline, line: Line) -> list[str]:
    """All open steps before this one, the farthest first; "pour" among them while nothing is poured."""
    found: set[str] = set()
    todo = list(line.waits_for)
    while todo:
        step = todo.pop()
        if step in found:
            continue
        found.add(step)
        before = timeline.line(step)
        todo += before.waits_for if before is not None else ()
    order = {known.step: number for number, known in enumerate(timeline.lines)}
    return sorted(found, key=lambda step: order.get(step, -1))


def refuse_all(refusals: Sequence[RefusedStep]) -> None:
    """Raises the first, which says the others too."""
    if not refusals:
        return
    first, *others = refusals
    if others:
        first.also = tuple(others)
        first.args = ("; also ".join([str(first), *(str(o).partition(": ")[2] for o in others)]),)
    raise first


# --- plain words; curetrack.words says it nicer --------------------------------------------------------------------


def _need(reason: Reason | None) -> str:
    if reason is None:
        return ""
    if reason.rule == "unknown":
        return f"{reason.source or 'a rule'} cannot be judged, no {reason.subject or 'reading'} is known"
    if reason.rule == "frost":
        return "it froze young: a passed hardness check, thawed and at 10 °C or more for 24 h, comes first"
    if reason.rule == "wax":
        return "there is wax on the face: strip it and hone the face first"
    need = f"{reason.rule} needs {reason.need:.3g} {reason.unit}".rstrip() if reason.need is not None else reason.rule
    return need if reason.have is None else f"{need}, has {reason.have:.3g}"


def _opening(line: Line, zone: tzinfo) -> str:
    parts = []
    if line.check_from is not None:
        parts.append(f"a passed check from {_time(line.check_from, zone)} on opens it")
    if line.opens_at is not None:
        parts.append(f"it opens by itself {_time(line.opens_at, zone)}")
    return ", ".join(parts)


def _alert(alert: Alert, zone: tzinfo) -> str:
    text = alert.rule.replace("_", " ")
    if alert.value is not None:
        text += f" {alert.value:.3g} {alert.unit}".rstrip()
    return text + (f" {_time(alert.at, zone)}" if alert.at is not None else "")


def _time(at: datetime, zone: tzinfo) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"
