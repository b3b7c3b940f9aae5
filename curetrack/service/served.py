"""Where the phone's page is served: one small file, for the command that shows the code. Nothing rests on it."""

import os
import socket
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import msgspec
from msgspec import Struct

from curetrack.whole import write_whole

__all__ = ["FILE_NAME", "Served", "answers", "read_served", "remove_served", "write_served"]

FILE_NAME = "page.json"
WAITS_s = 1.0


class Served(Struct, frozen=True):
    """A page that is served.

    url      as this machine finds it, without a slash at the end
    others   as phones find it; empty while only this machine may ask, or has no network
    lan      the network is let in
    """

    pid: int
    url: str
    others: tuple[str, ...] = ()
    lan: bool = False

    @property
    def https(self) -> bool:
        """With a certificate."""
        return self.url.startswith("https:")


def write_served(home: Path, served: Served) -> None:
    """Whole or not at all. Raises OSError."""
    write_whole(home / FILE_NAME, msgspec.json.encode(served))


def remove_served(home: Path) -> None:
    """Our own; that of another process stays."""
    found = read_served(home)
    if found is not None and found.pid == os.getpid():
        with suppress(OSError):
            (home / FILE_NAME).unlink()


def read_served(home: Path) -> Served | None:
    """What was written last; None if there is nothing that can be understood."""
    try:
        return msgspec.json.decode((home / FILE_NAME).read_bytes(), type=Served)
    except (OSError, ValueError):
        return None


def answers(served: Served) -> bool:
    """Whether somebody listens there: a process that was killed leaves its file."""
    parts = urlsplit(served.url)
    try:
        with socket.create_connection((parts.hostname or "", parts.port or 0), WAITS_s):
            return True
    except OSError:
        return False
