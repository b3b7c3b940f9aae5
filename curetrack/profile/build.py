"""A profile that builds on others: what it takes, leaves out, changes and adds makes one whole document.

    build_on = ["mix-bagged", "cast-face-down"]   # profiles or parts that ship, or files beside this one
    leave_out = ["mist"]                          # steps that are not taken
    [mix]                                         # its keys replace those of the base, one by one
    [change.strip]                                # so do the keys of a step; rules and limits one by one too
    [[step]]                                      # a new step, or another one in place of one that was left out

The result stands on its own: it says nothing of what it was made from, so that later changes there cannot reach it.
"""

from pathlib import Path
from typing import Any

from msgspec import Struct

from curetrack.errors import BadInput, Faults
from curetrack.profile.faulty import Near, Sheet, bad, said, unknown_key
from curetrack.profile.folders import parts, shipped
from curetrack.profile.layer import Add, add_own, adder, change, join, leave_out, names
from curetrack.profile.pile import Origins, Pile
from curetrack.profile.toml import Written, read_written

__all__ = ["OWN", "Built", "built"]

MOST_FILES = 30
OWN = ("build_on", "leave_out", "change")  # keys that only mean something while a document is being built
_BASE = ("format", "name", "summary", "cast", "mix", "material", "step", *OWN)


class Built(Struct, frozen=True):
    """A whole document, and where each piece of it is written."""

    document: dict[str, Any]
    origins: Origins = {}
    sources: tuple[Written, ...] = ()  # the file itself first, then what it was built on, in that order


def built(source: str | Path, where: str = "") -> Built:
    """The document of a file, or of TOML text, with all that it builds on. A document that builds on nothing is given
    as it stands, unchecked. Raises Faults: a file that cannot be read, or anything wrong with the building."""
    written = read_written(source, where)
    if not any(key in written.document for key in OWN):
        return Built(written.document, {}, (written,))
    work = _Work()
    pile = work.pile(written)
    if work.faults:
        raise Faults(written.label, work.faults)
    return Built(pile.document(written.document), pile.origins, tuple(work.sources))


class _Work:
    """One building: the files it has read, those that are being read, and all that is wrong."""

    def __init__(self) -> None:
        self.sources: list[Written] = []
        self.open: list[Written] = []
        self.by: dict[str, str] = {}  # the path of what was built on: which file named it
        self.faults: list[str] = []

    def pile(self, written: Written) -> Pile:
        """What a file says, on top of what it builds on."""
        self.sources.append(written)
        self.open.append(written)
        sheet = Sheet(written.label)
        pile = Pile()
        if "build_on" not in written.document:
            _unbuilt(written, sheet)
        wanted = names(written, "build_on", sheet)
        add = adder(written, "build_on", sheet)
        bases = {name: self._base(name, written, add) for name in wanted}
        for name, base in bases.items():
            if base is not None:
                join(pile, base, name, add)
        lost = None in bases.values() and len(self.open) > 1
        if wanted and not lost:  # of another's file what follows from that is not said besides
            leave_out(pile, written, sheet)
            change(pile, written, sheet)
        add_own(pile, written, sheet)
        self.open.pop()
        if sheet.items:
            self.faults += sheet.faults().faults
        return pile

    def _base(self, name: str, written: Written, add: Add) -> Pile | None:
        """What one name in `build_on` stands for; None if it is not to be had, which is then said."""
        path = _path(name, written, add)
        if path is None:
            return None
        if circle := [file.label for file in self.open if _same(file.path, path)]:
            chain = " builds on ".join([*(file.label for file in self.open), circle[0]])
            add(BadInput("a circle of profiles", found=said(chain), remedy="take one build_on away"))
            return None
        if (there := next((file for file in self.sources if _same(file.path, path)), None)) is not None:
            self._twice(name, self.by[str(there.path)], written, add)
            return None
        if len(self.sources) >= MOST_FILES:
            add(BadInput("built on too many files", found=name, remedy=f"use at most {MOST_FILES} in all"))
            return None
        try:
            base = read_written(path)
        except Faults as error:
            self.faults += error.faults
            return None
        self.by[str(path)] = written.label
        self._head(base)
        return self.pile(base)

    def _twice(self, name: str, by: str, written: Written, add: Add) -> None:
        """A file that is there already. What two bases bring is said of the first file: there it can be mended."""
        if by == written.label:
            remedy = "name it once, here or in what else this builds on"
            add(BadInput("built on twice", found=name, remedy=remedy))
            return
        top = self.open[0]
        sheet = Sheet(top.label)
        both = said(f"{name}, by {by} and by {written.label}")
        adder(top, "build_on", sheet)(BadInput("built on twice", found=both, remedy="build on one of them"))
        self.faults += sheet.faults().faults

    def _head(self, base: Written) -> None:
        """What is only seen here: of a file that others build on, the head is not taken along."""
        sheet = Sheet(base.label)
        for key in base.document:
            if key not in _BASE:
                name, fault = unknown_key(key, _BASE)
                sheet.add("", name, fault)
        if base.document.get("format") != 1:
            fault = bad("a format this program does not know", base.document.get("format"), "it reads format 1")
            sheet.add("", "format", fault)
        if sheet.items:
            self.faults += sheet.faults().faults


def _unbuilt(written: Written, sheet: Sheet) -> None:
    for key in ("leave_out", "change"):
        if key in written.document:
            add = adder(written, key, sheet)
            add(BadInput("needs build_on beside it", remedy="name what it builds on, or leave it out"))


def _path(name: str, written: Written, add: Add) -> Path | None:
    """A file is looked for beside the one that names it; any other name on the shelf."""
    if name.endswith(".toml") or "/" in name or "\\" in name:
        try:
            path = Path(name).expanduser()
            path = path if written.path is None else written.path.parent / path
            what = "" if path.is_file() else "a folder, no file" if path.is_dir() else "no such file"
        except (OSError, RuntimeError, ValueError):  # no home folder, or a name that cannot be
            what = "no such file"
        if not what:
            return path
        beside = f"files are looked for beside {written.label}"
        add(bad(what, name, beside if written.path is not None else "name a file"))
        return None
    known = dict([*shipped(), *parts()])
    if name not in known:
        instead = "" if name else "name a profile or a part that ships, or a file"
        add(Near("no such profile or part", name, known, found=name, instead=instead))
    return known.get(name)


def _same(one: Path | None, other: Path) -> bool:
    """Whether both are the same file. What cannot be looked at is only itself."""
    if one is None:
        return False
    try:
        return one.resolve() == other.resolve()
    except (OSError, RuntimeError, ValueError):
        return one == other
