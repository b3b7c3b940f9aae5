"""Quantities at the edges: reading what people write, showing what was computed. Inside, everything is SI.

`parse` and `format_quantity` are inverses up to rounding. The table of units is closed and the wanted dimension is
always an argument, so "70 F" is a temperature and never a capacitance.
"""

from curetrack.errors import BadInput, OutOfRange
from curetrack.units.reading import is_bare, parse, parse_bare, parse_temperature, require
from curetrack.units.showing import format_quantity
from curetrack.units.sizes import parse_cutout, parse_size
from curetrack.units.table import DIMS, System

__all__ = [
    "DIMS", "BadInput", "OutOfRange", "System", "format_quantity", "is_bare", "parse", "parse_bare", "parse_cutout",
    "parse_size", "parse_temperature", "require",
]  # fmt: skip
