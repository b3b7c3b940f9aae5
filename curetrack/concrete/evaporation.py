"""Water leaving a fresh face: four published forms of one measurement (Menzel 1954), in their own units.

The product uses Uno's SI form. The others are kept to hold it against: at equal temperatures they agree within a few
percent; with air much colder than the concrete Uno's is up to a quarter higher, which errs towards covering.
Levels in use: caution at 0.5 kg/m2/h, action at 1.0 (FHWA-HRT-05-038, chapter 5; ACI 305R).
"""

from math import exp

from curetrack.concrete.air import saturation_pressure_Pa
from curetrack.units import require

__all__ = [
    "evaporation_kg_m2_h", "fhwa_kg_m2_h", "menzel_lb_ft2_h", "uno_us_lb_ft2_h",
]  # fmt: skip

_PA_PER_PSI = 6894.757293168  # 1 lbf/in2, from the exact pound and inch


def evaporation_kg_m2_h(concrete_degC: float, air_degC: float, humidity_pct: float, wind_m_s: float) -> float:
    """Evaporation [kg/m2/h] from a wet concrete face, never below 0 (Uno 1998, SI form):
    E = 5 ((Tc + 18)^2.5 - r (Ta + 18)^2.5) (V + 4) 1e-6, V in km/h, r the humidity as a fraction.

    Concrete and air -40 to 60 degC (below -18 degC the form knows no vapour), humidity 0 to 100 %, wind 0 to 40 m/s
    at about half a metre above the face.
    """
    concrete = require("concrete temperature", concrete_degC, -40.0, 60.0, "degC")
    air = require("air temperature", air_degC, -40.0, 60.0, "degC")
    share = require("relative humidity", humidity_pct, 0.0, 100.0, "%") / 100.0
    wind_km_h = require("wind", wind_m_s, 0.0, 40.0, "m/s") * 3.6
    drive: float = max(concrete + 18.0, 0.0) ** 2.5 - share * max(air + 18.0, 0.0) ** 2.5
    return max(5.0 * drive * (wind_km_h + 4.0) * 1e-6, 0.0)


def uno_us_lb_ft2_h(concrete_degF: float, air_degF: float, humidity_pct: float, wind_mph: float) -> float:
    """The same in US units [lb/ft2/h], never below 0: E = (Tc^2.5 - r Ta^2.5) (1 + 0.4 V) 1e-6. Concrete and air
    0 to 140 degF, wind 0 to 90 mph. Its constants are rounded differently: about 4 % above the SI form."""
    concrete, air, share, wind = _us(concrete_degF, air_degF, humidity_pct, wind_mph)
    drive: float = concrete**2.5 - share * air**2.5
    return max(drive * (1.0 + 0.4 * wind) * 1e-6, 0.0)


def menzel_lb_ft2_h(concrete_degF: float, air_degF: float, humidity_pct: float, wind_mph: float) -> float:
    """Menzel 1954 [lb/ft2/h], never below 0: W = 0.44 (e0 - r ea) (0.253 + 0.096 V), pressures in psi. Concrete and
    air 0 to 140 degF, wind 0 to 90 mph. Formula from memory; the drying-tendency table confirms psi, not inHg."""
    concrete, air, share, wind = _us(concrete_degF, air_degF, humidity_pct, wind_mph)
    drive_psi = (saturation_pressure_Pa(_degC(concrete)) - share * saturation_pressure_Pa(_degC(air))) / _PA_PER_PSI
    return max(0.44 * drive_psi * (0.253 + 0.096 * wind), 0.0)


def fhwa_kg_m2_h(concrete_degF: float, air_degF: float, humidity_pct: float, wind_mph: float) -> float:
    """The exponential form of US federal highway reports [kg/m2/h], never below 0 (from memory):
    E = 4.88 (0.1113 + 0.04224 V) 0.0443 (exp(0.0302 Tc) - r exp(0.0302 Ta)). Ranges as above."""
    concrete, air, share, wind = _us(concrete_degF, air_degF, humidity_pct, wind_mph)
    drive = 0.0443 * (exp(0.0302 * concrete) - share * exp(0.0302 * air))
    return max(4.88 * (0.1113 + 0.04224 * wind) * drive, 0.0)


def _us(concrete_degF: float, air_degF: float, humidity_pct: float, wind_mph: float) -> tuple[float, ...]:
    return (
        require("concrete temperature", concrete_degF, 0.0, 140.0, "degF"),
        require("air temperature", air_degF, 0.0, 140.0, "degF"),
        require("relative humidity", humidity_pct, 0.0, 100.0, "%") / 100.0,
        require("wind", wind_mph, 0.0, 90.0, "mph"),
    )


def _degC(temp_degF: float) -> float:
    return (temp_degF - 32.0) / 1.8
