"""Maturity: how fast concrete ages at a temperature, by the published rate laws.

Every law gives the equivalent hours gained per hour, 1 at its reference temperature. As laws of a piece they credit
nothing at or below 0 degC (a decision of ours, on the cautious side); the plain functions at the end give the
published relations without that clamp.

Sources: Saul 1951 and Plowman 1956 (temperature-time factor); Freiesleben Hansen & Pedersen 1977 (Arrhenius age,
activation energy rising in the cold); ASTM C1074; EN 1992-1-1:2004, eq. B.10.
"""

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from math import exp

from msgspec import Struct

from curetrack.concrete.laws import RateLaw
from curetrack.units import require

__all__ = [
    "ARRHENIUS_HIGH_J_MOL", "ARRHENIUS_LOW_J_MOL", "GAS_CONSTANT_J_MOL_K", "Arrhenius", "Capped", "ColdSide", "En1992",
    "MixLaw", "NurseSaul", "age_factor", "band_laws", "cold_side_energy_J_mol", "cold_side_factor", "en1992_age_factor",
    "equivalent_age_h", "q_from_energy_K", "temperature_time_factor_degC_h",
]  # fmt: skip

GAS_CONSTANT_J_MOL_K = 8.314462618  # CODATA 2018, exact in the SI
KELVIN_OF_0_DEGC = 273.15
COLDEST_DEGC, HOTTEST_DEGC = -60.0, 100.0  # what is taken as the temperature of a piece at all
ARRHENIUS_LOW_J_MOL = 33_500.0  # Freiesleben Hansen & Pedersen, 20 degC and above
ARRHENIUS_HIGH_J_MOL = 40_000.0  # upper end of the usual range for Portland cement (ASTM C1074, from memory)


class NurseSaul(Struct, frozen=True, cache_hash=True, tag_field="law", tag="nurse-saul"):
    """Linear in temperature: (T - T0) / (Tr - T0), clamped to 0 at and below 0 degC and T0.

    `datum_degC` T0 from -20 to 5 (0: ASTM C1074 guidance; -10: Saul; -11.7: Plowman, printed as 11 degF),
    `reference_degC` Tr from 10 to 40. Raises OutOfRange beyond.
    """

    datum_degC: float
    reference_degC: float = 20.0

    def __post_init__(self) -> None:
        require("datum temperature", self.datum_degC, -20.0, 5.0, "degC")
        _require_reference(self.reference_degC)

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """The clamp."""
        return (max(0.0, self.datum_degC),)

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at -60 to 100 degC."""
        return self.rates([_require_temp(temp_degC)])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked."""
        datum, span, floor = self.datum_degC, self.reference_degC - self.datum_degC, max(0.0, self.datum_degC)
        return [(temp - datum) / span if temp > floor else 0.0 for temp in temps_degC]


class Arrhenius(Struct, frozen=True, cache_hash=True, tag_field="law", tag="arrhenius"):
    """exp(Q (1/Tr - 1/T)), T and Tr in kelvin, Q = E/R (ASTM C1074); 0 at and below 0 degC.

    `q_K` from 1000 to 12000 K (5000 K: C1074 guidance for Type I, from memory), `reference_degC` from 10 to 40.
    """

    q_K: float
    reference_degC: float = 20.0

    def __post_init__(self) -> None:
        require("Q of the Arrhenius law", self.q_K, 1000.0, 12000.0, "K")
        _require_reference(self.reference_degC)

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """The clamp."""
        return (0.0,)

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at -60 to 100 degC."""
        return self.rates([_require_temp(temp_degC)])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked."""
        q, zero, exponential = self.q_K, KELVIN_OF_0_DEGC, exp
        at_reference = q / (self.reference_degC + zero)
        return [exponential(at_reference - q / (temp + zero)) if temp > 0.0 else 0.0 for temp in temps_degC]


