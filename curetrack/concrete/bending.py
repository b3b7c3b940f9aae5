"""Bending of a slab under its own weight when it is held by a grip.

A slab held by a grip is a simple beam; the stress is moment over section modulus.

flat-ends     lying, held at both ends of its long side:    M = w L^2/8,  6 M/(W t^2) = 0.75 rho g L^2 / t
flat-quarter  lying, held a quarter in from each end:       M = w L^2/32 (hogging), 0.1875 rho g L^2 / t
on-edge       upright, held at both ends: the width is its depth,                  0.75 rho g L^2 / W
long-edge     rolled over the long edge: flat-ends across the short side,          0.75 rho g W^2 / t

With cut-outs or an outline the load and the section change along the span. The beam is then cut in many places, the
weight that lies left of each gives the moment there, and what is left of the width carries it:
- lying, all strips of a cut bend together, so 6 M / (b t^2) with b the sum of their widths;
- on edge, the strips beside a cut-out bend as separate deep strips that share the moment as their widths, and the
  narrow one governs: 6 M / (b_narrow b t). That leaves out what the closed ends of the cut-out tie together and so
  errs towards waiting.
Supports stand at the ends of the outline's bounding box (flat-quarter: a quarter in from them); what the hands cover
there, 50 mm and at most a twentieth of the span, is not asked, since a pointed end has no section at its tip.
"""

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, get_args

from curetrack.units import BadInput, require

if TYPE_CHECKING:
    from curetrack.concrete.slab import Slab

__all__ = ["GRAVITY_M_S2", "GRIPS", "Grip", "flexure_MPa", "stress_MPa", "strip_moment"]

Grip = Literal["flat-ends", "flat-quarter", "on-edge", "long-edge"]
GRIPS: tuple[Grip, ...] = get_args(Grip)
GRAVITY_M_S2 = 9.80665  # standard gravity
_PIECES = 95  # along a span; odd, so that the middle of one is the middle of a plain span
_HAND_M = 0.05


def strip_moment(overhang: float) -> tuple[float, float]:
    """Hogging and sagging moment of a uniform strip, as parts of w L^2, held at `overhang` (0 to 0.5 of its length)
    from each end: x^2/2 over the supports and (1 - 4x)/8 in the middle (negative: it hogs there too)."""
    x = require("overhang", overhang, 0.0, 0.5, "of the length")
    return x**2 / 2.0, (1.0 - 4.0 * x) / 8.0


def flexure_MPa(grip: str, length_m: float, width_m: float, thickness_m: float, density_kg_m3: float) -> float:
    """Bending stress [MPa] of a plain rectangle held by a grip, own weight only, no jolt; the longer side counts as
    its length. Sides 0.01 to 20 m, thickness 0.002 to 1 m, density 200 to 8000 kg/m3."""
    require("length", length_m, 0.01, 20.0, "m")
    require("width", width_m, 0.01, 20.0, "m")
    require("thickness", thickness_m, 0.002, 1.0, "m")
    density = _require_density(density_kg_m3)
    long, short = max(length_m, width_m), min(length_m, width_m)
    span, depth = {
        "flat-ends": (long, thickness_m),
        "flat-quarter": (long, thickness_m),
        "on-edge": (long, short),
        "long-edge": (short, thickness_m),
    }[_known(grip)]
    moment = max(abs(part) for part in strip_moment(_overhang(grip)))
    return 6.0 * moment * density * GRAVITY_M_S2 * span**2 / depth * 1e-6


def stress_MPa(slab: "Slab", grip: str, density_kg_m3: float) -> float:
    """Bending stress [MPa] of any slab held by a grip, own weight only, no jolt: the worst over the whole slab and
    its net sections, as described above. Density 200 to 8000 kg/m3."""
    _known(grip)
    density = _require_density(density_kg_m3)
    if not slab.cutouts and not slab.outline:
        return flexure_MPa(grip, slab.length_m, slab.width_m, slab.thickness_m, density)
    return _bending_per_density(slab, grip) * density


@lru_cache(maxsize=256)
def _bending_per_density(slab: "Slab", grip: str) -> float:
    """MPa per kg/m3."""
    lengthwise = slab if slab.length_m >= slab.width_m else slab.turned()
    beam = lengthwise.turned() if grip == "long-edge" else lengthwise
    thickness = slab.thickness_m
    if grip == "on-edge":
        return _worst(beam, 0.0, lambda strips: thickness * min(strips) * sum(strips) / 6.0)
    return _worst(beam, _overhang(grip), lambda strips: thickness**2 * sum(strips) / 6.0)


def _worst(beam: "Slab", overhang: float, modulus: Callable[[list[float]], float]) -> float:
    """The greatest |moment| over section modulus: in the middle of thin pieces, and on both sides of every step."""
    left, right = overhang * beam.length_m, (1.0 - overhang) * beam.length_m
    loads, cuts = _cut(beam, left, right)
    total, first = sum(load for _, load in loads), sum(at * load for at, load in loads)
    at_right = (first - total * left) / (right - left)
    at_left = total - at_right
    hand = 0.0 if overhang else min(_HAND_M, beam.length_m / 20.0)
    worst = weight = turning = 0.0
    counted = 0
    for place, before, strips in cuts:
        for at, load in loads[counted:before]:
            weight, turning = weight + load, turning + load * at
        counted = before
        moment = at_left * max(place - left, 0.0) + at_right * max(place - right, 0.0) - (weight * place - turning)
        if strips and hand <= place <= beam.length_m - hand:
            worst = max(worst, abs(moment) / modulus(strips))
    return worst


_Loads = list[tuple[float, float]]  # where, MN at 1 kg/m3
_Cuts = list[tuple[float, int, list[float]]]  # where, how many loads are left of it, strips there


def _cut(beam: "Slab", left: float, right: float) -> tuple[_Loads, _Cuts]:
    """The weight in half pieces, each at its own middle, and the cuts at which the stress is asked."""
    per_width = GRAVITY_M_S2 * beam.thickness_m * 1e-6
    strips = beam.across().strips
    loads: _Loads = []
    cuts: _Cuts = []
    for low, high in pairwise(sorted({*beam.steps_m(), left, right})):
        count = max(3, round(_PIECES * (high - low) / beam.length_m) // 2 * 2 + 1)
        size = (high - low) / count
        cuts.append((low, len(loads), strips(low + size * 1e-6)))
        for start in (low + i * size for i in range(count)):
            loads.append((start + size * 0.25, sum(strips(start + size * 0.25)) * size / 2.0 * per_width))
            cuts.append((start + size * 0.5, len(loads), strips(start + size * 0.5)))
            loads.append((start + size * 0.75, sum(strips(start + size * 0.75)) * size / 2.0 * per_width))
        cuts.append((high, len(loads), strips(high - size * 1e-6)))
    return loads, cuts


def _known(grip: str) -> str:
    if grip not in GRIPS:
        raise BadInput("no grip of that name", found=grip, remedy="use " + ", ".join(GRIPS))
    return grip


def _overhang(grip: str) -> float:
    return 0.25 if grip == "flat-quarter" else 0.0


def _require_density(density_kg_m3: float) -> float:
    return require("density", density_kg_m3, 200.0, 8000.0, "kg/m3")
