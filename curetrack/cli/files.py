"""Files that a person names."""

from pathlib import Path

from curetrack.errors import BadInput

__all__ = ["LARGEST_BYTES", "read_bytes", "write_new"]

LARGEST_BYTES = 400_000_000  # some ten million rows


def read_bytes(path: str, largest: int = LARGEST_BYTES) -> bytes:
    """All bytes of a file. Raises BadInput where it cannot be read, or is larger than so many bytes."""
    try:
        with Path(path).expanduser().open("rb") as file:
            data = file.read(largest + 1)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read: {reason}", where=path[:200], remedy="name a file") from error
    if len(data) > largest:
        raise BadInput("too large", where=path, found=f"over {largest // 1_000_000} MB", remedy="split it")
    return data


def write_new(path: Path, written: str, where: str) -> None:
    """A text file that was not there before, whole or not at all. Raises BadInput."""
    made = False
    try:
        with path.open("x", encoding="utf-8") as file:
            made = True
            file.write(written)
    except FileExistsError:
        raise BadInput("there is such a file already", where=where, found=str(path), remedy="take another") from None
    except (OSError, ValueError) as error:
        if made:
            path.unlink(missing_ok=True)  # half a file is none
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be written: {reason}", where=where, found=str(path), remedy="take another") from error
