"""SQLite's and the system's errors, said in one line for people."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from curetrack.errors import StoreTrouble

__all__ = ["explain", "translated"]

_KEPT = "nothing of this was written, what was written before is kept"

# Primary result codes of SQLite (its documentation, "Result and Error Codes").
_SAID = {
    sqlite3.SQLITE_BUSY: "the ledger is in use by another program, waited {waited:g} s; {kept}, try again",
    sqlite3.SQLITE_LOCKED: "the ledger is in use by another program, waited {waited:g} s; {kept}, try again",
    sqlite3.SQLITE_READONLY: "the ledger or its folder is read-only; {kept}, make the folder writable",
    sqlite3.SQLITE_CANTOPEN: "the ledger cannot be opened; {kept}, see that its folder exists and may be written",
    sqlite3.SQLITE_FULL: "the disk is full; {kept}, free some space and say it again",
    sqlite3.SQLITE_CORRUPT: "the ledger is damaged ({error}); take the newest backup copy",
    sqlite3.SQLITE_NOTADB: "this file is not a ledger of curetrack; move it away or name another folder",
    sqlite3.SQLITE_IOERR: "the disk refuses ({error}); {kept}, look at the disk and its free space",
}


def explain(error: Exception, where: str, waited_s: float) -> str:
    """One line: what is wrong with the ledger at `where`, and what to do."""
    if isinstance(error, OSError):
        return f"{where}: {error.strerror or error}; {_KEPT}"
    code = getattr(error, "sqlite_errorcode", -1) & 0xFF  # the low byte is the primary code
    said = _SAID.get(code, "the ledger refuses ({error}); {kept}")
    return f"{where}: " + said.format(waited=waited_s, kept=_KEPT, error=error)


@contextmanager
def translated(where: str, waited_s: float, *, system: bool = False) -> Iterator[None]:
    """Turns what SQLite raises into StoreTrouble; the cause is kept. `system`: the system's errors too, where only
    ours can come out of the block."""
    try:
        yield
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError):
        raise  # a fault of ours, not of the disk: it must be seen
    except sqlite3.DatabaseError as error:
        raise StoreTrouble(explain(error, where, waited_s)) from error
    except OSError as error:
        if not system:
            raise
        raise StoreTrouble(explain(error, where, waited_s)) from error
