"""Every grip with its reason: stress, strength needed, strength there, factor. By hand, and by sympy's beam module."""

import math
from itertools import pairwise
from typing import Any

import pytest
from sympy import Piecewise, Rational, Symbol, lambdify
from sympy.physics.continuum_mechanics.beam import Beam

from curetrack.concrete.bending import GRAVITY_M_S2, GRIPS
from curetrack.concrete.slab import Slab
from curetrack.timeline.crew import grip_rows
from tests.timeline.making import done, poured, profile, solved, steady, step, unknown

LIFT = step("flip", 'not_before = { strength = "9 MPa", handling = "long-edge" }', kind="lift")
FREE = step("flip", 'not_before = { handling = { grip = "flat-ends", breaks_free = true } }', kind="lift")
PLAIN = Slab(1.8, 0.6, 0.04)
DENSITY = 2350.0  # the profile's, on the heavy side


def rows(steps: str = LIFT, now: float = 48.0, slab: Slab = PLAIN, *facts: Any, weather: Any = None) -> dict[str, Any]:
    timeline = solved(steps, weather or steady(20.0), now, poured(), *facts)
    return {row.answer.grip: row for row in grip_rows(timeline, slab, profile(steps))}


# --- the numbers, by hand ------------------------------------------------------------------------------------------


def test_each_grip_by_hand() -> None:
    """48 h at 20 degC of a hyperbola of 27 MPa, 0.25 /day from 7 h; 0.75 rho g L^2/t; 0.62 sqrt(fc); 3 wanted."""
    x, x28 = 0.25 * 41.0 / 24.0, 0.25 * 665.0 / 24.0
    fc = 27.0 * (1.0 + x28) / x28 * x / (1.0 + x)
    weight = DENSITY * GRAVITY_M_S2 * 1e-6
    stresses = {
        "flat-ends": 0.75 * weight * 1.8**2 / 0.04, "flat-quarter": 0.1875 * weight * 1.8**2 / 0.04,
        "on-edge": 0.75 * weight * 1.8**2 / 0.6, "long-edge": 0.75 * weight * 0.6**2 / 0.04,
    }  # fmt: skip
    found = rows()
    assert tuple(found) == GRIPS
    for grip, stress in stresses.items():
        row = found[grip]
        assert row.answer.stress_MPa == pytest.approx(stress, rel=1e-9)
        assert row.have_MPa == pytest.approx(fc, rel=1e-6)
        assert row.need_MPa == pytest.approx((3.0 * stress / 0.62) ** 2, rel=1e-9)
        assert row.wanted == pytest.approx(3.0)
        bears, low, high = row.factors
        assert bears == pytest.approx(0.62 * math.sqrt(fc) / stress, rel=1e-6)
        assert low == pytest.approx(0.62 * math.sqrt(0.75 * fc) / stress, rel=1e-6)  # the mix's spread of a quarter
        assert high == pytest.approx(0.62 * math.sqrt(1.25 * fc) / stress, rel=1e-6)
        assert row.answer.bears is (bears >= 3.0)


def test_the_age_is_that_at_which_the_factor_is_reached() -> None:
    row = rows()["flat-quarter"]
    assert row.from_h is not None
    there = rows(now=row.from_h)["flat-quarter"]
    assert there.factors[0] == pytest.approx(3.0, rel=1e-6)
    assert rows()["flat-ends"].from_h is None  # 46 MPa, above what the mix ever has


def test_breaking_free_counts_for_the_grip_that_the_profile_names() -> None:
    found = rows(FREE)
    assert found["flat-ends"].wanted == pytest.approx(4.2)
    assert (found["flat-ends"].breaks_free, found["on-edge"].breaks_free) == (True, False)
    assert found["flat-ends"].need_MPa == pytest.approx(1.96 * rows()["flat-ends"].need_MPa)


def test_none_without_a_lift_ahead_or_a_strength_known() -> None:
    assert rows(step("strip", 'not_before = { strength = "3.5 MPa" }')) == {}
    assert rows(LIFT, 80.0, PLAIN, done("flip", 60.0)) == {}
    assert rows(weather=unknown()) == {}


# --- the statics, by another hand ----------------------------------------------------------------------------------

BASIN = Slab(1.8, 0.6, 0.04, ((0.5, 0.35, 0.65, 0.1),))
TWO = Slab(2.4, 0.65, 0.04, ((0.4, 0.3, 0.3, 0.1), (0.05, 0.05, 1.5, 0.5)))
NOTCHED = Slab(1.5, 0.6, 0.05, ((0.3, 0.2, 0.2, 0.0),))


def _stretches(slab: Slab) -> list[tuple[float, float, list[float]]]:
    """(from, to, widths of the strips) along the length, counted from the cut-outs themselves."""
    ends = [(x, x + length) for length, _, x, _ in slab.cutouts]
    found = []
    for low, high in pairwise(sorted({0.0, slab.length_m, *(end for pair in ends for end in pair)})):
        cut = sorted((y, y + w) for (_, w, _, y), (x0, x1) in zip(slab.cutouts, ends, strict=True) if x0 <= low < x1)
        sides = [0.0, *(side for pair in cut for side in pair), slab.width_m]
        widths = [b - a for a, b in zip(sides[::2], sides[1::2], strict=True) if b - a > 1e-9]
        found.append((low, high, widths))
    return found


def _exact(number: float) -> Rational:
    return Rational(str(round(number, 9)))


def _by_sympy(slab: Slab, grip: str) -> float:
    """MPa: sympy's beam on two supports with a uniform load for each stretch; its moment over the section that is left,
    at 200 places of each stretch, its ends and the supports among them."""
    lying = slab.turned() if grip == "long-edge" else slab
    length, at = _exact(lying.length_m), _exact(lying.length_m / 4.0 if grip == "flat-quarter" else 0.0)
    beam = Beam(length, 1, 1)
    left, right = Symbol("left"), Symbol("right")
    beam.apply_load(left, at, -1)
    beam.apply_load(right, length - at, -1)
    parts = _stretches(lying)
    for low, high, widths in parts:  # in N for each metre, at 1 kg/m3 and 1 m/s2
        beam.apply_load(_exact(sum(widths) * lying.thickness_m), _exact(low), 0, end=_exact(high))
    beam.bc_deflection = [(at, 0), (length - at, 0)]
    beam.solve_for_reaction_loads(left, right)
    moment = lambdify(beam.variable, beam.bending_moment().rewrite(Piecewise), "math")
    worst = 0.0
    for low, high, widths in parts:
        depth, width = (min(widths), sum(widths)) if grip == "on-edge" else (lying.thickness_m, sum(widths))
        modulus = depth * width * lying.thickness_m / 6.0
        supports = [place for place in (float(at), float(length - at)) if low < place < high]
        places = [low + (high - low) * (1e-9 + i / 200.0 * (1.0 - 2e-9)) for i in range(201)]
        worst = max(worst, *(abs(moment(place)) / modulus for place in [*places, *supports]))
    return worst * GRAVITY_M_S2 * DENSITY * 1e-6


@pytest.mark.parametrize("grip", GRIPS)
@pytest.mark.parametrize("slab", [PLAIN, BASIN, TWO, NOTCHED], ids=["plain", "basin", "two", "notched"])
def test_stress_agrees_with_sympy_s_beams(slab: Slab, grip: str) -> None:
    """To a thousandth: both ask the moment at thin steps."""
    assert slab.stress_MPa(grip, DENSITY) == pytest.approx(_by_sympy(slab, grip), rel=1e-3)
