"""Growth of compressive strength with equivalent age, and its inverse.

Four laws, tagged by their `law` so that a profile's snapshot keeps them apart. Ages are equivalent hours at the
reference temperature, strengths are MPa (mean of cylinders). Sources: Carino 1984 and ASTM C1074 (hyperbola, from
memory); EN 1992-1-1:2004, 3.1.2 (eq. 3.1, 3.2); ACI 209R-92, eq. 2-1.
"""

from bisect import bisect_left, bisect_right
from itertools import pairwise
from math import exp, log, sqrt

from msgspec import Struct

from curetrack.units import BadInput, require

__all__ = [
    "ACI209_A_B", "DAYS_28_H", "EN1992_S", "KNOWN_FROM_H", "Aci209Growth", "En1992Growth", "Growth", "Hyperbola",
    "Table", "aci209_ratio", "en1992_beta_cc",
]  # fmt: skip

DAYS_28_H = 672.0
KNOWN_FROM_H = 24.0  # EN 1992-1-1 and ACI 209 know no dormant time: nothing is credited by them before

EN1992_S = {"R": 0.20, "N": 0.25, "S": 0.38}  # cement classes 42.5R and up, 42.5N and 32.5R, 32.5N (3.1.2)
# ACI 209R-92: cement type and curing -> a [days], b
ACI209_A_B = {
    ("I", "moist"): (4.0, 0.85), ("III", "moist"): (2.3, 0.92), ("I", "steam"): (1.0, 0.95),
    ("III", "steam"): (0.7, 0.98),
}  # fmt: skip


class Hyperbola(Struct, frozen=True, tag_field="law", tag="hyperbola"):
    """S = Su k (t - t0) / (1 + k (t - t0)), 0 before t0, with Su such that S(28 d) = `strength_28d_MPa`.

    `strength_28d_MPa` 1 to 200, `rate_per_day` k 0.01 to 10, `start_h` t0 0 to 100 (the dormant time).
    """

    strength_28d_MPa: float
    rate_per_day: float
    start_h: float

    def __post_init__(self) -> None:
        _require_28d(self.strength_28d_MPa)
        require("rate of growth", self.rate_per_day, 0.01, 10.0, "/day")
        require("start of growth", self.start_h, 0.0, 100.0, "h")

    @property
    def ultimate_MPa(self) -> float:
        """Su, approached but never reached."""
        grown = self.rate_per_day * (DAYS_28_H - self.start_h) / 24.0
        return self.strength_28d_MPa * (1.0 + grown) / grown

    def strength_MPa(self, age_h: float) -> float:
        """Strength [MPa] at an equivalent age [h], 0 to 1e6."""
        grown = self.rate_per_day * max(_require_age(age_h) - self.start_h, 0.0) / 24.0
        return self.ultimate_MPa * grown / (1.0 + grown)

    def age_h(self, strength_MPa: float) -> float | None:
        """Equivalent age [h] at which a strength [MPa] is reached; None: never."""
        strength, ultimate = _require_need(strength_MPa), self.ultimate_MPa
        if strength <= 0.0:
            return 0.0
        if strength >= ultimate:
            return None
        return self.start_h + 24.0 * strength / (ultimate - strength) / self.rate_per_day


