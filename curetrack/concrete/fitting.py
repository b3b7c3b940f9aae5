"""Fitting a growth law to broken specimens, with limits of confidence.

Strengths scatter in proportion (a constant coefficient of variation, as acceptance rules for cylinders take it), so
the logarithms are fitted: least squares of ln S - ln law. Three laws, each with the strength at 28 days first:

hyperbola  ln S28 + ln g(t) - ln g(28 d), g = x/(1+x), x = k (t - t0); three parameters
en1992     ln S28 + s (1 - sqrt(28/t)); two
aci209     ln S28 + ln(t/(r+t)) - ln(28/(r+28)); two: of a and b only r = a/b counts, since the law is scaled to 28 d

Limits are those of the linearised problem: s^2 (J'J)^-1 with Student's t, for S28, k and r on their logarithms, so that
they stay positive. Tests hold them against an independent solver, and their coverage against simulated breaks.
"""

from collections.abc import Sequence
from math import exp, log, sqrt

from msgspec import Struct

from curetrack.concrete.least_squares import Found, Row, inverse, least_squares
from curetrack.concrete.log_laws import LAWS, MODELS, Law
from curetrack.concrete.strength import KNOWN_FROM_H, Growth
from curetrack.concrete.student import t_quantile
from curetrack.units import BadInput, require

__all__ = ["CONFIDENCE", "LAWS", "LEAST_AGES", "Fitted", "Law", "Parameter", "Point", "fit_growth", "least_breaks"]

Point = tuple[float, float]  # equivalent age [h], strength [MPa]
CONFIDENCE = 0.90  # two-sided, as everywhere in curetrack
LEAST_AGES = 3
SAME_AGE = 1.02  # ages nearer than this factor are one age


