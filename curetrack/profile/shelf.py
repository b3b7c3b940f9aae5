"""Where profiles lie: those that ship with the program, and files of the maker's own."""

from pathlib import Path
from typing import Any

from curetrack.errors import UnknownName
from curetrack.profile.load import load_document

__all__ = ["find", "shipped"]

_PACKAGE = Path(__file__).resolve().parent.parent
_SHELVES = (_PACKAGE / "_profiles", _PACKAGE.parent / "profiles")  # installed; in a working copy


def shipped() -> list[tuple[str, Path]]:
    """(id, file) of the profiles that come with the program, by id."""
    shelf = next((folder for folder in _SHELVES if folder.is_dir()), None)
    return sorted((path.stem, path) for path in shelf.glob("*.toml")) if shelf else []


def find(name_or_file: str) -> tuple[str, dict[str, Any]]:
    """A profile's id and document, by the name of one that ships or by a file. A file's id is its stem.

    A name with a slash, or that ends in .toml, is a file. Raises UnknownName for another name that is not on the
    shelf, Faults for a file that cannot be read.
    """
    on_shelf = dict(shipped())
    if name_or_file in on_shelf:
        return name_or_file, load_document(on_shelf[name_or_file])
    if name_or_file.endswith(".toml") or "/" in name_or_file or "\\" in name_or_file:
        path = Path(name_or_file).expanduser() if name_or_file.startswith("~/") else Path(name_or_file)
        return path.stem, load_document(path)
    raise UnknownName("profile", name_or_file[:60], list(on_shelf))
