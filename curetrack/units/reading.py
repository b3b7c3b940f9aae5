"""Reading a quantity as people write it. The wanted dimension is always given, so nothing is ever guessed."""

import math
import re
from functools import cache

from curetrack.errors import BadInput, OutOfRange
from curetrack.units.table import DIMS, Dim, System, dimension

__all__ = ["is_bare", "parse", "parse_bare", "parse_temperature", "require", "split_number"]

LONGEST = 60  # characters; no quantity that a person writes is longer
LARGEST = 1e12  # in any base unit; beyond it is a slip of the hand

_NUMBER = r"""(?:
    (?P<whole>[0-9]+)(?:\s+|-)(?P<n>[0-9]+)\s*/\s*(?P<d>[1-9][0-9]*)(?![0-9.,])   # 2 1/4, 2-1/4
  | (?P<n2>[0-9]+)\s*/\s*(?P<d2>[1-9][0-9]*)(?![0-9.,])                           # 3/8
  | (?P<dec>[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?![0-9])  # 1,500  3.5  .25
)"""
_QUANTITY = rf"\s*(?P<sign>[+-])?\s*{_NUMBER}\s*(?P<unit>.*?)\s*"
_PART = rf"\s*{_NUMBER}\s*(?P<unit>[a-z]+|'|\")\s*"
_COMMA = r"\s*[+-]?[0-9]+,[0-9]+(?![0-9,])"
_ALONE = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_WRITTEN = str.maketrans({
    "−": "-", "–": "-", "²": "2", "³": "3", "º": "°", "˚": "°", "℃": "°C", "℉": "°F", "⁄": "/", "·": "", "∙": "",
    "⋅": "", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8", "’": "'",
    "′": "'", "”": '"', "″": '"', "\u00a0": " ", "\u2009": " ", "\u202f": " ", "×": "x",
})  # fmt: skip


@cache
def _compiled(pattern: str, flags: int = 0) -> re.Pattern[str]:
    """Compiled when first used: that takes a millisecond, and most commands read no quantity."""
    return re.compile(pattern, flags)


def plain(text: str) -> str:
    """The same text with typographic signs (², °, ½, primes, dashes, no-break spaces) in their plain form."""
    return text.translate(_WRITTEN)


def _value(match: re.Match[str]) -> float:
    if match["whole"]:
        return int(match["whole"]) + int(match["n"]) / int(match["d"])
    if match["n2"]:
        return int(match["n2"]) / int(match["d2"])
    return float(match["dec"].replace(",", ""))


def _raised(text: str) -> bool:
    """A power sign right behind a number: it belongs to a unit that is not there."""
    before = (text.partition(sign)[0].rstrip() for sign in "²³" if sign in text)
    return any(not part or part[-1].isdigit() for part in before)


def split_number(text: str, kind: Dim, *, where: str = "") -> tuple[float, str]:
    """The number that a text starts with, and the unit behind it as written. Refused: what is no number."""
    if not isinstance(text, str):
        raise BadInput(f"{kind.label} must be text with its unit", where=where, found=text, remedy=_like(kind))
    if len(text) > LONGEST:
        raise BadInput(f"{kind.label} is too long to read", where=where, found=text[:20] + "...", remedy=_like(kind))
    match = _compiled(_QUANTITY, re.VERBOSE | re.DOTALL).fullmatch(plain(text))
    comma = _compiled(_COMMA).match(plain(text))
    if comma and (match is None or match["unit"].startswith(",")):
        right = comma.group().strip().replace(",", ".")
        raise BadInput("a decimal comma", where=where, found=text, remedy=f"write {right}")
    if match is None or _raised(text):
        raise BadInput(f"cannot read {kind.label}", where=where, found=text, remedy=_like(kind))
    value = _value(match)
    return (-value if match["sign"] == "-" else value), match["unit"]


