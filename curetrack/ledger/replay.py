"""From all that was ever said to what is in force. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from msgspec import Struct

from curetrack.facts import Event, Piece, Shape
from curetrack.ledger.times import ms_to_time, time_to_ms
from curetrack.ledger.view import View

__all__ = [
    "Entry", "Sheet", "effective", "events_of", "last_in_force", "piece_of", "same_event", "sheet_of", "withdrawn",
]  # fmt: skip


class Sheet(Struct, frozen=True):
    """A piece as it was written down by a plan, a pour or a change. `source` is the profile as the maker named it."""

    name: str
    shape: Shape
    profile_id: str
    profile_from: str
    profile_sha: str
    sets: tuple[tuple[str, str], ...] = ()
    planned_pour_at: datetime | None = None
    need_by: datetime | None = None


class Entry(Struct, frozen=True):
    """One row of the event table. `event` is None for a plan, which is no event to the timeline."""

    id: int
    piece: str
    kind: str
    at_ms: int
    recorded_ms: int
    target: int | None = None
    sheet: int | None = None
    event: Event | None = None


def withdrawn(entries: Iterable[Entry]) -> frozenset[int]:
    """Ids that an undo in force takes back. An undo may itself be undone, so the newest is read first."""
    gone: set[int] = set()
    for entry in sorted((e for e in entries if e.kind == "undo"), key=lambda e: -e.id):
        if entry.id not in gone and entry.target is not None:
            gone.add(entry.target)
    return frozenset(gone)


def effective(entries: Iterable[Entry], view: View | None = None) -> list[Entry]:
    """What is in force in the view, undos left out, in the order of happening, then of recording.

    `known_at` hides what was recorded later, undos too; `as_of` hides only what happened later.
    """
    known = list(entries)
    if view is not None and view.known_at is not None:
        limit = time_to_ms(view.known_at)
        known = [entry for entry in known if entry.recorded_ms <= limit]
    gone = withdrawn(known)
    kept = [entry for entry in known if entry.kind != "undo" and entry.id not in gone]
    if view is not None and view.as_of:
        limit = time_to_ms(view.now)
        kept = [entry for entry in kept if entry.at_ms <= limit]
    return sorted(kept, key=lambda entry: (entry.at_ms, entry.id))


def events_of(entries: Iterable[Entry]) -> list[Event]:
    """The events among entries, in their order."""
    return [entry.event for entry in entries if entry.event is not None]


def last_in_force(entries: Sequence[Entry]) -> Entry | None:
    """The last thing said that still stands: what a plain undo withdraws."""
    return max(effective(entries), key=lambda entry: entry.id, default=None)


def sheet_of(in_force: Iterable[Entry], sheets: Mapping[int, Sheet]) -> Sheet | None:
    """The newest sheet in force, by the order of recording: a pour told late still replaces the plan."""
    newest = max((e for e in in_force if e.sheet is not None), key=lambda e: e.id, default=None)
    return None if newest is None or newest.sheet is None else sheets[newest.sheet]


def piece_of(in_force: Sequence[Entry], sheets: Mapping[int, Sheet]) -> Piece | None:
    """The piece as its entries in force describe it; None when none of them writes it down."""
    sheet = sheet_of(in_force, sheets)
    if sheet is None:
        return None
    return Piece(
        name=sheet.name, shape=sheet.shape, profile_id=sheet.profile_id, profile_sha=sheet.profile_sha,
        created_at=ms_to_time(min(entry.at_ms for entry in in_force if entry.sheet is not None)),
        planned_pour_at=sheet.planned_pour_at, need_by=sheet.need_by,
    )  # fmt: skip


def same_event(one: Event, other: Event) -> bool:
    """The same thing said twice: all but the id, and who recorded it when, is equal."""
    return _meaning(one) == _meaning(other)


def _meaning(event: Event) -> tuple[object, ...]:
    return (
        event.piece, event.kind, event.at, event.step, event.check, event.crew, event.grip, event.override, event.text,
        event.until, event.target, event.batches, event.profile_sha,
    )  # fmt: skip
