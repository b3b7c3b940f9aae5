"""The lifting equation: its printed multipliers and worked examples."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.lifting import (
    asymmetry_factor,
    coupling_factor,
    distance_factor,
    frequency_factor,
    horizontal_factor,
    lifting_index,
    recommended_weight_limit,
    vertical_factor,
)
from curetrack.units import BadInput, OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published

TABLE = "09_niosh_multipliers.csv"
EXAMPLES = "09_lifting_examples.csv"
ROUNDED = "printed to two decimals"


def _key(row: Row) -> tuple[float, str]:
    number, unit = row.id.split(" ")[1:3]
    return float(number), "metric" if unit in ("cm", "deg") else "us"


@published(TABLE, lambda row: row.id.startswith("HM "), column="value", within=0.0053, why=ROUNDED + ", 23 in by more")
def test_horizontal_factor(row: Row) -> float:
    return horizontal_factor(*_key(row))  # type: ignore[arg-type]


@published(
    TABLE, lambda row: row.id.startswith("VM "), column="value", within=0.0051, why=ROUNDED + ", half hundredths up"
)
def test_vertical_factor(row: Row) -> float:
    return vertical_factor(*_key(row))  # type: ignore[arg-type]


@published(TABLE, lambda row: row.id.startswith("DM "), column="value", within=0.0051, why=ROUNDED)
def test_distance_factor(row: Row) -> float:
    return distance_factor(*_key(row))  # type: ignore[arg-type]


@published(TABLE, lambda row: row.id.startswith("AM "), column="value", within=0.0051, why=ROUNDED)
def test_asymmetry_factor(row: Row) -> float:
    return asymmetry_factor(_key(row)[0])


@published(TABLE, lambda row: row.id.startswith("FM "), column="value", how="table", why="as printed")
def test_frequency_factor(row: Row) -> float:
    found = re.fullmatch(r"FM ([\d.]+) lifts/min, (?:<=|\d-)(\d) h, any V", row.id)
    assert found
    return frequency_factor(float(found[1]), f"{found[2]} h")  # type: ignore[arg-type]


@published(TABLE, lambda row: row.id.startswith("CM "), column="value", how="table", why="as printed")
def test_coupling_factor(row: Row) -> float:
    grip, height = row.id.removeprefix("CM ").split(", ")
    return coupling_factor(grip, 74.9 if "<" in height else 75.0)  # type: ignore[arg-type]


@published(TABLE, lambda row: row.id.startswith("LC "), column="value", how="table", why="23 kg by definition")
def test_load_constant(row: Row) -> float:
    return recommended_weight_limit(25.0, 75.0, 25.0, coupling="good")


def _limit(row: Row) -> float:
    us = row["H_cm"] == ""
    reach, height, distance = (row.number(f"{name}_{'in' if us else 'cm'}") for name in "HVD")
    angle = row.number("A_deg")
    rate = 3.0 if row["freq_per_min"] == "3" else 0.2
    return recommended_weight_limit(
        reach, height, distance, angle_deg=angle, per_minute=rate, coupling=row["coupling"],  # type: ignore[arg-type]
        units="us" if us else "metric",
    )  # fmt: skip


@published(
    EXAMPLES,
    lambda row: row.id.startswith("RW-"),
    column="published_RWL",
    part=0.025,
    why="the worked examples multiply factors rounded to two decimals",
)
def test_recommended_weight_limit(row: Row) -> float:
    return _limit(row)


@published(
    EXAMPLES,
    lambda row: row.id.startswith("RW-") and bool(row["published_LI"]),
    column="published_LI",
    within=0.05,
    part=0.025,
    why="printed to one or two decimals, from limits that are off by up to 2.5 % as above",
)
def test_lifting_index(row: Row) -> float:
    return lifting_index(row.number("load_lb") if row["load_lb"] else row.number("load_kg"), _limit(row))


# --- promises -----------------------------------------------------------------------------------------------------


@given(st.floats(0, 200), st.floats(0, 250), st.floats(0, 250), st.floats(0, 180), st.floats(0, 8))
def test_limit_is_between_nothing_and_the_load_constant(h: float, v: float, d: float, a: float, f: float) -> None:
    assert 0.0 <= recommended_weight_limit(h, v, d, angle_deg=a, per_minute=f) <= 23.0


@pytest.mark.parametrize(
    "beyond",
    [horizontal_factor(63.1), vertical_factor(175.1), distance_factor(175.1), asymmetry_factor(135.1),
     horizontal_factor(25.1, "us"), vertical_factor(70.1, "us"), distance_factor(70.1, "us")],
)  # fmt: skip
def test_nothing_is_to_be_lifted_beyond_the_limits(beyond: float) -> None:
    assert beyond == 0.0


def test_nearer_than_the_body_counts_as_at_it() -> None:
    assert horizontal_factor(10.0) == horizontal_factor(25.0) == distance_factor(3.0) == 1.0


@pytest.mark.parametrize("entry", [0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0])
def test_just_above_an_entry_the_next_counts(entry: float) -> None:
    assert frequency_factor(math.nextafter(entry, math.inf), "8 h") < frequency_factor(entry, "8 h")


def test_between_two_frequencies_the_higher_counts() -> None:
    assert frequency_factor(2.5, "1 h") == frequency_factor(3.0, "1 h") < frequency_factor(2.0, "1 h")


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e6])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: horizontal_factor(bad), "reach"),
        (lambda: vertical_factor(bad), "height"),
        (lambda: distance_factor(bad), "distance"),
        (lambda: asymmetry_factor(bad), "twist"),
        (lambda: frequency_factor(bad, "1 h"), "lifts a minute"),
        (lambda: coupling_factor("fair", bad), "height"),
        (lambda: lifting_index(bad, 20.0), "load"),
        (lambda: lifting_index(20.0, bad), "weight limit"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()


def test_unknown_names_are_refused() -> None:
    with pytest.raises(BadInput, match="use good, fair, poor"):
        coupling_factor("firm", 75.0)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="use 1 h, 2 h, 8 h"):
        frequency_factor(1.0, "3 h")  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="use metric or us"):
        horizontal_factor(30.0, "si")  # type: ignore[arg-type]
