"""Sizes of slabs and of openings: `1800x1050x38mm`, `6ftx3.5ftx1.5in`, `400x300mm@200,100mm`."""

import re

from curetrack.errors import BadInput
from curetrack.units.reading import parse, plain, split_number
from curetrack.units.table import DIMS

__all__ = ["parse_cutout", "parse_size"]

SIZE_LIKE = "write length x width x thickness with a unit: 1800x1050x38mm, 6ftx3.5ftx1.5in or 1.2x0.6x0.04m"
CUTOUT_LIKE = "write length x width @ left, bottom with a unit: 400x300mm@200,100mm"
LONGEST = 100  # characters
_TIMES = r"\s*[xX*]\s*"


def parse_size(text: str, *, where: str = "") -> tuple[float, float, float]:
    """Length, width and thickness in m, each above 0; a unit at the end serves all that have none.

    Refused (BadInput): no unit at all, no unit at the end, units of two kinds while one part has none, other than
    three parts. Whether it is a plausible slab is the caller's question.
    """
    parts = _parts(text, re.split(_TIMES, _checked(text, SIZE_LIKE, where)), 3, SIZE_LIKE, where)
    length_m, width_m, thickness_m = _metres(text, parts, "", SIZE_LIKE, where)
    _positive(text, (length_m, width_m, thickness_m), SIZE_LIKE, where)
    return length_m, width_m, thickness_m


def parse_cutout(text: str, *, where: str = "") -> tuple[float, float, float, float]:
    """Length, width, and the place of the lower left corner (x, y) of an opening, in m.

    Length and width are above 0, x and y not negative. The unit at the end of a half serves its parts that have
    none; a half without any unit takes that of the other half.
    """
    halves = _checked(text, CUTOUT_LIKE, where).split("@")
    if len(halves) != 2:
        raise BadInput("cannot read a cut-out", where=where, found=text, remedy=CUTOUT_LIKE)
    size = _parts(text, re.split(_TIMES, halves[0]), 2, CUTOUT_LIKE, where)
    place = _parts(text, halves[1].split(","), 2, CUTOUT_LIKE, where)
    length_m, width_m = _metres(text, size, _unit(place[-1], where), CUTOUT_LIKE, where)
    x_m, y_m = _metres(text, place, _unit(size[-1], where), CUTOUT_LIKE, where)
    _positive(text, (length_m, width_m), CUTOUT_LIKE, where)
    return length_m, width_m, x_m, y_m


def _checked(text: str, like: str, where: str) -> str:
    if not isinstance(text, str):
        raise BadInput("a size must be text", where=where, found=text, remedy=like)
    if len(text) > LONGEST:
        raise BadInput("a size is too long to read", where=where, found=text[:20] + "...", remedy=like)
    return plain(text).strip()


def _parts(text: str, parts: list[str], count: int, like: str, where: str) -> list[str]:
    if len(parts) != count or not all(part.strip() for part in parts):
        raise BadInput("cannot read a size", where=where, found=text, remedy=like)
    return parts


def _unit(part: str, where: str) -> str:
    return split_number(part, DIMS["length"], where=where)[1]


def _metres(text: str, parts: list[str], otherwise: str, like: str, where: str) -> list[float]:
    """Each part in m; those without a unit take the one at the end, if all units there are the same."""
    own = [_unit(part, where) for part in parts]
    last = own[-1] if any(own) else otherwise
    if not all(own) and not last:
        raise BadInput("a size without a unit", where=where, found=text, remedy=like)
    if not all(own) and any(unit not in {"", last} for unit in own):
        raise BadInput("a size with several units, and none on one part", where=where, found=text, remedy=like)
    return [parse(part if unit else part + last, "length", where=where) for part, unit in zip(parts, own, strict=True)]


def _positive(text: str, lengths_m: tuple[float, ...], like: str, where: str) -> None:
    if min(lengths_m) <= 0.0:
        raise BadInput("a size must be above 0", where=where, found=text, remedy=like)
