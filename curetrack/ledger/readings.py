"""Reading and writing the reading tables: fast in bulk, and the same reading is never in twice."""

from collections.abc import Callable, Iterator, Sequence
from sqlite3 import Connection

from curetrack.facts import Place, Reading
from curetrack.ledger.times import MS_PER_HOUR, time_to_ms
from curetrack.ledger.view import View

__all__ = [
    "Progress", "Row", "add_rows", "find_reading", "last_temperature_ms", "load_readings", "newest_readings",
    "withdrawn_readings",
]  # fmt: skip

Row = tuple[int, float | None, float | None, float | None]  # at_ms, temp_degC, humidity_pct, wind_m_s
Progress = Callable[[int, int], None]  # rows done, rows in all

_BATCH = 20_000

# Column lists and integers of our own are put into SQL text below; what came from outside is always a parameter.
_INSERT = (
    "INSERT OR IGNORE INTO reading (at, temp_degC, humidity_pct, wind_m_s, id, series, intake) VALUES (?, ?, ?, ?, ?"
)
_COLUMNS = "at, nullif(temp_degC, ''), nullif(humidity_pct, ''), nullif(wind_m_s, ''), id, intake"


def add_rows(
    connection: Connection, rows: Sequence[Row], *, place: Place, piece: str, recorded_ms: int, source: str,
    progress: Progress | None = None,
) -> int:  # fmt: skip
    """Adds the rows that are not there yet and returns how many. Call it inside a transaction.

    A withdrawn reading counts as there: a logger's file read again does not bring back what was taken out by hand.
    """
    if not rows:
        return 0
    connection.execute("SAVEPOINT intake")
    series = _series_id(connection, place, piece)
    last = connection.execute("SELECT last_reading FROM intake ORDER BY id DESC LIMIT 1").fetchone()
    first: int = 1 if last is None else last[0] + 1
    intake = connection.execute(
        "INSERT INTO intake (first_reading, last_reading, recorded_at, source) VALUES (?, ?, ?, ?)",
        (first, first + len(rows) - 1, recorded_ms, source),
    ).lastrowid
    before = connection.total_changes
    insert = f"{_INSERT}, {series}, {intake})"
    for start in range(0, len(rows), _BATCH):
        batch = rows[start : start + _BATCH]
        numbered = [  # written out, and not left to SQL, for speed
            (
                at,
                "" if temp is None else temp,
                "" if humidity is None else humidity,
                "" if wind is None else wind,
                number,
            )
            for number, (at, temp, humidity, wind) in enumerate(batch, first + start)
        ]
        connection.executemany(insert, numbered)
        if progress is not None:
            progress(start + len(batch), len(rows))
    added = connection.total_changes - before
    if not added:
        connection.execute("ROLLBACK TO intake")
    connection.execute("RELEASE intake")
    return added


def load_readings(connection: Connection, from_ms: int, pieces: Sequence[str], view: View | None) -> list[Reading]:
    """Readings in force from `from_ms` on that serve these pieces ("" being all), in order of time, then of record."""
    marks = ", ".join("?" * len(pieces))
    found = connection.execute(f"SELECT id, place, piece FROM series WHERE piece IN ({marks})", tuple(pieces))  # noqa: S608
    limits, values = _limits(view)
    gone = withdrawn_readings(connection, view)
    loaded: list[Reading] = []
    all_series = found.fetchall()
    for series, place, piece in all_series:
        rows = connection.execute(
            f"SELECT {_COLUMNS} FROM reading WHERE at >= ? AND series = ?{limits} ORDER BY at, id",  # noqa: S608
            (from_ms, series, *values),
        ).fetchall()
        loaded += _facts(connection, rows, place, piece, gone)
    if len(all_series) > 1:
        loaded.sort(key=lambda reading: (reading.at_h, reading.id))
    return loaded


