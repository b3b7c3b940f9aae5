"""The takeoff: what a piece takes of mix, water, sealer and hands."""

from math import ceil

from msgspec import Struct

from curetrack.concrete.handling import aid, crew_for
from curetrack.concrete.slab import Slab
from curetrack.units import require

__all__ = ["SLURRY_KG_M2", "WASTE", "Takeoff", "takeoff", "usual_water_kg", "usual_yield_m3"]

WASTE = 0.10  # more than the volume: spills, the mixer's skin, test bars; common practice, no source
SLURRY_KG_M2 = 1.0  # dry mix kept aside to fill the holes of the face; common practice, no source
_FT3_M3 = 0.3048**3
_LB_KG = 0.45359237
_WATER_KG_PER_KG = (2.8 / (80.0 * _LB_KG), 4.3 / (80.0 * _LB_KG))  # 80 lb bags, 3 qt to about 9 pt (from memory)


class Takeoff(Struct, frozen=True):
    """Quantities of one piece. None: the mix is not known by the bag, or nothing is sealed.

    `mass_kg` by the density for quantities, `mass_lift_kg`, crews and `aid` by the one for lifting. `bags` is what
    the volume takes, `bags_to_buy` adds waste and the slurry's dry mix and is rounded up. `water_kg` is for `bags`,
    lowest and highest by the label.
    """

    volume_m3: float
    area_m2: float
    perimeter_m: float
    mass_kg: float
    mass_lift_kg: float
    bags: float | None
    bags_to_buy: int | None
    water_kg: tuple[float, float] | None
    slurry_kg: float
    sealer_L: float | None
    crew_flip: int
    crew_carry: int
    aid: bool


def takeoff(
    slab: Slab,
    *,
    density_kg_m3: float = 2240.0,
    density_lift_kg_m3: float = 2350.0,
    bag_mass_kg: float | None = None,
    bag_yield_m3: float | None = None,
    bag_water_kg: tuple[float, float] | None = None,
    coats: int = 0,
    coats_under: int = 0,
    coverage_m2_L: float | None = None,
    waste: float = WASTE,
) -> Takeoff:
    """Quantities of a slab. Densities 200 to 8000 kg/m3, a bag 1 to 2000 kg (without a yield the usual one of bagged
    mixes is taken, without water none is told), `coats` on the show face and all edges, `coats_under` on the
    underside, 0 to 20 each, `coverage_m2_L` of one coat 0.5 to 100 m2/L, `waste` 0 to 1."""
    more = 1.0 + require("waste", waste, 0.0, 1.0, "")
    slurry_kg = SLURRY_KG_M2 * slab.area_m2
    mass_lift_kg = slab.mass_kg(density_lift_kg_m3)
    crew_carry = crew_for("carry", mass_lift_kg)
    bags = to_buy = water = None
    if bag_mass_kg is not None:
        mass = require("mass of a bag", bag_mass_kg, 1.0, 2000.0, "kg")
        bags = slab.volume_m3 / (usual_yield_m3(mass) if bag_yield_m3 is None else _require_yield(bag_yield_m3))
        to_buy = ceil(bags * more + slurry_kg / mass - 1e-9)
    if bags is not None and bag_water_kg is not None:
        low, high = (require("water of a bag", kg, 0.0, 1000.0, "kg") for kg in bag_water_kg)
        water = (bags * low, bags * high)
    return Takeoff(
        volume_m3=slab.volume_m3,
        area_m2=slab.area_m2,
        perimeter_m=slab.perimeter_m,
        mass_kg=slab.mass_kg(density_kg_m3),
        mass_lift_kg=mass_lift_kg,
        bags=bags,
        bags_to_buy=to_buy,
        water_kg=water,
        slurry_kg=slurry_kg,
        sealer_L=_sealer_L(slab, coats, coats_under, coverage_m2_L),
        crew_flip=crew_for("flip", mass_lift_kg),
        crew_carry=crew_carry,
        aid=aid(mass_lift_kg, crew_carry),
    )


def usual_yield_m3(bag_mass_kg: float) -> float:
    """Volume [m3] that a bag of ordinary dry mix yields, 1 to 2000 kg: 0.15 ft3 for each 20 lb, as labels say."""
    return require("mass of a bag", bag_mass_kg, 1.0, 2000.0, "kg") / (20.0 * _LB_KG) * 0.15 * _FT3_M3


def usual_water_kg(bag_mass_kg: float) -> tuple[float, float]:
    """Water [kg] for a bag of ordinary dry mix, 1 to 2000 kg: to start with, and at most (from memory; the label
    decides)."""
    mass = require("mass of a bag", bag_mass_kg, 1.0, 2000.0, "kg")
    return mass * _WATER_KG_PER_KG[0], mass * _WATER_KG_PER_KG[1]


def _sealer_L(slab: Slab, coats: int, coats_under: int, coverage_m2_L: float | None) -> float | None:
    on_top, below = require("coats", coats, 0, 20, ""), require("coats below", coats_under, 0, 20, "")
    if coverage_m2_L is None or on_top + below == 0:
        return None
    edges = slab.perimeter_m * slab.thickness_m
    covered = on_top * (slab.area_m2 + edges) + below * slab.area_m2
    return covered / require("coverage", coverage_m2_L, 0.5, 100.0, "m2/L")


def _require_yield(bag_yield_m3: float) -> float:
    return require("yield of a bag", bag_yield_m3, 1e-4, 2.0, "m3")
