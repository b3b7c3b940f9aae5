"""Files that a person names."""

import os
from pathlib import Path

from curetrack.errors import BadInput

__all__ = ["LARGEST_BYTES", "new_toml", "read_bytes", "write_new"]

LONGEST = 1000  # characters of a path, as where profiles are looked for
SLASHES = tuple(sep for sep in (os.sep, os.altsep) if sep)

LARGEST_BYTES = 400_000_000  # some ten million rows


def read_bytes(path: str, largest: int = LARGEST_BYTES) -> bytes:
    """All bytes of a file. Raises BadInput where it cannot be read, or is larger than so many bytes."""
    if not path.strip():
        raise BadInput("no file is named", found=path, remedy="name one")
    try:
        with Path(path).expanduser().open("rb") as file:
            data = file.read(largest + 1)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read: {reason}", where=path[:200], remedy="name a file") from error
    if len(data) > largest:
        raise BadInput("too large", where=path, found=f"over {largest // 1_000_000} MB", remedy="split it")
    return data


def new_toml(target: str, name: str, where: str) -> Path:
    """Where a new TOML file is to be: the file that is named, with .toml behind it; in a folder that is there under
    `name`. Raises BadInput for what names no file."""
    like = f"name one like {name}.toml, or a folder"
    if not target.strip():
        raise BadInput("no file is named", where=where, found=target, remedy=like)
    if len(target) > LONGEST or not target.isprintable():
        what = f"a name has up to {LONGEST} printable characters"
        raise BadInput(what, where=where, found=target, remedy=like)
    try:
        path = Path(target).expanduser()
        is_folder = path.is_dir()
    except RuntimeError:  # no such user, or one without a home
        raise BadInput("no such home folder", where=where, found=target, remedy=like) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be written: {reason}", where=where, found=target, remedy=like) from error
    if is_folder:
        return path / f"{name}.toml"
    if target.endswith(SLASHES):
        raise BadInput("there is no such folder", where=where, found=target, remedy="make it first")
    if not path.name.removesuffix(".toml").strip(".- "):
        raise BadInput("a file without a name", where=where, found=target, remedy=like)
    return path if path.name.endswith(".toml") else path.with_name(f"{path.name}.toml")


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
