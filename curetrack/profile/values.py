"""Reading single values of a document. A reader takes what stands in the file and returns what it means in SI units.

A reader raises BadInput (one value) or Wrong (a table, each fault with its key). Nothing else ever comes out of it.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import Any, Literal

from curetrack.errors import BadInput
from curetrack.profile.faulty import Item, Near, Wrong, bad, unknown_key
from curetrack.units import parse
from curetrack.units.table import dimension

__all__ = [
    "ID", "Reader", "boolean", "choice", "choices", "hands_on", "ids", "parsed", "quantity", "read_table", "step_id",
    "text", "whole", "whole_list",
]  # fmt: skip

Reader = Callable[[Any], Any]
ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
LONGEST_ID = 40
_SPACES = str.maketrans({"\u00a0": " ", "\u2009": " ", "\u202f": " "})


def read_table(
    value: object, spec: Mapping[str, Reader], required: Iterable[str] = (), also: Iterable[str] = ()
) -> dict[str, Any]:
    """Read each key of a table with its reader; faults are collected, unknown and missing keys among them. `also`: keys
    that are read elsewhere, for who looks for the right one."""
    if not isinstance(value, dict):
        raise bad("a table is wanted", value, f"write {{ {next(iter(spec))} = ... }}")
    out: dict[str, Any] = {}
    wrong: list[Item] = []
    for key, item in value.items():
        reader = spec.get(key) if isinstance(key, str) else None
        if reader is None:
            wrong.append(unknown_key(key, (*spec, *also)))
            continue
        try:
            out[key] = reader(item)
        except BadInput as error:
            wrong.append((key, error))
        except Wrong as several:
            wrong += [(f"{key}.{inner}" if inner else key, error) for inner, error in several.items]
    wrong += [(key, BadInput("missing", remedy=f"add {key} = ...")) for key in required if key not in value]
    if wrong:
        raise Wrong(wrong)
    return out


_PLAIN = re.compile(r"([0-9]{1,7}(?:\.[0-9]{1,6})?) ([A-Za-z][A-Za-z0-9/]*)")


@lru_cache(maxsize=2048)
def parsed(written: str, dim: str) -> float:
    """`units.parse`, with a short cut for what profiles are full of: a number, a space, a unit."""
    match = _PLAIN.fullmatch(written)
    unit = dimension(dim).units.get(match[2].lower()) if match is not None and not match[2].startswith("mPa") else None
    if match is None or unit is None:
        return parse(written, dim)
    return float(match[1]) * unit.factor + unit.offset


def quantity(  # noqa: PLR0917 -- reads as a sentence: a time from 0 to 96 h, like "4 h"
    dim: str, low: float, high: float, unit: str, like: str, ends: str = ""
) -> Reader:
    """A number with its unit, between two plausible ends (in the base unit of `dim`, named by `unit`, or as `ends`)."""
    ends = ends or f"{low:g} to {high:g} {unit}"

    def read(value: object) -> float:
        if not isinstance(value, str):
            raise bad("a quantity in quotes with its unit is wanted", value, f'write it like "{like}"')
        number = parsed(value, dim)
        if not low <= number <= high:
            raise bad("not plausible", value, f"use {ends}")
        return number

    return read


def text(longest: int) -> Reader:
    """One line of printable text, at most so many characters."""

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise bad("text in quotes is wanted", value)
        plain = (value if value.isascii() else value.translate(_SPACES)).strip()
        if not plain:
            raise BadInput("empty text", remedy="write something, or leave the key out")
        if len(plain) > longest:
            raise bad(f"too long, {len(plain)} characters", plain[:20] + "...", f"use at most {longest}")
        if not plain.isprintable():
            raise bad("a control character or line break", value, "write one line of plain text")
        return plain

    return read


def boolean(value: object) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise bad("true or false is wanted", value, "write it without quotes")
    return value


def whole(low: int, high: int) -> Reader:
    """A whole number between two ends."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise bad("a whole number is wanted", value, f"use {low} to {high}, without quotes")
        if not low <= value <= high:
            raise bad("not plausible", value, f"use {low} to {high}")
        return value

    return read


def whole_list(low: int, high: int, longest: int) -> Reader:
    """A list of whole numbers."""
    one = whole(low, high)

    def read(value: object) -> tuple[int, ...]:
        if not isinstance(value, list) or not 1 <= len(value) <= longest:
            raise bad(f"a list of 1 to {longest} whole numbers is wanted", value, "write it like [120, 220]")
        return tuple(one(item) for item in value)

    return read


def choice(*names: str) -> Reader:
    """One of a closed list of words."""

    def read(value: object) -> str:
        if not isinstance(value, str) or value not in names:
            word = value if isinstance(value, str) else ""
            raise Near("not a choice here", word, names, found=value, instead="one of " + ", ".join(names))
        return value

    return read


def choices(*names: str) -> Reader:
    """A list of words from a closed list, each once."""
    one = choice(*names)

    def read(value: object) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise bad("a list is wanted", value, f'write it like ["{names[0]}"]')
        return tuple(dict.fromkeys(one(item) for item in value))

    return read


def step_id(value: object) -> str:
    """A step's id: lower case letters, digits and single dashes."""
    if not isinstance(value, str):
        raise bad("an id in quotes is wanted", value, 'write it like "seal-top"')
    if len(value) > LONGEST_ID or not ID.fullmatch(value):
        raise bad(
            "not an id", value, f"use lower case letters, digits and single dashes, at most {LONGEST_ID}, like seal-top"
        )
    return value


def ids(most: int) -> Reader:
    """One id or a list of them."""

    def read(value: object) -> tuple[str, ...]:
        if isinstance(value, str):
            return (step_id(value),)
        if not isinstance(value, list) or not 1 <= len(value) <= most:
            raise bad(f"an id or a list of 1 to {most} ids is wanted", value, 'write it like ["cover", "flip"]')
        return tuple(dict.fromkeys(step_id(item) for item in value))

    return read


Share = Literal["fixed_h", "per_m2_h", "per_m_h", "per_bag_h"]
_SHARES: dict[str, tuple[Share, str]] = {
    "m2": ("per_m2_h", "time_per_area"), "ft2": ("per_m2_h", "time_per_area"), "m": ("per_m_h", "time_per_length"),
    "ft": ("per_m_h", "time_per_length"), "bag": ("per_bag_h", "time_per_bag"), "piece": ("fixed_h", "time_per_piece"),
    "each": ("fixed_h", "time_per_piece"),
}  # fmt: skip
LONGEST_WORK_H = 100.0


def hands_on(value: object) -> tuple[Share, float]:
    """Time for the hands, h: "30 min", "30 min each", or for each m2, m (of edge), bag: "20 min/m2", "10 min/bag"."""
    like = 'write it like "30 min", "20 min/m2", "10 min/m" or "10 min/bag"'
    if not isinstance(value, str):
        raise bad("a time in quotes is wanted", value, like)
    plain = value.strip().removesuffix(" each")
    head, slash, below = plain.replace("²", "2").rpartition("/")
    share: tuple[Share, str] = ("fixed_h", "time")
    if slash and head:
        name = below.strip()
        if name not in _SHARES:
            raise bad("not a time for the hands", value, like)
        share = _SHARES[name]
    hours = parsed(plain, share[1])
    if not 0.0 <= hours <= LONGEST_WORK_H:
        raise bad("not plausible", value, f"use 0 to {LONGEST_WORK_H:g} h")
    return share[0], hours