def last_temperature_ms(connection: Connection, until_ms: int, piece: str, view: View | None) -> int | None:
    """When the last temperature in force that serves a piece was read, at or before an instant; None: never."""
    limits, values = _limits(view)
    gone = withdrawn_readings(connection, view)
    series = "SELECT id FROM series WHERE piece IN ('', ?) AND place != 'water'"
    rows = connection.execute(
        f"SELECT at, id FROM reading WHERE at <= ? AND series IN ({series})"  # noqa: S608
        f" AND temp_degC != ''{limits} ORDER BY at DESC",
        (until_ms, piece, *values),
    )
    return next((at for at, number in rows if number not in gone), None)


def newest_readings(connection: Connection, limit: int, view: View | None) -> list[Reading]:
    """The newest readings in force, newest first, whatever piece they serve."""
    limits, values = _limits(view)
    gone = withdrawn_readings(connection, view)
    rows = connection.execute(
        f"SELECT {_COLUMNS}, series FROM reading WHERE TRUE{limits} ORDER BY at DESC, id DESC LIMIT ?",  # noqa: S608
        (*values, limit + len(gone)),
    ).fetchall()
    named = {number: (place, piece) for number, place, piece in connection.execute("SELECT * FROM series")}
    return [fact for row in rows for fact in _facts(connection, [row[:6]], *named[row[6]], gone)][:limit]


def find_reading(connection: Connection, number: int) -> Reading | None:
    """The reading of that id, withdrawn or not."""
    row = connection.execute(f"SELECT {_COLUMNS}, series FROM reading WHERE id = ?", (number,)).fetchone()  # noqa: S608
    if row is None:
        return None
    place, piece = connection.execute("SELECT place, piece FROM series WHERE id = ?", (row[6],)).fetchone()
    return next(_facts(connection, [row[:6]], place, piece, frozenset()))


def withdrawn_readings(connection: Connection, view: View | None = None) -> frozenset[int]:
    """Ids of readings that are taken back in the view; the last word on each counts."""
    known_at = None if view is None or view.known_at is None else time_to_ms(view.known_at)
    rows = connection.execute(
        "SELECT reading, back FROM withdrawal WHERE ? IS NULL OR recorded_at <= ? ORDER BY id", (known_at, known_at)
    )
    return frozenset(reading for reading, back in dict(rows.fetchall()).items() if not back)


def _series_id(connection: Connection, place: Place, piece: str) -> int:
    connection.execute("INSERT OR IGNORE INTO series (place, piece) VALUES (?, ?)", (place, piece))
    found: int = connection.execute("SELECT id FROM series WHERE place = ? AND piece = ?", (place, piece)).fetchone()[0]
    return found


def _limits(view: View | None) -> tuple[str, tuple[int, ...]]:
    """What a view adds to WHERE."""
    text, values = "", []
    if view is not None and view.as_of:
        text += " AND at <= ?"
        values.append(time_to_ms(view.now))
    if view is not None and view.known_at is not None:
        text += " AND intake IN (SELECT id FROM intake WHERE recorded_at <= ?)"
        values.append(time_to_ms(view.known_at))
    return text, tuple(values)


def _facts(
    connection: Connection, rows: Sequence[tuple[int, float | None, float | None, float | None, int, int]],
    place: Place, piece: str, gone: frozenset[int],
) -> Iterator[Reading]:  # fmt: skip
    """Readings of one series; the times of record are looked up once for all of them."""
    if not rows:
        return iter(())
    intakes = [row[5] for row in rows]
    between = (min(intakes), max(intakes))
    recorded = {
        number: at / MS_PER_HOUR
        for number, at in connection.execute("SELECT id, recorded_at FROM intake WHERE id BETWEEN ? AND ?", between)
    }
    kept = rows if not gone else [row for row in rows if row[4] not in gone]
    return (
        Reading(at / MS_PER_HOUR, temp, humidity, wind, place, piece, number, recorded[intake])
        for at, temp, humidity, wind, number, intake in kept
    )
