"""A file written whole or not at all: beside its place, then renamed over it."""

import os
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_whole"]

FRESH = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)  # Windows would change the line ends


def write_whole(path: "Path", body: bytes, *, private: bool = False, synced: bool = False) -> None:
    """Whoever reads meanwhile has the old file or the new one. Makes the folder, for its owner alone.

    private   only the owner may read the file, from its first moment on
    synced    the file and its name are on the disk when this returns: a power cut leaves one of the two

    Raises OSError; the old file is as it was then.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with suppress(FileNotFoundError):
            beside.unlink()
        made = os.open(beside, FRESH, 0o600 if private else 0o666)
        with os.fdopen(made, "wb") as file:
            file.write(body)
            if synced:
                file.flush()
                os.fsync(file.fileno())
        beside.replace(path)
    finally:
        with suppress(OSError):
            beside.unlink()
    if synced and os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
