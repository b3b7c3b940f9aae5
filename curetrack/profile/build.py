"""A profile that builds on others: what it takes, leaves out, changes and adds makes one whole document.

    build_on = ["mix-bagged", "cast-face-down"]   # profiles or parts that ship, or files beside this one
    leave_out = ["mist"]                          # steps that are not taken
    [mix]                                         # its keys replace those of the base, one by one
    [change.strip]                                # so do the keys of a step; rules and limits one by one too
    [[step]]                                      # a new step, or another one in place of one that was left out

The result stands on its own: it says nothing of what it was made from, so that later changes there cannot reach it.
"""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from curetrack.errors import BadInput, Faults
from curetrack.profile import rules
from curetrack.profile.faulty import Near, Sheet, bad, said, unknown_key
from curetrack.profile.folders import parts, shipped
from curetrack.profile.pile import Origins, Pile, Table, names_in
from curetrack.profile.toml import Written, read_written
from curetrack.profile.values import ID, step_id

__all__ = ["Built", "built"]

MOST_FILES = 30
MOST_NAMES = 300
_OWN = ("build_on", "leave_out", "change")  # keys that only mean something while a document is being built
_BASE = ("format", "name", "summary", "cast", "mix", "material", "step", *_OWN)
_ONE_BY_ONE = ("not_before", "no_later", "recoat", "with_check")  # tables of a step whose keys are replaced singly


class Built(Struct, frozen=True):
    """A whole document, and where each piece of it is written."""

    document: dict[str, Any]
    origins: Origins = {}
    sources: tuple[Written, ...] = ()  # the file itself first, then what it was built on, in that order


def built(source: str | Path, where: str = "") -> Built:
    """The document of a file, or of TOML text, with all that it builds on. A document that builds on nothing is given
    as it stands, unchecked. Raises Faults: a file that cannot be read, or anything wrong with the building."""
    written = read_written(source, where)
    if not any(key in written.document for key in _OWN):
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
        self.faults: list[str] = []

    def pile(self, written: Written) -> Pile:
        """What a file says, on top of what it builds on."""
        self.sources.append(written)
        self.open.append(written)
        sheet = Sheet(written.label)
        pile = Pile()
        names = _names(written, "build_on", sheet)
        if not names and "build_on" not in written.document:
            _unbuilt(written, sheet)
        for name in names:
            base = self._base(name, written, sheet)
            if base is not None:
                _joined(pile, base, written, sheet)
        if names:
            _leave_out(pile, written, sheet)
            _change(pile, written, sheet)
        _add(pile, written, sheet)
        self.open.pop()
        if sheet.items:
            self.faults += sheet.faults().faults
        return pile

    def _base(self, name: str, written: Written, sheet: Sheet) -> Pile | None:
        """What one name in `build_on` stands for; None if it is not to be had, which is then said."""
        add = _adder(written, "build_on", sheet)
        path = _path(name, written, add)
        if path is None:
            return None
        if circle := [file.label for file in self.open if _same(file.path, path)]:
            chain = " builds on ".join([*(file.label for file in self.open), circle[0]])
            add(BadInput("a circle of profiles", found=said(chain), remedy="take one build_on away"))
            return None
        if any(_same(file.path, path) for file in self.sources):
            add(BadInput("built on twice", found=name, remedy="name it once, here or in what else this builds on"))
            return None
        if len(self.sources) >= MOST_FILES:
            add(BadInput("built on too many files", found=name, remedy=f"use at most {MOST_FILES} in all"))
            return None
        try:
            base = read_written(path)
        except Faults as error:
            self.faults += error.faults
            return None
        self._head(base)
        return self.pile(base)

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


Add = Callable[[BadInput], None]


def _adder(written: Written, key: str, sheet: Sheet, label: str = "") -> Add:
    """Adds faults with the line at which a key stands."""
    line = written.line(key)

    def add(error: BadInput) -> None:
        sheet.add(line, label or key, error)

    return add


def _names(written: Written, key: str, sheet: Sheet) -> list[str]:
    """The names that a key lists; a single one may stand alone."""
    value = written.document.get(key, [])
    names = [value] if isinstance(value, str) else value
    some = isinstance(names, list) and (names or key not in written.document) and len(names) <= MOST_NAMES
    if some and all(isinstance(name, str) and name for name in names):
        return list(dict.fromkeys(names))
    add = _adder(written, key, sheet)
    add(bad("a name or a list of names is wanted", value, f'write {key} = ["..."], or leave it out'))
    return []


def _unbuilt(written: Written, sheet: Sheet) -> None:
    for key in ("leave_out", "change"):
        if key in written.document:
            add = _adder(written, key, sheet)
            add(BadInput("needs build_on beside it", remedy="name what it builds on, or leave it out"))


def _path(name: str, written: Written, add: Add) -> Path | None:
    """A file is looked for beside the one that names it; any other name on the shelf."""
    if name.endswith(".toml") or "/" in name or "\\" in name:
        try:
            path = Path(name).expanduser()
            return path if written.path is None else written.path.parent / path
        except RuntimeError:  # no home folder
            return Path(name)
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


# --- what one file does to what it builds on -----------------------------------------------------------------------


