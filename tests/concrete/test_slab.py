"""The shape of a slab: area, edges, rails, and what is refused."""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curetrack.concrete.slab import Slab
from curetrack.units import BadInput, OutOfRange
from tests.concrete.cases import Cases

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


def test_u_shape_is_cut_in_two_strips() -> None:
    """Two legs of 0.3 m beside a gap of 0.4 m: the cut through the legs meets both, and the rail of one leg counts."""
    outline = ((0.0, 0.0), (2.0, 0.0), (2.0, 0.3), (0.5, 0.3), (0.5, 0.7), (2.0, 0.7), (2.0, 1.0), (0.0, 1.0))
    slab = Slab(2.0, 1.0, 0.04, ((0.2, 0.1, 1.2, 0.75),), outline)
    across = slab.across()
    assert across.strips(0.2) == pytest.approx([1.0])
    assert across.strips(1.0) == pytest.approx([0.3, 0.3])
    assert across.strips(1.3) == pytest.approx([0.3, 0.05, 0.15])
    assert slab.rails_m() == pytest.approx((0.05, 0.15, 1.2, 0.6))
    with pytest.raises(BadInput, match="cut-out 1 reaches outside"):
        Slab(2.0, 1.0, 0.04, ((0.2, 0.1, 1.2, 0.65),), outline)


Corner = tuple[float, float]


def _is_inside(point: Corner, corners: list[Corner]) -> bool:
    """Whether a ray to the right crosses the outline an odd number of times."""
    (x, y), odd = point, False
    for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True):
        if (y0 > y) != (y1 > y) and x < (x1 - x0) * (y - y0) / (y1 - y0) + x0:
            odd = not odd
    return odd


@given(
    st.lists(st.floats(0.3, 1.0), min_size=3, max_size=9),
    st.tuples(st.floats(0.05, 0.6), st.floats(0.05, 0.6), st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
)
def test_any_star_shaped_outline_by_points(radii: list[float], box: tuple[float, float, float, float]) -> None:
    """A cut-out is taken if, and only if, all points along its sides are inside; the widths add up to the area."""
    turns = [0.1 + 2.0 * math.pi * i / len(radii) for i in range(len(radii))]
    star = [(math.cos(turn) * radius, math.sin(turn) * radius) for turn, radius in zip(turns, radii, strict=True)]
    left, low = min(x for x, _ in star), min(y for _, y in star)
    corners = [(x - left, y - low) for x, y in star]
    length, width = max(x for x, _ in corners), max(y for _, y in corners)
    try:
        bare = Slab(length, width, 0.04, (), tuple(corners))
    except BadInput:
        assume(False)  # a thin star that does not hold its centre may cross itself
    cuts = bare.across()
    widths = [sum(cuts.strips((i + 0.5) * length / 400)) for i in range(400)]
    assert sum(widths) * length / 400 == pytest.approx(bare.area_m2, abs=0.01 * length * width)

    size = box[0] * length, box[1] * width
    x, y = box[2] * (length - size[0]), box[3] * (width - size[1])
    sides = [i / 40 for i in range(41)]
    hair = 1e-5
    points = [
        (x + u * size[0], y + v * size[1])
        for along in sides
        for across in (hair, 1.0 - hair)
        for u, v in ((along, across), (across, along))
    ]
    surely_in = all(_is_inside(point, corners) for point in points)
    try:
        Slab(length, width, 0.04, ((*size, x, y),), tuple(corners))
    except BadInput:
        assert not surely_in or _grazes(points, corners)
    else:
        assert surely_in or _grazes(points, corners)


def _grazes(points: list[Corner], corners: list[Corner]) -> bool:
    """Whether a side of the box passes so near a corner or side of the outline that 41 points cannot tell."""
    box = min(x for x, _ in points), max(x for x, _ in points), min(y for _, y in points), max(y for _, y in points)

    def within(margin: float, x: float, y: float) -> bool:
        return box[0] - margin < x < box[1] + margin and box[2] - margin < y < box[3] + margin

    near_corner = any(within(0.02, x, y) and not within(-0.02, x, y) for x, y in corners)
    return near_corner or any(
        _is_inside((x + dx, y + dy), corners) != _is_inside((x, y), corners)
        for x, y in ((box[i], box[j]) for i in (0, 1) for j in (2, 3))
        for dx, dy in ((1e-4, 0.0), (-1e-4, 0.0), (0.0, 1e-4), (0.0, -1e-4))
    )


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


Side = tuple[tuple[int, int], tuple[int, int]]


def _shared(first: Side, second: Side) -> Fraction | None:
    """How much of two sides is shared, by solving for where they meet: None nothing, 0 a point, else a length."""
    (px, py), (rx, ry) = first[0], (first[1][0] - first[0][0], first[1][1] - first[0][1])
    (qx, qy), (sx, sy) = second[0], (second[1][0] - second[0][0], second[1][1] - second[0][1])
    cross, across = rx * sy - ry * sx, (qx - px) * ry - (qy - py) * rx
    if cross:
        t, u = Fraction((qx - px) * sy - (qy - py) * sx, cross), Fraction(across, cross)
        return Fraction(0) if 0 <= t <= 1 and 0 <= u <= 1 else None
    if across:
        return None
    axis = 0 if rx else 1
    (a, b), (c, d) = (sorted((side[0][axis], side[1][axis])) for side in (first, second))
    return Fraction(min(b, d) - max(a, c)) if min(b, d) >= max(a, c) else None


@settings(max_examples=400)
@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=3, max_size=7, unique=True))
def test_outline_is_refused_if_and_only_if_it_meets_itself(corners: list[tuple[int, int]]) -> None:
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    last = len(sides) - 1
    meets = False
    for i, first in enumerate(sides):
        for j in range(i + 1, len(sides)):
            shared = _shared(first, sides[j])
            neighbours = j == i + 1 or (i, j) == (0, last)
            meets = meets or (bool(shared) if neighbours else shared is not None)
    length = max(x for x, _ in corners) - min(x for x, _ in corners)
    width = max(y for _, y in corners) - min(y for _, y in corners)
    assume(length > 0 and width > 0)
    outline = tuple((float(x), float(y)) for x, y in corners)
    if meets:
        with pytest.raises(BadInput, match="the outline crosses itself between corners"):
            Slab(float(length), float(width), 0.04, (), outline)
    else:
        assert Slab(float(length), float(width), 0.04, (), outline).area_m2 > 0.0


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0, 100.0])
def test_impossible_sizes_are_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: Slab(bad, 0.6, 0.04), "length"),
        (lambda: Slab(1.8, bad, 0.04), "width"),
        (lambda: Slab(1.8, 0.6, bad), "thickness"),
        (lambda: Slab(1.8, 0.6, 0.04).mass_kg(bad), "density"),
    )
    for make, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            make()
