"""What one file of a profile does to what it builds on: joins, leaves out, changes, adds."""

from collections.abc import Callable, Iterable, Mapping
from itertools import groupby

from curetrack.errors import BadInput
from curetrack.profile import rules
from curetrack.profile.faulty import Near, Sheet, bad, said
from curetrack.profile.pile import Pile, Table, names_in
from curetrack.profile.toml import Written
from curetrack.profile.values import ID, step_id

__all__ = ["Add", "add_own", "adder", "change", "join", "leave_out", "names"]

MOST_NAMES = 300
MOST_CALLED = 3  # of what two of them say
_ONE_BY_ONE = ("not_before", "no_later", "recoat", "with_check")  # tables of a step whose keys are replaced singly

Add = Callable[[BadInput], None]


def adder(written: Written, key: str, sheet: Sheet, label: str = "") -> Add:
    """Adds faults with the line at which a key stands."""
    line = written.line(key)

    def add(error: BadInput) -> None:
        sheet.add(line, label or key, error)

    return add


def names(written: Written, key: str, sheet: Sheet) -> list[str]:
    """The names that a key lists; a single one may stand alone. What is none of them is said."""
    value = written.document.get(key, [])
    listed = [value] if isinstance(value, str) else value
    add = adder(written, key, sheet)
    if not isinstance(listed, list) or (not listed and key in written.document) or len(listed) > MOST_NAMES:
        add(bad("a name or a list of names is wanted", value, f'write {key} = ["..."], or leave it out'))
        return []
    found: dict[str, None] = {}
    for name in listed:
        if not isinstance(name, str) or not name:
            add(bad("a name in quotes is wanted", name, f'write {key} = ["..."]'))
        elif name in found:
            add(BadInput("named twice", found=name, remedy="name it once"))
        else:
            found[name] = None
    return list(found)


def join(pile: Pile, base: Pile, name: str, add: Add) -> None:
    """Puts a base, by its name in `build_on`, onto those before it; what two of them say is said by none."""
    pairs = [(pile.origins.get(what, "one"), base.origins.get(what, "another"), what) for what in pile.common(base)]
    for (first, second), group in groupby(pairs, key=lambda pair: pair[:2]):
        called = [_called(what) for _, _, what in group]
        more = f" and {len(called) - MOST_CALLED} more" if len(called) > MOST_CALLED else ""
        other = next((other for other in (second, name) if other != first), f"another {first}")
        what = f"two of these say {', '.join(called[:MOST_CALLED])}{more}"
        add(BadInput(what, found=said(f"{first} and {other}"), remedy="build on one of them"))
    pile.join(base)


def _called(what: str) -> str:
    return what if what.startswith(("mix.", "material.")) or what == "cast" else f"step {what}"


def leave_out(pile: Pile, written: Written, sheet: Sheet) -> None:
    """Takes the steps away that the file names; a step that stays may not name them."""
    add = adder(written, "leave_out", sheet)
    left = names(written, "leave_out", sheet)
    for name in left:
        if name in pile.steps:
            pile.leave_out(name)
        else:
            add(Near("no such step in what this builds on", name, pile.steps, found=name))
    gone = (pile.gone & set(left)) - _own_ids(written)
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


def change(pile: Pile, written: Written, sheet: Sheet) -> None:
    """Replaces keys of steps."""
    changes = written.document.get("change", {})
    if not isinstance(changes, dict):
        add = adder(written, "change", sheet)
        add(bad("tables [change.STEP] are wanted", changes, "name the step, like [change.strip]"))
        return
    for name, table in ((str(key), each) for key, each in changes.items()):
        label = f"change.{name}" if ID.fullmatch(name) else "change"
        place = next((key for key in (f"change.{name}", name, "change") if written.line(key)), "change")
        add = adder(written, place, sheet, label)
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


def _without(old: Table, left: object, add: Add) -> Table:
    """Keys of a step, or keys of its tables, taken away."""
    new = dict(old)
    paths = left if isinstance(left, list) else [left]
    for path in paths:
        if not isinstance(path, str):
            like = 'write it like leave_out = ["not_before.drying", "fail"]'
            add(bad("leave_out takes keys of the step", path, like))
            continue
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


def add_own(pile: Pile, written: Written, sheet: Sheet) -> None:
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
