"""Opening the file: for reading without creating anything, for writing with every fact synced to the disk."""

import os
import sqlite3
from typing import TYPE_CHECKING

from curetrack.errors import StoreTrouble
from curetrack.ledger.migrate import migrate, version_of
from curetrack.ledger.schema import MIGRATIONS

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["open_memory", "open_reader", "open_writer"]


LEAST_SQLITE = (3, 38, 0)  # strict tables, and JSON built in


def open_memory() -> sqlite3.Connection:
    """An empty ledger in memory, for rehearsals and tests."""
    _check_sqlite("ledger in memory")
    connection = sqlite3.connect(":memory:", isolation_level=None)
    migrate(connection, None)
    return connection


def open_writer(file: "str | Path", timeout_s: float) -> sqlite3.Connection:
    """The ledger for writing; the folder and the file are made if missing, an old file is brought up to date."""
    from pathlib import Path

    path = Path(file)
    _check_sqlite(str(path))
    _make_folder(path.parent)
    connection = sqlite3.connect(path, timeout=timeout_s, isolation_level=None)
    try:
        version = version_of(connection, str(path))
        _write_ahead(connection, timeout_s)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        if version < len(MIGRATIONS):
            migrate(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def open_reader(path: "str | Path", timeout_s: float) -> tuple[sqlite3.Connection, bool] | None:
    """The ledger for reading, and whether it is read as it stands; None if there is no file yet, or one in which
    nothing was ever written.

    Opened `rw` but `query_only`: so the last reader clears SQLite's side files away. On a medium that cannot be
    written, or that has no room for a side file, the file is read as it stands, if no unfinished side file lies beside
    it: what is written later is not seen until it is opened anew.
    """
    try:
        os.stat(path)  # noqa: PTH116 -- each command comes by here, and pathlib is slow to import
    except FileNotFoundError:
        return None
    connection, still = _open(path, "mode=rw", timeout_s), False
    try:
        try:
            version = version_of(connection, str(path))
        except sqlite3.OperationalError as error:
            if not _no_side_file(error):
                raise
            connection.close()
            connection, still = _open_still(path, timeout_s, error), True
            version = version_of(connection, str(path))
        if 0 < version < len(MIGRATIONS):
            connection.close()
            return open_writer(path, timeout_s), False
        connection.execute("PRAGMA query_only = ON")
    except BaseException:
        connection.close()
        raise
    if version == 0:
        connection.close()
        return None
    return connection, still


def _no_side_file(error: sqlite3.OperationalError) -> bool:
    """Whether the file may be well, and only what SQLite keeps beside it cannot be made."""
    side = (sqlite3.SQLITE_IOERR_SHMOPEN, sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMMAP)
    code = error.sqlite_errorcode
    return code in side or code & 0xFF in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL)


def _write_ahead(connection: sqlite3.Connection, timeout_s: float) -> None:
    """Turns the write-ahead log on, which is kept in the file. SQLite does not wait by itself here while another
    process opens the new file at the same moment."""
    from time import monotonic, sleep

    end = monotonic() + timeout_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > end:
                raise
            sleep(0.01)
        else:
            return


def _open(path: "str | Path", mode: str, timeout_s: float) -> sqlite3.Connection:
    name = os.fspath(path)
    if not name.startswith("/"):
        from pathlib import Path

        name = Path(name).absolute().as_posix()
    name = name.replace("%", "%25").replace("?", "%3f").replace("#", "%23")
    return sqlite3.connect(f"file:{name}?{mode}", uri=True, timeout=timeout_s, isolation_level=None)


def _open_still(file: "str | Path", timeout_s: float, cause: Exception) -> sqlite3.Connection:
    from pathlib import Path

    path = Path(file)
    side = path.with_name(path.name + "-wal")
    if side.exists() and side.stat().st_size:
        raise StoreTrouble(
            f"{path}: the folder is read-only or full, and {side.name} in it holds facts not yet merged; "
            "make it writable, free some space, or copy all its files to where there is some"
        ) from cause
    return _open(path, "mode=ro&immutable=1", timeout_s)


def _check_sqlite(where: str) -> None:
    if sqlite3.sqlite_version_info < LEAST_SQLITE:
        least = ".".join(map(str, LEAST_SQLITE[:2]))
        raise StoreTrouble(
            f"{where}: SQLite {least} or newer is needed, this Python has {sqlite3.sqlite_version}; use another Python"
        )


def _make_folder(folder: "Path") -> None:
    """Makes the folder, and syncs the one above it so that a power cut cannot lose the new name."""
    if folder.is_dir():
        return
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if os.name == "posix":
        above = os.open(folder.parent, os.O_RDONLY)
        try:
            os.fsync(above)
        finally:
            os.close(above)
