"""Sizes, cut-outs and outlines from the command line to a Shape."""

import re
from collections.abc import Sequence
from pathlib import Path

from curetrack.errors import BadInput
from curetrack.facts import Cutout, Shape
from curetrack.units import parse, parse_cutout, parse_size

__all__ = ["read_outline", "shape_of"]

LARGEST_BYTES = 200_000
MOST_POINTS = 500
AGREES_m = 0.002  # outline and size are the same drawing: two tape readings
_SPLIT = re.compile(r"[,;\t ]+")
_UNITS = re.compile(r"\b(mm|cm|m|in|ft)\b", re.IGNORECASE)


def shape_of(size: str | None, cutouts: Sequence[str] = (), outline: str | None = None) -> Shape | None:
    """The slab of --size, --cutout and --outline; None where no size is given."""
    if size is None:
        if cutouts or outline:
            raise BadInput("a size is missing", where="--size", remedy="write it like 1800x1050x38mm")
        return None
    length_m, width_m, thickness_m = parse_size(size, where="--size")
    holes = tuple(Cutout(*parse_cutout(text, where="--cutout")) for text in cutouts)
    points = read_outline(outline) if outline is not None else ()
    if points:
        _check_box(points, length_m, width_m)
    return Shape(length_m, width_m, thickness_m, holes, points)


def read_outline(path: str) -> tuple[tuple[float, float], ...]:
    """The corners of a file, two numbers a line, in metres or in the unit that the header names; from (0, 0) on."""
    numbers: list[tuple[float, float]] = []
    unit = "m"
    for count, line in enumerate(_lines(path), 1):
        cells = [cell for cell in _SPLIT.split(line.strip()) if cell]
        if not cells or cells[0].startswith("#"):
            continue
        where = f"{path}, line {count}"
        if not numbers and not _number(cells[0]):
            unit = _unit_of(line, where)
            continue
        if len(cells) != 2:
            raise BadInput("a corner has two numbers", where=where, found=line.strip()[:40], remedy="write x,y")
        x, y = (parse(f"{cell}{unit}", "length", where=where) for cell in cells)
        numbers.append((x, y))
    if len(numbers) > 1 and numbers[0] == numbers[-1]:
        numbers.pop()  # closed by repeating the first corner
    if not 3 <= len(numbers) <= MOST_POINTS:
        raise BadInput(
            f"an outline has 3 to {MOST_POINTS} corners", where=path, found=len(numbers), remedy="write one x,y a line"
        )
    left, low = min(x for x, _ in numbers), min(y for _, y in numbers)
    return tuple((round(x - left, 6), round(y - low, 6)) for x, y in numbers)


def _lines(path: str) -> list[str]:
    try:
        with Path(path).expanduser().open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
        if len(raw) > LARGEST_BYTES:
            raise BadInput("too large for an outline", where=path, remedy=f"use at most {MOST_POINTS} corners")
        return raw.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise BadInput("not UTF-8 text", where=path, remedy="save the file as UTF-8") from None
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read: {reason}", where=path, remedy="name a file with one x,y a line") from error


def _number(cell: str) -> bool:
    return bool(re.fullmatch(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)", cell))


def _unit_of(header: str, where: str) -> str:
    found = {unit.lower() for unit in _UNITS.findall(header.replace("_", " "))}
    if len(found) > 1:
        raise BadInput("several units in one header", where=where, found=header.strip()[:40], remedy="use one unit")
    if not found and not re.search(r"[xy]", header, re.IGNORECASE):
        raise BadInput("cannot read the header", where=where, found=header.strip()[:40], remedy="write x_mm,y_mm")
    return found.pop() if found else "m"


def _check_box(points: Sequence[tuple[float, float]], length_m: float, width_m: float) -> None:
    box = max(x for x, _ in points), max(y for _, y in points)
    if abs(box[0] - length_m) > AGREES_m or abs(box[1] - width_m) > AGREES_m:
        raise BadInput(
            "the outline is not as long and wide as the size", where="--outline",
            found=f"{box[0]:.4g} x {box[1]:.4g} m",
            remedy=f"let --size begin with {box[0]:.4g}x{box[1]:.4g}, or mend the outline",
        )  # fmt: skip
