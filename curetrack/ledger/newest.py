"""How far the ledger has come: the highest number of each kind of fact. Who looks again compares."""

from sqlite3 import Connection

from msgspec import Struct

__all__ = ["NOTHING", "Newest", "newest_of"]


class Newest(Struct, frozen=True):
    """Highest numbers, 0 where there is nothing; `device`: of a change to a device."""

    event: int = 0
    intake: int = 0
    withdrawal: int = 0
    forecast: int = 0
    nudge: int = 0
    device: int = 0


NOTHING = Newest()


def newest_of(connection: Connection) -> Newest:
    """Of one moment."""
    tables = ("event", "intake", "withdrawal", "forecast", "nudge", "device")
    asked = ", ".join(f"(SELECT coalesce(max(id), 0) FROM {table})" for table in tables)  # noqa: S608 -- names of our own
    row = connection.execute(f"SELECT {asked}").fetchone()
    return Newest(*row)
