"""The folders of profiles that come with the program: whole profiles, and the parts that they are built on."""

from pathlib import Path

__all__ = ["DEFAULT_PROFILE", "parts", "shipped"]

DEFAULT_PROFILE = "bagged-tabletop"  # where none is named

_PACKAGE = Path(__file__).resolve().parent.parent
_SHELVES = (_PACKAGE / "_profiles", _PACKAGE.parent / "profiles")  # installed; in a working copy
_PARTS = "parts"


def shipped() -> list[tuple[str, Path]]:
    """(id, file) of the profiles that come with the program, by id."""
    return _files("")


def parts() -> list[tuple[str, Path]]:
    """(name, file) of the parts that profiles are built on, by name. None is a whole profile."""
    return _files(_PARTS)


def _files(below: str) -> list[tuple[str, Path]]:
    shelf = next((folder for folder in _SHELVES if folder.is_dir()), None)
    return sorted((path.stem, path) for path in (shelf / below).glob("*.toml")) if shelf else []
