"""Cubes and bars, back to cylinders: the standard's table, statics by an independent route, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from curetrack.concrete.specimens import (
    LEAST_SLENDERNESS,
    CUBES_MPa,
    MOST_RUPTURE_MPa,
    cylinder_from_cube_MPa,
    rupture_MPa,
    strength_from_rupture_MPa,
)
from curetrack.concrete.tension import modulus_of_rupture_MPa
from curetrack.units import BadInput, OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published


@published("16_cube_cylinder.csv", lambda _: True, how="table", why="the classes as printed")
def test_cylinder_of_a_cube(row: Row) -> float:
    return cylinder_from_cube_MPa(row.number("cube_MPa"))


@given(st.floats(0.0, 200.0), st.floats(0.0, 200.0))
def test_a_stronger_cube_is_a_stronger_cylinder_and_never_stronger_than_itself(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert cylinder_from_cube_MPa(low) <= cylinder_from_cube_MPa(high) + 1e-12
    assert 0.777 * low <= cylinder_from_cube_MPa(low) <= 0.93 * low + 1e-9  # the classes: 0.778 to 0.857


def test_the_table_rises_and_ends_are_carried_on() -> None:
    assert list(CUBES_MPa) == sorted(CUBES_MPa)
    assert cylinder_from_cube_MPa(7.5) == pytest.approx(6.0)  # 0.8, as for the first class
    assert cylinder_from_cube_MPa(125.0) == pytest.approx(110.0)


def test_a_bar_by_hand() -> None:
    """The check bar of the shipped profiles: 100 x 40 x 400 mm on rods 350 mm apart, 50 kg in the middle.
    490.33 N x 0.35 m / 4 = 42.90 N m; W = 0.1 x 0.04^2 / 6 = 26.67e-6 m3; 1.609 MPa."""
    assert rupture_MPa(50.0 * 9.80665, 0.35, 0.10, 0.04) == pytest.approx(1.609, abs=0.0005)


@given(st.floats(1.0, 1e5), st.floats(0.3, 2.0), st.floats(0.02, 0.5), st.floats(0.01, 0.1))
def test_a_bar_by_stresses_added_up_over_its_section(load: float, span: float, width: float, height: float) -> None:
    """Stress rises in proportion to the distance from the middle; its moment over the section is F L/4."""
    edge = rupture_MPa(load, span, width, height) * 1e6
    moment: float = quad(lambda y: edge * y / (height / 2.0) * y * width, -height / 2.0, height / 2.0)[0]
    assert moment == pytest.approx(load * span / 4.0, rel=1e-9)


@given(st.floats(0.0, 8.7))
def test_the_way_back_is_the_way_forth(rupture: float) -> None:
    assert modulus_of_rupture_MPa(strength_from_rupture_MPa(rupture)) == pytest.approx(rupture, abs=1e-12)


def test_a_stocky_bar_is_refused() -> None:
    assert LEAST_SLENDERNESS == 3.0
    rupture_MPa(500.0, 0.12, 0.1, 0.04)
    with pytest.raises(BadInput, match="too stocky for the bending formula, found 'span 100 mm, height 40 mm'"):
        rupture_MPa(500.0, 0.10, 0.1, 0.04)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 1e9])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: cylinder_from_cube_MPa(bad), "cube strength"),
        (lambda: rupture_MPa(bad, 0.35, 0.1, 0.04), "load"),
        (lambda: rupture_MPa(500.0, bad, 0.1, 0.04), "span"),
        (lambda: rupture_MPa(500.0, 0.35, bad, 0.04), "width"),
        (lambda: rupture_MPa(500.0, 0.35, 0.1, bad), "height"),
        (lambda: strength_from_rupture_MPa(bad), "modulus of rupture"),
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()


def test_the_relation_ends_where_the_way_forth_ends() -> None:
    assert strength_from_rupture_MPa(MOST_RUPTURE_MPa) == pytest.approx(200.0)
