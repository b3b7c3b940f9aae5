"""The heartbeat: one small file that says who runs, since when, and what is wrong. Nothing rests on it."""

import os
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

import msgspec
from msgspec import Struct

from curetrack import __version__
from curetrack.whole import write_whole

__all__ = ["FILE_NAME", "SILENT", "Beat", "Pulse", "read_beat", "silent_holder", "write_beat"]

FILE_NAME = "beat.json"
SILENT = timedelta(seconds=150)  # a beat comes each minute


class Beat(Struct, frozen=True):
    """One beat.

    nudging     it holds the lease; else it only shows
    carried_by  the channels that work, in words
    troubles    sentences, the gravest first; no secrets
    next_at     the next nudge that is known
    """

    pid: int
    at: datetime
    started_at: datetime
    version: str
    nudging: bool
    carried_by: str = ""
    troubles: tuple[str, ...] = ()
    next_at: datetime | None = None


def write_beat(home: Path, beat: Beat) -> None:
    """Whole or not at all. Raises OSError."""
    write_whole(home / FILE_NAME, msgspec.json.encode(beat))


def read_beat(home: Path) -> Beat | None:
    """The last beat; None if there is none, or none that can be understood."""
    try:
        return msgspec.json.decode((home / FILE_NAME).read_bytes(), type=Beat)
    except (OSError, ValueError):
        return None


def silent_holder(beat: Beat | None, now: datetime) -> str:
    """What is to be said where another process nudges that gives no sign of life: it hangs, or was stopped."""
    if beat is None or abs(now - beat.at) <= SILENT:
        return ""
    minutes = round(abs(now - beat.at) / timedelta(minutes=1))
    return (
        f"Process {beat.pid} should nudge, but has given no sign of life for {minutes} min. "
        "End it, and this one takes over."
    )


class Pulse:
    """Beats for one process. `trouble`: why the last beat could not be written; so is nothing else, then."""

    def __init__(self, home: Path, started_at: datetime) -> None:
        self.trouble = ""
        self._home, self._started_at = home, started_at

    def beats(self, at: datetime, carried_by: str, troubles: Iterable[str], next_at: datetime | None) -> None:
        """One beat of the process that nudges."""
        beat = Beat(os.getpid(), at, self._started_at, __version__, True, carried_by, tuple(troubles), next_at)
        try:
            write_beat(self._home, beat)
        except OSError as error:
            self.trouble = f"Nothing can be written to {self._home}: {error.strerror or error}."
        else:
            self.trouble = ""
