"""Reading one [[step]]: its keys, what must fit together in it, and its [[step.if]] cases."""

from typing import Any, get_args

from msgspec.structs import replace

from curetrack.errors import BadInput
from curetrack.profile import rules
from curetrack.profile.faulty import Item, Wrong, bad
from curetrack.profile.kinds import CAUTIONS, DEFAULTS
from curetrack.profile.types import KINDS, Faces, Family, HandsOn, If, Step
from curetrack.profile.values import (
    Reader,
    boolean,
    choice,
    choices,
    hands_on,
    ids,
    quantity,
    read_table,
    step_id,
    text,
    whole,
    whole_list,
)  # fmt: skip

__all__ = ["IF", "POUR", "STEP", "step"]

POUR = "pour"
RESERVED = frozenset({"hardness"})  # `check NAME hardness` is the check after a frost
MOST_CASES = 12
_MERGED = ("not_before", "no_later", "recoat")  # in a case their keys are replaced one by one


def _hold(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value == "check":
        return "check"
    raise bad('true, false or "check" is wanted', value, '"check": only a passed hand check ever opens it')


def _crew(value: object) -> int | str:
    if value in ("flip", "carry"):
        return str(value)
    if isinstance(value, bool) or not isinstance(value, int):
        raise bad("a number of people, flip or carry is wanted", value, 'write 2, or "flip" to have it from the weight')
    if not 1 <= value <= 12:
        raise bad("not plausible", value, "use 1 to 12 people")
    return value


def _ident(value: object) -> str:
    found = step_id(value)
    if found in RESERVED:
        raise bad("this id is taken", found, "it names the hand check after a frost; choose another")
    return found


_TAKES = quantity("time", 0.05, 2000.0, "h", "16 h")
_RAW = lambda value: value  # noqa: E731 -- read later, together with what it changes

STEP: dict[str, Reader] = {
    "id": _ident, "title": text(120), "kind": choice(*KINDS), "after": ids(20), "before": ids(20), "lead": rules.TIME,
    "during": ids(2), "until": rules.until, "every": rules.every, "not_before": rules.rules, "with_check": rules.rules,
    "no_later": rules.limit, "recoat": rules.recoat, "hold": _hold, "check": text(400), "fail": text(400),
    "crew": _crew, "hands_on": hands_on, "takes": _TAKES, "coats": whole(1, 20), "grits": whole_list(8, 20000, 12),
    "each": boolean, "optional": boolean, "wets": boolean, "loud": boolean, "leaves": choice(*get_args(Faces)),
    "expires": rules.expires, "checkin": rules.look, "again": step_id, "rounds": whole(1, 9), "say": text(800),
    "cautions": choices(*CAUTIONS), "basis": text(120), "family": choice(*get_args(Family)),
    "coverage": quantity("coverage", 0.1, 100.0, "m2/L", "8 m2/L"), "grit": whole(8, 20000), "if": _RAW,
}  # fmt: skip
_FIELDS = {"lead": "lead_h", "takes": "takes_h", "coverage": "coverage_m2_per_L"}
_CONDITIONS: dict[str, tuple[str, Reader]] = {
    "cutout": ("cutout", boolean),
    "rail_under": ("rail_under_m", quantity("length", 0.005, 10.0, "m", "100 mm")),
    "length_over": ("length_over_m", quantity("length", 0.05, 20.0, "m", "2.4 m")),
    "air_over": ("air_over_degC", quantity("temperature", -30.0, 60.0, "degC", "27 degC")),
}
IF: dict[str, Reader] = {name: reader for name, (_, reader) in _CONDITIONS.items()} | {
    key: reader for key, reader in STEP.items() if key not in ("id", "if")
}


def step(value: object) -> Step:
    """One step, its cases included."""
    got = read_table(value, STEP, ("id", "title"))
    assert isinstance(value, dict)
    wrong = _misfits(got)
    made = _made(value, got) if not wrong else None
    cases = value.get("if", [])
    if not isinstance(cases, list) or len(cases) > MOST_CASES:
        wrong.append(("if", bad(f"a list of at most {MOST_CASES} cases is wanted", cases, "write [[step.if]]")))
        cases = []
    ifs = []
    for number, case in enumerate(cases, 1):
        try:
            ifs.append(_case(value, made, case))
        except BadInput as error:
            wrong.append((f"if {number}", error))
        except Wrong as several:
            wrong += [(f"if {number}: {key}" if key else f"if {number}", error) for key, error in several.items]
    if wrong or made is None:
        raise Wrong(wrong)
    return replace(made, ifs=tuple(ifs)) if ifs else made


def _made(value: dict[str, Any], got: dict[str, Any]) -> Step:
    fields: dict[str, Any] = dict(DEFAULTS[got.get("kind", "form")])
    for key, item in got.items():
        fields[_FIELDS.get(key, key)] = item
    fields.pop("if", None)
    if "hands_on" in got:
        share, hours = got["hands_on"]
        fields["hands_on"] = HandsOn(**{share: hours})
    if "with_check" in got and "not_before" in got:
        fields["with_check"] = rules.rules(rules.merged(value["not_before"], value["with_check"]))
    return Step(**fields)


def _case(value: dict[str, Any], made: Step | None, case: object) -> If:
    """A case: its conditions, and the fields of the step that differ in it."""
    got = read_table(case, IF)
    assert isinstance(case, dict)
    asked = {field: got[name] for name, (field, _) in _CONDITIONS.items() if name in got}
    changes = {key: item for key, item in case.items() if key not in _CONDITIONS}
    if not asked:
        raise BadInput("a case without a condition", remedy="add one of " + ", ".join(_CONDITIONS))
    if not changes:
        raise BadInput("a case that changes nothing", remedy="add the keys that replace the step's own")
    both = dict(value) | {
        key: rules.merged(value.get(key), item) if key in _MERGED else item for key, item in changes.items()
    }
    both_got = read_table(both, STEP)
    if wrong := _misfits(both_got):
        raise Wrong(wrong)
    other = _made(both, both_got)
    differing = [name for name in Step.__struct_fields__ if made is None or getattr(other, name) != getattr(made, name)]
    return If(tuple((name, getattr(other, name)) for name in differing), **asked)


_NEEDS = {  # a key, and the keys of which at least one must stand beside it
    "lead": ("before",), "until": ("during",), "every": ("during",), "rounds": ("again",),
    "with_check": ("check",), "fail": ("check",), "expires": ("check",),
}  # fmt: skip
_CLASHES = (
    ("coats", "grits"), ("grit", "grits"), ("takes", "coats"), ("takes", "grits"), ("takes", "during"),
    ("coats", "during"), ("grits", "during"), ("each", "coats"), ("each", "grits"), ("each", "takes"),
    ("each", "during"), ("takes", "with_check"),
)  # fmt: skip


def _misfits(got: dict[str, Any]) -> list[Item]:
    """What does not fit together within one step."""
    wrong: list[Item] = []
    if got["id"] != POUR and not got.keys() & {"after", "before", "during"}:
        remedy = 'add after = "pour", or another step\'s id'
        wrong.append(("", BadInput("none of after, before, during", remedy=remedy)))
    for key, others in _NEEDS.items():
        if key in got and not any(other in got for other in others):
            what = f"needs {' or '.join(others)} beside it"
            wrong.append((key, BadInput(what, remedy=f"add it, or leave {key} out")))
    for key, other in _CLASHES:
        if got.get(key) and got.get(other):
            wrong.append((key, BadInput(f"does not go with {other}", remedy="make two steps of it")))
    if len(got.get("during", ())) == 1 and "until" not in got:
        remedy = 'add until = { maturity = "72 h" }, or a second id'
        wrong.append(("during", BadInput("one id, and no end", found=got["during"][0], remedy=remedy)))
    if got.get("hold") == "check" and "check" not in got:
        wrong.append(("hold", BadInput('"check" without a check', remedy="say in check what is looked at or felt")))
    return wrong + _uncounted(got)


def _uncounted(got: dict[str, Any]) -> list[Item]:
    """Rules that count from a predecessor that is not there."""
    if got.keys() & {"after", "during"}:
        return []
    wrong: list[Item] = []
    for key in ("not_before", "with_check", "no_later"):
        table = got.get(key)
        if table is not None and table.wait_h is not None:
            wrong.append((f"{key}.wait", BadInput("counts from `after`, which is not there", remedy="add after")))
        hardening = getattr(table, "hardening", None)
        if hardening is not None and not hardening.since:
            remedy = "add after, or since in the rule"
            wrong.append((f"{key}.hardening", BadInput("counts from `after`, which is not there", remedy=remedy)))
    return wrong
