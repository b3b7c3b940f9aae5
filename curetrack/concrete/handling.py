"""Handling: the strength that a lift needs, and the hands.

The modulus of rupture 0.62 sqrt(fc) (ACI 318-19, eq. 19.2.3.1) must be 1.5 times the stress (PCI, factor on cracking)
with the weight doubled for a jolt (common practice) and, off a smooth base, 1.4 times (PCI, multipliers for smooth
moulds 1.3 to 1.4, from memory). The stress itself: `bending`, or a slab's own `stress_MPa`.
"""

from math import ceil, sqrt
from typing import Literal

from curetrack.concrete.bending import GRAVITY_M_S2, GRIPS, Grip, flexure_MPa, stress_MPa, strip_moment
from curetrack.concrete.slab import Slab
from curetrack.concrete.tension import modulus_of_rupture_MPa
from curetrack.units import BadInput, require

__all__ = [
    "BATTENS_AT", "CRACKING_FACTOR", "GRAVITY_M_S2", "GRIPS", "JOLT_FACTOR", "PERSON_LIMIT_KG", "STICKING_FACTOR",
    "Grip", "Slab", "aid", "crew_for", "flexure_MPa", "modulus_of_rupture_MPa", "rupture_needed_MPa",
    "strength_needed_MPa", "stress_MPa", "strip_moment", "team_limit_kg",
]  # fmt: skip

CRACKING_FACTOR = 1.5  # PCI: on the modulus of rupture, for handling nearly free of cracks
JOLT_FACTOR = 2.0  # common practice, no source
STICKING_FACTOR = 1.4  # PCI, smooth mould with oil only, upper figure (from memory)
PERSON_LIMIT_KG = 25.0  # HSE filter for men, close to the waist; women 16 kg (from memory)
HEAVIEST_KG = 400_000.0  # above any slab that the shop takes, at the heaviest density
BATTENS_AT = (sqrt(2.0) - 1.0) / 2.0  # of the length, from each end: hogging equals sagging there
_CARRIED_KG = 45.0  # by each of a carry's crew; common practice, no source, above what guidance allows


def rupture_needed_MPa(stress: float, *, breaks_free: bool = False) -> float:
    """Modulus of rupture [MPa] that a bending stress [MPa, 0 to 1000] asks for: 1.5 x 2 x stress, and 1.4 times that
    when the slab breaks free from a smooth base."""
    needed = CRACKING_FACTOR * JOLT_FACTOR * require("bending stress", stress, 0.0, 1000.0, "MPa")
    return needed * STICKING_FACTOR if breaks_free else needed


def strength_needed_MPa(stress: float, *, breaks_free: bool = False) -> float:
    """Compressive strength [MPa] at which a bending stress [MPa, 0 to 1000] may be called up: 0.62 sqrt(fc) >=
    1.5 x 2 x stress, and 1.4 times that when the slab breaks free from a smooth base."""
    return (rupture_needed_MPa(stress, breaks_free=breaks_free) / 0.62) ** 2


def crew_for(lift: Literal["flip", "carry"], mass_kg: float) -> int:
    """People for a lift: a flip tilts half of the mass, 25 kg a head; a carry takes 45 kg a head; two at least
    (common practice, no source; above what guidance allows unaided: see `aid`). Mass 0 to 400000 kg: whatever can
    be poured has an answer."""
    mass = require("mass", mass_kg, 0.0, HEAVIEST_KG, "kg")
    if lift not in ("flip", "carry"):
        raise BadInput("no lift of that name", found=lift, remedy="use flip or carry")
    heads = mass / 2.0 / PERSON_LIMIT_KG if lift == "flip" else mass / _CARRIED_KG
    return max(2, ceil(heads - 1e-9))


def team_limit_kg(people: int) -> float:
    """What a team should lift unaided [kg]: 25 for one, two thirds of the sum for two, half of it for three and more
    (HSE guidance, second-hand). 1 to 20 people; more than four do not work together by hand."""
    count = int(require("people", people, 1, 20, ""))
    factor = {1: 1.0, 2: 2.0 / 3.0}.get(count, 0.5)
    return factor * count * PERSON_LIMIT_KG


def aid(mass_kg: float, people: int) -> bool:
    """Whether wheels, slides, a cart or a tilting frame come first: more than the team should lift unaided, or
    more than four people. Mass 0 to 400000 kg, any number of people."""
    mass = require("mass", mass_kg, 0.0, HEAVIEST_KG, "kg")
    return people > 4 or mass > team_limit_kg(people)
