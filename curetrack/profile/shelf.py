"""Where profiles lie: those that ship with the program, and files of the maker's own."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from curetrack.errors import BadInput, UnknownName
from curetrack.profile.build import Built, built
from curetrack.profile.folders import parts, shipped
from curetrack.profile.load import apply_overrides, compile_profile
from curetrack.profile.pile import Origins
from curetrack.profile.types import Profile

__all__ = ["Found", "find", "found", "parts", "shipped"]

LONGEST = 1000  # characters of a path


class Found(Struct, frozen=True):
    """A profile by its id: the whole document, and of what it was built."""

    id: str
    built: Built

    @property
    def document(self) -> dict[str, Any]:
        """What a piece keeps: it names nothing that could change."""
        return self.built.document

    @property
    def origins(self) -> Origins:
        """Which file says what."""
        return self.built.origins

    def compiled(self, sets: Sequence[tuple[str, str]] = (), where: str = "") -> Profile:
        """The profile, with some values of its document replaced. Raises Faults, each with the file it stands in."""
        document = apply_overrides(self.document, sets) if sets else self.document
        return compile_profile(document, self.id, where or self.built.sources[0].label, self.origins)


def find(name_or_file: str) -> tuple[str, dict[str, Any]]:
    """`found`, as its id and whole document."""
    profile = found(name_or_file)
    return profile.id, profile.document


def found(name_or_file: str) -> Found:
    """A profile by the name of one that ships or by a file. A file's id is its stem.

    What has a slash, ends in .toml or lies there is a file. Raises UnknownName for another name that is not on the
    shelf, BadInput for what cannot be a name, Faults for a file that cannot be read or that is wrongly built.
    """
    on_shelf = dict(shipped())
    if name_or_file in on_shelf:
        return Found(name_or_file, built(on_shelf[name_or_file]))
    if not name_or_file.isprintable() or not 0 < len(name_or_file) <= LONGEST:
        raise BadInput("not a profile's name or file", found=name_or_file[:60], remedy="name one: curetrack profiles")
    try:
        path = Path(name_or_file).expanduser() if name_or_file.startswith("~/") else Path(name_or_file)
        is_file = name_or_file.endswith(".toml") or "/" in name_or_file or "\\" in name_or_file or path.is_file()
    except (OSError, RuntimeError):  # a name too long for the system; no home folder
        is_file = False
    if is_file:
        return Found(path.stem, built(path))
    if name_or_file in dict(parts()):
        remedy = "name a profile, or build one on it; see curetrack profiles"
        raise BadInput("a part of profiles, not a whole one", found=name_or_file, remedy=remedy)
    raise UnknownName("profile", name_or_file[:60], list(on_shelf))
