"""Quantities: every factor against an independent library, the notations of a building site, and the refusals."""

import math
import re
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack import units
from curetrack.errors import BadInput, OutOfRange
from curetrack.units.table import DIMS, dimension

UREG: Any = pint.UnitRegistry()

# Our dimension -> the base unit in the oracle's words.
BASES = {
    "length": "m", "mass": "kg", "volume": "m**3", "area": "m**2", "temperature": "degC",
    "temp_difference": "delta_degC", "time": "hour", "pressure": "MPa", "load": "N",
    "density": "kg/m**3", "speed": "m/s", "humidity": "percent",
    "ratio": "dimensionless", "rate_per_time": "1/day", "energy": "J/mol", "kelvin": "kelvin", "coverage": "m**2/liter",
    "water": "liter", "evaporation": "kg/m**2/hour", "water_dried": "kg/m**2", "time_per_area": "hour/m**2",
    "time_per_length": "hour/m", "time_per_bag": "hour", "time_per_piece": "hour",
}  # fmt: skip

# One spelling of each factor -> the oracle's unit. Water counts as 1 kg/L, as the docstring of the table says.
ORACLE = {
    "length": {"mm": "mm", "cm": "cm", "m": "m", "in": "inch", "ft": "foot", "yd": "yard"},
    "mass": {"kg": "kg", "g": "g", "t": "metric_ton", "lb": "pound", "oz": "ounce"},
    "volume": {"m3": "m**3", "l": "liter", "ml": "milliliter", "cm3": "cm**3", "ft3": "foot**3", "in3": "inch**3",
               "yd3": "yard**3", "gal": "gallon", "qt": "quart"},
    "area": {"m2": "m**2", "cm2": "cm**2", "mm2": "mm**2", "ft2": "foot**2", "in2": "inch**2"},
    "temperature": {"degc": "degC", "degf": "degF", "k": "kelvin"},
    "temp_difference": {"k": "delta_degC", "degf": "delta_degF"},
    "time": {"min": "minute", "h": "hour", "d": "day", "week": "week", "s": "second"},
    "pressure": {"mpa": "MPa", "n/mm2": "N/mm**2", "psi": "psi", "ksi": "ksi", "gpa": "GPa", "kpa": "kPa", "pa": "Pa"},
    "load": {"n": "N", "kn": "kN", "kgf": "kilogram_force", "lbf": "pound_force"},
    "density": {"kg/m3": "kg/m**3", "lb/ft3": "pound/foot**3", "lb/yd3": "pound/yard**3", "g/cm3": "g/cm**3",
                "kg/l": "kg/liter", "t/m3": "metric_ton/m**3"},
    "speed": {"m/s": "m/s", "km/h": "km/hour", "mph": "mile/hour", "kn": "knot", "ft/s": "foot/s"},
    "humidity": {"%": "percent"},
    "ratio": {"%": "percent"},
    "rate_per_time": {"/day": "1/day", "/h": "1/hour"},
    "energy": {"kj/mol": "kJ/mol", "j/mol": "J/mol", "kcal/mol": "kcal/mol"},
    "kelvin": {"k": "kelvin"},
    "coverage": {"m2/l": "m**2/liter", "ft2/gal": "foot**2/gallon"},
    "water": {"l": "liter", "ml": "milliliter", "gal": "gallon", "qt": "quart"},
    "evaporation": {"kg/m2/h": "kg/m**2/hour", "lb/ft2/h": "pound/foot**2/hour", "g/m2/h": "g/m**2/hour"},
    "water_dried": {"kg/m2": "kg/m**2", "g/m2": "g/m**2", "lb/ft2": "pound/foot**2"},
    "time_per_area": {"min/m2": "minute/m**2", "h/m2": "hour/m**2",
                      "min/ft2": "minute/foot**2", "h/ft2": "hour/foot**2"},
    "time_per_length": {"min/m": "minute/m", "h/m": "hour/m", "min/ft": "minute/foot", "h/ft": "hour/foot"},
    "time_per_bag": {"min/bag": "minute", "h/bag": "hour"},
    "time_per_piece": {"min/piece": "minute", "h/piece": "hour"},
}  # fmt: skip
PAIRS = [(dim, ours, theirs) for dim, names in ORACLE.items() for ours, theirs in names.items()]


