"""What may be written, inside one transaction of the ledger."""

from collections.abc import Sequence
from datetime import datetime
from sqlite3 import Connection
from typing import Any

from msgspec.structs import replace

from curetrack.facts import Event, Forecast, NudgeFact, Place
from curetrack.ledger.readings import Progress, Row, add_rows, withdrawn_readings
from curetrack.ledger.replay import Sheet, effective, events_of, same_event, withdrawn
from curetrack.ledger.rows import EVENT_COLUMNS, PIECE_COLUMNS, entry_of, event_row, on_disk, sheet_row
from curetrack.ledger.snapshots import body_of, forecast_body, sha_of
from curetrack.ledger.times import h_to_ms, time_to_ms

__all__ = ["Writer"]


class Writer:
    """Appends facts; made by `Ledger.change` only. Saying what is already in force changes nothing."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def add_profile(self, profile_id: str, document: dict[str, Any], recorded_at: datetime) -> str:
        """Keeps a snapshot of a profile's document and returns its name, the SHA-256 of its text."""
        body = body_of(document)
        sha = sha_of(body)
        self._connection.execute(
            "INSERT OR IGNORE INTO profile (sha, id, body, recorded_at) VALUES (?, ?, ?, ?)",
            (sha, profile_id, body, time_to_ms(recorded_at)),
        )
        return sha

    def add_event(self, event: Event, sheet: Sheet | None = None) -> tuple[Event, bool]:
        """The event as it is on disk, and whether it was written; False: the same is already in force.

        `sheet` goes with a pour and a change: the piece as it is written down by it.
        """
        event = on_disk(event)
        said = self._entries(event.piece)
        if event.kind == "undo":
            standing = [entry.event for entry in said if entry.kind == "undo" and entry.id not in withdrawn(said)]
            same = next((known for known in standing if known and known.target == event.target), None)
        else:
            same = next((known for known in events_of(effective(said)) if same_event(known, event)), None)
        if same is not None:
            return same, False
        number = self._insert_event(event_row(event, None if sheet is None else self._add_sheet(sheet)))
        return replace(event, id=number), True

    def add_plan(self, sheet: Sheet, at: datetime, source: str) -> None:
        """Writes down a piece that is not poured yet."""
        note = on_disk(Event(id=0, piece=sheet.name, kind="note", at=at, recorded_at=at, source=source))
        row = event_row(replace(note, profile_sha=sheet.profile_sha), self._add_sheet(sheet))
        self._insert_event((row[0], "plan", *row[2:]))

    def add_readings(
        self, rows: Sequence[Row], *, place: Place, piece: str, recorded_at: datetime, source: str,
        progress: Progress | None = None,
    ) -> int:  # fmt: skip
        """Adds those rows that are not there yet; how many that were."""
        return add_rows(
            self._connection, rows, place=place, piece=piece, recorded_ms=time_to_ms(recorded_at), source=source,
            progress=progress,
        )  # fmt: skip

    def reading_id(self, row: Row, *, place: Place, piece: str) -> int | None:
        """The id of that very reading, withdrawn or not; None if it was never recorded."""
        at, *values = row
        found = self._connection.execute(
            "SELECT reading.id FROM reading JOIN series ON series.id = reading.series WHERE at = ? AND place = ? "
            "AND piece = ? AND temp_degC = ? AND humidity_pct = ? AND wind_m_s = ?",
            (at, place, piece, *("" if value is None else value for value in values)),
        ).fetchone()
        return None if found is None else found[0]

    def readings_said_with(self, piece: str, at_ms: int, recorded_ms: int) -> list[int]:
        """Ids of a piece's own readings at that instant that were recorded in the same breath as an event."""
        rows = self._connection.execute(
            "SELECT reading.id FROM reading JOIN series ON series.id = reading.series "
            "JOIN intake ON intake.id = reading.intake WHERE at = ? AND piece = ? AND intake.recorded_at = ?",
            (at_ms, piece, recorded_ms),
        )
        return [row[0] for row in rows]

    def withdraw_reading(self, number: int, *, back: bool, recorded_at: datetime, source: str) -> bool:
        """Takes a reading out of force, or brings it back; False: it was already so."""
        if (number in withdrawn_readings(self._connection)) is not back:
            return False
        self._connection.execute(
            "INSERT INTO withdrawal (reading, back, recorded_at, source) VALUES (?, ?, ?, ?)",
            (number, int(back), time_to_ms(recorded_at), source),
        )
        return True

    def add_forecast(self, forecast: Forecast, *, recorded_at: datetime, source: str) -> bool:
        """Adds a forecast; False: the newest one says the same."""
        body = forecast_body(forecast)
        newest = self._connection.execute("SELECT body FROM forecast ORDER BY made_at DESC, id DESC LIMIT 1").fetchone()
        if newest is not None and newest[0] == body:
            return False
        self._connection.execute(
            "INSERT INTO forecast (made_at, body, recorded_at, source) VALUES (?, ?, ?, ?)",
            (h_to_ms(forecast.made_h), body, time_to_ms(recorded_at), source),
        )
        return True

    def add_nudges(self, facts: Sequence[NudgeFact]) -> list[NudgeFact]:
        """What became of nudges, as it is on disk, with ids."""
        from curetrack.ledger.nudges import add_nudges

        return add_nudges(self._connection, facts)

    def add_device_change(
        self, device: str, change: str, body: dict[str, str], *, recorded_at: datetime, source: str
    ) -> None:
        """A device was paired, renamed or revoked."""
        from curetrack.ledger.devices import add_device_change

        add_device_change(self._connection, device, change, body, recorded_at=recorded_at, source=source)

    def _entries(self, piece: str) -> list[Any]:
        rows = self._connection.execute(f"SELECT id, {EVENT_COLUMNS} FROM event WHERE piece = ?", (piece,))  # noqa: S608
        return [entry_of(row) for row in rows]

    def _add_sheet(self, sheet: Sheet) -> int:
        marks = ", ".join("?" * 8)
        return self._insert(f"INSERT INTO piece ({PIECE_COLUMNS}) VALUES ({marks})", sheet_row(sheet))  # noqa: S608

    def _insert_event(self, row: tuple[object, ...]) -> int:
        marks = ", ".join("?" * len(row))
        return self._insert(f"INSERT INTO event ({EVENT_COLUMNS}) VALUES ({marks})", row)  # noqa: S608

    def _insert(self, statement: str, values: tuple[object, ...]) -> int:
        number = self._connection.execute(statement, values).lastrowid
        assert number is not None
        return number
