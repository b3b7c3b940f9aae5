"""The temperature of a thin slab whose air is known: it follows the air, and warms itself while it hardens.

A slab of 40 mm is nearly even inside (Biot number about 0.1), so one temperature describes it (lumped model):

    rho c d T' = loss (air - T) + d C Hu alpha'(te) rate(T)

d thickness, C cement, loss the two faces together, te the equivalent age by the mix's rate law. The heat released is
C Hu alpha(te), alpha(te) = alpha_u exp(-(tau / te)^beta): the three-parameter curve (Freiesleben Hansen & Pedersen;
Schindler & Folliard), with alpha_u = 1.031 w / (0.194 + w) (Mills) at a water-cement ratio of 0.5. Hu, tau and beta are
those of an ordinary Portland cement, all from memory: no published check value was found. The faces' films are ISO 6946
(thermal.py); a cover or a base adds a resistance.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import exp

from msgspec import Struct

from curetrack.concrete.laws import RateLaw
from curetrack.concrete.thermal import indoor_film_W_m2K
from curetrack.units import BadInput, require

__all__ = [
    "BASE_M2K_W", "SHEET_M2K_W", "ThinSlab", "face_W_m2K", "hydration", "in_its_form_W_m2K", "slab_temperatures",
]  # fmt: skip

CEMENT_HEAT_J_kg = 450_000.0  # all of it, ordinary Portland cement; from memory
HYDRATED_MOST = 1.031 * 0.5 / (0.194 + 0.5)
TAU_H, BETA = 13.5, 0.9  # from memory
SHEET_M2K_W = 0.15  # a sheet on a frame, still air under it; common practice, no source
BASE_M2K_W = 0.2  # melamine board and bench under the form; common practice, no source
_STEP_H = 0.25
_HOT_H = 72.0  # until then the steps are short; later an hour will do
_LONG_STEP_H = 1.0


class ThinSlab(Struct, frozen=True, cache_hash=True):
    """Thickness [m] 0.005 to 0.1; cement [kg/m3] 0 to 800 (0: no heat of its own); loss [W/m2/K], both faces together,
    0.5 to 200; density [kg/m3]; specific heat [J/kg/K] (920 to 1005: ASTM STP 169B)."""

    thickness_m: float
    cement_kg_m3: float
    loss_W_m2K: float
    density_kg_m3: float = 2350.0
    heat_J_kgK: float = 1000.0

    def __post_init__(self) -> None:
        require("thickness", self.thickness_m, 0.005, 0.1, "m")
        require("cement", self.cement_kg_m3, 0.0, 800.0, "kg/m3")
        require("loss of both faces", self.loss_W_m2K, 0.5, 200.0, "W/m2/K")
        require("density", self.density_kg_m3, 200.0, 8000.0, "kg/m3")
        require("specific heat", self.heat_J_kgK, 500.0, 2000.0, "J/kg/K")

    @property
    def store_J_m2K(self) -> float:
        """Heat that warms a square metre of it by 1 K."""
        return self.density_kg_m3 * self.heat_J_kgK * self.thickness_m

    @property
    def lag_h(self) -> float:
        """The time constant with which it follows the air."""
        return self.store_J_m2K / self.loss_W_m2K / 3600.0

    def released_J_m2(self, age_h: float) -> float:
        """Heat of hydration of a square metre up to an equivalent age."""
        return self.cement_kg_m3 * self.thickness_m * CEMENT_HEAT_J_kg * hydration(age_h)


def hydration(age_h: float) -> float:
    """The share of the cement that has reacted, alpha(te), at an equivalent age from 0 h on."""
    require("equivalent age", age_h, 0.0, 1e7, "h")
    return HYDRATED_MOST * exp(-((TAU_H / age_h) ** BETA)) if age_h > 0.0 else 0.0


def face_W_m2K(film_W_m2K: float, cover_m2K_W: float = 0.0) -> float:
    """What one face loses: its film (1 to 100 W/m2/K) through a cover (0 to 10 m2K/W; 10: as good as insulated)."""
    film = require("film coefficient", film_W_m2K, 1.0, 100.0, "W/m2/K")
    return 1.0 / (1.0 / film + require("cover", cover_m2K_W, 0.0, 10.0, "m2K/W"))


def in_its_form_W_m2K() -> float:
    """A slab in its form on a base, under a sheet, in a room without draught: about 6.7 W/m2/K, both faces together."""
    top = face_W_m2K(indoor_film_W_m2K("up"), SHEET_M2K_W)
    return top + face_W_m2K(indoor_film_W_m2K("down"), BASE_M2K_W)


def slab_temperatures(
    slab: ThinSlab, law: RateLaw, times_h: Sequence[float], air_degC: Sequence[float], start_degC: float
) -> tuple[list[float], list[float]]:
    """Instants [h] and temperatures [degC] of the slab, from the first instant (its pour, at `start_degC`) to the last,
    in air that runs straight between the nodes given (instants rise; the same instant twice: the air jumps).

    Each step is exact for the air and for the heat it releases, taken as even within the step (at most 0.25 h in the
    first three days): so heat released, stored and lost balance to rounding. Raises BadInput without two nodes.
    """
    if len(times_h) < 2 or len(times_h) != len(air_degC) or any(a > b for a, b in pairwise(times_h)):
        raise BadInput("air needs two instants or more, in order", found=len(times_h), remedy="give a node at each end")
    times, temps = [times_h[0]], [start_degC]
    age_h = 0.0
    for index in range(1, len(times_h)):
        from_h, to_h = times_h[index - 1], times_h[index]
        longest = _STEP_H if from_h < times_h[0] + _HOT_H else _LONG_STEP_H
        count = max(1, -int(-(to_h - from_h) // longest))
        step_h = (to_h - from_h) / count
        if step_h <= 0.0:
            continue
        rise = (air_degC[index] - air_degC[index - 1]) / count
        for k in range(count):
            air = air_degC[index - 1] + rise * k
            temp, age_h = _step(slab, law, (temps[-1], age_h), (air, air + rise), step_h)
            temps.append(temp)
            times.append(from_h + step_h * (k + 1) if k + 1 < count else to_h)
    return times, temps


def _step(
    slab: ThinSlab, law: RateLaw, at: tuple[float, float], air: tuple[float, float], step_h: float
) -> tuple[float, float]:
    """Temperature and equivalent age after a step: first as fast as at its start, then at the mean of both ends."""
    temp, age_h = at
    rate = law.rates([temp])[0]
    later_h = age_h + rate * step_h
    end = temp
    for _ in range(2):
        end = _after(slab, temp, air, slab.released_J_m2(later_h) - slab.released_J_m2(age_h), step_h)
        later_h = age_h + 0.5 * (rate + law.rates([end])[0]) * step_h
    return end, later_h


def _after(slab: ThinSlab, temp: float, air: tuple[float, float], heat_J_m2: float, step_h: float) -> float:
    """rho c d T' = loss (air - T) + heat / step, exact for air that runs straight."""
    lag, (early, late) = slab.lag_h, air
    above = heat_J_m2 / (step_h * 3600.0) / slab.loss_W_m2K  # how far above the air it would end
    behind = (late - early) * lag / step_h
    return late + above - behind + (temp - early - above + behind) * exp(-step_h / lag)
