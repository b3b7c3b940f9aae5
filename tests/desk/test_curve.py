"""The curve lies on the axis' scale; heights are counted by hand: four dots to a row, the lowest value at the foot."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from rich.text import Text

from curetrack.desk.axis import axis_rows
from curetrack.desk.curve import curve_rows
from curetrack.desk.palette import STYLES
from curetrack.desk.rows import in_ascii
from curetrack.desk.scale import scale_of
from curetrack.shop import View
from curetrack.timeline.curve import Curve, Threshold
from curetrack.words.voice import Voice
from tests.desk.beside import T0, Alone, hours
from tests.words.making import BERLIN, after, timeline_with, voice

BY_HOUR = timedelta(hours=56)  # at 80 columns 24 are words, 14 lie behind now, one hour each
LEFT, NOW_AT = 24, 38

Course = Callable[[float], float | None]


def curve(
    strength: Course, *needs: tuple[float, str], temp: Course | None = None, measured: float = 0.0, band: float = 0.0
) -> Curve:  # fmt: skip
    """By the hour from 20 h before now to 60 h after it; functions of the hours from now."""
    at = [float(hour) for hour in range(-20, 61)]
    values = [strength(hour) for hour in at]
    temps = [temp(hour) if temp else 20.0 for hour in at]
    return Curve(
        at=tuple(after(hour) for hour in at), temp_degC=tuple(temps), temp_low_degC=tuple(temps),
        temp_high_degC=tuple(temps), measured_until=after(measured), poured_at=after(-20),
        equivalent_age_h=tuple(values), strength_MPa=tuple(values),
        strength_low_MPa=tuple(None if v is None else v * (1 - band) for v in values),
        strength_high_MPa=tuple(None if v is None else v * (1 + band) for v in values),
        thresholds=tuple(Threshold(title, title, need, None) for need, title in needs),
    )  # fmt: skip


def drawn(one: Curve, height: int = 12, *, ascii_only: bool = False) -> list[str]:
    rows = curve_rows(one, voice(), 80, height, span=BY_HOUR, ascii_only=ascii_only)
    return [row.plain for row in rows]


def dots(rows: list[str], column: int) -> list[int]:
    """Heights of the dots in a column of braille, counted from the top of the field (braille: bits 0, 1, 2, 6 and 3, 4,
    5, 7 from the top; the Unicode standard, chapter 21)."""
    found = []
    for number, row in enumerate(rows):
        bits = ord(row[column]) - 0x2800
        if 0 < bits <= 0xFF:
            found += [number * 4 + n for n, mask in enumerate((0x09, 0x12, 0x24, 0xC0)) if bits & mask]
    return found


def test_now_stands_above_the_axis_now() -> None:
    rows = drawn(curve(lambda hour: None))
    axis = axis_rows([timeline_with()], 0, voice(), 80, 2, span=BY_HOUR)
    assert axis[0].plain[NOW_AT] == "▼"
    assert {row[NOW_AT] for row in rows[4:]} == {"│"}


def test_a_strength_stands_at_its_height_and_its_threshold_too() -> None:
    """Twelve rows: four of temperature, eight of strength. The field's top is a tenth above 10 MPa, 11 MPa, at dot 0;
    0 MPa is dot 31. So 5 MPa is dot 31 * (1 - 5/11) = 16.9: 17, in the field's fifth row; 10 MPa is 2.8: 3, in its
    first."""
    rows = drawn(curve(lambda hour: 5.0, (10.0, "Flip it")))
    field = rows[4:]
    assert dots(field, LEFT + 5) == [17]
    assert field[0].startswith(f"{'10 MPa Flip it':>23} ┄┄")
    assert field[4][LEFT + 5] != "┄"


def test_it_reaches_the_threshold_in_the_column_of_its_hour() -> None:
    """From 0 MPa at now, 1 MPa per hour, on to 20: 10 MPa after ten hours."""
    rows = drawn(curve(lambda hour: max(0.0, min(20.0, hour)), (10.0, "Flip it")), height=36)
    field = rows[12:]
    line = next(number for number, row in enumerate(field) if "10 MPa Flip it" in row)
    crossing = [column for column in range(LEFT, 80) if any(dot // 4 == line for dot in dots(field, column))]
    assert abs(min(crossing) - (NOW_AT + 10)) <= 1


def test_measured_is_solid_and_expected_is_broken() -> None:
    rows = drawn(curve(lambda hour: None, temp=lambda hour: 18.0, measured=-4.0))
    row = next(row for row in rows[:4] if any(0x2800 < ord(sign) <= 0x28FF for sign in row))
    assert " " not in row[LEFT : NOW_AT - 5]
    ahead = row[NOW_AT + 1 : NOW_AT + 21]
    assert 5 <= ahead.count(" ") <= 15


def test_the_highest_and_lowest_temperature_are_named() -> None:
    rows = drawn(curve(lambda hour: None, temp=lambda hour: 20.0 if hour < 0 else 10.0))
    assert rows[0].startswith(f"{'20 °C':>23} ")
    assert rows[3].startswith(f"{'10 °C':>23} ")


def test_the_band_is_a_thin_field_that_leaves_the_line_free() -> None:
    one = curve(lambda hour: 10.0, band=0.5)
    rows = curve_rows(one, voice(), 80, 12, span=BY_HOUR)
    styles = {str(span.style) for row in rows[4:] for span in row.spans}
    assert {STYLES["band"], STYLES["title"]} <= styles
    thin = drawn(one)[4:]
    heights = {dot for column in range(LEFT + 1, NOW_AT) for dot in dots(thin, column)}
    assert max(heights) - min(heights) >= 12  # 5 to 15 MPa, cut at 11, of 31 dots for 11 MPa


def test_before_the_pour_there_is_no_strength() -> None:
    rows = drawn(curve(lambda hour: None if hour < 10 else 5.0))
    assert not any(dots(rows[4:], column) for column in range(LEFT, NOW_AT + 9))
    assert dots(rows[4:], NOW_AT + 12)


def test_the_two_halves_of_a_column_are_half_an_hour_each() -> None:
    """Now is the middle of its column, so ten hours on only the right half is later than the tenth hour: the lowest dot
    at the right is bit 0x80 of braille (the Unicode standard, chapter 21)."""
    rows = drawn(curve(lambda hour: None if hour < 10 else 0.0))
    assert rows[-1][NOW_AT + 9 : NOW_AT + 12] == " \u2880\u28c0"


def test_without_any_temperature_it_says_what_to_do() -> None:
    rows = drawn(curve(lambda hour: None, temp=lambda hour: None))
    assert rows == ["No temperature is known yet: curetrack temp 14C"]


def test_ascii_is_ascii() -> None:
    rows = curve_rows(curve(lambda hour: 5.0, (10.0, "Flip it"), band=0.3), voice(), 80, 12, ascii_only=True)
    assert all(in_ascii(row).plain.isascii() for row in rows)
    assert any("o" in row.plain[LEFT:] for row in rows)


@pytest.mark.parametrize("height", [6, 9, 18, 40])
@pytest.mark.parametrize("width", [40, 80, 200])
def test_every_size_is_kept(width: int, height: int) -> None:
    rows = curve_rows(curve(abs, (9.0, "A step with a long name indeed")), voice(), width, height)
    assert [len(row.plain) for row in rows] == [width] * height


def test_a_real_piece_from_the_shop(tmp_path: Path) -> None:
    """At a steady 20 °C the equivalent age is the age: the mix's 30 MPa at 28 d by k = 0.25 /d from 7 h on (desk.toml)
    make S(48 h) = 30 * (k t / (1 + k t)) / (k T / (1 + k T)), t = 41 h, T = 28 d - 7 h: 10.3 MPa (hyperbola: ASTM
    C1074, annex A1). The line passes it in the column of that hour; the field has sixteen rows, 64 dots."""
    beside = Alone(tmp_path / "home", "bench")
    beside.comes_to(hours(6))
    speaking = Voice(beside.at, BERLIN, "metric")
    scale = scale_of(speaking, 120, timedelta(days=3))
    one = beside.shop.curve("bench", View(beside.at), scale.start, scale.end)
    field = curve_rows(one, speaking, 120, 24)[8:]
    k_d, t_d, last_d = 0.25, 41 / 24, 28 - 7 / 24
    expected = 30.0 * (k_d * t_d / (1 + k_d * t_d)) / (k_d * last_d / (1 + k_d * last_d))
    top = 1.1 * max(value for value in one.strength_MPa if value is not None)
    column = scale.left + (scale.cell(T0 + timedelta(hours=48)) or 0)
    line = [number for number, row in enumerate(field) if _style(row, column) == STYLES["title"]]
    here = [dot for dot in dots([row.plain for row in field], column) if dot // 4 in line]
    assert here
    assert all(abs(dot - 63 * (1 - expected / top)) <= 2 for dot in here)


def _style(row: Text, column: int) -> str:
    return next((str(span.style) for span in row.spans if span.start <= column < span.end), "")