class Table(Struct, frozen=True, tag_field="law", tag="table"):
    """Measured or published points (age_h, strength_MPa), straight between; nothing before the first, and no more
    than the last. Ages must rise and strengths must not fall, else BadInput."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if not self.points:
            raise BadInput("a growth table without points", remedy="give at least one age and strength")
        for age, strength in self.points:
            _require_age(age)
            require("strength", strength, 0.0, 200.0, "MPa")
        for (age, strength), (age_2, strength_2) in pairwise(self.points):
            if age_2 <= age:
                raise BadInput("ages of a growth table must rise", found=f"{age:g} h, then {age_2:g} h")
            if strength_2 < strength:
                raise BadInput(
                    "strengths of a growth table must not fall", found=f"{strength:g} MPa, then {strength_2:g} MPa"
                )

    @property
    def strength_28d_MPa(self) -> float:
        """What the table says at 28 days."""
        return self.strength_MPa(DAYS_28_H)

    def strength_MPa(self, age_h: float) -> float:
        """Strength [MPa] at an equivalent age [h], 0 to 1e6."""
        age = _require_age(age_h)
        after = bisect_right(self.points, age, key=lambda point: point[0])
        if after == 0:
            return 0.0
        if after == len(self.points):
            return self.points[-1][1]
        (age_0, strength_0), (age_1, strength_1) = self.points[after - 1], self.points[after]
        return strength_0 + (strength_1 - strength_0) * (age - age_0) / (age_1 - age_0)

    def age_h(self, strength_MPa: float) -> float | None:
        """Equivalent age [h] at which a strength [MPa] is first reached; None: not within the table."""
        strength = _require_need(strength_MPa)
        if strength <= 0.0:
            return 0.0
        at = bisect_left(self.points, strength, key=lambda point: point[1])
        if at == len(self.points):
            return None
        if at == 0:
            return self.points[0][0]
        (age_0, strength_0), (age_1, strength_1) = self.points[at - 1], self.points[at]
        return age_0 + (age_1 - age_0) * (strength - strength_0) / (strength_1 - strength_0)


class En1992Growth(Struct, frozen=True, tag_field="law", tag="en1992"):
    """fcm(t) = beta_cc(t) fcm, EN 1992-1-1 eq. 3.1; 0 before 24 h equivalent.

    `strength_28d_MPa` fcm 1 to 200; `s` 0.1 to 0.6 (0.20 class R, 0.25 class N, 0.38 class S).
    """

    strength_28d_MPa: float
    s: float

    def __post_init__(self) -> None:
        _require_28d(self.strength_28d_MPa)
        _require_s(self.s)

    def strength_MPa(self, age_h: float) -> float:
        """Strength [MPa] at an equivalent age [h], 0 to 1e6."""
        age = _require_age(age_h)
        return self.strength_28d_MPa * en1992_beta_cc(age / 24.0, self.s) if age >= KNOWN_FROM_H else 0.0

    def age_h(self, strength_MPa: float) -> float | None:
        """Equivalent age [h] at which a strength [MPa] is reached, 24 h at the earliest; None: never."""
        strength = _require_need(strength_MPa)
        if strength <= 0.0:
            return 0.0
        root = 1.0 - log(strength / self.strength_28d_MPa) / self.s  # sqrt(28/t), from eq. 3.2
        return max(DAYS_28_H / root**2, KNOWN_FROM_H) if root > 1e-3 else None


class Aci209Growth(Struct, frozen=True, tag_field="law", tag="aci209"):
    """t / (a + b t) of ACI 209R-92 eq. 2-1, divided by its value at 28 d so that S(28 d) = `strength_28d_MPa` (as
    printed it gives 0.995 to 1.014 there); 0 before 24 h equivalent.

    `strength_28d_MPa` 1 to 200, `a_day` 0.1 to 20, `b` 0.5 to 1.2 (Type I moist 4.0, 0.85; Type III 2.3, 0.92).
    """

    strength_28d_MPa: float
    a_day: float
    b: float

    def __post_init__(self) -> None:
        _require_28d(self.strength_28d_MPa)
        _require_a_b(self.a_day, self.b)

    def strength_MPa(self, age_h: float) -> float:
        """Strength [MPa] at an equivalent age [h], 0 to 1e6."""
        age = _require_age(age_h)
        return self._printed_28d_MPa * aci209_ratio(age / 24.0, self.a_day, self.b) if age >= KNOWN_FROM_H else 0.0

    def age_h(self, strength_MPa: float) -> float | None:
        """Equivalent age [h] at which a strength [MPa] is reached, 24 h at the earliest; None: never."""
        strength = _require_need(strength_MPa)
        if strength <= 0.0:
            return 0.0
        ratio = strength / self._printed_28d_MPa
        left = 1.0 - self.b * ratio
        return max(24.0 * self.a_day * ratio / left, KNOWN_FROM_H) if left > 1e-9 else None

    @property
    def _printed_28d_MPa(self) -> float:
        return self.strength_28d_MPa / aci209_ratio(28.0, self.a_day, self.b)


Growth = Hyperbola | Table | En1992Growth | Aci209Growth


def en1992_beta_cc(age_d: float, s: float) -> float:
    """beta_cc(t) = exp(s (1 - sqrt(28/t))), EN 1992-1-1:2004 eq. 3.2, without the 24 h floor.

    `age_d` 0.5 to 50000 days at 20 degC, `s` 0.1 to 0.6. The standard gives fck(t) from 3 days on.
    """
    age = require("age", age_d, 0.5, 50_000.0, "d")
    return exp(_require_s(s) * (1.0 - sqrt(28.0 / age)))  # eq. 3.2


def aci209_ratio(age_d: float, a_day: float, b: float) -> float:
    """f(t)/f28 = t / (a + b t) as printed, ACI 209R-92 eq. 2-1, `age_d` 0 to 50000 days; not exactly 1 at 28 d."""
    age = require("age", age_d, 0.0, 50_000.0, "d")
    _require_a_b(a_day, b)
    return age / (a_day + b * age)  # eq. 2-1


def _require_28d(strength_MPa: float) -> float:
    return require("28-day strength", strength_MPa, 1.0, 200.0, "MPa")


def _require_s(s: float) -> float:
    return require("s of EN 1992-1-1", s, 0.1, 0.6, "")


def _require_a_b(a_day: float, b: float) -> None:
    require("a of ACI 209", a_day, 0.1, 20.0, "d")
    require("b of ACI 209", b, 0.5, 1.2, "")


def _require_age(age_h: float) -> float:
    return require("equivalent age", age_h, 0.0, 1e6, "h")


def _require_need(strength_MPa: float) -> float:
    # far above any concrete on purpose: a long thin slab may need what no mix reaches, and the answer is None
    return require("strength", strength_MPa, 0.0, 1e9, "MPa")
