"""`--set KEY=VALUE`: one value of a profile's document replaced for one piece, such as a product's label wants it."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, cast

from curetrack.errors import BadInput
from curetrack.profile import rules
from curetrack.profile.faulty import Near, Sheet, bad, shown
from curetrack.profile.mix import BAG, FIT, FROST, GROWTH_KEYS, MATURITY_KEYS, MIX
from curetrack.profile.steps import STEP

__all__ = ["apply_overrides"]

Tree = Mapping[str, "Tree"]  # the keys of the format, by name; an empty one is a value


def _leaves(names: Iterable[str], **tables: Tree) -> dict[str, Tree]:
    """A tree of plain values, but for the tables given."""
    return {name: cast(Tree, {}) for name in names} | tables


_SET = _leaves(rules.SET)
_RULES = _leaves(
    rules.RULES, set=_SET, handling=_leaves(rules.HANDLING), hardening=_leaves(rules.HARDENING),
    air=_leaves(rules.SPAN), slab=_leaves(rules.SPAN), dew_margin=_leaves(rules.DEW),
)  # fmt: skip
_STEP = _leaves(
    (key for key in STEP if key not in ("id", "if")), not_before=_RULES, with_check=_RULES,
    no_later=_leaves(rules.LIMIT, set=_SET), until=_leaves(rules.UNTIL, set=_SET), recoat=_leaves(rules.RECOAT),
    every=_leaves(rules.EVERY), expires=_leaves(rules.EXPIRES),
    checkin={"every": {}, "from": _leaves(rules.LOOK_FROM, set=_SET)},
)  # fmt: skip
_MATURITY = _leaves(MATURITY_KEYS)
_MIX = _leaves(
    MIX, growth=_leaves(GROWTH_KEYS), maturity=_MATURITY, bag=_leaves(BAG), frost_safe=_leaves(FROST), fit=_leaves(FIT)
)
_HEAD: Tree = {"name": {}, "summary": {}, "cast": {}}
LONGEST = 1000  # characters of a key or a value


def apply_overrides(document: dict[str, Any], pairs: Sequence[tuple[str, str]], where: str = "") -> dict[str, Any]:
    """The document with some values replaced; what was given is left as it is.

    Keys: `mix.KEY`, `material.NAME.KEY`, `STEP.KEY`, each with further keys of tables inside (`seal-top.recoat.from`).
    A value is text, or TOML where it starts like a list, a table or quoted text; true, false and whole numbers are
    taken as such. Raises Faults for keys that do not exist; whether the values are right is said when the result is
    compiled.
    """
    sheet = Sheet(where)
    for key, value in pairs:
        try:
            path, home = _resolve(document, key)
            document = _with(document, home, path, _value(value))
        except BadInput as error:
            sheet.add("", f"--set {key if key.isprintable() and len(key) < 80 else shown(key)}", error)
    sheet.check()
    return document


def _resolve(document: Mapping[str, Any], key: str) -> tuple[list[str], int | None]:
    """The keys to walk, and the number of the step they start from (None: the document itself)."""
    if len(key) > LONGEST:
        raise bad("a key that is too long", key, "write STEP.KEY or mix.KEY")
    head, *rest = [part.strip() for part in key.split(".")]
    if head in ("mix", "material", *_HEAD) and not (head == "mix" and rest and rest[0] in STEP):
        names = document.get("material")
        made = {name: {"maturity": _MATURITY} for name in names} if isinstance(names, dict) else {}
        _walk([head, *rest], {"mix": _MIX, "material": made, **_HEAD})
        return [head, *rest], None
    steps = document.get("step")
    numbers = {s.get("id"): n for n, s in enumerate(steps) if isinstance(s, dict)} if isinstance(steps, list) else {}
    known = [name for name in numbers if isinstance(name, str)]
    if head not in known:
        if head in STEP:
            having = [n for n, at in numbers.items() if isinstance(n, str) and head in cast(list[Any], steps)[at]]
            example = f"{having[0] if having else 'STEP'}.{key}"
            raise BadInput("a key of a step, without the step", remedy=f"put the step's id before it, like {example}")
        raise Near("no such step", head, known, found=head)
    if not rest:
        raise BadInput("a step, without a key", remedy=f"add one of its keys, like {head}.hands_on")
    _walk(rest, _STEP)
    return rest, numbers[head]


def _walk(path: Sequence[str], tree: Tree) -> None:
    for number, name in enumerate(path):
        if name not in tree:
            above = ".".join(path[:number])
            what = f"unknown key below {above}" if above else "unknown key"
            if number and not tree:
                raise BadInput(f"{above} is a value, nothing lies below it", found=name, remedy=f"write {above}=...")
            raise Near(what, name, tree, found=name)
        tree = tree[name]
    if tree and path[-1] not in rules.SHORT and path[-1] not in ("every", "not_before"):
        raise BadInput("a table, not a value", remedy="name one of its keys: " + ", ".join(tree))


def _value(written: str) -> object:
    plain = written.strip()
    if len(written) > LONGEST:
        raise bad("a value that is too long", written, f"use at most {LONGEST} characters")
    if plain in ("true", "false"):
        return plain == "true"
    if plain.isascii() and plain.isdigit() and len(plain) < 10:
        return int(plain)
    if plain[:1] in ("[", "{", '"', "'") and "\n" not in plain:
        import tomllib

        try:
            return tomllib.loads(f"value = {plain}")["value"]
        except (ValueError, RecursionError):
            raise bad("not a list, table or text as TOML writes it", plain, 'write it like ["a", "b"]') from None
    return written.strip()


def _with(document: dict[str, Any], home: int | None, path: list[str], value: object) -> dict[str, Any]:
    """Copies along the way; the tables beside it are shared with the document given."""
    if home is None:
        return _placed(document, path, value)
    steps = list(document["step"])
    steps[home] = _placed(steps[home], path, value)
    return {**document, "step": steps}


def _placed(table: dict[str, Any], path: list[str], value: object) -> dict[str, Any]:
    name, *rest = path
    if not rest:
        old = table.get(name)
        if name in rules.SHORT and isinstance(value, str) and isinstance(old, dict):
            value = {**old, rules.SHORT[name]: value}
        return {**table, name: value}
    inner = table.get(name, {})
    if name in rules.SHORT and isinstance(inner, str):
        inner = {rules.SHORT[name]: inner}
    if not isinstance(inner, dict):
        raise bad(f"{name} is a value here, not a table", inner, f"set {name} as a whole")
    return {**table, name: _placed(inner, rest, value)}
