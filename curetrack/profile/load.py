"""From a TOML file to a Profile. Everything that is wrong with a document is said at once, in errors.Faults."""

import re
from pathlib import Path
from typing import Any

from curetrack.errors import BadInput
from curetrack.profile.faulty import Wrong, bad, check_faults, line, said
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
        check_faults(where, [line(where, "", "", BadInput(f"cannot be read: {reason}", remedy="name a TOML file"))])
        raise  # never: check_faults has raised
    if len(raw) > LARGEST_BYTES:
        check_faults(where, [line(where, "", "", BadInput("too large for a profile", remedy="use at most 256 kB"))])
    try:
        return _toml(raw.decode("utf-8-sig"), where)
    except UnicodeDecodeError as error:
        number = raw.count(b"\n", 0, error.start) + 1
        what = BadInput("not UTF-8 text", found=said(f"byte {raw[error.start]:#04x}"), remedy="save the file as UTF-8")
        check_faults(where, [line(where, f"line {number}", "", what)])
        raise  # never: check_faults has raised


def _toml(written: str, where: str) -> dict[str, Any]:
    import tomllib

    place, what = "", ""
    try:
        return tomllib.loads(written.replace("\r\n", "\n"))
    except RecursionError:
        what = "nested too deep"
    except tomllib.TOMLDecodeError as error:
        what, place = _toml_place(str(error), written)
    except ValueError:  # a number of more digits than Python reads
        what = "a number that is too long to read"
    fault = BadInput(f"not TOML: {what}", remedy="mind quotes, brackets and commas")
    check_faults(where, [line(where, place, "", fault)])
    raise AssertionError("unreachable")  # check_faults has raised


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
        fault = bad("a profile is wanted", document, "start from a copy of one that ships")
        check_faults(where, [line(where, "", "", fault)])
        raise AssertionError("unreachable")  # check_faults has raised
    lines: list[str] = []
    head = _head(document, where, lines)
    materials = _materials(document.get("material", {}), where, lines)
    steps, known = _steps(document.get("step"), where, lines)
    for place, key, error in order_faults(steps, known, _names(document.get("material"))):
        lines.append(line(where, f"step {place}", key, error))
    check_faults(where, lines)
    made: Mix = head["mix"]
    cast: Cast = head["cast"]
    return Profile(profile_id, head["name"], head.get("summary", ""), cast, made, materials, tuple(steps))


def _keep(value: object) -> object:
    return value


_HEAD = {
    "format": whole(1, 10**6), "name": text(100), "summary": text(240), "cast": choice(*_CASTS), "mix": mix,
    "material": _keep, "step": _keep,
}  # fmt: skip


def _head(document: dict[str, Any], where: str, lines: list[str]) -> dict[str, Any]:
    try:
        got = read_table(document, _HEAD, ("format", "name", "cast", "mix", "step"))
    except Wrong as several:
        lines += [line(where, "", key, error) for key, error in several.items]
        return {}
    if got["format"] != FORMAT:
        fault = bad("a format this program does not know", got["format"], f"it reads format {FORMAT}")
        lines.append(line(where, "", "format", fault))
    return got


def _names(value: object) -> list[str]:
    return [name for name in value if isinstance(name, str)] if isinstance(value, dict) else []


def _materials(value: object, where: str, lines: list[str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if not isinstance(value, dict) or len(value) > MOST_MATERIALS:
        fault = bad(f"tables [material.NAME] are wanted, at most {MOST_MATERIALS}", value)
        lines.append(line(where, "", "material", fault))
        return found
    for name, table in value.items():
        label = f"material.{name}" if isinstance(name, str) and name.isprintable() and len(name) < 60 else "material"
        try:
            found[step_id(name)] = material(table)
        except BadInput as error:
            lines.append(line(where, "", label, error))
        except Wrong as several:
            lines += [line(where, "", f"{label}.{key}", error) for key, error in several.items]
    return found


def _steps(value: object, where: str, lines: list[str]) -> tuple[list[Step], set[str]]:
    """The steps that could be read, and the ids of all."""
    if value is None:
        return [], set()
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_STEPS:
        fault = bad(f"a list of 1 to {MOST_STEPS} steps is wanted", value, "write [[step]]")
        lines.append(line(where, "", "step", fault))
        return [], set()
    steps: list[Step] = []
    known: set[str] = set()
    for number, table in enumerate(value, 1):
        name = table.get("id") if isinstance(table, dict) else None
        place = f"step {name}" if isinstance(name, str) and ID.fullmatch(name) and len(name) < 60 else f"step {number}"
        if isinstance(name, str) and ID.fullmatch(name):
            if name in known:
                fault = BadInput("an id that is there already", found=name, remedy="each step needs its own")
                lines.append(line(where, f"step {number}", "id", fault))
                continue
            known.add(name)
        try:
            steps.append(step(table))
        except BadInput as error:
            lines.append(line(where, place, "", error))
        except Wrong as several:
            lines += [line(where, place, key, error) for key, error in several.items]
    return steps, known
