"""Bringing an older file up to date: a backup copy first, all steps or none, and never twice."""

import sqlite3
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.ledger import Ledger
from curetrack.ledger import connect as connect_module
from curetrack.ledger.migrate import migrate, version_of
from curetrack.ledger.schema import APPLICATION_ID, MIGRATIONS, Migration


def first(connection: sqlite3.Connection) -> None:
    """A made-up first format, one table."""
    connection.execute("CREATE TABLE fact (id INTEGER PRIMARY KEY, text TEXT) STRICT")


def second(connection: sqlite3.Connection) -> None:
    connection.execute("ALTER TABLE fact ADD COLUMN source TEXT NOT NULL DEFAULT 'cli'")
    connection.execute("CREATE TABLE more (id INTEGER PRIMARY KEY) STRICT")


def later(connection: sqlite3.Connection) -> None:
    connection.execute("CREATE TABLE later (id INTEGER) STRICT")


def breaks(connection: sqlite3.Connection) -> None:
    second(connection)
    connection.execute("INSERT INTO more (id) VALUES (1)")
    connection.execute("CREATE TABLE fact (id)")  # exists: the step fails half-way


def opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, isolation_level=None)


def old_file(path: Path) -> None:
    connection = opened(path)
    migrate(connection, path, steps=(first,))
    connection.execute("INSERT INTO fact (text) VALUES ('kept')")
    connection.close()


def tables(path: Path) -> set[str]:
    connection = opened(path)
    found = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    connection.close()
    return found


def test_an_empty_file_becomes_a_ledger(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    path.touch()
    with Ledger(path) as ledger:
        assert not ledger.exists
        with ledger.change():
            pass
        assert ledger.exists
    assert tables(path) >= {"piece", "event", "reading", "forecast", "nudge", "device", "profile"}
    assert [file.name for file in tmp_path.iterdir()] == ["ledger.sqlite"]  # nothing was there to back up


def test_an_older_file_is_brought_up_to_date_with_a_copy_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    old_file(path)
    connection = opened(path)
    backup = migrate(connection, path, steps=(first, second))
    assert connection.execute("SELECT text, source FROM fact").fetchall() == [("kept", "cli")]
    assert version_of(connection, "", 2) == 2
    assert connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    assert migrate(connection, path, steps=(first, second)) is None  # once is enough
    connection.close()
    assert backup == tmp_path / "ledger.sqlite.v1.bak"
    copy = opened(backup)
    assert copy.execute("SELECT * FROM fact").fetchall() == [(1, "kept")]
    assert version_of(copy, "", 2) == 1
    copy.close()


def test_a_step_that_fails_half_way_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    old_file(path)
    connection = opened(path)
    with pytest.raises(sqlite3.OperationalError, match="already exists"):
        migrate(connection, path, steps=(first, breaks))
    assert not connection.in_transaction
    assert version_of(connection, "", 2) == 1
    assert connection.execute("SELECT * FROM fact").fetchall() == [(1, "kept")]
    connection.close()
    assert tables(path) == {"fact"}
    assert (tmp_path / "ledger.sqlite.v1.bak").exists()
    connection = opened(path)  # the next try keeps the first copy and makes another
    assert migrate(connection, path, steps=(first, second)) == tmp_path / "ledger.sqlite.v1-2.bak"
    connection.close()


def test_no_copy_no_migration(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "ledger.sqlite"
    old_file(path)
    connection = opened(path)

    def full(*_: object, **__: object) -> sqlite3.Connection:
        raise sqlite3.OperationalError("database or disk is full")

    with monkeypatch.context() as edge:
        edge.setattr(sqlite3, "connect", full)
        with pytest.raises(sqlite3.OperationalError, match="full"):
            migrate(connection, path, steps=(first, second))
    assert version_of(connection, "", 2) == 1
    connection.close()


def test_a_reader_brings_an_older_ledger_up_to_date(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "ledger.sqlite"
    with Ledger(path) as ledger, ledger.change():
        pass
    steps: tuple[Migration, ...] = (
        *MIGRATIONS,
        lambda c: (c.execute("CREATE TABLE later (id INTEGER) STRICT"), None)[1],
    )
    monkeypatch.setattr(connect_module, "MIGRATIONS", steps)
    monkeypatch.setattr(connect_module, "migrate", lambda c, p: migrate(c, p, steps=steps))
    monkeypatch.setattr(connect_module, "version_of", lambda c, where: version_of(c, where, len(steps)))
    with Ledger(path) as ledger:
        assert ledger.entries() == []
    assert "later" in tables(path)
    assert (tmp_path / "ledger.sqlite.v1.bak").exists()


def test_a_failing_migration_is_said_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "ledger.sqlite"
    path.touch()
    monkeypatch.setattr(connect_module, "migrate", lambda c, p: migrate(c, p, steps=(first, breaks)))
    said = r"the ledger refuses .*already exists"
    with Ledger(path) as ledger, pytest.raises(StoreTrouble, match=said), ledger.change():
        pass
    assert path.stat().st_size == 0 or tables(path) == set()
