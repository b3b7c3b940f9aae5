"""Where profiles lie: those that ship with the program, and files of the maker's own."""

from pathlib import Path
from typing import Any

from curetrack.errors import BadInput, UnknownName
from curetrack.profile.load import load_document

__all__ = ["find", "shipped"]

LONGEST = 1000  # characters of a path
_PACKAGE = Path(__file__).resolve().parent.parent
_SHELVES = (_PACKAGE / "_profiles", _PACKAGE.parent / "profiles")  # installed; in a working copy


def shipped() -> list[tuple[str, Path]]:
    """(id, file) of the profiles that come with the program, by id."""
    shelf = next((folder for folder in _SHELVES if folder.is_dir()), None)
    return sorted((path.stem, path) for path in shelf.glob("*.toml")) if shelf else []


def find(name_or_file: str) -> tuple[str, dict[str, Any]]:
    """A profile's id and document, by the name of one that ships or by a file. A file's id is its stem.

    What has a slash, ends in .toml or lies there is a file. Raises UnknownName for another name that is not on the
    shelf, BadInput for what cannot be a name, Faults for a file that cannot be read.
    """
    on_shelf = dict(shipped())
    if name_or_file in on_shelf:
        return name_or_file, load_document(on_shelf[name_or_file])
    if not name_or_file.isprintable() or not 0 < len(name_or_file) <= LONGEST:
        raise BadInput("not a profile's name or file", found=name_or_file[:60], remedy="name one: curetrack profiles")
    try:
        path = Path(name_or_file).expanduser() if name_or_file.startswith("~/") else Path(name_or_file)
        is_file = name_or_file.endswith(".toml") or "/" in name_or_file or "\\" in name_or_file or path.is_file()
    except (OSError, RuntimeError):  # a name too long for the system; no home folder
        is_file = False
    if not is_file:
        raise UnknownName("profile", name_or_file[:60], list(on_shelf))
    return path.stem, load_document(path)
