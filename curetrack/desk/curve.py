"""Temperature and strength of the chosen piece, on the same axis of time as all pieces: dots of braille, two across and
four down in each column (ASCII: signs).

Above the temperature, measured solid and expected dotted. Below the strength: the central course solid, its band a thin
field of dots around it, and a line at each strength that a step waits for, named at the left. Now is one line through
both.
"""

from collections.abc import Sequence
from datetime import timedelta

from rich.text import Text

from curetrack.desk.head import JOINS
from curetrack.desk.rows import Cells, cut, row_of, styled, write
from curetrack.desk.scale import SPANS, Scale, scale_of
from curetrack.timeline.curve import Curve, Threshold
from curetrack.units import format_quantity
from curetrack.words.clean import clean
from curetrack.words.voice import Voice

__all__ = ["curve_rows"]

BRAILLE = 0x2800
BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # by row and column within a cell
LEAST_K, LEAST_MPa = 4.0, 1.0  # the least that the height of a field stands for
HEADROOM = 1.1

Values = Sequence[float | None]


def curve_rows(
    curve: Curve, voice: Voice, width: int, height: int, *, span: timedelta = SPANS[1], ascii_only: bool = False
) -> list[Text]:
    """`height` rows, six at least; a third for the temperature. What the curve does not reach stays empty."""
    if height < 6 or all(value is None for value in curve.temp_degC):
        return [styled(("No temperature is known yet: curetrack temp 14C", "dim"))][:height]
    scale = scale_of(voice, width, span)
    upper = max(2, height // 3)
    temps = _Field(curve, scale, upper, _around(curve.temp_degC))
    temps.line(curve.temp_degC, dotted=True)
    rows = temps.rows("temperature", ascii_only=ascii_only)
    strength = _Field(curve, scale, height - upper, (0.0, _top(curve)))
    strength.band(curve.strength_low_MPa, curve.strength_high_MPa)
    strength.line(curve.strength_MPa)
    lower = strength.rows("pressure", ascii_only=ascii_only)
    for one in reversed(curve.thresholds):  # of two in one row, the lower comes first in time
        _threshold(one, lower[strength.row_at(one.strength_MPa)], scale, ascii_only=ascii_only)
    return [row_of(row) for row in rows + lower]


def _threshold(one: Threshold, row: Cells, scale: Scale, *, ascii_only: bool) -> None:
    """A line where nothing else is, and at the left what waits for it."""
    for cell in range(scale.left, len(row)):
        if row[cell][0] == " ":
            row[cell] = ("-" if ascii_only else "┄", "dim")
    words = [format_quantity(one.strength_MPa, "pressure", scale.voice.system), *clean(one.title).split()]
    if len(" ".join(words)) > scale.left - 1:
        while len(words) > 1 and (len(" ".join(words)) > scale.left - 1 or words[-1].casefold() in JOINS):
            words.pop()
    write(row, 0, f"{cut(' '.join(words), scale.left - 1):>{scale.left - 1}} ", "calm")


def _around(values: Values) -> tuple[float, float]:
    known = [value for value in values if value is not None]
    low, high = min(known), max(known)
    more = max(0.0, LEAST_K - (high - low)) / 2.0
    return low - more, high + more


def _top(curve: Curve) -> float:
    """All thresholds have room, and the central course; the band may leave the field."""
    needs = [one.strength_MPa for one in curve.thresholds]
    known = [value for value in (*curve.strength_MPa, *needs) if value is not None]
    return max([LEAST_MPa, *known]) * HEADROOM


class _Field:
    """Dots under the axis of time."""

    def __init__(self, curve: Curve, scale: Scale, height: int, limits: tuple[float, float]) -> None:
        self.curve, self.scale, self.height = curve, scale, height
        self.low, self.high = limits
        self.bits = [[0] * scale.width for _ in range(height)]
        self.field = [[0] * scale.width for _ in range(height)]
        first, last = curve.at[0], curve.at[-1]
        step = (last - first) / (len(curve.at) - 1)
        half = scale.per_cell / 2
        self.places = [(scale.start + half * (x + 0.5) - first) / step for x in range(scale.width * 2)]
        until = curve.measured_until
        self.measured = -1 if until is None else int((until - scale.start) / half)

    def line(self, values: Values, *, dotted: bool = False) -> None:
        """Joined from dot to dot; `dotted`: every other one is left out after the last reading."""
        before: int | None = None
        for x, place in enumerate(self.places):
            value = _at(values, place)
            if value is None:
                before = None
                continue
            y = self._y(value)
            if not (dotted and x > self.measured and x % 4 > 1):
                for dot in range(min(y, y if before is None else before), max(y, y if before is None else before) + 1):
                    self._dot(self.bits, x, dot)
            before = y

    def band(self, low: Values, high: Values) -> None:
        """Every other column, every other dot between the two."""
        for x, place in enumerate(self.places):
            least, most = _at(low, place), _at(high, place)
            if least is not None and most is not None and x % 2 == 0:
                for dot in range(self._y(most, clip=False), self._y(least) + 1):
                    if (dot + x // 2) % 2 == 0:
                        self._dot(self.field, x, dot)

    def row_at(self, value: float) -> int:
        """The row that the value lies in."""
        return self._y(value) // 4

    def rows(self, quantity: str, *, ascii_only: bool) -> list[Cells]:
        """With the highest and the lowest value beside the first and the last row."""
        labels = {0: self.high, self.height - 1: self.low}
        found, left, now = [], self.scale.left, self.scale.now_cell
        for number, bits in enumerate(self.bits):
            label = format_quantity(labels[number], quantity, self.scale.voice.system) if number in labels else ""
            row: Cells = [(sign, "dim") for sign in f"{label:>{left - 1}} "]
            for solid, thin in zip(bits, self.field[number], strict=True):  # the field leaves the line its place
                sign = _sign(solid or thin, ascii_only=ascii_only, solid=solid > 0)
                row.append((sign, "title" if solid else "band"))
            row[left + now] = (row[left + now][0] if bits[now] else "|" if ascii_only else "│", "now")
            found.append(row)
        return found

    def _y(self, value: float, *, clip: bool = True) -> int:
        part = (value - self.low) / (self.high - self.low)
        y = round((1.0 - part) * (self.height * 4 - 1))
        return max(0, min(self.height * 4 - 1, y)) if clip else max(0, y)

    def _dot(self, bits: list[list[int]], x: int, y: int) -> None:
        if 0 <= y < self.height * 4:
            bits[y // 4][x // 2] |= BITS[y % 4][x % 2]


def _sign(bits: int, *, ascii_only: bool, solid: bool) -> str:
    if not bits:
        return " "
    if not ascii_only:
        return chr(BRAILLE + bits)
    return "o" if solid else "."


def _at(values: Values, place: float) -> float | None:
    """Between two known values, straight; None outside."""
    left = int(place) if place >= 0.0 else -1
    if not 0 <= left <= len(values) - 1:
        return None
    one, other = values[left], values[min(left + 1, len(values) - 1)]
    return None if one is None or other is None else one + (other - one) * (place - left)
