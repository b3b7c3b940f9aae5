"""Bringing a ledger's file up to date: one transaction for all steps, a backup copy of the old file first."""

import sqlite3
from collections.abc import Sequence
from typing import TYPE_CHECKING

from curetrack.errors import StoreTrouble
from curetrack.ledger.schema import APPLICATION_ID, MIGRATIONS, Migration

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["migrate", "version_of"]


def version_of(connection: sqlite3.Connection, where: str, latest: int = len(MIGRATIONS)) -> int:
    """The schema version of the file, 0 for an empty one.

    Raises StoreTrouble for a file that is not ours, and for one that a newer curetrack wrote.
    """
    application, version, tables = _marks(connection)
    if application != APPLICATION_ID:
        if application or version or tables:
            raise StoreTrouble(
                f"{where}: this database is not a ledger of curetrack; move it away or name another folder"
            )
        return 0
    if tables and not version:
        raise StoreTrouble(f"{where}: the ledger is damaged (its format number is lost); take the newest backup copy")
    if version > latest:
        raise StoreTrouble(
            f"{where}: a newer curetrack wrote this ledger (format {version}, this one reads up to {latest}); "
            "nothing was changed, update curetrack"
        )
    return version


def migrate(
    connection: sqlite3.Connection, path: "Path | None", *, steps: Sequence[Migration] = MIGRATIONS
) -> "Path | None":
    """Runs the steps that are missing and returns the backup copy's path (None: there was nothing to copy).

    The lock is taken first, so that two processes cannot both migrate; a step that fails leaves the file as it was.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = version_of(connection, str(path), len(steps))
        backup = _copy(path, version) if path is not None and 0 < version < len(steps) else None
        for step in steps[version:]:
            step(connection)
        if version < len(steps):
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {len(steps)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return backup


def _marks(connection: sqlite3.Connection) -> tuple[int, int, int]:
    """Application id, version, number of tables: of one moment, since another process may just be making them."""
    own = not connection.in_transaction
    if own:
        connection.execute("BEGIN")
    try:
        tables: int = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        application: int = connection.execute("PRAGMA application_id").fetchone()[0]
        version: int = connection.execute("PRAGMA user_version").fetchone()[0]
    finally:
        if own and connection.in_transaction:
            connection.execute("ROLLBACK")
    return application, version, tables


def _copy(path: "Path", version: int) -> "Path":
    """A whole copy beside the file, `ledger.sqlite.v1.bak`; an earlier copy of that version is kept, numbered."""
    target = path.with_name(f"{path.name}.v{version}.bak")
    number = 1
    while target.exists():
        number += 1
        target = path.with_name(f"{path.name}.v{version}-{number}.bak")
    source = sqlite3.connect(path)
    copy = sqlite3.connect(target)
    try:
        source.backup(copy)
    finally:
        copy.close()
        source.close()
    return target
