"""A lock of the operating system on an open file: free the moment its holder is gone, however it went."""

import errno
import sys
from typing import IO, Any

__all__ = ["locked"]

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
