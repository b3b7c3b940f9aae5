"""The heartbeat: one small file that says who runs, since when, and what is wrong. Nothing rests on it."""

import os
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

__all__ = ["FILE_NAME", "Beat", "read_beat", "write_beat"]

FILE_NAME = "beat.json"


class Beat(Struct, frozen=True):
    """One beat.

    nudging     it holds the lease; else it only shows
    carried_by  the channels that work, in words
    troubles    sentences, the gravest first; no secrets
    next_at     the next nudge that is known
    url         of the phone's page, "" if it is not served
    """

    pid: int
    at: datetime
    started_at: datetime
    version: str
    nudging: bool
    carried_by: str = ""
    troubles: tuple[str, ...] = ()
    next_at: datetime | None = None
    url: str = ""


def write_beat(home: Path, beat: Beat) -> None:
    """Whole or not at all. Raises OSError."""
    beside = home / f".{FILE_NAME}.{os.getpid()}.new"
    try:
        beside.write_bytes(msgspec.json.encode(beat))
        beside.replace(home / FILE_NAME)
    finally:
        with suppress(OSError):
            beside.unlink()


def read_beat(home: Path) -> Beat | None:
    """The last beat; None if there is none, or none that can be understood."""
    try:
        return msgspec.json.decode((home / FILE_NAME).read_bytes(), type=Beat)
    except (OSError, ValueError):
        return None
