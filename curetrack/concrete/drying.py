"""The drying clock: open faces lose water as the air is thirsty, and no faster than the inside can follow.

An hour counts by the vapour-pressure deficit of the air relative to air at 20 degC and 50 %, credited at most
1.5-fold, because below a dried skin the inside sets the pace. At or below 0 degC nothing is credited (frozen pores;
ours, on the cautious side). Common practice made countable; no published source.
"""

from curetrack.concrete.air import saturation_pressure_Pa
from curetrack.concrete.evaporation import evaporation_kg_m2_h
from curetrack.units import require

__all__ = [
    "MOST_CREDITED", "drying_rate", "drying_rates", "evaporation_kg_m2_h", "saturation_pressure_Pa",
    "vapour_deficit_Pa",
]  # fmt: skip

MOST_CREDITED = 1.5


def vapour_deficit_Pa(temp_degC: float, humidity_pct: float) -> float:
    """Vapour pressure [Pa] that air at -40 to 60 degC and 0 to 100 % humidity lacks to saturation."""
    share = require("relative humidity", humidity_pct, 0.0, 100.0, "%") / 100.0
    return (1.0 - share) * saturation_pressure_Pa(temp_degC)


def drying_rate(temp_degC: float, humidity_pct: float) -> float:
    """Drying hours per hour, 0 to 1.5, in air at -40 to 60 degC and 0 to 100 % humidity; 1 at 20 degC and 50 %."""
    deficit = vapour_deficit_Pa(temp_degC, humidity_pct)
    return min(deficit / _REFERENCE_PA, MOST_CREDITED) if temp_degC > 0.0 else 0.0


def drying_rates(temps_degC: list[float], humidities_pct: list[float]) -> list[float]:
    """The same for many, pairwise."""
    return [drying_rate(temp, share) for temp, share in zip(temps_degC, humidities_pct, strict=True)]


_REFERENCE_PA = vapour_deficit_Pa(20.0, 50.0)
