"""One cell of a logger's file: what kind of thing stands in it, and its number."""

import re
from collections.abc import Callable
from typing import Literal

from curetrack.climate.dates import parse_day, parse_tail, split_stamp

__all__ = ["Kind", "clean", "is_missing", "kind_of", "read_number"]

Kind = Literal["empty", "missing", "number", "stamp", "date", "clock", "text"]

LONGEST = 200  # characters; no number and no time is longer
_MISSING = frozenset(
    """- -- --- ---- — – . nan na n/a #n/a #na null none nil unavailable unknown invalid error err err. fault fail
    missing void open short over under ol -inf inf +inf #value! ?""".split()  # noqa: SIM905
)
_NUMBER = re.compile(r"([+\-−]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:e[+\-]?[0-9]{1,2})?)\s*(.*)", re.IGNORECASE)
_SUFFIXES = {
    "": "", "%": "%", "%rh": "%", "% rh": "%", "rh": "%", "°c": "C", "degc": "C", "deg c": "C", "c": "C", "℃": "C",
    "°f": "F", "degf": "F", "deg f": "F", "f": "F", "℉": "F", "k": "K", "m/s": "m/s", "km/h": "km/h", "mph": "mph",
    "kn": "kn",
}  # fmt: skip


def clean(cell: str) -> str:
    """The cell without spaces around it and without a spreadsheet's guard: ="21.5" is 21.5."""
    text = cell.strip()
    if text.startswith('="') and text.endswith('"'):
        text = text[2:-1].strip()
    return text.strip("\"'\u00a0") if text[:1] in "\"'\u00a0" or text[-1:] == "\u00a0" else text


def is_missing(text: str) -> bool:
    """Whether the cleaned cell says that there is no value."""
    return not text or text.lower() in _MISSING


def read_number(text: str) -> tuple[float, str]:
    """The number of a cleaned cell and its unit: "", "C", "F", "K", "%" or a unit of wind. A decimal comma counts as
    a point: no value here reaches a thousand. Raises ValueError."""
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no number")
    suffix = _SUFFIXES.get(found[2].replace("º", "°").replace("\ufffd", "°").replace("° ", "°").lower())
    if suffix is None:
        raise ValueError(f"{found[2]!r} is no unit of a reading")
    return float(found[1].replace(",", ".").replace("−", "-")), suffix


def kind_of(text: str) -> Kind:
    """What stands in a cleaned cell. A date alone and a time of day alone belong to two columns."""
    if not text:
        return "empty"
    if len(text) > LONGEST:
        return "text"
    if is_missing(text):
        return "missing"
    for kind, read in _READERS:
        try:
            read(text)
        except ValueError:
            continue
        return kind
    return "text"


def _read_stamp(text: str) -> None:
    day, tail = split_stamp(text)
    _read_day(day)
    parse_tail(tail)


def _read_day(text: str) -> None:
    try:
        parse_day(text, "dmy")
    except ValueError:
        parse_day(text, "mdy")


_READERS: tuple[tuple[Kind, Callable[[str], object]], ...] = (
    ("number", read_number), ("stamp", _read_stamp), ("date", _read_day), ("clock", parse_tail),
)  # fmt: skip