def _joined(pile: Pile, base: Pile, written: Written, sheet: Sheet) -> None:
    """Puts a base onto those before it; what two of them say is said by none."""
    add = _adder(written, "build_on", sheet)
    for what in pile.common(base):
        first, second = pile.origins.get(what, "one"), base.origins.get(what, "another")
        both = said(f"{first} and {second}")
        add(BadInput(f"two of these say {_called(what)}", found=both, remedy="build on one of them"))
    pile.join(base)


def _called(what: str) -> str:
    return what if what.startswith(("mix.", "material.")) or what == "cast" else f"step {what}"


def _leave_out(pile: Pile, written: Written, sheet: Sheet) -> None:
    add = _adder(written, "leave_out", sheet)
    for name in _names(written, "leave_out", sheet):
        if name in pile.steps:
            pile.leave_out(name)
        else:
            add(Near("no such step in what this builds on", name, pile.steps, found=name))
    gone = (pile.gone & set(_names(written, "leave_out", Sheet("")))) - _own_ids(written)
    for other, table in pile.steps.items():
        changed = _changed_keys(written, other)
        for key, name in names_in(table):
            if name in gone and key.partition(".")[0] not in changed:
                remedy = f"write {key.partition('.')[0]} in [change.{other}], or leave {other} out too"
                add(BadInput(f"step {other} names {name} in {key}, and {name} is left out", remedy=remedy))


def _own_ids(written: Written) -> set[str]:
    steps = written.document.get("step")
    tables = [table for table in steps if isinstance(table, dict)] if isinstance(steps, list) else []
    return {table["id"] for table in tables if isinstance(table.get("id"), str)}


def _changed_keys(written: Written, name: str) -> set[str]:
    changes = written.document.get("change")
    table = changes.get(name) if isinstance(changes, dict) else None
    return set(table) if isinstance(table, dict) else set()


def _change(pile: Pile, written: Written, sheet: Sheet) -> None:
    changes = written.document.get("change", {})
    if not isinstance(changes, dict):
        add = _adder(written, "change", sheet)
        add(bad("tables [change.STEP] are wanted", changes, "name the step, like [change.strip]"))
        return
    for name, table in changes.items():
        label = f"change.{name}" if ID.fullmatch(name) else "change"
        add = _adder(written, f"change.{name}", sheet, label)
        if name in pile.gone:
            add(BadInput("a change to a step that is left out", remedy="take it out of leave_out, or leave this out"))
        elif name not in pile.steps:
            add(Near("no such step in what this builds on", name, pile.steps, found=name))
        elif not isinstance(table, dict) or not table:
            add(bad("the keys of the step that differ are wanted", table, "write them below it"))
        elif "id" in table:
            add(BadInput("an id cannot change", found=table["id"], remedy="leave the step out and add another"))
        else:
            pile.change(name, _changed(pile.steps[name], table, add), table, written.label)


def _changed(old: Table, changes: Table, add: Add) -> Table:
    """A step without what `leave_out` names, then with some of its keys replaced."""
    new = _without(old, changes.get("leave_out", []), add)
    for key, item in changes.items():
        if key != "leave_out":
            new[key] = rules.merged(new[key], item) if key in _ONE_BY_ONE and key in new else item
    return {key: item for key, item in new.items() if item != {}}


def _without(old: Table, names: object, add: Add) -> Table:
    """Keys of a step, or keys of its tables, taken away."""
    new = dict(old)
    paths = [names] if isinstance(names, str) else names
    if not isinstance(paths, list) or not all(isinstance(path, str) for path in paths):
        add(bad("leave_out takes keys of the step", names, 'write it like leave_out = ["not_before.drying", "fail"]'))
        return new
    for path in paths:
        head, _, tail = path.partition(".")
        inner = new.get(head)
        if tail and isinstance(inner, dict) and tail in inner:
            new[head] = {key: item for key, item in inner.items() if key != tail}
        elif not tail and head in new:
            del new[head]
        else:
            add(Near("leave_out names a key that the step does not have", path, _keys(new), found=path))
    return new


def _keys(table: Table) -> Iterable[str]:
    for key, item in table.items():
        yield key
        if isinstance(item, dict):
            yield from (f"{key}.{inner}" for inner in item)


def _add(pile: Pile, written: Written, sheet: Sheet) -> None:
    """The file's own mix, materials and steps, on top."""
    document, label = written.document, written.label
    for key in ("mix", "material"):
        if key in document:
            table = document[key]
            if isinstance(table, Mapping):
                pile.lay(key, dict(table), label)
            else:
                sheet.add(written.line(key), key, bad("a table is wanted", table, f"write it below [{key}]"))
    if "cast" in document:
        pile.cast = document["cast"]
        pile.origins["cast"] = label
    steps = document.get("step", [])
    if not isinstance(steps, list):
        sheet.add(written.line("step"), "step", bad("a list of steps is wanted", steps, "write [[step]]"))
        return
    taken = set(pile.steps)
    for number, table in enumerate(steps, 1):
        try:
            name = step_id(table.get("id") if isinstance(table, dict) else table)
        except BadInput as fault:
            sheet.add(f"step {number}", "id", fault)
            continue
        if name in taken:
            origin = pile.origins.get(name, "what this builds on")
            remedy = f'write [change.{name}] for what differs, or leave_out = ["{name}"] to put this one in its place'
            what = f"an id that is there already, in {origin}" if origin != label else "an id that is there already"
            sheet.add(f"step {number}", "id", BadInput(what, found=name, remedy=remedy))
        else:
            taken.add(name)
            pile.add(name, table, label, beside="build_on" in document)