@pytest.mark.parametrize(("dim", "ours", "theirs"), PAIRS)
@pytest.mark.parametrize("number", [1.0, 37.5])
def test_factor_agrees_with_independent_library(dim: str, ours: str, theirs: str, number: float) -> None:
    expected = UREG.Quantity(number, theirs).m_as(BASES[dim])  # pint, number and unit passed apart
    # 1e-12 relative: both multiply exact definitions in double precision; the offsets of temperature cost a digit.
    assert units.parse(f"{number} {ours}", dim) == pytest.approx(expected, rel=1e-12, abs=1e-11)


def test_every_factor_of_the_table_has_an_oracle() -> None:
    for dim, kind in DIMS.items():
        known = {kind.units[ours] for ours in ORACLE[dim]}
        # Water in kg and lb: a mass is a mass, checked with the masses.
        rest = {name for name, unit in kind.units.items() if unit not in known}
        assert rest == ({"lb", "lbs"} if dim == "water" else set()), dim


def test_water_by_mass_is_the_mass() -> None:
    assert units.parse("6 lb", "water") == units.parse("6 lb", "mass")


READ = [
    # text, dim, value in the base unit (arithmetic by hand from exact definitions)
    ("27 MPa", "pressure", 27.0),
    ("27 N/mm²", "pressure", 27.0),
    ("4,000 psi", "pressure", 27.579029),
    ("0.25 /day", "rate_per_time", 0.25),
    ("0.25 1/day", "rate_per_time", 0.25),
    ("0.25 per day", "rate_per_time", 0.25),
    ("18 min", "time", 0.3),
    ("1h30m", "time", 1.5),
    ("1 h 30 min", "time", 1.5),
    ("1 d 4 h", "time", 28.0),
    ("2d", "time", 48.0),
    ("-1 h", "time", -1.0),
    ("-1 h 30 min", "time", -1.5),
    ("1 1/2 h", "time", 1.5),
    ("5000 K", "kelvin", 5000.0),
    ("33.5 kJ/mol", "energy", 33500.0),
    ("68 F", "temperature", 20.0),
    ("68°F", "temperature", 20.0),
    ("68 degF", "temperature", 20.0),
    ("68 ℉", "temperature", 20.0),
    ("14C", "temperature", 14.0),
    ("−5 °C", "temperature", -5.0),
    ("293.15 K", "temperature", 20.0),
    ("3 K", "temp_difference", 3.0),
    ("9 F", "temp_difference", 5.0),
    ("25 %", "ratio", 0.25),
    ("60", "humidity", 60.0),
    ("60%", "humidity", 60.0),
    ("50 kg", "load", 490.3325),
    ("1.2 kN", "load", 1200.0),
    ("110 lb", "load", 489.304378),
    ("2240 kg/m3", "density", 2240.0),
    ("150 lb/ft3", "density", 2402.7695),
    ("80 lb", "mass", 36.287390),
    ("0.6 ft3", "volume", 0.016990108),
    ("0.6 cu ft", "volume", 0.016990108),
    ("8 m2/L", "coverage", 8.0),
    ("8 m²/L", "coverage", 8.0),
    ("300 ft2/gal", "coverage", 7.3627160),
    ("300 sq ft per gal", "coverage", 7.3627160),
    ("20 min/m2", "time_per_area", 1 / 3),
    ("10 min/m", "time_per_length", 1 / 6),
    ("30 min/bag", "time_per_bag", 0.5),
    ("30 min per bag", "time_per_bag", 0.5),
    ("0.15 kg/m2", "water_dried", 0.15),
    ("1.0 kg/m2/h", "evaporation", 1.0),
    ("1.0 kg/(m²·h)", "evaporation", 1.0),
    ("0.2 lb/ft2/h", "evaporation", 0.97648553),
    ("10km/h", "speed", 2.7777778),
    ("6 mph", "speed", 2.68224),
    ("100 mm", "length", 0.1),
    ("2 1/4 in", "length", 0.05715),
    ("2-1/4 in", "length", 0.05715),
    ("2½ in", "length", 0.0635),
    ("3/8 in", "length", 0.009525),
    (".25 in", "length", 0.00635),
    ("1,500 mm", "length", 1.5),
    ("4' 6\"", "length", 1.3716),
    ("4'-6 1/2\"", "length", 1.3843),
    ("6 ft 3 in", "length", 1.905),
]


