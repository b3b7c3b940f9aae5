"""Rows of the table `nudge` to facts, and back."""

from collections.abc import Sequence
from sqlite3 import Connection

import msgspec
from msgspec.structs import replace

from curetrack.facts import NudgeFact
from curetrack.ledger.times import ms_to_time, time_to_ms, to_disk

__all__ = ["add_nudges", "load_nudges"]

COLUMNS = "key, phase, channel, piece, step, at, recorded_at, body"


def add_nudges(connection: Connection, facts: Sequence[NudgeFact]) -> list[NudgeFact]:
    """Appends them; as they are on disk, with their ids."""
    return [_add(connection, fact) for fact in facts]


def load_nudges(connection: Connection, after_id: int) -> list[NudgeFact]:
    """Those with a higher id, in order of recording."""
    rows = connection.execute(f"SELECT id, {COLUMNS} FROM nudge WHERE id > ? ORDER BY id", (after_id,))  # noqa: S608
    return [
        NudgeFact(number, key, phase, channel, piece, step, ms_to_time(at), ms_to_time(recorded), _body(body))
        for number, key, phase, channel, piece, step, at, recorded, body in rows
    ]


def _add(connection: Connection, fact: NudgeFact) -> NudgeFact:
    marks = ", ".join("?" * 8)
    number = connection.execute(
        f"INSERT INTO nudge ({COLUMNS}) VALUES ({marks})",  # noqa: S608
        (
            fact.key, fact.phase, fact.channel, fact.piece, fact.step, time_to_ms(fact.at),
            time_to_ms(fact.recorded_at), msgspec.json.encode(fact.body).decode(),
        ),
    ).lastrowid  # fmt: skip
    assert number is not None
    return replace(fact, id=number, at=to_disk(fact.at), recorded_at=to_disk(fact.recorded_at))


def _body(text: str) -> dict[str, object]:
    return msgspec.json.decode(text, type=dict[str, object])