class En1992(Struct, frozen=True, cache_hash=True, tag_field="law", tag="en1992"):
    """EN 1992-1-1:2004 eq. B.10, exp(-(4000/(273 + T) - 13.65)), factor as printed: 0.9981 at 20 degC, not 1.

    For another `reference_degC` (10 to 40) the factor is scaled, so that it is 0.9981 there. 0 at and below 0 degC;
    the standard's range ends at 80 degC (from memory).
    """

    reference_degC: float = 20.0

    def __post_init__(self) -> None:
        _require_reference(self.reference_degC)

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """The clamp."""
        return (0.0,)

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at -60 to 100 degC."""
        return self.rates([_require_temp(temp_degC)])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked."""
        constant = 13.65 + 4000.0 / (273.0 + self.reference_degC) - 4000.0 / (273.0 + 20.0)
        exponential = exp
        return [exponential(constant - 4000.0 / (273.0 + temp)) if temp > 0.0 else 0.0 for temp in temps_degC]


class ColdSide(Struct, frozen=True, cache_hash=True, tag_field="law", tag="cold-side"):
    """Arrhenius with the energy of Freiesleben Hansen & Pedersen: 33.5 kJ/mol from 20 degC up, 33.5 + 1.47 (20 - T)
    below, so that the cold slows it more. 0 at and below 0 degC. `reference_degC` from 10 to 40."""

    reference_degC: float = 20.0

    def __post_init__(self) -> None:
        _require_reference(self.reference_degC)

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """The clamp, and 20 degC, where the energy begins to rise."""
        return (0.0, 20.0)

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at -60 to 100 degC."""
        return self.rates([_require_temp(temp_degC)])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked."""
        at_reference = _cold_side(self.reference_degC)
        return [_cold_side(temp) / at_reference if temp > 0.0 else 0.0 for temp in temps_degC]


MixLaw = NurseSaul | Arrhenius | En1992 | ColdSide  # what a mix may name as its own; tagged, so that it can be kept


class Capped(Struct, frozen=True, cache_hash=True):
    """A law that above the reference temperature credits no more than any of `others`, so that heat is never
    credited beyond the slowest of them; at and below it, the own law unchanged."""

    own: RateLaw
    others: tuple[RateLaw, ...]
    reference_degC: float

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """Those of the own law, the reference, and above it wherever another law becomes the slowest."""
        return _capped_kinks(self)

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at -60 to 100 degC."""
        return self.rates([_require_temp(temp_degC)])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked. The other laws are asked only for what is above the reference."""
        rates, limit = self.own.rates(temps_degC), self.reference_degC
        hot = [index for index, temp in enumerate(temps_degC) if temp > limit]
        if not hot:
            return rates
        temps = [temps_degC[index] for index in hot]
        lowest = map(min, [rates[index] for index in hot], *(other.rates(temps) for other in self.others))
        for index, rate in zip(hot, lowest, strict=True):
            rates[index] = rate
        return rates


def band_laws(own: RateLaw, reference_degC: float) -> tuple[RateLaw, ...]:
    """The laws that span the band: the own law, the own law capped, Nurse-Saul with datum 0 and -10 degC, Arrhenius
    with 33.5 and 40 kJ/mol; each once. The second is the central law.

    The cap names datum -10 only: of the four others it is the slowest above every reference temperature allowed.
    """
    slowest_when_hot = NurseSaul(-10.0, reference_degC)
    laws = (
        own,
        Capped(own, (slowest_when_hot,), reference_degC),
        NurseSaul(0.0, reference_degC),
        slowest_when_hot,
        Arrhenius(q_from_energy_K(ARRHENIUS_LOW_J_MOL), reference_degC),
        Arrhenius(q_from_energy_K(ARRHENIUS_HIGH_J_MOL), reference_degC),
    )
    return tuple(dict.fromkeys(laws))


def q_from_energy_K(energy_J_mol: float) -> float:
    """Q = E/R [K] of an apparent activation energy from 10 to 100 kJ/mol."""
    return require("activation energy", energy_J_mol, 10_000.0, 100_000.0, "J/mol") / GAS_CONSTANT_J_MOL_K


def equivalent_age_h(law: RateLaw, history: Iterable[tuple[float, float]]) -> float:
    """Equivalent age [h] after a history of (temperature [degC], hours): te = sum of rate x hours."""
    return sum(law.rate(temp) * _require_hours(hours) for temp, hours in history)


