"""Striking and curing times of the standards, by their tables."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.striking import aci308_curing_d, bs8110_striking_h, curing_d
from curetrack.units import BadInput, OutOfRange
from tests.reference.published import Row, published

TABLE = "05_stripping_curing_times.csv"
MEMBERS = {"300": "vertical", "100": "slab-soffit", "250": "beam-soffit", "360": "beam-props"}
RATIOS = {"rap": 0.6, "fas": 0.6, "med": 0.4, "slo": 0.2, "ver": 0.1}


@published(
    TABLE,
    lambda row: row.id.startswith("BS62-"),
    part=0.04,
    why="the printed rows are the printed formula, rounded to whole hours or days, by 3.9 % at most",
)
def test_bs8110_striking_time(row: Row) -> float:
    hours = bs8110_striking_h(MEMBERS[row.id.split("-")[1]], row.number("temp_degC"))  # type: ignore[arg-type]
    return hours if row["unit"] == "h" else hours / 24.0


def _surface(row: Row) -> float:
    """A temperature within the row's range, away from its ends."""
    return float(row["temp_degC"].split(" ")[0]) + 2.0


@published(TABLE, lambda row: row.id.startswith("DIN-"), how="table", why="whole days as printed")
def test_din1045_curing(row: Row) -> float:
    return curing_d("din1045-3", _surface(row), RATIOS[row.id.split("-")[2][:3]])


@published(TABLE, lambda row: row.id.startswith("EN13670-"), how="table", why="half days as printed")
def test_en13670_curing(row: Row) -> float:
    _, grade, _, rate = row.id.split("-")
    return curing_d(f"en13670-{grade}", _surface(row), RATIOS[rate])  # type: ignore[arg-type]


@published(TABLE, lambda row: row.id.startswith("ACI308-"), how="table", why="whole days as printed")
def test_aci308_curing(row: Row) -> float:
    return aci308_curing_d(row["strength_class_or_condition"].removeprefix("Type ").split(" or ")[-1])


@pytest.mark.parametrize("standard", ["din1045-3", "en13670-2", "en13670-3"])
@given(st.floats(5.0, 60.0), st.floats(5.0, 60.0), st.floats(0.15, 1.0), st.floats(0.15, 1.0))
def test_warmer_and_faster_never_cures_longer(standard: str, a: float, b: float, r: float, s: float) -> None:
    cold, warm = sorted((a, b))
    slow, fast = sorted((r, s))
    assert curing_d(standard, warm, fast) <= curing_d(standard, cold, slow)  # type: ignore[arg-type]


@pytest.mark.parametrize(("temp", "ratio", "days"), [(9.99, 0.5, 3), (10.0, 0.5, 2), (15.0, 0.30, 2), (15.0, 0.29, 4)])
def test_ranges_begin_at_their_lower_end(temp: float, ratio: float, days: float) -> None:
    assert curing_d("din1045-3", temp, ratio) == days


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e3])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="surface temperature out of range"):
        bs8110_striking_h("vertical", bad)
    with pytest.raises(OutOfRange, match="surface temperature out of range"):
        curing_d("din1045-3", bad, 0.4)
    with pytest.raises(OutOfRange, match="strength ratio out of range"):
        curing_d("en13670-3", 15.0, bad)


def test_very_slow_concrete_is_outside_en13670() -> None:
    assert curing_d("din1045-3", 15.0, 0.1) == 5.0
    with pytest.raises(OutOfRange, match="strength ratio out of range"):
        curing_d("en13670-2", 15.0, 0.1)


def test_unknown_names_are_refused_with_the_known_ones() -> None:
    with pytest.raises(BadInput, match="found 'roof'; use vertical, slab-soffit"):
        bs8110_striking_h("roof", 15.0)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="use din1045-3, en13670-2"):
        curing_d("none", 15.0, 0.4)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="use I, II, III, IV, V"):
        aci308_curing_d("VI")