@pytest.mark.parametrize(("text", "dim", "expected"), READ)
def test_site_notation_is_read(text: str, dim: str, expected: float) -> None:
    assert units.parse(text, dim) == pytest.approx(expected, rel=1e-7)  # expected values carry eight digits


REFUSED = [
    # text, dim, what the message must say
    ("1,5 MPa", "pressure", "decimal comma.*'1,5 MPa'; write 1.5"),
    ("0,250 MPa", "pressure", "decimal comma.*write 0.250"),
    ("1,2345 m", "length", "decimal comma.*write 1.2345"),
    ("3.5 mPa", "pressure", "thousandth.*write MPa"),
    ("3.5", "pressure", "without a unit, found '3.5'; use MPa, psi"),
    ("20", "temperature", "without a unit.*degC, degF, K"),
    ("0.25", "ratio", "without a unit.*use %"),
    ("3.5 h", "pressure", "a strength is wanted, not a time"),
    ("70 F", "length", "a length is wanted, not a temperature"),
    ("30 m", "time", "a time is wanted, not a length"),
    ("3.5 widgets", "mass", "unknown unit 'widgets' for a mass.*kg, g, t, lb, oz"),
    ("12 °", "temperature", "unknown unit '°'"),
    ("0.6", "humidity", "percent is wanted.*write 60 %"),
    ("-3 mm", "length", "cannot be negative"),
    ("nan MPa", "pressure", "cannot read"),
    ("inf h", "time", "cannot read"),
    ("", "time", "cannot read.*write it like 18 h"),
    ("h", "time", "cannot read"),
    ("1e3 m", "length", "unknown unit 'e3 m'"),
    ("2**9**9**9 m", "length", "unknown unit"),
    ("1/0 in", "length", "unknown unit"),
    ("1 h 2 d", "time", "unknown unit"),
    ("1 h 2 h", "time", "unknown unit"),
    ("1 h -30 min", "time", "unknown unit"),
    ("9" * 50 + " m", "length", "too large"),
    ("9" * 70 + " m", "length", "too long"),
    ("12 34 m", "length", "unknown unit"),
    ("1,50,000 psi", "pressure", "psi"),
    ("٣ m", "length", "cannot read"),
    ("1²C", "temperature", "cannot read"),
    ("² C", "temperature", "cannot read"),
    ("3 ³", "length", "cannot read"),
]


@pytest.mark.parametrize(("text", "dim", "message"), REFUSED)
def test_nonsense_is_refused_with_what_would_be_right(text: str, dim: str, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        units.parse(text, dim)


def test_place_of_the_fault_is_named() -> None:
    with pytest.raises(BadInput, match=re.escape("bench.toml: step 'strip': strength: ")):
        units.parse("3.5", "pressure", where="bench.toml: step 'strip': strength")


def test_number_in_place_of_text_is_refused() -> None:
    with pytest.raises(BadInput, match=r"text with its unit, found 27; write it like 3.5 MPa"):
        units.parse(27, "pressure")  # type: ignore[arg-type]


def test_unknown_dimension_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="no dimension 'colour'"):
        dimension("colour")


@given(st.text(max_size=70), st.sampled_from(sorted(DIMS)))
def test_any_text_is_read_or_refused_and_never_crashes(text: str, dim: str) -> None:
    try:
        value = units.parse(text, dim)
    except BadInput:
        return
    assert math.isfinite(value)


