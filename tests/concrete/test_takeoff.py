"""The takeoff against published bag figures and by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.slab import Slab
from curetrack.concrete.takeoff import takeoff, usual_water_kg, usual_yield_m3
from curetrack.units import OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published

TABLE = "08_bag_yield_density.csv"
LB, FT3 = 0.45359237, 0.3048**3
TABLETOP = Slab(6 * 0.3048, 3.5 * 0.3048, 1.5 * 0.0254)


@published(
    TABLE,
    lambda row: row.id.startswith("BAG-"),
    column="yield_ft3",
    part=0.0075,
    why="0.15 ft3 for each 20 lb exactly, but for 90 lb, where 0.675 is printed as 0.68",
)
def test_usual_yield(row: Row) -> float:
    return usual_yield_m3(row.number("bag_mass_lb") * LB) / FT3


@published(TABLE, lambda row: row.id == "WAT-80", column="water_L_low", within=0.051, why="printed to 0.1 L")
def test_least_water(row: Row) -> float:
    return usual_water_kg(row.number("bag_mass_kg"))[0]


@published(TABLE, lambda row: row.id == "WAT-80", column="water_L_high", within=0.051, why="printed to 0.1 L")
def test_most_water(row: Row) -> float:
    return usual_water_kg(row.number("bag_mass_kg"))[1]


def test_tabletop_of_six_by_three_and_a_half_feet() -> None:
    """Weighs 350 to 370 lb and takes about four and a half 80 lb bags (common practice)."""
    taken = takeoff(TABLETOP, bag_mass_kg=80 * LB, bag_yield_m3=0.6 * FT3, bag_water_kg=(2.8, 4.3))
    assert 350.0 <= taken.mass_kg / LB <= 370.0
    assert taken.mass_lift_kg == pytest.approx(175.0, abs=0.5)
    assert taken.bags == pytest.approx(2.625 / 0.6)
    assert taken.bags_to_buy == 5
    assert taken.water_kg == pytest.approx((2.8 * 4.375, 4.3 * 4.375))
    assert (taken.crew_flip, taken.crew_carry, taken.aid) == (4, 4, True)
    assert taken.area_m2 == pytest.approx(21 * 0.3048**2)
    assert taken.slurry_kg == pytest.approx(1.95, abs=0.005)
    assert taken.perimeter_m == pytest.approx(19 * 0.3048)


def test_face_weighs_what_the_trade_says() -> None:
    """18.75 lb/ft2 at 1.5 in (common practice; others 16 to 20), ours 17.5 by the density for quantities."""
    taken = takeoff(TABLETOP)
    assert 16.0 <= taken.mass_kg / LB / 21.0 <= 20.0
    assert taken.mass_lift_kg / LB / 21.0 == pytest.approx(18.75, rel=0.03)


def test_bag_without_a_yield_takes_the_usual_one() -> None:
    assert takeoff(TABLETOP, bag_mass_kg=80 * LB).bags == pytest.approx(4.375)
    assert takeoff(TABLETOP, bag_mass_kg=40 * LB).bags == pytest.approx(8.75)


def test_mix_that_is_not_bagged_has_no_bags() -> None:
    taken = takeoff(TABLETOP)
    assert (taken.bags, taken.bags_to_buy, taken.water_kg, taken.sealer_L) == (None, None, None, None)


def test_sealer_for_the_face_and_edges_and_for_the_underside() -> None:
    slab = Slab(1.0, 0.5, 0.04, ((0.2, 0.2, 0.4, 0.15),))
    face, edges = 0.46, (3.0 + 0.8) * 0.04
    assert takeoff(slab, coats=4, coverage_m2_L=8.0).sealer_L == pytest.approx(4 * (face + edges) / 8.0)
    with_under = takeoff(slab, coats=4, coats_under=2, coverage_m2_L=8.0)
    assert with_under.sealer_L == pytest.approx((4 * (face + edges) + 2 * face) / 8.0)
    assert takeoff(slab, coats=0, coverage_m2_L=8.0).sealer_L is None
    assert takeoff(slab, coverage_m2_L=8.0).sealer_L is None
    assert takeoff(slab, coats=2).sealer_L is None


@given(st.floats(0.3, 3.0), st.floats(0.2, 1.2), st.floats(0.02, 0.1), st.floats(0.0, 0.3))
def test_bags_to_buy_are_enough_and_not_one_too_many(length: float, width: float, thick: float, waste: float) -> None:
    taken = takeoff(Slab(length, width, thick), bag_mass_kg=25.0, waste=waste)
    assert taken.bags is not None
    assert taken.bags_to_buy is not None
    needed = taken.bags * (1.0 + waste) + taken.slurry_kg / 25.0
    assert taken.bags_to_buy - 1 < needed <= taken.bags_to_buy + 1e-6


def test_light_piece_needs_no_aid() -> None:
    small = takeoff(Slab(0.6, 0.5, 0.04))  # 28 kg, two people
    assert (small.crew_flip, small.crew_carry, small.aid) == (2, 2, False)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e9])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: takeoff(TABLETOP, density_kg_m3=bad), "density"),
        (lambda: takeoff(TABLETOP, density_lift_kg_m3=bad), "density"),
        (lambda: takeoff(TABLETOP, bag_mass_kg=bad), "mass of a bag"),
        (lambda: takeoff(TABLETOP, bag_mass_kg=36.0, bag_yield_m3=bad), "yield of a bag"),
        (lambda: takeoff(TABLETOP, bag_mass_kg=36.0, bag_water_kg=(bad, 4.0)), "water of a bag"),
        (lambda: takeoff(TABLETOP, coats=2, coverage_m2_L=bad), "coverage"),
        (lambda: takeoff(TABLETOP, coats=bad, coverage_m2_L=8.0), "coats"),  # type: ignore[arg-type]
        (lambda: takeoff(TABLETOP, coats_under=bad, coverage_m2_L=8.0), "coats below"),  # type: ignore[arg-type]
        (lambda: takeoff(TABLETOP, waste=bad), "waste"),
        (lambda: usual_yield_m3(bad), "mass of a bag"),
        (lambda: usual_water_kg(bad), "mass of a bag"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()
