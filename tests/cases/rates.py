"""The rate laws and a few other published formulas once more, as plain arithmetic: the cases' numbers by another route.

Nothing of the tool is imported here. The band of the cases is taken over four laws, all relative to 20 degC: Nurse-Saul
with datum -10 and 0 degC, Arrhenius with 33.5 and 40 kJ/mol. Nothing is credited at or below 0 degC.
"""

from collections.abc import Callable, Sequence
from math import exp, inf, sqrt

Law = Callable[[float], float]
Stretch = tuple[float, float]  # hours, degC; the last one may last for ever (inf)


def saul(datum_degC: float) -> Law:
    """Nurse-Saul as equivalent age: (T - T0) / (Tr - T0)."""
    return lambda temp_degC: (temp_degC - datum_degC) / (20.0 - datum_degC) if temp_degC > 0.0 else 0.0


def arrhenius(energy_J_mol: float) -> Law:
    """exp(-E/R (1/T - 1/Tr)), T in kelvin, R = 8.314 J/mol/K."""
    return lambda temp_degC: (
        exp(-energy_J_mol / 8.314462618 * (1.0 / (temp_degC + 273.15) - 1.0 / 293.15)) if temp_degC > 0.0 else 0.0
    )


OWN = arrhenius(40_000.0)  # what the case profile names as its own law
LAWS: tuple[Law, ...] = (saul(-10.0), saul(0.0), arrhenius(33_500.0), OWN)


def slowest_above_20(temp_degC: float) -> float:
    """The centre: the own law, but above 20 degC no more than the slowest of the four."""
    return OWN(temp_degC) if temp_degC <= 20.0 else min(law(temp_degC) for law in LAWS)


def gained_h(law: Law, stretches: Sequence[Stretch], until_h: float = inf) -> float:
    """Equivalent hours over stretches of one temperature each, up to so many hours."""
    total, at_h = 0.0, 0.0
    for hours, temp_degC in stretches:
        total += law(temp_degC) * max(0.0, min(hours, until_h - at_h))
        at_h += hours
    return total


def reach_h(law: Law, stretches: Sequence[Stretch], need_h: float) -> float:
    """Hours until so many equivalent hours are gained."""
    at_h, left = 0.0, need_h
    for hours, temp_degC in stretches:
        rate = law(temp_degC)
        if rate > 0.0 and left <= rate * hours:
            return at_h + left / rate
        left -= rate * hours
        at_h += hours
    return inf


def band_h(stretches: Sequence[Stretch], need_h: float) -> tuple[float, float]:
    """The earliest and the latest over the four laws, hours from the start."""
    found = [reach_h(law, stretches, need_h) for law in LAWS]
    return min(found), max(found)


def gained_band_h(stretches: Sequence[Stretch], until_h: float) -> tuple[float, float]:
    """The least and the most equivalent hours over the four laws."""
    found = [gained_h(law, stretches, until_h) for law in LAWS]
    return min(found), max(found)


def hyperbola_MPa(age_h: float, *, s28_MPa: float, rate_per_day: float = 0.25, start_h: float = 7.0) -> float:
    """S = Su k (t - t0) / (1 + k (t - t0)), scaled so that it gives the label's strength at 28 d."""

    def share(hours: float) -> float:
        grown = rate_per_day * (hours - start_h) / 24.0
        return grown / (1.0 + grown)

    return s28_MPa * share(age_h) / share(28 * 24.0)


def rupture_MPa(strength_MPa: float) -> float:
    """Modulus of rupture, ACI 318-19 eq. 19.2.3.1: 0.62 sqrt(fc)."""
    return 0.62 * sqrt(strength_MPa)


def drying_rate(temp_degC: float, humidity_pct: float) -> float:
    """Vapour-pressure deficit relative to 20 degC and 50 %, at most 1.5; Magnus form, 17.62 and 243.12."""

    def deficit(temp: float, humidity: float) -> float:
        return (1.0 - humidity / 100.0) * exp(17.62 * temp / (243.12 + temp))

    return min(1.5, deficit(temp_degC, humidity_pct) / deficit(20.0, 50.0))


def uno_kg_m2_h(slab_degC: float, air_degC: float, humidity_pct: float, wind_km_h: float) -> float:
    """Uno 1998, SI form: 5 [(Tc+18)^2.5 - r (Ta+18)^2.5] (V+4) 1e-6."""
    gap = (slab_degC + 18.0) ** 2.5 - humidity_pct / 100.0 * (air_degC + 18.0) ** 2.5
    return 5.0 * gap * (wind_km_h + 4.0) * 1e-6