def temperature_time_factor_degC_h(history: Iterable[tuple[float, float]], datum_degC: float) -> float:
    """Nurse-Saul maturity M = sum (T - T0) dt [degC.h] of (temperature [degC], hours), T0 from -20 to 5 degC; what
    is at or below T0 adds nothing. Not clamped at 0 degC: this is the published factor, not a law of a piece."""
    datum = require("datum temperature", datum_degC, -20.0, 5.0, "degC")
    return sum(max(_require_temp(temp) - datum, 0.0) * _require_hours(hours) for temp, hours in history)


def age_factor(temp_degC: float, q_K: float, reference_degC: float) -> float:
    """exp(Q (1/Tr - 1/T)) without a clamp, for -20 to 80 degC (ASTM C1074; meant for about 0 to 40 degC)."""
    temp = require("temperature", temp_degC, -20.0, 80.0, "degC")
    q = require("Q of the Arrhenius law", q_K, 1000.0, 12000.0, "K")
    _require_reference(reference_degC)
    return exp(q / (reference_degC + KELVIN_OF_0_DEGC) - q / (temp + KELVIN_OF_0_DEGC))


def en1992_age_factor(temp_degC: float) -> float:
    """EN 1992-1-1:2004 eq. B.10 (fib Model Code 2010 eq. 5.1-85) as printed, for 0 to 80 degC, without a clamp."""
    temp = require("temperature", temp_degC, 0.0, 80.0, "degC")
    return exp(-(4000.0 / (273.0 + temp) - 13.65))  # eq. B.10


def cold_side_energy_J_mol(temp_degC: float) -> float:
    """Apparent activation energy [J/mol] of Freiesleben Hansen & Pedersen 1977, for -20 to 80 degC."""
    temp = require("temperature", temp_degC, -20.0, 80.0, "degC")
    return ARRHENIUS_LOW_J_MOL + 1470.0 * max(20.0 - temp, 0.0)


def cold_side_factor(temp_degC: float) -> float:
    """Age factor of that rule relative to 20 degC, without a clamp, for -20 to 80 degC."""
    return _cold_side(require("temperature", temp_degC, -20.0, 80.0, "degC"))


def _cold_side(temp_degC: float) -> float:
    energy = ARRHENIUS_LOW_J_MOL + 1470.0 * max(20.0 - temp_degC, 0.0)
    return exp(energy / GAS_CONSTANT_J_MOL_K * (1.0 / 293.15 - 1.0 / (temp_degC + KELVIN_OF_0_DEGC)))


def _require_temp(temp_degC: float) -> float:
    return require("temperature", temp_degC, COLDEST_DEGC, HOTTEST_DEGC, "degC")


def _require_reference(reference_degC: float) -> float:
    return require("reference temperature", reference_degC, 10.0, 40.0, "degC")


def _require_hours(hours: float) -> float:
    return require("duration", hours, 0.0, 1e6, "h")


@lru_cache(maxsize=64)
def _capped_kinks(law: Capped) -> tuple[float, ...]:
    members = (law.own, *law.others)
    kinks = {*law.own.kinks_degC, law.reference_degC}
    for other in law.others:
        kinks.update(kink for kink in other.kinks_degC if kink > law.reference_degC)
    grid = [law.reference_degC + 0.01 + step for step in range(61)]
    kinks.update(
        _change(members, low, high) for low, high in pairwise(grid) if _slowest(members, low) != _slowest(members, high)
    )
    return tuple(sorted(kinks))


def _slowest(members: tuple[RateLaw, ...], temp_degC: float) -> int:
    rates = [member.rates([temp_degC])[0] for member in members]
    return rates.index(min(rates))


def _change(members: tuple[RateLaw, ...], low: float, high: float) -> float:
    first = _slowest(members, low)
    for _ in range(40):  # bisection, to far below what any thermometer shows
        middle = (low + high) / 2.0
        if _slowest(members, middle) == first:
            low = middle
        else:
            high = middle
    return high
