"""Bending under the own weight, the strength it needs, and the hands."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from curetrack.concrete.handling import (
    BATTENS_AT,
    CRACKING_FACTOR,
    GRIPS,
    JOLT_FACTOR,
    PERSON_LIMIT_KG,
    STICKING_FACTOR,
    Slab,
    aid,
    crew_for,
    flexure_MPa,
    modulus_of_rupture_MPa,
    strength_needed_MPa,
    strip_moment,
    team_limit_kg,
)
from curetrack.units import BadInput, OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published, rows

TABLE = "07_strength_handling.csv"
G = 9.80665
PSI_MPA = 0.006894757293168
lengths, widths, thicknesses = st.floats(0.7, 3.0), st.floats(0.2, 0.69), st.floats(0.02, 0.1)
densities, grips = st.floats(1800.0, 2600.0), st.sampled_from(GRIPS)


# --- published values ---------------------------------------------------------------------------------------------


@published(TABLE, lambda row: row.id == "BM-X", within=0.0005, why="printed to three decimals")
def test_battens_where_hogging_equals_sagging(row: Row) -> float:
    return BATTENS_AT


@published(TABLE, lambda row: row.id == "PCI-FS", how="rule", why="the factor as printed")
def test_factor_on_cracking(row: Row) -> float:
    """As it works in the product: strength needed goes with the square of it."""
    needed = strength_needed_MPa(1.0)
    return modulus_of_rupture_MPa(needed) / (JOLT_FACTOR * 1.0)


@published(
    TABLE, lambda row: row.id == "PCI-5", part=0.005, why="0.62 against 7.5 in psi, the rounding of the metric edition"
)
def test_stress_that_may_be_called_up(row: Row) -> float:
    """Without the jolt: the modulus of rupture over the factor on cracking, in psi."""
    return modulus_of_rupture_MPa(row.number("input_MPa")) / CRACKING_FACTOR / PSI_MPA


@published(
    "09_lifting_examples.csv",
    lambda row: row.id.startswith("TEAM-"),
    column="published_RWL",
    part=0.011,
    why="two pages cut 26.67 to 26.6 and 66.67 to 66",
)
def test_team_limit(row: Row) -> float:
    people, each = int(row.id.split("-")[1]), float(row.id.split("-")[2])
    return team_limit_kg(people) / PERSON_LIMIT_KG * each


@published("09_hse_filter.csv", lambda row: row.id == "HSE-1", column="men_kg", how="rule", why="the figure as printed")
def test_limit_of_one_person(row: Row) -> float:
    return team_limit_kg(1)


# --- statics: closed forms by hand --------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows(TABLE, "computed", lambda row: row.id.startswith("BM-")), ids=lambda row: row.id)
def test_regression_of_moment_coefficients(row: Row) -> None:
    overhang = BATTENS_AT if row.id == "BM-0.207" else float(row.id.removeprefix("BM-"))
    assert max(map(abs, strip_moment(overhang))) == pytest.approx(row.number("recomputed_value"), rel=1e-8)


@pytest.mark.parametrize(("name", "grip"), [("SLAB-ends", "flat-ends"), ("SLAB-quar", "flat-quarter")])
def test_regression_of_the_worked_slab(name: str, grip: str) -> None:
    (row,) = rows(TABLE, "computed", lambda row: row.id == name)
    assert flexure_MPa(grip, 1.8, 0.6, 0.04, 2400.0) == pytest.approx(row.number("recomputed_value"), rel=1e-6)


@given(lengths, widths, thicknesses, densities)
def test_plain_slab_by_the_printed_forms(length: float, width: float, thickness: float, density: float) -> None:
    weight = density * G * 1e-6
    assert flexure_MPa("flat-ends", length, width, thickness, density) == pytest.approx(
        0.75 * weight * length**2 / thickness
    )
    assert flexure_MPa("flat-quarter", length, width, thickness, density) == pytest.approx(
        0.1875 * weight * length**2 / thickness
    )
    assert flexure_MPa("on-edge", length, width, thickness, density) == pytest.approx(0.75 * weight * length**2 / width)
    assert flexure_MPa("long-edge", length, width, thickness, density) == pytest.approx(
        0.75 * weight * width**2 / thickness
    )


@given(st.floats(0.0, 0.5))
def test_strip_moment_by_integration(overhang: float) -> None:
    """A uniform strip of weight 1 and length 1 on two supports, its moment added up numerically."""

    def moment(at: float) -> float:
        own: float
        own, _ = quad(lambda x: at - x, 0.0, at)
        return -own + 0.5 * max(at - overhang, 0.0)

    hog, sag = strip_moment(overhang)
    assert -moment(overhang) == pytest.approx(hog, abs=1e-9)
    assert moment(0.5) == pytest.approx(sag, abs=1e-9)


def test_best_place_for_battens_by_root_finding() -> None:
    best = brentq(lambda x: strip_moment(x)[0] - strip_moment(x)[1], 0.01, 0.4)
    assert pytest.approx(best, rel=1e-9) == BATTENS_AT
    assert strip_moment(best)[0] == pytest.approx(0.021447, abs=5e-7)


@given(lengths, widths, thicknesses, densities, grips, st.floats(1.1, 3.0))
def test_stress_scales_as_it_must(l: float, w: float, t: float, rho: float, grip: str, k: float) -> None:  # noqa: E741
    stress = flexure_MPa(grip, l, w, t, rho)
    assert flexure_MPa(grip, l * k, w * k, t * k, rho) == pytest.approx(stress * k)  # a larger copy
    assert flexure_MPa(grip, l, w, t, rho * k) == pytest.approx(stress * k)
    thicker = flexure_MPa(grip, l, w, t * k, rho)
    assert thicker == pytest.approx(stress if grip == "on-edge" else stress / k)
    assert flexure_MPa(grip, w, l, t, rho) == stress  # which side is called length does not matter


@pytest.mark.parametrize(
    ("length", "width", "flat", "edge"),
    [(0.9, 0.5, 0.35, 0.03), (1.2, 0.6, 0.62, 0.04), (1.5, 0.6, 0.97, 0.07), (1.8, 0.6, 1.40, 0.09),
     (2.4, 0.65, 2.49, 0.15)],
)  # fmt: skip
def test_table_of_handling_numbers(length: float, width: float, flat: float, edge: float) -> None:
    """Density 2350 kg/m3, 40 mm; worked by another hand, 0.065 rounded up from 0.0648."""
    assert flexure_MPa("flat-ends", length, width, 0.04, 2350.0) == pytest.approx(flat, abs=0.0051)
    assert flexure_MPa("on-edge", length, width, 0.04, 2350.0) == pytest.approx(edge, abs=0.0053)


def test_rolling_six_by_three_and_a_half_feet_over_the_long_edge() -> None:
    """0.52 MPa at 2350 kg/m3 needs 6.2 MPa of concrete (worked by another hand)."""
    stress = flexure_MPa("long-edge", 6 * 0.3048, 3.5 * 0.3048, 1.5 * 0.0254, 2350.0)
    assert stress == pytest.approx(0.52, abs=0.005)
    assert strength_needed_MPa(stress) == pytest.approx(6.2, abs=0.05)


# --- statics with cut-outs, by hand -------------------------------------------------------------------------------

BASIN = Slab(1.8, 0.6, 0.04, ((0.5, 0.35, 0.65, 0.1),))  # in the middle of the length; rails 0.10 and 0.15 m


def _middle_moment() -> float:
    """Bending moment of BASIN in its middle when held at both ends [N.m per kg/m3], from its two halves' weights."""
    end = 0.65 * 0.6 * 0.04 * G  # from the support to the basin
    beside = 0.25 * 0.25 * 0.04 * G  # the two rails, up to the middle
    reaction = end + beside
    return reaction * 0.9 - end * (0.9 - 0.325) - beside * 0.125


