"""From a TOML file to a Profile. Everything that is wrong with a document is said at once, in errors.Faults."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from curetrack.errors import BadInput
from curetrack.profile.build import OWN, built
from curetrack.profile.faulty import Sheet, Wrong, bad, one_fault
from curetrack.profile.mix import material, mix
from curetrack.profile.order import order_faults
from curetrack.profile.override import apply_overrides
from curetrack.profile.steps import step
from curetrack.profile.types import Cast, Mix, Profile, Step
from curetrack.profile.values import ID, choice, read_table, step_id, text, whole

__all__ = ["FORMAT", "apply_overrides", "compile_profile", "load_document"]

FORMAT = 1
MOST_STEPS = 300
MOST_MATERIALS = 20
_CASTS = ("face-down", "face-up", "in-place")


def load_document(source: str | Path, where: str = "") -> dict[str, Any]:
    """The document of a file, or of TOML text (a str with a line break in it), with all that it builds on. What it says
    is checked when it is compiled. Raises Faults: not to be read (with line and column), or wrongly built."""
    return built(source, where).document


def compile_profile(
    document: object, profile_id: str, where: str = "", origins: Mapping[str, str] | None = None
) -> Profile:
    """The profile that a document describes. `origins`: which files it was built from, as build.built says.

    Raises Faults: a line for each fault (file, step, key, value, remedy).
    """
    where = where or profile_id
    if not isinstance(document, dict):
        raise one_fault(where, "", bad("a profile is wanted", document, "start from a copy of one that ships"))
    sheet = Sheet(where, origins)
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
        got = read_table(document, _HEAD, ("format", "name", "cast", "mix", "step"), OWN)
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