SHOWN = [
    (159.0, "mass", "us", 2, "350 lb"),
    (0.0381, "length", "us", 2, "1.5 in"),
    (17.78, "temperature", "us", 2, "64 °F"),
    (40.0, "temperature", "us", 2, "104 °F"),
    (3.5, "pressure", "metric", 2, "3.5 MPa"),
    (3.5, "pressure", "us", 2, "510 psi"),
    (3.0, "pressure", "metric", 2, "3 MPa"),
    (-0.4, "temperature", "metric", 2, "-0.4 °C"),
    (-0.01, "temperature", "metric", 2, "0 °C"),
    (100.0, "humidity", "metric", 2, "100 %"),
    (166.8, "mass", "metric", 3, "167 kg"),
    (0.0, "mass", "metric", 2, "0 kg"),
    (1.05, "length", "metric", 3, "1.05 m"),
    (0.038, "length", "metric", 2, "38 mm"),
    (0.0747, "volume", "metric", 3, "74.7 L"),
    (0.25, "ratio", "metric", 2, "25 %"),
    (0.1, "time", "metric", 2, "6 min"),
    (96.0, "time", "metric", 2, "4 d"),
    (2.7778, "speed", "metric", 2, "10 km/h"),
]


@pytest.mark.parametrize(("value", "dim", "system", "digits", "text"), SHOWN)
def test_quantity_is_shown_for_people(value: float, dim: str, system: units.System, digits: int, text: str) -> None:
    assert units.format_quantity(value, dim, system, digits) == text


@given(
    st.sampled_from(sorted(DIMS)), st.sampled_from(["metric", "us"]),
    st.floats(1e-6, 1e6, allow_nan=False), st.booleans(), st.integers(1, 9),
)  # fmt: skip
def test_shown_text_reads_back_to_the_same_value(
    dim: str, system: units.System, size: float, negative: bool, digits: int
) -> None:
    kind = DIMS[dim]
    value = -size if negative and kind.signed else size
    text = units.format_quantity(value, dim, system, digits)
    shown = kind.units[units.reading.spell(text.split(" ", 1)[1])]
    number = abs((value - shown.offset) / shown.factor)
    step = 10.0 ** (math.floor(math.log10(number)) + 1 - digits) if number else 0.0
    if kind.whole:  # whole units at the coarsest, digits - 1 decimals at the finest
        step = min(max(step, 10.0 ** (1 - digits)), 1.0)
    # Half a step of the last digit shown, plus the dust of double precision.
    assert units.parse(text, dim) == pytest.approx(value, rel=1e-9, abs=0.5001 * step * shown.factor + 1e-9)


@given(st.floats(-40.0, 60.0), st.sampled_from(["metric", "us"]))
def test_temperature_survives_a_round_trip(temp_degC: float, system: units.System) -> None:
    text = units.format_quantity(temp_degC, "temperature", system, digits=9)
    assert units.parse(text, "temperature") == pytest.approx(temp_degC, abs=1e-6)  # eight decimals are shown


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_unknown_value_is_never_shown_as_a_quantity(value: float) -> None:
    with pytest.raises(ValueError, match="cannot be shown"):
        units.format_quantity(value, "time")


def test_require_passes_the_value_and_names_range_and_place() -> None:
    assert units.require("temperature", 20.0, 0.0, 50.0, "degC") == 20.0
    with pytest.raises(OutOfRange, match=r"mix: temperature out of range, found '61 degC'; use 0 to 50 degC"):
        units.require("temperature", 61.0, 0.0, 50.0, "degC", "mix")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_require_refuses_what_is_no_number(value: float) -> None:
    with pytest.raises(OutOfRange):
        units.require("age", value, 0.0, math.inf, "h")


@pytest.mark.parametrize(
    ("text", "bare"),
    [
        ("14", True), ("-3.5", True), (" +7. ", True), (".5", True),
        ("14C", False), ("", False), ("-", False), ("1 4", False), ("１４", False), ("+-5", False), ("1.2.3", False),
    ],
)  # fmt: skip
def test_a_number_alone_is_told_from_one_with_a_unit(text: str, bare: bool) -> None:
    assert units.is_bare(text) is bare


def test_a_number_alone_is_in_the_unit_that_it_is_read_for() -> None:
    """68 degF = 20 degC, by definition."""
    assert units.parse_bare("20", "temperature", "C") == units.parse_temperature("68", "us") == pytest.approx(20.0)
    assert units.parse_temperature("20", "metric") == units.parse_temperature("20 C", "us") == 20.0
    with pytest.raises(BadInput, match="where it stands"):
        units.parse_bare("x", "humidity", "%", where="where it stands")
