"""Rows of the tables to facts, and back."""

from collections.abc import Iterable
from typing import Any

import msgspec

from curetrack.facts import Event
from curetrack.ledger.replay import Entry, Sheet
from curetrack.ledger.snapshots import shape_body, shape_of
from curetrack.ledger.times import ms_to_time, time_to_ms, to_disk

__all__ = [
    "EVENT_COLUMNS", "PIECE_COLUMNS", "entry_of", "event_row", "on_disk", "sheet_from", "sheet_row",
]  # fmt: skip

EVENT_COLUMNS = (
    "piece, kind, at, recorded_at, source, step, answer, crew, grip, override, text, until, target, batches, "
    "profile_sha, sheet"
)
PIECE_COLUMNS = "name, shape, profile_id, profile_from, profile_sha, sets, planned_pour_at, need_by"


def event_row(event: Event, sheet: int | None) -> tuple[object, ...]:
    """The values of EVENT_COLUMNS."""
    import json

    return (
        event.piece, event.kind, time_to_ms(event.at), time_to_ms(event.recorded_at), event.source, event.step,
        event.check, event.crew, event.grip, event.override, event.text,
        None if event.until is None else time_to_ms(event.until), event.target,
        json.dumps([time_to_ms(batch) for batch in event.batches]), event.profile_sha or None, sheet,
    )  # fmt: skip


def entry_of(row: tuple[Any, ...]) -> Entry:
    """An entry of `id` and EVENT_COLUMNS."""
    (number, piece, kind, at, recorded, source, step, answer, crew, grip, override, text, until, target, batches,
     profile_sha, sheet) = row  # fmt: skip
    event = None
    if kind != "plan":
        event = Event(
            id=number, piece=piece, kind=kind, at=ms_to_time(at), recorded_at=ms_to_time(recorded), source=source,
            step=step, check=answer, crew=crew, grip=grip, override=override, text=text,
            until=None if until is None else ms_to_time(until), target=target,
            batches=() if batches == "[]" else tuple(map(ms_to_time, msgspec.json.decode(batches))),
            profile_sha=profile_sha or "",
        )  # fmt: skip
    return Entry(number, piece, kind, at, recorded, target, sheet, event)


def on_disk(event: Event) -> Event:
    """The event with its times as they will be read back: UTC, whole milliseconds."""
    from msgspec.structs import replace

    return replace(
        event, at=to_disk(event.at), recorded_at=to_disk(event.recorded_at),
        until=None if event.until is None else to_disk(event.until), batches=tuple(map(to_disk, event.batches)),
    )  # fmt: skip


def sheet_row(sheet: Sheet) -> tuple[object, ...]:
    """The values of PIECE_COLUMNS."""
    import json

    planned, need_by = sheet.planned_pour_at, sheet.need_by
    return (
        sheet.name, shape_body(sheet.shape), sheet.profile_id, sheet.profile_from, sheet.profile_sha,
        json.dumps(sheet.sets, ensure_ascii=False), None if planned is None else time_to_ms(planned),
        None if need_by is None else time_to_ms(need_by),
    )  # fmt: skip


def sheet_from(row: Iterable[Any]) -> Sheet:
    """A sheet of PIECE_COLUMNS."""
    name, shape, profile_id, profile_from, profile_sha, sets, planned, need_by = row
    return Sheet(
        name, shape_of(shape), profile_id, profile_from, profile_sha,
        tuple((key, value) for key, value in msgspec.json.decode(sets)),
        None if planned is None else ms_to_time(planned), None if need_by is None else ms_to_time(need_by),
    )  # fmt: skip
