"""Files that a person names."""

from pathlib import Path

from curetrack.errors import BadInput

__all__ = ["LARGEST_BYTES", "read_bytes"]

LARGEST_BYTES = 400_000_000  # some ten million rows


def read_bytes(path: str) -> bytes:
    """All bytes of a file. Raises BadInput where it cannot be read."""
    try:
        with Path(path).expanduser().open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read: {reason}", where=path[:200], remedy="name a file") from error
    if len(data) > LARGEST_BYTES:
        raise BadInput("too large", where=path, found=f"over {LARGEST_BYTES // 1_000_000} MB", remedy="split it")
    return data
