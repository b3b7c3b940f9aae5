"""A profile that builds on others, written out as one file that stands on its own, as a maker would write it.

Each step is copied as it stands in the file it comes from, comments included; one that was changed is written anew.
"""

import re
from collections.abc import Iterator
from itertools import pairwise
from json import dumps
from typing import Any

from curetrack.profile.build import Built

__all__ = ["whole_text"]

_HEADS = re.compile(r"\[mix\]|\[material\.[^\]]*\]|\[change\.[^\]]*\]|\[\[step\]\]")
_REMARK = re.compile(r"[a-z_0-9]+ = .*  ?# ")
Chunks = list[tuple[dict[str, Any], str]]  # a table with its name above it, or one key, and how it is written


def whole_text(built: Built) -> str:
    """TOML that says the same as the built document. What builds on nothing is given as it is written."""
    own = built.sources[0]
    if not built.origins:
        return own.text
    chunks: Chunks = [chunk for source in built.sources for chunk in _chunks(source.text)]
    document = built.document
    head = "\n".join(line for line in _first_comment(own.text) if line)
    parts = [head] if head else []
    keys = [key for key in document if key not in ("mix", "material", "step")]
    parts.append("\n".join(f"{key} = {_literal(document[key])}" for key in keys))
    if "mix" in document:
        parts.append(_written({"mix": document["mix"]}, "[mix]", document["mix"], chunks))
    for name, table in document.get("material", {}).items():
        parts.append(_written({"material": {name: table}}, f"[material.{name}]", table, chunks))
    parts += [_written({"step": [table]}, "[[step]]", table, chunks) for table in document["step"]]
    return "\n\n".join(parts) + "\n"


def _first_comment(text: str) -> Iterator[str]:
    for line in text.splitlines():
        if not line.startswith("#"):
            return
        yield line


def _chunks(text: str) -> Chunks:
    """The tables of a file one by one, each with the comment lines right above it."""
    import tomllib

    lines = text.replace("\r\n", "\n").split("\n")
    starts = []
    for number, line in enumerate(lines):
        if _HEADS.match(line):
            while number and lines[number - 1].startswith("#"):
                number -= 1  # noqa: PLW2901 -- the start moves up to the comment
            starts.append(number)
    found: Chunks = []
    tables = ["\n".join(lines[start:end]).strip() for start, end in pairwise([*starts, len(lines)])]
    for written in (*tables, *(line for line in lines if _REMARK.match(line))):
        try:
            found.append((tomllib.loads(written), written))
        except ValueError:  # what looked like a table's head, or like a key, lies within a text
            continue
    return found


def _written(wanted: dict[str, Any], head: str, table: dict[str, Any], chunks: Chunks) -> str:
    """A table as one of the files writes it, else in the same manner."""
    as_it_stands = next((text for said, text in chunks if said == wanted), None)
    if as_it_stands is not None:
        return as_it_stands
    lines = [head, *(_key(key, item, chunks) for key, item in table.items() if key != "if")]
    for case in table.get("if", []):
        lines += ["[[step.if]]", *(f"{key} = {_literal(item)}" for key, item in case.items())]
    return "\n".join(lines)


def _key(key: str, item: object, chunks: Chunks) -> str:
    """A key with its value, and with the remark that stands behind it in one of the files."""
    return next((text for said, text in chunks if said == {key: item}), f"{key} = {_literal(item)}")


def _literal(value: object) -> str:
    """A value as TOML writes it in one line."""
    if isinstance(value, str):
        return dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_literal(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_literal(item)}" for key, item in value.items()) + " }"
    return str(value)
