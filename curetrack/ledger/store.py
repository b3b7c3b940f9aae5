"""The ledger: facts in, facts out. Every change goes through one transaction; what is acknowledged is on disk."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from os import fspath
from typing import TYPE_CHECKING, Any

from curetrack.errors import StoreTrouble
from curetrack.facts import Device, Forecast, NudgeFact, Reading
from curetrack.ledger.connect import open_memory, open_reader, open_writer
from curetrack.ledger.readings import (
    find_reading,
    last_temperature_ms,
    load_readings,
    newest_readings,
    withdrawn_readings,
)
from curetrack.ledger.replay import Entry, Sheet
from curetrack.ledger.rows import EVENT_COLUMNS, PIECE_COLUMNS, entry_of, sheet_from
from curetrack.ledger.snapshots import document_of, forecast_of
from curetrack.ledger.times import MS_PER_HOUR, time_to_ms
from curetrack.ledger.trouble import translated
from curetrack.ledger.view import View
from curetrack.ledger.writer import Writer

if TYPE_CHECKING:
    from pathlib import Path

    from curetrack.ledger.newest import Newest

__all__ = ["Ledger"]

TIMEOUT_S = 5.0


class Ledger:
    """One ledger file. Reading creates nothing; the first change makes the folder and the file.

    `timeout_s` is how long to wait for another process before giving up with StoreTrouble. Not for use by several
    threads at once: open one per thread. `still`: nothing can be written beside the file, so that it is read as it
    stands, and what others write is not seen until it is closed and used again.
    """

    def __init__(self, path: "str | Path", *, timeout_s: float = TIMEOUT_S) -> None:
        self._file: str | None = fspath(path)
        self.timeout_s = timeout_s
        self._reader: sqlite3.Connection | None = None
        self._writer: sqlite3.Connection | None = None
        self._opened = self._changed = 0
        self._devices: tuple[object, list[Device]] | None = None
        self.still = False
        self._mark: tuple[int, int] | None = None

    @classmethod
    def in_memory(cls) -> "Ledger":
        """A ledger without a file, for rehearsals; closing it forgets all."""
        ledger = cls("memory")
        ledger._file = None
        return ledger

    @property
    def is_in_memory(self) -> bool:
        """There is no file."""
        return self._file is None

    @property
    def path(self) -> "Path | None":
        """The file; None for a ledger in memory."""
        from pathlib import Path

        return None if self._file is None else Path(self._file)

    def __enter__(self) -> "Ledger":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __del__(self) -> None:
        with suppress(sqlite3.Error, StoreTrouble):  # another thread's collector may not close it; Python then does
            self.close()

    def close(self) -> None:
        """Closes the file; the ledger may be used again, it then opens it anew."""
        reader, self._reader = self._reader, None
        writer, self._writer = self._writer, None
        self.still = False
        with self._translated():
            for connection in (reader, writer):
                if connection is not None:
                    connection.close()

    @property
    def exists(self) -> bool:
        """Something was recorded, or could have been: the file is there."""
        with self._reading() as connection:
            return connection is not None

    @contextmanager
    def change(self) -> Iterator[Writer]:
        """One transaction: all that is written inside is on disk when the block is left, or nothing is.

        The write lock is held from the start, so a decision taken inside rests on what is true when it is written.
        """
        self.look_again()
        with self._translated(system=True):
            connection = self._open_writer()
            if connection.in_transaction:
                raise RuntimeError("a change inside a change")
            connection.execute("BEGIN IMMEDIATE")
        try:
            with self._translated():
                yield Writer(connection)
                connection.execute("COMMIT")
                self._changed += 1
        except BaseException:
            if connection.in_transaction:  # SQLite itself rolls back on a full disk
                connection.execute("ROLLBACK")
            raise

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """All reads inside see the same state, whatever other processes write meanwhile."""
        with self._reading() as connection:
            if connection is None or connection.in_transaction:
                yield
                return
            connection.execute("BEGIN")
            try:
                yield
            finally:
                connection.execute("COMMIT")

    def entries(self, piece: str | None = None) -> list[Entry]:
        """All that was ever said, withdrawn or not, in order of recording: of one piece, or of all."""
        with self._reading() as connection:
            if connection is None:
                return []
            where, values = ("", ()) if piece is None else (" WHERE piece = ?", (piece,))
            rows = connection.execute(f"SELECT id, {EVENT_COLUMNS} FROM event{where} ORDER BY id", values)  # noqa: S608
            return [entry_of(row) for row in rows]

    def sheets(self, piece: str | None = None) -> dict[int, Sheet]:
        """Pieces as they were written down, by id: of one piece, or of all."""
        with self._reading() as connection:
            if connection is None:
                return {}
            where, values = ("", ()) if piece is None else (" WHERE name = ?", (piece,))
            rows = connection.execute(f"SELECT id, {PIECE_COLUMNS} FROM piece{where}", values)  # noqa: S608
            return {row[0]: sheet_from(row[1:]) for row in rows}

    def document(self, profile_sha: str) -> dict[str, Any]:
        """The profile's document of that snapshot."""
        with self._reading() as connection:
            row = None
            if connection is not None:
                row = connection.execute("SELECT body FROM profile WHERE sha = ?", (profile_sha,)).fetchone()
            if row is None:
                raise StoreTrouble(
                    f"{self._file}: the profile snapshot {profile_sha[:12]} is missing; restore a backup"
                )
            return document_of(row[0])

    def readings_since(self, from_ms: int, piece: str = "", view: View | None = None) -> list[Reading]:
        """Readings from `from_ms` (milliseconds UTC) on that serve a piece: the shared ones and, if named, its own."""
        with self._reading() as connection:
            if connection is None:
                return []
            return load_readings(connection, from_ms, ("", piece) if piece else ("",), view)

    def last_temperature_ms(self, until_ms: int, piece: str, view: View | None = None) -> int | None:
        """When the last temperature that serves a piece was read, at or before an instant (milliseconds UTC)."""
        with self._reading() as connection:
            return None if connection is None else last_temperature_ms(connection, until_ms, piece, view)

    def own_readings_since(self, from_ms: int, piece: str, view: View | None = None) -> list[Reading]:
        """The same without the shared ones."""
        with self._reading() as connection:
            return [] if connection is None else load_readings(connection, from_ms, (piece,), view)

    def pieces_with_readings(self) -> frozenset[str]:
        """Names of pieces that have, or had, readings of their own."""
        with self._reading() as connection:
            if connection is None:
                return frozenset()
            return frozenset(row[0] for row in connection.execute("SELECT DISTINCT piece FROM series")) - {""}

    def newest_readings(self, limit: int, view: View | None = None) -> list[Reading]:
        """The newest readings in force, newest first."""
        with self._reading() as connection:
            return [] if connection is None else newest_readings(connection, limit, view)

    def reading(self, number: int) -> tuple[Reading, bool] | None:
        """The reading of that id, and whether it is in force; None if there is none."""
        with self._reading() as connection:
            reading = None if connection is None else find_reading(connection, number)
            if connection is None or reading is None:
                return None
            return reading, number not in withdrawn_readings(connection)

    def forecast(self, view: View | None = None) -> Forecast | None:
        """The newest forecast in the view, by when it was made, then by when it was recorded."""
        made = time_to_ms(view.now) if view is not None and view.as_of else None
        known = time_to_ms(view.known_at) if view is not None and view.known_at is not None else None
        with self._reading() as connection:
            if connection is None:
                return None
            row = connection.execute(
                "SELECT id, body, recorded_at FROM forecast WHERE (? IS NULL OR made_at <= ?) "
                "AND (? IS NULL OR recorded_at <= ?) ORDER BY made_at DESC, id DESC LIMIT 1",
                (made, made, known, known),
            ).fetchone()
            return None if row is None else forecast_of(row[1], row[0], row[2] / MS_PER_HOUR)

    def nudges(self, after_id: int = 0) -> list[NudgeFact]:
        """What became of nudges, in order of recording: all with a higher id."""
        from curetrack.ledger.nudges import load_nudges

        with self._reading() as connection:
            return [] if connection is None else load_nudges(connection, after_id)

    def devices(self) -> list[Device]:
        """All that were ever paired, in order of pairing."""
        from curetrack.ledger.devices import load_devices

        with self._reading() as connection:
            if connection is None:
                return []
            newest = connection.execute("SELECT max(id) FROM device").fetchone()[0], self._opened
            if self._devices is None or self._devices[0] != newest:  # each request of each phone asks
                self._devices = newest, load_devices(connection)
            return list(self._devices[1])

    def said_by(self, source: str) -> bool:
        """Whether anything was ever written down from that source."""
        tables = ("event", "intake", "withdrawal", "forecast")
        asked = " OR ".join(f"EXISTS (SELECT 1 FROM {table} WHERE source = ?1)" for table in tables)  # noqa: S608
        with self._reading() as connection:
            return connection is not None and bool(connection.execute(f"SELECT {asked}", (source,)).fetchone()[0])

    def version(self) -> tuple[int, int, int]:
        """Another value whenever anybody has committed to the file since; cheap, for asking each second."""
        with self._reading() as connection:
            seen = 0 if connection is None else connection.execute("PRAGMA data_version").fetchone()[0]
        return self._opened, self._changed, seen

    def look_again(self) -> bool:
        """Lets go of a file that was removed or replaced since it was opened (a backup put in its place), so that the
        one that has its name now is read and written; whether that was so."""
        connection = self._writer or self._reader
        if connection is None or self._file is None or connection.in_transaction or _mark(self._file) == self._mark:
            return False
        self.close()
        return True

    def newest(self) -> "Newest":
        """The highest numbers of what was ever recorded."""
        from curetrack.ledger.newest import NOTHING, newest_of

        with self._reading() as connection:
            return NOTHING if connection is None else newest_of(connection)

    def last_recorded_ms(self) -> int | None:
        """When the last event was written down, milliseconds UTC; a clock that shows less is wrong."""
        with self._reading() as connection:
            if connection is None:
                return None
            found: int | None = connection.execute("SELECT max(recorded_at) FROM event").fetchone()[0]
            return found

    def damage(self) -> str:
        """What SQLite's quick look through the whole file finds amiss; empty: nothing, or nothing is recorded yet."""
        with self._reading() as connection:
            said = "ok" if connection is None else str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
        return "" if said == "ok" else said

    def pieces_said_since(self, event_id: int) -> set[str]:
        """Names of pieces of which an event with a higher number speaks."""
        with self._reading() as connection:
            if connection is None:
                return set()
            rows = connection.execute("SELECT DISTINCT piece FROM event WHERE id > ?", (event_id,))
            return {row[0] for row in rows}

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection | None]:
        if self._writer is None and self._reader is None and self._file is not None:
            with self._translated(system=True):
                opened = open_reader(self._file, self.timeout_s)
                self._reader, self.still = opened or (None, False)
                self._opened += self._reader is not None
                self._mark = _mark(self._file)
        with self._translated():
            yield self._writer or self._reader

    def _open_writer(self) -> sqlite3.Connection:
        if self._writer is None:
            if self._reader is not None:
                self._reader.close()
                self._reader, self.still = None, False
            self._writer = open_memory() if self._file is None else open_writer(self._file, self.timeout_s)
            self._opened += 1
            self._mark = None if self._file is None else _mark(self._file)
        return self._writer

    def _translated(self, *, system: bool = False) -> AbstractContextManager[None]:
        return translated((self._file or "ledger in memory"), self.timeout_s, system=system)


def _mark(file: str) -> tuple[int, int] | None:
    """Which file it is, whatever its name; None: it is not there."""
    try:
        about = os.stat(file)  # noqa: PTH116 -- pathlib is slow to import, and each write comes by here
    except OSError:
        return None
    return about.st_dev, about.st_ino
