"""A piece's events, sorted into what the solver asks: what was done when, what was looked at, what was put off."""

from collections.abc import Sequence

from msgspec import Struct

from curetrack.facts import Event
from curetrack.instants import to_h

__all__ = ["HARDNESS", "Answer", "History", "read_history"]

HARDNESS = "hardness"  # the check after a frost; no step has this id
NOT_YET_WRITTEN = 1 << 62  # an event about to be written has no id, and is the newest of its instant


class Answer(Struct, frozen=True):
    """One recorded hand check: when, and whether it passed."""

    at_h: float
    passed: bool


class History(Struct, frozen=True):
    """The events in force, by step id. Instants in POSIX hours."""

    first_batch_h: float | None
    last_batch_h: float | None
    done: dict[str, Event]
    skipped: dict[str, Event]
    answers: dict[str, list[Answer]]
    later_h: dict[str, float]
    again: list[tuple[float, str]]
    dropped: bool

    def closed_h(self, step_id: str) -> float | None:
        """When the step was done or skipped; None while it is open."""
        event = self.done.get(step_id) or self.skipped.get(step_id)
        return None if event is None else to_h(event.at)


def read_history(events: Sequence[Event]) -> History:
    """Sort the events in force (none of them withdrawn). The newest of a kind counts where there can be one only."""
    first: float | None = None
    last: float | None = None
    done: dict[str, Event] = {}
    skipped: dict[str, Event] = {}
    answers: dict[str, list[Answer]] = {}
    later_h: dict[str, float] = {}
    again: list[tuple[float, str]] = []
    dropped = False
    for event in sorted(events, key=lambda e: (e.at, e.id or NOT_YET_WRITTEN)):
        at_h = to_h(event.at)
        match event.kind:
            case "pour":
                batches = [to_h(batch) for batch in event.batches] or [at_h]
                first, last = min(batches), max(batches)
            case "done":
                done[event.step] = event
                if event.check is not None:
                    answers.setdefault(event.step, []).append(Answer(at_h, event.check == "pass"))
            case "check":
                answers.setdefault(event.step, []).append(Answer(at_h, event.check == "pass"))
            case "skip":
                skipped[event.step] = event
            case "later" if event.until is not None:
                later_h[event.step] = to_h(event.until)
            case "again":
                again.append((at_h, event.step))
            case "drop":
                dropped = True
            case _:
                pass
    return History(first, last, done, skipped, answers, later_h, again, dropped)
