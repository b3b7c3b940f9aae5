"""Temperature and strength of the chosen piece on one axis: dots of braille, four by two in each cell (ASCII: letters).

Above the temperature, measured solid and expected dotted; below the strength with its band, the strengths that steps
wait for as lines, and now as a line through both.
"""

from collections.abc import Sequence

from rich.text import Text

from curetrack.desk.rows import Cells, cut, row_of, styled, write
from curetrack.timeline.curve import Curve, Threshold
from curetrack.units import format_quantity
from curetrack.words.clean import clean
from curetrack.words.voice import Voice

__all__ = ["curve_rows"]

LABEL = 8
SMALL = 0.08
BRAILLE = 0x2800
BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # by row and column within a cell

Values = Sequence[float | None]


def curve_rows(curve: Curve, voice: Voice, width: int, height: int, *, ascii_only: bool = False) -> list[Text]:
    """`height` rows, six at least; a third for the temperature."""
    if height < 6 or all(value is None for value in curve.temp_degC):
        return [styled(("No temperature is known yet: curetrack temp 14C", "dim"))][:height]
    upper = max(2, height // 3)
    cells = width - LABEL - 1
    now = _now_cell(curve, voice, cells)
    temps = _Plot(cells, upper, _limits((*curve.temp_low_degC, *curve.temp_high_degC), least=2.0))
    temps.line(curve.temp_degC, dotted_from=_share(curve))
    rows = temps.rows("temperature", voice, now, ascii_only=ascii_only)
    needs = [one.strength_MPa for one in curve.thresholds]
    tops = [value for value in (*curve.strength_high_MPa, *needs) if value is not None]
    strength = _Plot(cells, height - upper, (0.0, max([1.0, *tops])))
    strength.line(curve.strength_low_MPa, dotted_from=0.0)
    strength.line(curve.strength_high_MPa, dotted_from=0.0)
    strength.line(curve.strength_MPa)
    lower = strength.rows("pressure", voice, now, ascii_only=ascii_only)
    for one in curve.thresholds:
        if one.strength_MPa < strength.high * SMALL:
            continue  # at the very bottom it would only hide the line
        _threshold(one, lower[strength.row_at(one.strength_MPa)], voice, cells, ascii_only=ascii_only)
    return [row_of(row) for row in rows + lower]


def _threshold(one: Threshold, row: Cells, voice: Voice, cells: int, *, ascii_only: bool) -> None:
    """A line where nothing else is, and what waits for it."""
    for cell in range(LABEL + 1, len(row)):
        if row[cell][0] == " ":
            row[cell] = ("-" if ascii_only else "┄", "dim")
    amount = format_quantity(one.strength_MPa, "pressure", voice.system)
    write(row, LABEL + 2, cut(f" {amount} {clean(one.title)} ", max(8, cells // 2)), "calm")


def _share(curve: Curve) -> float:
    """From which part of the width on the temperature is expected, not measured."""
    until = curve.measured_until or curve.at[0]
    return max(0.0, min(1.0, (until - curve.at[0]) / (curve.at[-1] - curve.at[0])))


def _now_cell(curve: Curve, voice: Voice, cells: int) -> int | None:
    part = (voice.now - curve.at[0]) / (curve.at[-1] - curve.at[0])
    return int(part * (cells - 1)) if 0.0 <= part <= 1.0 else None


def _limits(values: Values, *, least: float) -> tuple[float, float]:
    known = [value for value in values if value is not None]
    low, high = min(known), max(known)
    return (low, high) if high - low >= least else ((low + high - least) / 2.0, (low + high + least) / 2.0)


class _Plot:
    """A field of dots: two across and four down in each cell."""

    def __init__(self, cells: int, height: int, limits: tuple[float, float]) -> None:
        self.cells, self.height, (self.low, self.high) = cells, height, limits
        self.bits = [[0] * cells for _ in range(height)]

    def line(self, values: Values, *, dotted_from: float = 2.0) -> None:
        """Joined from dot to dot; from that part of the width on every other one is left out."""
        before: int | None = None
        for x in range(self.cells * 2):
            value = _at(values, x / (self.cells * 2 - 1))
            if value is None:
                before = None
                continue
            y = self._y(value)
            if not (x / (self.cells * 2) >= dotted_from and x % 2):
                for dot in range(min(y, y if before is None else before), max(y, y if before is None else before) + 1):
                    self._dot(x, dot)
            before = y

    def row_at(self, value: float) -> int:
        """The row that the value lies in."""
        return self._y(value) // 4

    def rows(self, quantity: str, voice: Voice, now: int | None, *, ascii_only: bool) -> list[Cells]:
        """With the highest and the lowest value beside the first and the last row."""
        labels = {0: self.high, self.height - 1: self.low}
        found = []
        for number, bits in enumerate(self.bits):
            label = format_quantity(labels[number], quantity, voice.system) if number in labels else ""
            row: Cells = [(sign, "dim") for sign in f"{label:>{LABEL}} "]
            row += [(_sign(value, ascii_only=ascii_only), "calm") for value in bits]
            if now is not None:
                sign = row[LABEL + 1 + now][0]
                row[LABEL + 1 + now] = (sign if sign != " " else "|" if ascii_only else "│", "now")
            found.append(row)
        return found

    def _y(self, value: float) -> int:
        part = (value - self.low) / (self.high - self.low)
        return max(0, min(self.height * 4 - 1, round((1.0 - part) * (self.height * 4 - 1))))

    def _dot(self, x: int, y: int) -> None:
        self.bits[y // 4][x // 2] |= BITS[y % 4][x % 2]


def _sign(bits: int, *, ascii_only: bool) -> str:
    if not bits:
        return " "
    if not ascii_only:
        return chr(BRAILLE + bits)
    return "'" if not bits & 0xE4 else "." if not bits & 0x1B else ":"


def _at(values: Values, part: float) -> float | None:
    """Between two known values, straight."""
    place = part * (len(values) - 1)
    left = min(int(place), len(values) - 2)
    one, other = values[left], values[left + 1]
    return None if one is None or other is None else one + (other - one) * (place - left)