def parse(text: str, dim: str, *, where: str = "") -> float:
    """A quantity in the base unit of `dim` (m, kg, m3, m2, degC, K, h, MPa, kg/m3, m/s, %, ...; see units/table.py).

    Numbers: 3.5, .25, 3/8, 2 1/4, 2-1/4, 1,500 (thousands). Times, lengths and masses may have several parts:
    1h30m, 1 d 4 h, 4' 6 1/2". Raises BadInput with what would be right: unknown unit, unit of something else, no
    unit, decimal comma, nan, infinity, more than 60 characters, beyond 1e12 base units, negative where that is
    senseless (only temperatures, differences and times may be). Whether the value is plausible is the caller's
    question.
    """
    kind = dimension(dim)
    number, written = split_number(text, kind, where=where)
    spelling = spell(written)
    if spelling in kind.units and not (dim == "pressure" and "mPa" in written):
        unit = kind.units[spelling]
        value = number * unit.factor + unit.offset
    elif not spelling and kind.bare is not None:
        value = _bare(number, kind, text, where)
    else:
        parts = _compound(text, kind) if kind.compound and spelling else None
        if parts is None:
            raise wrong_unit(text, written, kind, where)
        value = parts
    if not math.isfinite(value) or abs(value) > LARGEST:
        raise BadInput(f"{kind.label} is too large", where=where, found=text, remedy=_like(kind))
    if number < 0 and not kind.signed:
        raise BadInput(f"{kind.label} cannot be negative", where=where, found=text, remedy=_like(kind))
    return value


def is_bare(text: str) -> bool:
    """Whether it is a number alone, without a unit: 14, -3.5, .5"""
    return _compiled(_ALONE).fullmatch(text.strip()) is not None


def parse_bare(text: str, dim: str, unit: str, *, where: str = "") -> float:
    """The same as `parse`; but a number alone is in `unit`."""
    return parse(f"{text.strip()}{unit}" if is_bare(text) else text, dim, where=where)


def parse_temperature(text: str, system: System, *, where: str = "") -> float:
    """degC; a number alone is in the shop's unit."""
    return parse_bare(text, "temperature", "F" if system == "us" else "C", where=where)


def spell(written: str) -> str:
    """A unit as written, in the spelling of the table: lower case, no spaces, no power signs, `per` as a slash."""
    text = " ".join(plain(written).lower().split())
    text = text.replace("square ", "sq").replace("cubic ", "cu").replace("sq.", "sq").replace("cu.", "cu")
    text = f" {text}".replace(" per ", "/").replace("**", "").replace("^", "")
    text = text.replace("degrees", "deg").replace("degree", "deg").replace(" ", "").replace("°deg", "°")
    if text.startswith("1/"):
        text = text[1:]
    return text.removesuffix(".") if len(text) > 1 else text


def _bare(number: float, kind: Dim, text: str, where: str) -> float:
    if 0.0 < number <= 1.0:  # 0.6 for 60 %: a share where percent is meant
        raise BadInput(f"{kind.label} in percent is wanted", where=where, found=text, remedy=f"write {kind.example}")
    return number


def _compound(text: str, kind: Dim) -> float | None:
    """The sum of parts whose units get smaller ("1 d 4 h", "4' 6 1/2"), or None if the text is no such thing."""
    rest = plain(text).strip().replace("'-", "' ")
    sign = -1.0 if rest.startswith("-") else 1.0
    rest, total, last, position = rest.lstrip("+-"), 0.0, math.inf, 0
    pattern = _compiled(_PART, re.VERBOSE | re.IGNORECASE)
    while position < len(rest):
        part = pattern.match(rest, position)
        if part is None:
            return None
        spelling = part["unit"].lower()
        if spelling == "m" and kind.base == "h" and last <= 1.0:
            spelling = "min"  # 1h30m; a lone 30 m stays a length
        unit = kind.units.get(spelling)
        if unit is None or unit.factor >= last:
            return None
        total, last, position = total + _value(part) * unit.factor, unit.factor, part.end()
    return sign * total


def wrong_unit(text: str, written: str, kind: Dim, where: str) -> BadInput:
    """The error for a unit that does not fit: none, one of another dimension, or an unknown one."""
    use = f"use {kind.names}" if "," in kind.names else f"use {kind.names}, like {kind.example}"
    if not written:
        return BadInput(f"{kind.label} without a unit", where=where, found=text, remedy=use)
    spelling = spell(written)
    if kind.base == "MPa" and "mPa" in written:
        return BadInput("mPa is a thousandth of a pascal", where=where, found=text, remedy="write MPa for megapascals")
    other = next((d.label for d in DIMS.values() if spelling in d.units), None)
    if other is None:
        return BadInput(f"unknown unit {written!r} for {kind.label}", where=where, found=text, remedy=use)
    return BadInput(f"{kind.label} is wanted, not {other}", where=where, found=text, remedy=use)


def _like(kind: Dim) -> str:
    return f"write it like {kind.example}"


def require(  # noqa: PLR0917 -- reads as a sentence: require("temperature", 20, 0, 50, "degC", "mix")
    quantity: str, value: float, low: float, high: float, unit: str, where: str = ""
) -> float:
    """The value itself if low <= value <= high, else OutOfRange; nan and infinities are refused too."""
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(quantity, value, low, high, unit, where=where)
    return value
