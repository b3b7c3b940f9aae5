"""The tables, step by step. A step is never edited once released: a change is a further step.

Every table is append-only, held by triggers. All times are INTEGER milliseconds UTC. What is taken back stays:
an `undo` event names its target, a `withdrawal` names a reading.
"""

from collections.abc import Callable
from sqlite3 import Connection

__all__ = ["APPLICATION_ID", "MIGRATIONS", "Migration"]

APPLICATION_ID = 0x43555245  # "CURE" in ASCII: tells our file from any other SQLite file

Migration = Callable[[Connection], None]

# A profile is named by the SHA-256 of its document, so that the same document is stored once.
# piece: each row is a piece as written down; `event.sheet` says which event wrote it, and the newest in force counts.
# reading: one tree, keyed by time, since the shop looks by time only and a second index would double an import.
#   '' stands for "not measured": NULLs are never equal, and would let a reading in twice.
#   `id` numbers readings for people; `intake` says when and by whom they were recorded, `series` where measured.
_STEP_1 = (
    """CREATE TABLE profile (
        sha TEXT PRIMARY KEY CHECK (length(sha) = 64),
        id TEXT NOT NULL,
        body TEXT NOT NULL CHECK (json_valid(body)),
        recorded_at INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE piece (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
        shape TEXT NOT NULL CHECK (json_valid(shape)),
        profile_id TEXT NOT NULL,
        profile_from TEXT NOT NULL,
        profile_sha TEXT NOT NULL REFERENCES profile (sha),
        sets TEXT NOT NULL CHECK (json_valid(sets)),
        planned_pour_at INTEGER,
        need_by INTEGER
    ) STRICT""",
    """CREATE TABLE event (
        id INTEGER PRIMARY KEY,
        piece TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN
            ('plan', 'pour', 'done', 'skip', 'later', 'check', 'again', 'note', 'change', 'drop', 'undo')),
        at INTEGER NOT NULL,
        recorded_at INTEGER NOT NULL,
        source TEXT NOT NULL,
        step TEXT NOT NULL,
        answer TEXT CHECK (answer IN ('pass', 'fail')),
        crew INTEGER,
        grip TEXT,
        override TEXT,
        text TEXT NOT NULL,
        until INTEGER,
        target INTEGER REFERENCES event (id) CHECK ((target IS NOT NULL) = (kind = 'undo')),
        batches TEXT NOT NULL CHECK (json_valid(batches)),
        profile_sha TEXT REFERENCES profile (sha),
        sheet INTEGER REFERENCES piece (id) CHECK ((sheet IS NOT NULL) = (kind IN ('plan', 'pour', 'change')))
    ) STRICT""",
    "CREATE INDEX event_by_piece ON event (piece)",
    """CREATE TABLE series (
        id INTEGER PRIMARY KEY,
        place TEXT NOT NULL CHECK (place IN ('slab', 'air', 'outside', 'water')),
        piece TEXT NOT NULL,
        UNIQUE (place, piece)
    ) STRICT""",
    """CREATE TABLE intake (
        id INTEGER PRIMARY KEY,
        first_reading INTEGER NOT NULL,
        last_reading INTEGER NOT NULL CHECK (last_reading >= first_reading),
        recorded_at INTEGER NOT NULL,
        source TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE reading (
        at INTEGER NOT NULL,
        series INTEGER NOT NULL,
        temp_degC ANY NOT NULL,
        humidity_pct ANY NOT NULL,
        wind_m_s ANY NOT NULL,
        id INTEGER NOT NULL,
        intake INTEGER NOT NULL,
        PRIMARY KEY (at, series, temp_degC, humidity_pct, wind_m_s)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE withdrawal (
        id INTEGER PRIMARY KEY,
        reading INTEGER NOT NULL,
        back INTEGER NOT NULL CHECK (back IN (0, 1)),
        recorded_at INTEGER NOT NULL,
        source TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE forecast (
        id INTEGER PRIMARY KEY,
        made_at INTEGER NOT NULL,
        body TEXT NOT NULL CHECK (json_valid(body)),
        recorded_at INTEGER NOT NULL,
        source TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE nudge (
        id INTEGER PRIMARY KEY,
        key TEXT NOT NULL,
        phase TEXT NOT NULL CHECK (phase IN ('intent', 'sent', 'failed', 'answered')),
        channel TEXT NOT NULL,
        piece TEXT NOT NULL,
        step TEXT NOT NULL,
        at INTEGER NOT NULL,
        recorded_at INTEGER NOT NULL,
        body TEXT NOT NULL CHECK (json_valid(body))
    ) STRICT""",
    "CREATE INDEX nudge_by_key ON nudge (key)",
    """CREATE TABLE device (
        id INTEGER PRIMARY KEY,
        device TEXT NOT NULL,
        change TEXT NOT NULL CHECK (change IN ('paired', 'renamed', 'revoked')),
        body TEXT NOT NULL CHECK (json_valid(body)),
        recorded_at INTEGER NOT NULL,
        source TEXT NOT NULL
    ) STRICT""",
)

_TABLES = ("profile", "piece", "event", "series", "intake", "reading", "withdrawal", "forecast", "nudge", "device")


def _guards(table: str) -> tuple[str, ...]:
    return tuple(
        f"CREATE TRIGGER {table}_keeps_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        for verb in ("UPDATE", "DELETE")
    )


def _create(connection: Connection) -> None:
    for statement in (*_STEP_1, *(guard for table in _TABLES for guard in _guards(table))):
        connection.execute(statement)


MIGRATIONS: tuple[Migration, ...] = (_create,)
