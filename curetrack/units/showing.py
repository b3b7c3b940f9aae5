"""Showing quantities in the maker's unit system, rounded to what is really known."""

import math

from curetrack.units.reading import spell
from curetrack.units.table import System, dimension

__all__ = ["format_quantity"]


def format_quantity(value: float, dim: str, system: System = "metric", digits: int = 2) -> str:
    """A value in the base unit of `dim` as text: "350 lb", "1.5 in", "64 °F", "3.5 MPa".

    Rounded to `digits` significant digits (at least 1), trailing zeros dropped. Temperatures and humidities are
    never rounded more coarsely than to the whole unit, nor shown with more than `digits` - 1 decimals. `parse` reads
    the text back. Raises ValueError for nan and infinities:
    what is unknown has to be said in words.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be shown as a quantity")
    kind = dimension(dim)
    choices = kind.us if system == "us" else kind.metric
    chosen = next((show for show in choices if value == 0.0 or abs(value) >= show.least), choices[-1])
    unit = kind.units[spell(chosen.text)]
    return f"{_rounded((value - unit.offset) / unit.factor, digits, kind.whole)} {chosen.text}"


def _rounded(number: float, digits: int, whole: bool) -> str:
    if number == 0.0:
        return "0"
    places = max(digits, 1) - 1 - math.floor(math.log10(abs(number)))
    if whole:
        places = min(max(places, 0), max(digits, 1) - 1)
    text = f"{round(number, places):.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
