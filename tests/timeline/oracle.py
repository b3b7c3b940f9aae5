"""The published relations once more, written for these tests alone, with scipy for integrals and roots.

Nothing here imports the solver, the course or the rate laws: a fault in them must not repeat itself here.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import exp, log, sqrt

from scipy.integrate import quad
from scipy.optimize import brentq

R_J_mol_K = 8.314462618  # CODATA 2018
REFERENCE_degC = 20.0

Rate = Callable[[float], float]  # equivalent hours per hour at a temperature [degC]
Nodes = Sequence[tuple[float, float]]  # (hour, temperature), straight lines between


def saul(datum_degC: float) -> Rate:
    """Nurse-Saul relative to 20 degC; nothing at or below 0 degC."""
    return lambda temp: (temp - datum_degC) / (REFERENCE_degC - datum_degC) if temp > 0.0 else 0.0


def arrhenius(q_K: float) -> Rate:
    """exp(-Q (1/T - 1/Tr)) relative to 20 degC; nothing at or below 0 degC."""
    return lambda temp: exp(-q_K * (1.0 / (temp + 273.15) - 1.0 / 293.15)) if temp > 0.0 else 0.0


OTHERS: tuple[Rate, ...] = (saul(0.0), saul(-10.0), arrhenius(33_500.0 / R_J_mol_K), arrhenius(40_000.0 / R_J_mol_K))
OWN = arrhenius(5000.0)  # the law of the tests' mix


def centre_of(own: Rate) -> Rate:
    """Above the reference the own law credits no more than the slowest of them."""
    return lambda temp: min(own(temp), *(law(temp) for law in OTHERS)) if temp > REFERENCE_degC else own(temp)


def band_of(own: Rate) -> tuple[Rate, ...]:
    """The members of the band."""
    return (own, centre_of(own), *OTHERS)


CENTRE, BAND = centre_of(OWN), band_of(OWN)


def steady_h(rate: Rate, temp_degC: float, need_h: float) -> float:
    """Hours at one temperature for so many equivalent ones."""
    return need_h / rate(temp_degC)


def gained_h(rate: Rate, nodes: Nodes, from_h: float, to_h: float) -> float:
    """Equivalent hours along straight lines, by adaptive quadrature, cut at the nodes and where a line crosses the
    clamp at 0 degC or the reference."""
    total = 0.0
    for (t0, v0), (t1, v1) in pairwise(nodes):
        low, high = max(from_h, t0), min(to_h, t1)
        if high <= low:
            continue
        cuts = [t0 + (bend - v0) / (v1 - v0) * (t1 - t0) for bend in (0.0, REFERENCE_degC) if v1 != v0]
        edges = sorted({low, high, *(cut for cut in cuts if low < cut < high)})
        for a, b in pairwise(edges):
            total += quad(lambda t: rate(v0 + (v1 - v0) * (t - t0) / (t1 - t0)), a, b, epsrel=1e-10)[0]  # noqa: B023
    return total


def reach_h(rate: Rate, nodes: Nodes, from_h: float, need_h: float) -> float:
    """When so many equivalent hours are gained since `from_h`, by root finding on that integral."""
    return float(brentq(lambda t: gained_h(rate, nodes, from_h, t) - need_h, from_h, nodes[-1][0], xtol=1e-6))


def hyperbola_h(strength_MPa: float, *, s28: float = 27.0, rate: float = 0.25, start_h: float = 7.0) -> float:
    """Equivalent age at which S = Su k (t - t0) / (1 + k (t - t0)) reaches a strength, S(28 d) = s28; a root."""

    def shape(age_h: float) -> float:
        grown = rate * (age_h - start_h) / 24.0
        return grown / (1.0 + grown)

    return float(brentq(lambda age: s28 * shape(age) / shape(672.0) - strength_MPa, start_h, 5000.0, xtol=1e-9))


def en1992_h(strength_MPa: float, *, s28: float, s: float) -> float:
    """The same for EN 1992-1-1 eq. 3.1 and 3.2, 24 h at the earliest; a root."""
    found = brentq(lambda age: s28 * exp(s * (1.0 - sqrt(672.0 / age))) - strength_MPa, 1.0, 5000.0, xtol=1e-9)
    return max(24.0, float(found))


# The setting-time table as published: (degF, hours).
SET_TABLE = (
    (30, 19.0),
    (40, 14 + 2 / 3),
    (50, 10 + 2 / 3),
    (60, 8.0),
    (70, 6.0),
    (80, 4.0),
    (90, 2 + 2 / 3),
    (100, 5 / 3),
)


def set_h(temp_degC: float, at_20_degC_h: float) -> float:
    """Time to set at a steady temperature: the table's ratio to 20 degC, straight in the logarithm of time."""

    def table(temp: float) -> float:
        marks = [((f - 32) / 1.8, log(hours)) for f, hours in SET_TABLE]
        (t0, v0), (t1, v1) = next(p for p in pairwise(marks) if p[0][0] <= temp <= p[1][0])
        return v0 + (v1 - v0) * (temp - t0) / (t1 - t0)

    return at_20_degC_h * exp(table(temp_degC) - table(20.0))


def drying_rate(temp_degC: float, humidity_pct: float) -> float:
    """Vapour-pressure deficit relative to 20 degC and 50 %, credited 1.5-fold at most; Magnus form with the
    constants 17.62 and 243.12."""

    def deficit(temp: float, humidity: float) -> float:
        return (1.0 - humidity / 100.0) * exp(17.62 * temp / (243.12 + temp))

    return min(1.5, deficit(temp_degC, humidity_pct) / deficit(20.0, 50.0))


def dew_point_degC(temp_degC: float, humidity_pct: float) -> float:
    """Dew point, constants 17.62 and 243.12."""
    g = 17.62 * temp_degC / (243.12 + temp_degC) + log(humidity_pct / 100.0)
    return 243.12 * g / (17.62 - g)


def uno_kg_m2_h(slab_degC: float, air_degC: float, humidity_pct: float, wind_km_h: float) -> float:
    """Uno 1998, SI."""
    gap = (slab_degC + 18.0) ** 2.5 - humidity_pct / 100.0 * (air_degC + 18.0) ** 2.5
    return 5.0 * gap * (wind_km_h + 4.0) * 1e-6