class Parameter(Struct, frozen=True):
    """One fitted number with its limits; `held`: the data do not tell it, it rests on a bound (low = high = value)."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    held: bool = False


class Fitted(Struct, frozen=True):
    """What came out.

    scatter      relative standard deviation of a single break about the law (of logarithms)
    r2           share of the spread of the logarithms that the law explains
    freedom      breaks less fitted parameters
    off          each break over the law, less 1, in the order given
    """

    law: Law
    growth: Growth
    parameters: tuple[Parameter, ...]
    scatter: float
    r2: float
    freedom: int
    off: tuple[float, ...]
    from_h: float
    to_h: float
    covariance: tuple[tuple[float, ...], ...]  # of (ln S28, ln k, t0) less what is held, per unit of scatter squared
    held: tuple[bool, ...]
    at: tuple[float, ...]

    def limits_MPa(self, age_h: float, *, single: bool = False) -> tuple[float, float]:
        """Limits of the law at an equivalent age; `single`: of one more break there, its own scatter included."""
        around = self.scatter * sqrt(self._lever(age_h) + (1.0 if single else 0.0))
        reach = t_quantile(0.5 + CONFIDENCE / 2.0, self.freedom) * around
        centre = self.growth.strength_MPa(age_h)
        return centre * exp(-reach), centre * exp(reach)

    def spread(self, from_h: float | None = None, to_h: float | None = None) -> float:
        """Half the band of one more break, as a share of the strength, where it is widest between two ages (the first
        and the last break's, unless others are given)."""
        low_h, high_h = from_h or self.from_h, to_h or self.to_h
        worst = max(self._lever(low_h * (high_h / low_h) ** (i / 12.0)) for i in range(13))
        return exp(t_quantile(0.5 + CONFIDENCE / 2.0, self.freedom) * self.scatter * sqrt(1.0 + worst)) - 1.0

    def _lever(self, age_h: float) -> float:
        slopes = [
            each for each, held in zip(MODELS[self.law].value(self.at, age_h)[1], self.held, strict=True) if not held
        ]
        return sum(a * self.covariance[i][j] * b for i, a in enumerate(slopes) for j, b in enumerate(slopes))


def least_breaks(law: Law) -> int:
    """How many breaks a law needs: two more than it has parameters."""
    return len(MODELS[law].names) + 2


def fit_growth(points: Sequence[Point], law: Law = "hyperbola") -> Fitted:
    """The law through breaks: (equivalent age 0.5 to 50000 h, strength 0.1 to 200 MPa), at least `least_breaks` of
    them at `LEAST_AGES` ages or more, the last at least three times the first and 3 days or later.

    Raises BadInput for fewer, for ages before 24 h with a law that knows no dormant time, and where the breaks do not
    settle the law: no growth is seen, or no levelling off, or the limits of the strength at 28 days are a factor of
    two or more apart from it.
    """
    for age_h, strength_MPa in points:
        require("equivalent age", age_h, 0.5, 50_000.0, "h")
        require("strength", strength_MPa, 0.1, 200.0, "MPa")
    _check_enough(points, law)
    found, held = _best(points, law)
    free = [i for i, each in enumerate(held) if not each]
    normal = [[sum(slopes[i] * slopes[j] for _, slopes in found.rows) for j in free] for i in free]
    covariance = inverse(normal)
    if covariance is None or not found.settled:
        raise _unsettled("the breaks leave the law open")
    freedom = len(points) - len(free)
    scatter = sqrt(found.total / freedom)
    logs = [log(strength) for _, strength in points]
    mean = sum(logs) / len(logs)
    seen = sum((value - mean) ** 2 for value in logs)
    parameters = _parameters(law, found.at, _reaches(held, covariance, scatter, freedom))
    fitted = Fitted(
        law, MODELS[law].growth(found.at), parameters, scatter,
        1.0 - found.total / seen if seen > 0.0 else 0.0, freedom, tuple(exp(row[0]) - 1.0 for row in found.rows),
        min(age for age, _ in points), max(age for age, _ in points), tuple(map(tuple, covariance)), held, found.at,
    )  # fmt: skip
    _check_settled(fitted)
    return fitted


def ages_apart(ages_h: Sequence[float]) -> int:
    """How many different ages there are; ages within 2 % count as one."""
    count, last = 0, 0.0
    for age in sorted(ages_h):
        if age > last * SAME_AGE:
            count, last = count + 1, age
    return count


def _check_enough(points: Sequence[Point], law: Law) -> None:
    ages = [age for age, _ in points]
    need = least_breaks(law)
    if len(points) < need:
        raise BadInput(
            "too few breaks", found=f"{len(points)}",
            remedy=f"{law} needs {need} at {LEAST_AGES} ages or more, better 9 at 1, 3, 7 and 28 days",
        )  # fmt: skip
    if (apart := ages_apart(ages)) < LEAST_AGES:
        raise BadInput("too few ages", found=f"{apart}", remedy="break at 3 ages at least, like 1, 3 and 7 days")
    if max(ages) < max(3.0 * min(ages), 72.0):
        raise BadInput(
            "the ages lie too close together", found=f"{min(ages):.0f} to {max(ages):.0f} h",
            remedy="the last must be 3 times the first, and 3 days or later; all in hours at the reference temperature",
        )  # fmt: skip
    if law != "hyperbola" and min(ages) < KNOWN_FROM_H:
        raise BadInput(
            f"{law} says nothing before {KNOWN_FROM_H:g} h", found=f"{min(ages):.1f} h",
            remedy="take the hyperbola, or leave the early breaks out",
        )  # fmt: skip


def _check_settled(fitted: Fitted) -> None:
    pace = fitted.parameters[1]
    if pace.held:
        raise _unsettled(f"{pace.name} comes to {pace.value:.3g} {pace.unit}".rstrip() + ", where its range ends")
    if fitted.r2 < 0.5:
        raise _unsettled(f"they scatter more than they grow (R2 {fitted.r2:.2f})")
    s28 = fitted.parameters[0]
    if s28.high > 2.0 * s28.value:
        raise _unsettled(f"28 days may be anything from {s28.low:.3g} to {s28.high:.3g} MPa")
    if not 1.0 <= s28.value <= 200.0:
        raise _unsettled(f"28 days would be {s28.value:.3g} MPa")


def _unsettled(why: str) -> BadInput:
    return BadInput(f"the breaks do not settle the law: {why}", remedy="add breaks, some of them later or earlier")


def _best(points: Sequence[Point], law: Law) -> tuple[Found, tuple[bool, ...]]:
    """The deepest minimum from several starts, and which parameters a bound holds."""
    model = MODELS[law]

    def rows(at: Sequence[float]) -> list[Row]:
        found = []
        for age, strength in points:
            value, slopes = model.value(at, age)
            found.append((log(strength) - value, tuple(-slope for slope in slopes)))
        return found

    top = log(max(strength for _, strength in points))
    first_h = min(age for age, _ in points)
    low, high = model.bounds(first_h)
    starts = model.starts(top, first_h)
    found = min((least_squares(rows, start, low, high) for start in starts), key=lambda each: each.total)
    held = tuple(
        min(value - least, most - value) <= 1e-9 * (most - least)
        for value, least, most in zip(found.at, low, high, strict=True)
    )
    return found, held


def _reaches(
    held: Sequence[bool], covariance: Sequence[Sequence[float]], scatter: float, freedom: int
) -> list[float | None]:
    """How far each parameter may be off; None for what is held."""
    t = t_quantile(0.5 + CONFIDENCE / 2.0, freedom)
    free = iter(range(len(covariance)))
    reaches: list[float | None] = []
    for fixed in held:
        place = None if fixed else next(free)
        reaches.append(None if place is None else t * scatter * sqrt(covariance[place][place]))
    return reaches


def _parameters(law: Law, at: Sequence[float], reaches: Sequence[float | None]) -> tuple[Parameter, ...]:
    found = []
    for (name, unit, by_log), value, reach in zip(MODELS[law].names, at, reaches, strict=True):
        ends = [value + side * (reach or 0.0) for side in (0.0, -1.0, 1.0)]
        centre, low, high = (exp(min(end, 50.0)) if by_log else max(end, 0.0) for end in ends)
        found.append(Parameter(name, centre, low, high, unit, held=reach is None))
    return tuple(found)
