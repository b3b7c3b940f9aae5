"""Reading a profile's file: TOML, with the line of what is wrong with it. What it says is read elsewhere."""

import re
from pathlib import Path
from typing import Any

from msgspec import Struct

from curetrack.errors import BadInput
from curetrack.profile.faulty import one_fault, said

__all__ = ["Written", "read_written"]

LARGEST_BYTES = 256_000
DEEPEST = 20  # levels of tables and lists; the format has six


class Written(Struct, frozen=True):
    """A file as it stands: what messages call it, its text, what TOML makes of it, its path (None: text alone)."""

    label: str
    text: str
    document: dict[str, Any]
    path: Path | None = None

    def line(self, key: str) -> str:
        """ "line 12", where a key or a table of this name is first written at the start of a line; else empty."""
        pattern = re.compile(rf"[ \t]*(?:\[{re.escape(key)}\]|\[\[{re.escape(key)}\]\]|{re.escape(key)}[ \t]*=)")
        for number, line in enumerate(self.text.splitlines(), 1):
            if pattern.match(line):
                return f"line {number}"
        return ""


def read_written(source: str | Path, where: str = "") -> Written:
    """A file, or TOML text (a str with a line break in it). Nothing is checked yet but TOML.

    Raises Faults: no such file, not UTF-8, longer than 256 kB, not TOML (with line and column).
    """
    if isinstance(source, str) and ("\n" in source or not source):
        label = where or "profile"
        return Written(label, source, _toml(source, label))
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
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        number = raw.count(b"\n", 0, error.start) + 1
        what = BadInput("not UTF-8 text", found=said(f"byte {raw[error.start]:#04x}"), remedy="save the file as UTF-8")
        raise one_fault(where, f"line {number}", what) from error
    return Written(where, text, _toml(text, where), path)


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
