"""The shape of a slab: area, edges, rails, and what is refused."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from curetrack.concrete.slab import Slab
from curetrack.units import BadInput, OutOfRange

BASIN = (0.5, 0.35, 0.65, 0.1)
L_SHAPE = ((0.0, 0.0), (2.0, 0.0), (2.0, 0.6), (0.6, 0.6), (0.6, 1.5), (0.0, 1.5))


def test_rectangle_with_a_basin() -> None:
    slab = Slab(1.8, 0.6, 0.04, (BASIN,))
    assert slab.area_m2 == pytest.approx(1.08 - 0.175)
    assert slab.volume_m3 == pytest.approx(0.0362)
    assert slab.mass_kg(2350.0) == pytest.approx(85.07)
    assert slab.perimeter_m == pytest.approx(4.8 + 1.7)
    assert slab.rails_m() == pytest.approx((0.1, 0.15, 0.65, 0.65))
    assert slab.narrowest_rail_m == pytest.approx(0.1)


def test_plain_slab_has_no_rail() -> None:
    assert Slab(1.8, 0.6, 0.04).rails_m() == ()
    assert Slab(1.8, 0.6, 0.04).narrowest_rail_m is None


def test_strip_between_two_cut_outs_is_a_rail() -> None:
    slab = Slab(1.8, 0.6, 0.04, ((0.4, 0.3, 0.3, 0.15), (0.05, 0.05, 0.73, 0.2)))
    assert slab.narrowest_rail_m == pytest.approx(0.03)


def test_cut_out_behind_another_leaves_the_rail_between_them() -> None:
    slab = Slab(1.8, 0.6, 0.04, ((0.4, 0.2, 0.3, 0.1), (0.1, 0.1, 0.4, 0.35)))
    assert slab.rails_m() == pytest.approx((0.1, 0.05, 0.3, 1.1, 0.05, 0.15, 0.4, 1.3))


def test_open_side_of_a_notch_has_no_rail() -> None:
    slab = Slab(1.8, 0.6, 0.04, ((0.4, 0.2, 0.7, 0.0),))
    assert slab.rails_m() == pytest.approx((0.4, 0.7, 0.7))
    assert slab.area_m2 == pytest.approx(1.0)


def test_l_shape() -> None:
    slab = Slab(2.0, 1.5, 0.04, ((0.3, 0.3, 1.5, 0.1),), L_SHAPE)
    assert slab.area_m2 == pytest.approx(1.2 + 0.54 - 0.09)
    assert slab.perimeter_m == pytest.approx(7.0 + 1.2)
    assert slab.rails_m() == pytest.approx((0.1, 0.2, 1.5, 0.2))


def test_rail_narrows_along_a_slanting_edge() -> None:
    """Front edge rising from 0 to 0.2 m over 2 m; the basin's right end is 1.5 m along, where it is at 0.15 m."""
    slab = Slab(2.0, 0.8, 0.04, ((0.5, 0.3, 1.0, 0.3),), ((0.0, 0.0), (2.0, 0.2), (2.0, 0.8), (0.0, 0.8)))
    assert slab.rails_m()[0] == pytest.approx(0.15, abs=1e-6)


def test_outline_may_start_anywhere_and_turn_either_way() -> None:
    moved = tuple((x + 3.0, y - 7.0) for x, y in reversed(L_SHAPE))
    slab = Slab(2.0, 1.5, 0.04, ((0.3, 0.3, 1.5, 0.1),), (*moved, moved[0]))
    assert slab.area_m2 == pytest.approx(1.65)
    assert slab.rails_m() == pytest.approx((0.1, 0.2, 1.5, 0.2))


def test_round_top_has_the_area_of_its_polygon() -> None:
    ring = tuple((0.5 + 0.5 * math.cos(k * math.pi / 60), 0.5 + 0.5 * math.sin(k * math.pi / 60)) for k in range(120))
    assert Slab(1.0, 1.0, 0.04, (), ring).area_m2 == pytest.approx(math.pi / 4.0, rel=5e-4)