def test_lying_the_rails_bend_together() -> None:
    by_hand = 6.0 * _middle_moment() / (0.25 * 0.04**2) * 2350.0 * 1e-6
    assert BASIN.stress_MPa("flat-ends", 2350.0) == pytest.approx(by_hand, rel=1e-4)  # thin pieces


def test_on_edge_the_narrow_rail_governs() -> None:
    by_hand = 6.0 * _middle_moment() / (0.10 * 0.25 * 0.04) * 2350.0 * 1e-6
    assert BASIN.stress_MPa("on-edge", 2350.0) == pytest.approx(by_hand, rel=1e-4)


def test_held_a_quarter_in_the_lightened_middle_hogs() -> None:
    """Each half: its weight outside the support pulls the middle up, less weight inside pulls it down."""
    end, beside = 0.65 * 0.6 * 0.04 * G, 0.25 * 0.25 * 0.04 * G
    reaction = end + beside
    middle = reaction * 0.45 - end * (0.9 - 0.325) - beside * 0.125
    support = 0.45**2 / 2.0 * 0.6 * 0.04 * G
    by_hand = max(abs(middle) / 0.25, support / 0.6, _beside_the_basin(end, reaction) / 0.25)
    assert BASIN.stress_MPa("flat-quarter", 2350.0) == pytest.approx(by_hand * 6.0 / 0.04**2 * 2350.0e-6, rel=1e-3)


