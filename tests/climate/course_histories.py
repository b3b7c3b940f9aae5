"""Histories for the tests of the course, and an independent integral along them (scipy), knowing nothing of ours."""

from collections.abc import Sequence
from itertools import pairwise
from math import pi, sin

from scipy.integrate import quad

from curetrack.concrete.laws import RateLaw
from curetrack.concrete.maturity import Arrhenius, Capped, ColdSide, En1992, NurseSaul
from curetrack.concrete.setting import SetTable
from curetrack.facts import Reading

START_H = 490_000.0  # 2025-11-25T16:00Z, any instant would do

LAWS: tuple[RateLaw, ...] = (
    NurseSaul(0.0),
    NurseSaul(-10.0),
    Arrhenius(4029.0),
    Arrhenius(5000.0),
    ColdSide(),
    En1992(),
    Capped(Arrhenius(5000.0), (NurseSaul(-10.0),), 20.0),
    SetTable(),
)


def readings_of(nodes: Sequence[tuple[float, float]], **kinds: object) -> list[Reading]:
    """Slab readings at (hours after START_H, temperature), numbered in order."""
    return [
        Reading(START_H + at_h, temp_degC=temp, id=number, **kinds)  # type: ignore[arg-type]
        for number, (at_h, temp) in enumerate(nodes)
    ]


def wave(hours: float, step_h: float, mean: float, half_swing: float) -> list[tuple[float, float]]:
    """A daily sine, sampled."""
    count = round(hours / step_h)
    return [(k * step_h, mean + half_swing * sin(2.0 * pi * k * step_h / 24.0)) for k in range(count + 1)]


def stairs(levels: Sequence[tuple[float, float]], edge_h: float = 1.0 / 3600.0) -> list[tuple[float, float]]:
    """Levels of (hours, temperature) one after another, with edges a second wide, read at least every hour."""
    nodes: list[tuple[float, float]] = []
    at_h = 0.0
    for hours, temp in levels:
        count = max(1, round(hours))
        nodes += [(at_h + (edge_h if k == 0 and nodes else 0.0) + hours * k / count, temp) for k in range(count)]
        nodes.append((at_h + hours, temp))
        at_h += hours
    return nodes


def integral_h(law: RateLaw, nodes: Sequence[tuple[float, float]], from_h: float, to_h: float) -> float:
    """Equivalent hours along straight lines between nodes, by adaptive quadrature, piece by piece, cut where the line
    meets a kink (found here by solving the line, not by our code)."""
    total = 0.0
    for (start_h, start), (end_h, end) in pairwise(nodes):
        low, high = max(from_h, start_h), min(to_h, end_h)
        if high <= low:
            continue
        marks = {low, high}
        if end != start:
            meets = (start_h + (kink - start) / (end - start) * (end_h - start_h) for kink in law.kinks_degC)
            marks.update(at_h for at_h in meets if low < at_h < high)
        edges = sorted(marks)

        def rate(at_h: float, a: float = start_h, b: float = end_h, v: float = start, w: float = end) -> float:
            return law.rates([v + (w - v) * (at_h - a) / (b - a)])[0]

        total += sum(quad(rate, a, b, epsabs=1e-12, epsrel=1e-10)[0] for a, b in pairwise(edges))
    return total
