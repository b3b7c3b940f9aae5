"""Reading the small table of breaks. Everything that is wrong with it is said at once, in errors.Faults.

    age, strength, specimen, temp          age, load, span, width, height, temp
    1 d, 6.1 MPa, cylinder, 18 C           24 h, 52 kg, 350 mm, 100 mm, 40 mm, 18 C

One line for each specimen. Columns in any order, separated by commas, semicolons or tabs; a unit stands in each cell,
or once in the heading (`age_d`, `strength (MPa)`, `load [kg]`). Lines that begin with # are notes.

age | time | equivalent_age     since the cast; or the moment it broke; or hours at the reference temperature
strength | load, span, width, height     what it bore for each area; or a bar on two rods, loaded in the middle
specimen     cylinder (default), cube, bar (default where there is a load)
temp         mean temperature since the cast
batch        which batch it was cast of; note: anything
"""

import csv
import re
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from curetrack.concrete.specimens import cylinder_from_cube_MPa, rupture_MPa, strength_from_rupture_MPa
from curetrack.errors import BadInput
from curetrack.fit.breaks import SPECIMENS, Break, Specimen
from curetrack.profile.faulty import Near, Sheet, bad, said
from curetrack.units import OutOfRange, parse, require
from curetrack.units.table import dimension

__all__ = ["COLUMNS", "LARGEST_BYTES", "MOST_BREAKS", "read_breaks"]

LARGEST_BYTES = 1_000_000
MOST_BREAKS = 200  # as many points as a profile keeps
# column -> its dimension, and the plausible range in base units; "" is text
COLUMNS: dict[str, tuple[str, float, float]] = {
    "age": ("time", 0.5, 43_830.0), "equivalent_age": ("time", 0.5, 43_830.0), "time": ("", 0.0, 0.0),
    "temp": ("temperature", -10.0, 60.0), "strength": ("pressure", 0.1, 150.0), "load": ("load", 1.0, 1e6),
    "span": ("length", 0.02, 5.0), "width": ("length", 0.005, 2.0), "height": ("length", 0.003, 1.0),
    "specimen": ("", 0.0, 0.0), "batch": ("", 0.0, 0.0), "note": ("", 0.0, 0.0),
}  # fmt: skip
LEAST_RUPTURE_MPa, MOST_RUPTURE_MPa = 0.2, 7.5  # 0.1 and 150 MPa of compression
BAR = ("load", "span", "width", "height")
WHEN = ("age", "time", "equivalent_age")
_OTHER_NAMES = {"temperature": "temp", "force": "load", "depth": "height", "thickness": "height"}
_UNIT = re.compile(r"(.*?)\s*(?:\(([^()]*)\)|\[([^\[\]]*)\])\s*")
Moment = Callable[[str], datetime]
_Heading = tuple[str, str]  # column, and the unit written there
_Cells = dict[str, str]


def read_breaks(text: str, where: str, moment: Moment) -> list[Break]:
    """The breaks of a table, in its order. `moment` reads a time as people type it, and raises BadInput.

    Raises Faults: a line for each fault, with the file, the line and the column.
    """
    sheet = Sheet(where)
    found: list[Break] = []
    headings: list[_Heading] | None = None
    for number, cells in _lines(text, sheet):
        if headings is None:
            headings = _headings(cells, number, sheet)
            if sheet.items:
                break  # without headings nothing below means anything
            continue
        if len(found) >= MOST_BREAKS:
            sheet.add(f"line {number}", "", BadInput("too many breaks", remedy=f"use at most {MOST_BREAKS}"))
            break
        one = _row(headings, cells, number, sheet, moment)
        found += [one] if one is not None else []
    if headings is None and not sheet.items:
        sheet.add("", "", BadInput("no headings", remedy="begin with a line like: age, strength, specimen, temp"))
    elif not found and not sheet.items:
        sheet.add("", "", BadInput("no breaks", remedy="write a line for each specimen below the headings"))
    sheet.check()
    return found


def _lines(text: str, sheet: Sheet) -> Iterable[tuple[int, list[str]]]:
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if _tells(line)]
    if not lines:
        return
    separator = next((mark for mark in ("\t", ";") if mark in lines[0][1]), ",")
    for number, line in lines:
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True, strict=True))
        except (csv.Error, StopIteration):
            sheet.add(f"line {number}", "", bad("cannot be taken apart", line, "mind the quotes"))
            continue
        yield number, [cell.strip() for cell in cells]


def _tells(line: str) -> bool:
    plain = line.strip()
    return bool(plain.strip(",;\t ")) and not plain.startswith("#")


def _headings(cells: list[str], number: int, sheet: Sheet) -> list[_Heading]:
    found: list[_Heading] = []
    for cell in cells:
        heading = _heading(cell)
        if heading is None:
            sheet.add(f"line {number}", "", Near("no such column", cell.casefold(), COLUMNS, found=cell))
        elif heading[0] in [column for column, _ in found]:
            sheet.add(f"line {number}", heading[0], BadInput("a column that comes twice", remedy="leave one out"))
        else:
            found.append(heading)
    columns = {column for column, _ in found}
    when = [column for column in WHEN if column in columns]
    if not sheet.items and len(when) != 1:
        what = "several columns say when it broke" if when else "no column says when it broke"
        sheet.add(f"line {number}", "", BadInput(what, remedy="have one of age, time, equivalent_age"))
    if not sheet.items and "strength" not in columns and not set(BAR) <= columns:
        missing = ", ".join(column for column in BAR if column not in columns)
        remedy = f"add {missing}" if columns & set(BAR) else "have strength, or load, span, width and height"
        sheet.add(f"line {number}", "", BadInput("no column says what it bore", remedy=remedy))
    return found