def _beside_the_basin(end: float, reaction: float) -> float:
    return abs(reaction * (0.65 - 0.45) - end * 0.325)


def test_rolled_over_the_long_edge_a_cut_out_takes_part_of_the_length() -> None:
    """Across the width 0.6 m: full 1.8 m, but 1.3 m beside the basin from 0.1 to 0.45 m."""
    parts = [(0.0, 0.1, 1.8), (0.1, 0.45, 1.3), (0.45, 0.6, 1.8)]
    loads = [((low + high) / 2.0, (high - low) * length) for low, high, length in parts]
    right = sum(at * load for at, load in loads) / 0.6
    left = sum(load for _, load in loads) - right

    def moment(at: float) -> float:
        own = sum(
            (min(at, high) - low) * length * (at - (low + min(at, high)) / 2.0)
            for low, high, length in parts
            if low < at
        )
        return left * at - own

    worst = max(moment(i / 10_000) / 1.3 for i in range(1000, 4501))
    by_hand = 6.0 * worst * G / 0.04 * 2350.0e-6
    assert BASIN.stress_MPa("long-edge", 2350.0) == pytest.approx(by_hand, rel=1e-3)


def test_a_triangle_bends_by_hand() -> None:
    """Right triangle, 1 m long, 0.6 m at its left end, lying on both ends. Width b(x) = 0.6 (1 - x), weight 0.3;
    reactions 0.2 and 0.1. M(x) = 0.2 x - 0.3 x^2 + 0.1 x^3, M/b = x (1 - x)(0.2 - 0.1 x) / (0.6 (1 - x)):
    the greatest of x (0.2 - 0.1 x)/0.6 is at the tip, 1/6, and 0.95 m is the last place the hands leave free."""
    triangle = Slab(1.0, 0.6, 0.05, (), ((0.0, 0.0), (1.0, 0.0), (0.0, 0.6)))
    by_hand = 6.0 * 0.95 * (0.2 - 0.095) / 0.6 * G / 0.05 * 2000.0e-6
    assert triangle.stress_MPa("flat-ends", 2000.0) == pytest.approx(by_hand, rel=0.01)


@pytest.mark.parametrize(("grip", "overhang"), [("flat-ends", 0.0), ("flat-quarter", 0.5), ("on-edge", 0.0)])
def test_a_tapering_top_by_integration(grip: str, overhang: float) -> None:
    """2 m long, 0.6 m at the left and 0.3 m at the right end, in line in front."""
    taper = Slab(2.0, 0.6, 0.05, (), ((0.0, 0.0), (2.0, 0.0), (2.0, 0.3), (0.0, 0.6)))

    def width(x: float) -> float:
        return 0.6 - 0.15 * x

    total: float = quad(width, 0.0, 2.0)[0]
    first: float = quad(lambda x: x * width(x), 0.0, 2.0)[0]
    right = (first - total * overhang) / (2.0 - 2.0 * overhang)

    def moment(at: float) -> float:
        own: float = quad(lambda x: (at - x) * width(x), 0.0, at)[0]
        return (total - right) * max(at - overhang, 0.0) + right * max(at - (2.0 - overhang), 0.0) - own

    def section(x: float) -> float:
        return width(x) * width(x) * 0.05 if grip == "on-edge" else width(x) * 0.05**2

    places = [i / 1000 for i in range(100, 1901)]
    by_hand = max(6.0 * abs(moment(x)) / section(x) for x in places) * 0.05 * G * 2350.0e-6
    assert taper.stress_MPa(grip, 2350.0) == pytest.approx(by_hand, rel=2e-4)  # thin pieces


@given(lengths, widths, thicknesses, grips)
def test_outline_of_a_rectangle_is_a_rectangle(length: float, width: float, thickness: float, grip: str) -> None:
    corners = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    drawn = Slab(length, width, thickness, (), corners)
    assert drawn.stress_MPa(grip, 2350.0) == pytest.approx(
        flexure_MPa(grip, length, width, thickness, 2350.0), rel=1e-6
    )


@given(st.floats(0.05, 0.4), st.floats(0.02, 0.98))
def test_moving_a_basin_out_of_the_middle_never_helps_on_edge(width: float, share: float) -> None:
    y = share * (0.6 - width)
    middle = Slab(1.8, 0.6, 0.04, ((0.4, width, 0.7, (0.6 - width) / 2.0),))
    moved = Slab(1.8, 0.6, 0.04, ((0.4, width, 0.7, y),))
    assert moved.stress_MPa("on-edge", 2350.0) >= middle.stress_MPa("on-edge", 2350.0) * (1.0 - 1e-9)


