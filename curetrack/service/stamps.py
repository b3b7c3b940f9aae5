"""Whether a file is still the one that was looked at: cheap enough to be asked each second."""

import os
from pathlib import Path

__all__ = ["Stamp", "stamp"]

Stamp = tuple[int, int]  # mtime in ns, size


def stamp(path: str | Path) -> Stamp:
    """Of the file there; zeros if there is none that can be looked at."""
    try:
        about = os.stat(path)  # noqa: PTH116 -- each second
    except OSError:
        return 0, 0
    return about.st_mtime_ns, about.st_size