def _heading(cell: str) -> _Heading | None:
    """ "strength (MPa)", "age_d" or "temp" as a column and its unit."""
    match = _UNIT.fullmatch(cell)
    name, unit = (match[1], match[2] or match[3]) if match else (cell, "")
    name = "_".join(name.casefold().replace("-", " ").replace("_", " ").split())
    name = _OTHER_NAMES.get(name, name)
    if name in COLUMNS:
        return name, unit.strip()
    column, _, tail = name.rpartition("_")
    column = _OTHER_NAMES.get(column, column)
    written = cell[-len(tail) :] if tail else ""
    if not unit and column in COLUMNS and COLUMNS[column][0] and tail in dimension(COLUMNS[column][0]).units:
        return column, written
    return None


def _row(headings: list[_Heading], cells: list[str], number: int, sheet: Sheet, moment: Moment) -> Break | None:
    """The break of one line; None where something is wrong with it, which is on the sheet then."""
    place, before = f"line {number}", len(sheet.items)
    if len(cells) > len(headings) and any(cells[len(headings) :]):
        found = said(f"{len(cells)} cells under {len(headings)} headings")
        sheet.add(place, "", BadInput("more cells than headings", found=found, remedy="a comma within a number?"))
        return None
    written: _Cells = {column: cell for (column, _), cell in zip(headings, cells, strict=False) if cell}
    values: dict[str, Any] = {}
    for column, unit in headings:
        if column not in written:
            continue
        try:
            values[column] = _value(column, unit, written[column], moment)
        except BadInput as error:
            sheet.add(place, column, error)
    _holes({column for column, _ in headings}, written, place, sheet)
    if len(sheet.items) > before:
        return None
    try:
        return _made(number, values)
    except BadInput as error:
        sheet.add(place, "", error)
        return None


def _value(column: str, unit: str, cell: str, moment: Moment) -> object:
    dim, low, high = COLUMNS[column]
    if column == "time":
        return moment(cell)
    if column == "specimen":
        if cell.casefold() not in SPECIMENS:
            raise Near("no such specimen", cell.casefold(), SPECIMENS, found=cell, instead="cylinder, cube or bar")
        return SPECIMENS[cell.casefold()]
    if not dim:
        return cell[:60]
    bare = re.fullmatch(r"[+\-\u2212]?[0-9.,/ ]+", cell) is not None
    value = parse(f"{cell} {unit}" if bare and unit else cell, dim)
    if not low <= value <= high:
        kind = dimension(dim)
        raise BadInput("not plausible", found=said(cell), remedy=f"use {low:g} to {high:g} {kind.base}")
    return value


def _holes(columns: set[str], written: _Cells, place: str, sheet: Sheet) -> None:
    """What a line must have and has not."""
    when = next(column for column in WHEN if column in columns)
    if when not in written:
        sheet.add(place, when, BadInput("missing", remedy="every break needs it"))
    loaded = [column for column in BAR if column in written]
    if "strength" in written and "load" in written:
        sheet.add(place, "", BadInput("strength and load both", remedy="give one of them"))
    elif "strength" not in written and not loaded:
        sheet.add(place, "", BadInput("nothing says what it bore", remedy="give its strength, or load and dimensions"))
    elif "strength" not in written and len(loaded) < len(BAR):
        missing = ", ".join(column for column in BAR if column not in written)
        sheet.add(place, "", BadInput(f"a bar without {missing}", remedy="give load, span, width and height"))


def _made(number: int, values: dict[str, Any]) -> Break:
    measured, specimen = _measured(values)
    return Break(
        number, specimen, measured, _as_cylinder(specimen, measured), values.get("age"), values.get("time"),
        values.get("equivalent_age"), values.get("temp"), values.get("height") if specimen == "bar" else None,
        values.get("batch", ""),
    )  # fmt: skip


def _measured(values: dict[str, Any]) -> tuple[float, Specimen]:
    named: Specimen | None = values.get("specimen")
    if "load" not in values:
        if named == "bar":
            raise BadInput("a bar with a strength", remedy="give load, span, width and height; a bar breaks in bending")
        return values["strength"], named or "cylinder"
    if named not in (None, "bar"):
        raise BadInput(f"a {named} with a load", remedy="give its strength: the load over the area it stood on")
    rupture = rupture_MPa(values["load"], values["span"], values["width"], values["height"])
    if not LEAST_RUPTURE_MPa <= rupture <= MOST_RUPTURE_MPa:
        raise OutOfRange("the stress at which the bar broke", rupture, LEAST_RUPTURE_MPa, MOST_RUPTURE_MPa, "MPa")
    return rupture, "bar"


def _as_cylinder(specimen: Specimen, measured_MPa: float) -> float:
    strength = {"cube": cylinder_from_cube_MPa, "bar": strength_from_rupture_MPa}.get(specimen, float)(measured_MPa)
    return require("strength as of a cylinder", strength, 0.1, 150.0, "MPa")