@given(st.floats(0.1, 0.5), st.floats(0.1, 0.4), grips)
def test_a_cut_out_in_the_middle_never_lowers_the_stress_on_edge_or_flat(
    length: float, width: float, grip: str
) -> None:
    cut = Slab(1.8, 0.6, 0.04, ((length, width, 0.9 - length / 2.0, 0.3 - width / 2.0),))
    plain = Slab(1.8, 0.6, 0.04)
    assert cut.stress_MPa(grip, 2350.0) >= plain.stress_MPa(grip, 2350.0) * (1.0 - 1e-3)


@given(grips)
def test_turning_the_drawing_changes_nothing(grip: str) -> None:
    assert BASIN.turned().stress_MPa(grip, 2350.0) == pytest.approx(BASIN.stress_MPa(grip, 2350.0), rel=1e-9)


# --- strength needed ----------------------------------------------------------------------------------------------


@given(st.floats(0.01, 3.0), st.booleans())
def test_strength_needed_carries_the_stress_with_both_factors(stress: float, breaks_free: bool) -> None:
    needed = strength_needed_MPa(stress, breaks_free=breaks_free)
    held = modulus_of_rupture_MPa(min(needed, 200.0))
    if needed < 200.0:
        assert held == pytest.approx(1.5 * 2.0 * stress * (1.4 if breaks_free else 1.0))


def test_breaking_free_needs_the_square_of_its_factor() -> None:
    assert STICKING_FACTOR == 1.4
    assert strength_needed_MPa(0.5, breaks_free=True) == pytest.approx(1.96 * strength_needed_MPa(0.5))


# --- hands (common practice, no source) ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mass", "flip", "carry"), [(10, 2, 2), (90, 2, 2), (100, 2, 3), (101, 3, 3), (175, 4, 4), (180, 4, 4), (181, 4, 5)]
)
def test_crew(mass: float, flip: int, carry: int) -> None:
    assert (crew_for("flip", mass), crew_for("carry", mass)) == (flip, carry)


@pytest.mark.parametrize(("people", "limit"), [(1, 25.0), (2, 33.3), (3, 37.5), (4, 50.0)])
def test_team_limits_by_hand(people: int, limit: float) -> None:
    assert team_limit_kg(people) == pytest.approx(limit, abs=0.05)


@pytest.mark.parametrize(
    ("mass", "people", "wanted"), [(33, 2, False), (34, 2, True), (37, 3, False), (38, 3, True), (30, 5, True)]
)
def test_aid_comes_first_above_the_team_limit_or_with_more_than_four(mass: float, people: int, wanted: bool) -> None:
    assert aid(mass, people) is wanted


@given(st.floats(0.0, 2000.0))
def test_crews_grow_with_the_mass_and_each_carries_his_part(mass: float) -> None:
    flip, carry = crew_for("flip", mass), crew_for("carry", mass)
    assert flip >= 2
    assert mass / 2.0 / flip <= 25.0 + 1e-6
    assert mass / carry <= 45.0 + 1e-6
    assert flip == 2 or mass / 2.0 / (flip - 1) > 25.0


# --- refusals -----------------------------------------------------------------------------------------------------

BAD = [math.nan, math.inf, -math.inf, -1.0, 1e9]


@pytest.mark.parametrize("bad", BAD)
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    cases: Cases = (
        (lambda: flexure_MPa("on-edge", bad, 0.6, 0.04, 2350.0), "length"),
        (lambda: flexure_MPa("on-edge", 1.8, bad, 0.04, 2350.0), "width"),
        (lambda: flexure_MPa("on-edge", 1.8, 0.6, bad, 2350.0), "thickness"),
        (lambda: flexure_MPa("on-edge", 1.8, 0.6, 0.04, bad), "density"),
        (lambda: BASIN.stress_MPa("on-edge", bad), "density"),
        (lambda: strip_moment(bad), "overhang"),
        (lambda: strength_needed_MPa(bad), "bending stress"),
        (lambda: crew_for("flip", bad), "mass"),
        (lambda: aid(bad, 2), "mass"),
        (lambda: team_limit_kg(bad), "people"),  # type: ignore[arg-type]
    )
    for ask, words in cases:
        with pytest.raises(OutOfRange, match=f"{words} out of range"):
            ask()


def test_unknown_names_are_refused_with_the_known_ones() -> None:
    words = "found 'corners'; use flat-ends, flat-quarter, on-edge, long-edge"
    with pytest.raises(BadInput, match=words):
        flexure_MPa("corners", 1.8, 0.6, 0.04, 2350.0)
    with pytest.raises(BadInput, match=words):
        BASIN.stress_MPa("corners", 2350.0)
    with pytest.raises(BadInput, match="found 'drag'; use flip or carry"):
        crew_for("drag", 100.0)  # type: ignore[arg-type]