@given(
    st.floats(0.5, 3.0),
    st.floats(0.4, 1.2),
    st.floats(0.05, 0.8),
    st.floats(0.05, 0.8),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_rails_around_one_basin_by_hand(
    length: float, width: float, part_l: float, part_w: float, at_x: float, at_y: float
) -> None:
    size = part_l * length, part_w * width
    x, y = at_x * (length - size[0]), at_y * (width - size[1])
    around = (y, width - y - size[1], x, length - x - size[0])
    assume(all(gap > 1e-4 for gap in around))
    slab = Slab(length, width, 0.04, ((*size, x, y),))
    assert slab.rails_m() == pytest.approx(around, abs=1e-6)
    assert slab.mass_kg(2000.0) == pytest.approx((length * width - size[0] * size[1]) * 80.0)
    assert slab.turned().turned() == slab


@pytest.mark.parametrize(
    ("cutouts", "words"),
    [
        (((0.5, 0.35, 1.4, 0.1),), "cut-out 1 reaches outside the piece, found '0.5 x 0.35 m at 1.4, 0.1 m'"),
        (((0.5, 0.35, -0.1, 0.1),), "cut-out 1 reaches outside"),
        (((0.5, 0.35, 0.1, 0.3),), "cut-out 1 reaches outside"),
        (((0.5, 0.35, 0.1, -0.01),), "cut-out 1 reaches outside"),
        ((BASIN, (0.1, 0.1, 1.1, 0.2)), "cut-outs 1 and 2 overlap or touch; leave concrete between them"),
        ((BASIN, (0.1, 0.1, 1.15, 0.2)), "cut-outs 1 and 2 overlap or touch"),
        ((BASIN, (0.1, 0.1, 0.7, 0.2)), "cut-outs 1 and 2 overlap"),
        (((2.0, 0.35, -0.1, 0.1),), "cut-out 1 reaches outside"),
        (((0.0, 0.1, 0.5, 0.1),), "cut-out 1: length out of range"),
        (((math.nan, 0.1, 0.5, 0.1),), "cut-out 1: length out of range"),
        (((0.1, 0.1, math.inf, 0.1),), "cut-out 1: x out of range"),
    ],
)
def test_impossible_cut_outs_are_refused(cutouts: tuple[tuple[float, float, float, float], ...], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        Slab(1.8, 0.6, 0.04, cutouts)


def test_cut_out_in_the_missing_corner_of_an_l_is_outside() -> None:
    with pytest.raises(BadInput, match="cut-out 1 reaches outside the piece"):
        Slab(2.0, 1.5, 0.04, ((0.3, 0.3, 1.0, 1.0),), L_SHAPE)
    with pytest.raises(BadInput, match="cut-out 1 reaches outside the piece"):
        Slab(2.0, 1.5, 0.04, ((0.3, 0.3, 0.5, 0.5),), L_SHAPE)  # across the inner corner


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (((0, 0), (1, 1), (1, 0), (0, 1)), "crosses itself between corners 1 and 3"),
        (((0, 0), (1, 0), (1, 1), (0.5, -0.0), (0, 1)), "crosses itself"),
        (((0, 0), (1, 0), (0.5, 0), (1, 1), (0, 1)), "crosses itself"),
        (((0, 0), (1, 1)), "needs three corners"),
        (((0, 0), (1, 0), (1, 0), (0, 1)), "corner 2 of the outline is given twice"),
        (((0, 0), (0.9, 0), (0.9, 1), (0, 1)), "does not fill its size, found '0.9 x 1 m'; it should reach 1 x 1 m"),
        (((0, 0), (1, math.nan), (1, 1)), "corner is not a number"),
    ],
)
def test_impossible_outlines_are_refused(outline: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        Slab(1.0, 1.0, 0.04, (), outline)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0, 100.0])
def test_impossible_sizes_are_refused(bad: float) -> None:
    for make, words in (
        (lambda: Slab(bad, 0.6, 0.04), "length"),
        (lambda: Slab(1.8, bad, 0.04), "width"),
        (lambda: Slab(1.8, 0.6, bad), "thickness"),
        (lambda: Slab(1.8, 0.6, 0.04).mass_kg(bad), "density"),
    ):
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            make()
