"""From a TOML file to a Profile. Everything that is wrong with a document is said at once, in errors.Faults."""

import re
from pathlib import Path
from typing import Any

from curetrack.errors import BadInput
from curetrack.profile.faulty import Sheet, Wrong, bad, one_fault, said
from curetrack.profile.mix import material, mix
from curetrack.profile.order import order_faults
from curetrack.profile.override import apply_overrides
from curetrack.profile.steps import step
from curetrack.profile.types import Cast, Mix, Profile, Step
from curetrack.profile.values import ID, choice, read_table, step_id, text, whole

__all__ = ["FORMAT", "apply_overrides", "compile_profile", "load_document"]

FORMAT = 1
LARGEST_BYTES = 256_000
MOST_STEPS = 300
DEEPEST = 20  # levels of tables and lists; the format has six
MOST_MATERIALS = 20
_CASTS = ("face-down", "face-up", "in-place")


def load_document(source: str | Path, where: str = "") -> dict[str, Any]:
    """The document of a file, or of TOML text (a str with a line break in it). Nothing is checked yet but TOML.

    Raises Faults: no such file, not UTF-8, longer than 256 kB, not TOML (with line and column).
    """
    if isinstance(source, str) and ("\n" in source or not source):
        return _toml(source, where or "profile")
    path = Path(source)
    where = where or path.name or str(path)
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not a usable name"
        raise one_fault(where, "", BadInput(f"cannot be read: {reason}", remedy="name a TOML file")) from error
    if len(raw) > LARGEST_BYTES:
        raise one_fault(where, "", BadInput("too large for a profile", remedy="use at most 256 kB"))
    try:
        return _toml(raw.decode("utf-8-sig"), where)
    except UnicodeDecodeError as error:
        number = raw.count(b"\n", 0, error.start) + 1
        what = BadInput("not UTF-8 text", found=said(f"byte {raw[error.start]:#04x}"), remedy="save the file as UTF-8")
        raise one_fault(where, f"line {number}", what) from error


def _toml(written: str, where: str) -> dict[str, Any]:
    import tomllib

    try:
        document = tomllib.loads(written.replace("\r\n", "\n"))
        if _deeper(document, DEEPEST):
            raise RecursionError
        return document
    except tomllib.TOMLDecodeError as error:
        what, place = _toml_place(str(error), written)
        remedy = "mind quotes, brackets and commas"
        raise one_fault(where, place, BadInput(f"not TOML: {what}", remedy=remedy)) from error
    except RecursionError as error:
        raise one_fault(where, "", BadInput("nested too deep", remedy="start from a copy of one that ships")) from error
    except ValueError as error:  # a number of more digits than Python reads
        raise one_fault(where, "", BadInput("a number that is too long to read", remedy="use fewer digits")) from error


def _deeper(value: object, levels: int) -> bool:
    """Whether tables and lists lie within one another more than so many levels."""
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return levels < 0 or any(_deeper(each, levels - 1) for each in inside)


def _toml_place(message: str, written: str) -> tuple[str, str]:
    """What a TOML reader complains of, and where."""
    found = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    if found is None:
        return message, ""
    what = message[: found.start()]
    if found[1] is None:
        return what, f"line {written.count(chr(10)) + 1}, the end"
    return what, f"line {found[1]}, column {found[2]}"


def compile_profile(document: object, profile_id: str, where: str = "") -> Profile:
    """The profile that a document describes. Raises Faults: a line for each fault (file, step, key, value, remedy)."""
    where = where or profile_id
    if not isinstance(document, dict):
        raise one_fault(where, "", bad("a profile is wanted", document, "start from a copy of one that ships"))
    sheet = Sheet(where)
    head = _head(document, sheet)
    materials = _materials(document.get("material", {}), sheet)
    steps, known = _steps(document.get("step"), sheet)
    for place, key, error in order_faults(steps, known, _names(document.get("material"))):
        sheet.add(f"step {place}", key, error)
    sheet.check()
    made: Mix = head["mix"]
    cast: Cast = head["cast"]
    return Profile(profile_id, head["name"], head.get("summary", ""), cast, made, materials, tuple(steps))


def _keep(value: object) -> object:
    return value


_HEAD = {
    "format": whole(1, 10**6), "name": text(100), "summary": text(240), "cast": choice(*_CASTS), "mix": mix,
    "material": _keep, "step": _keep,
}  # fmt: skip


def _head(document: dict[str, Any], sheet: Sheet) -> dict[str, Any]:
    try:
        got = read_table(document, _HEAD, ("format", "name", "cast", "mix", "step"))
    except Wrong as several:
        sheet.add("", "", several)
        return {}
    if got["format"] != FORMAT:
        fault = bad("a format this program does not know", got["format"], f"it reads format {FORMAT}")
        sheet.add("", "format", fault)
    return got


def _names(value: object) -> list[str]:
    return [name for name in value if isinstance(name, str)] if isinstance(value, dict) else []


def _materials(value: object, sheet: Sheet) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if not isinstance(value, dict) or len(value) > MOST_MATERIALS:
        fault = bad(f"tables [material.NAME] are wanted, at most {MOST_MATERIALS}", value)
        sheet.add("", "material", fault)
        return found
    for name, table in value.items():
        label = f"material.{name}" if isinstance(name, str) and name.isprintable() and len(name) < 60 else "material"
        try:
            found[step_id(name)] = material(table)
        except (BadInput, Wrong) as error:
            sheet.add("", label, error)
    return found


def _steps(value: object, sheet: Sheet) -> tuple[list[Step], set[str]]:
    """The steps that could be read, and the ids of all."""
    if value is None:
        return [], set()
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_STEPS:
        fault = bad(f"a list of 1 to {MOST_STEPS} steps is wanted", value, "write [[step]]")
        sheet.add("", "step", fault)
        return [], set()
    steps: list[Step] = []
    known: set[str] = set()
    for number, table in enumerate(value, 1):
        name = table.get("id") if isinstance(table, dict) else None
        place = f"step {name}" if isinstance(name, str) and ID.fullmatch(name) and len(name) < 60 else f"step {number}"
        if isinstance(name, str) and ID.fullmatch(name):
            if name in known:
                fault = BadInput("an id that is there already", found=name, remedy="each step needs its own")
                sheet.add(f"step {number}", "id", fault)
                continue
            known.add(name)
        try:
            steps.append(step(table))
        except (BadInput, Wrong) as error:
            sheet.add(place, "", error)
    return steps, known
