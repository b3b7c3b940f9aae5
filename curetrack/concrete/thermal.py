"""How fast a thin slab follows the shop's air: why a slab reading is near the air's after a few hours.

Film coefficients: US Army Corps of Engineers ETL 1110-2-365, eq. A-2 and A-3 (outdoors, by wind); ISO 6946 (indoors,
radiation included). A 40 mm slab is nearly even inside (Biot number about 0.1), so one time constant describes it.
"""

from typing import Literal

from curetrack.units import BadInput, require

__all__ = ["film_W_m2K", "film_btu_day_in2_F", "indoor_film_W_m2K", "time_constant_h"]

BTU_J = 1055.05585262  # international table
W_M2K_PER_BTU_DAY_IN2_F = BTU_J / 86_400.0 / 0.0254**2 * 1.8
_MPH_M_S = 0.44704
_INDOOR_M2K_W = {"up": 0.10, "side": 0.13, "down": 0.17}  # surface resistance by the direction of the heat


def film_btu_day_in2_F(wind_mph: float) -> float:
    """Surface film coefficient [Btu/day/in2/F] for wind 0 to 90 mph: 0.165 + 0.0513 V below 10.9 mph, 0.1132 V^0.8
    from there on (the two differ by 5 % where they meet)."""
    wind = require("wind", wind_mph, 0.0, 90.0, "mph")
    return 0.165 + 0.0513 * wind if wind < 10.9 else float(0.1132 * wind**0.8)


def film_W_m2K(wind_m_s: float) -> float:
    """The same in SI [W/m2/K], wind 0 to 40 m/s; about 5.6 + 3.9 v in light wind."""
    return film_btu_day_in2_F(require("wind", wind_m_s, 0.0, 40.0, "m/s") / _MPH_M_S) * W_M2K_PER_BTU_DAY_IN2_F


def indoor_film_W_m2K(direction: Literal["up", "side", "down"]) -> float:
    """Film coefficient [W/m2/K] in a room, by where the heat goes: 10 up, 7.7 to the side, 5.9 down (ISO 6946)."""
    if direction not in _INDOOR_M2K_W:
        raise BadInput("no such direction", found=direction, remedy="use up, side or down")
    return 1.0 / _INDOOR_M2K_W[direction]


def time_constant_h(
    thickness_m: float, film: float, density_kg_m3: float = 2400.0, heat_J_kgK: float = 1000.0
) -> float:
    """Time [h] in which a slab losing heat from both faces has come 63 % of the way to the air: rho cp d / (2 h).
    Thickness 0.002 to 0.1 m (thicker is no longer even inside), film 1 to 100 W/m2/K."""
    thickness = require("thickness", thickness_m, 0.002, 0.1, "m")
    both = 2.0 * require("film coefficient", film, 1.0, 100.0, "W/m2/K")
    density = require("density", density_kg_m3, 200.0, 8000.0, "kg/m3")
    return density * require("specific heat", heat_J_kgK, 500.0, 2000.0, "J/kg/K") * thickness / both / 3600.0
