"""A lock of the operating system on an open file: free the moment its holder is gone, however it went."""

import errno
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Any

from curetrack.errors import StoreTrouble

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["locked", "waiting"]

LOOK_AGAIN_s = 0.02
PATIENCE_s = 10.0  # so long a write waits for another process

HELD = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK)  # another has it; anything else: no locks here


def locked(file: IO[Any]) -> bool:
    """Whether it is ours now, until the file is closed; False: another process holds it. Does not wait. Raises OSError
    where nothing can be locked, as on some network folders."""
    try:
        _lock(file)
    except OSError as error:
        if error.errno in HELD:
            return False
        raise
    return True


@contextmanager
def waiting(path: "Path") -> Iterator[None]:
    """Holds the lock of this file while the block lasts, so that what it reads, changes and writes is changed by nobody
    else meanwhile. Makes file and folder; the file stays, since who waits for it holds it open.

    Where nothing can be locked, as on some network folders, the block runs all the same: a setting that cannot be made
    at all is worse than two at once. Raises StoreTrouble: no file can be made, or another process has the lock for
    longer than `PATIENCE_s`.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        file = path.open("ab")
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}; nothing was written") from error
    with file:
        until = time.monotonic() + PATIENCE_s
        while not _ours(file):
            if time.monotonic() > until:
                raise StoreTrouble(f"{path}: another process is writing; nothing was written; try again")
            time.sleep(LOOK_AGAIN_s)
        yield


def _ours(file: IO[Any]) -> bool:
    try:
        return locked(file)
    except OSError:
        return True


if sys.platform == "win32":
    import msvcrt

    FAR = 1 << 30  # a byte that nobody reads, so that the file can be read while it is locked

    def _lock(file: IO[Any]) -> None:
        file.seek(FAR)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(file: IO[Any]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
