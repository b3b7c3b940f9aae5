"""The nudging lease: of several processes on one ledger, one nudges. A lock of the operating system on a file, so that
it is free the moment its holder is gone, however it went and whatever the clock says.
"""

import os
from pathlib import Path
from typing import IO

from curetrack.locking import locked

__all__ = ["FILE_NAME", "Lease", "is_held"]

FILE_NAME = "bench.lock"


class Lease:
    """Held from a successful `take` until `release` or the end of the process."""

    def __init__(self, home: Path) -> None:
        self._path = home / FILE_NAME
        self._file: IO[str] | None = None
        self.trouble = ""

    @property
    def held(self) -> bool:
        """This process nudges."""
        return self._file is not None

    def take(self) -> bool:
        """Whether it is ours now. Where no lock can be made at all (a home that cannot be written) it counts as ours:
        better that two nudge than none; `trouble` says so."""
        if self._file is not None:
            return True
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            file = self._path.open("a+", encoding="ascii", errors="replace")
        except OSError as error:
            self.trouble = f"{self._path}: {error.strerror or error}; another process may nudge as well"
            return True
        self.trouble = ""
        try:
            taken = locked(file)
        except OSError as error:  # a disk without locks, as some network folders are
            file.close()
            self.trouble = (
                f"{self._path} cannot be locked ({error.strerror or error}); another process may nudge as well"
            )
            return True
        if not taken:
            file.close()
            return False
        file.seek(0)
        file.truncate()
        try:
            file.write(f"{os.getpid()}\n")
            file.flush()
        except OSError:  # a full disk: the lock holds all the same
            pass
        self._file = file
        return True

    def check(self) -> None:
        """Lets go of a lock on a file that was removed or replaced: another process would take the new one for free."""
        if self._file is None:
            return
        try:
            held, named = os.fstat(self._file.fileno()), self._path.stat()
            same = (held.st_dev, held.st_ino) == (named.st_dev, named.st_ino)
        except OSError:
            same = False
        if not same:
            self.release()

    def holder(self) -> int | None:
        """The process that holds it, as far as the file says."""
        try:
            text = self._path.read_text(encoding="ascii").strip()
        except (OSError, UnicodeDecodeError):
            return None
        return int(text) if text.isdigit() else None

    def release(self) -> None:
        """Another may take it. The file stays: removing it would let two hold what they take for the same lock."""
        file, self._file = self._file, None
        if file is not None:
            file.close()


def is_held(home: Path) -> bool | None:
    """Whether a process holds the lease of that home; None: that cannot be seen. Looks by taking the lock for a moment:
    a service that starts in that moment takes it at its next try."""
    try:
        with (home / FILE_NAME).open("r+", encoding="ascii", errors="replace") as file:
            return not locked(file)
    except FileNotFoundError:
        return False
    except OSError:
        return None
