"""From cases to figures: errors, shares inside the band, widths, and how sure those shares are."""

from collections.abc import Callable, Iterable, Sequence
from math import inf, isfinite, isnan, nan
from random import Random

import msgspec

from tests.bench.hindcast.run import REACH_H, Case
from tests.bench.hindcast.trial import Step

__all__ = ["Figures", "Outcome", "figures", "interval", "outcomes", "quantile", "share"]

DRAWS = 500


class Outcome(msgspec.Struct, frozen=True):
    """One step of one pour by one way: how far off, whether inside, how wide."""

    case: Case
    step: Step
    within: bool  # the forecast's three days, by what is said at the pour
    off_h: float  # nan: said or true is out of sight
    inside_weather: bool
    inside_band: bool
    weather_h: float
    band_h: float


class Figures(msgspec.Struct, frozen=True):
    """Over some outcomes."""

    count: int
    median_h: float
    p90_h: float
    weather: float  # share inside
    band: float
    weather_h: float  # mean width
    band_h: float


def outcomes(cases: Iterable[Case], way: str, steps: Sequence[Step]) -> list[Outcome]:
    """Of pours that do not freeze young."""
    found = []
    for case in cases:
        if case.frozen:
            continue
        for step in steps:
            said, true = case.said[way][step], case.truth[step]
            found.append(
                Outcome(
                    case, step, case.said["typed"][step].centre <= REACH_H,
                    abs(said.centre - true) if isfinite(said.centre) and isfinite(true) else nan,
                    _inside(true, said.weather), _inside(true, said.band), said.weather[1] - said.weather[0],
                    said.band[1] - said.band[0],
                )
            )  # fmt: skip
    return found


def _inside(true: float, band: tuple[float, float]) -> bool:
    return band[0] - 1e-6 <= true <= band[1] + 1e-6 if isfinite(true) else band[1] > 240.0


def figures(found: Sequence[Outcome]) -> Figures | None:
    """None if there is nothing to count."""
    off = [one.off_h for one in found if not isnan(one.off_h)]
    if not off:
        return None
    return Figures(
        len(off), quantile(off, 0.5), quantile(off, 0.9), share(found, lambda one: one.inside_weather),
        share(found, lambda one: one.inside_band), _mean([one.weather_h for one in found]),
        _mean([one.band_h for one in found]),
    )  # fmt: skip


def share(found: Sequence[Outcome], holds: Callable[[Outcome], bool]) -> float:
    """The share of outcomes for which it holds."""
    return sum(map(holds, found)) / len(found) if found else nan


def interval(found: Sequence[Outcome], holds: Callable[[Outcome], bool], seed: int) -> tuple[float, float]:
    """The 90 % interval of a share by a block bootstrap: whole fortnights are drawn again, since the days of one share
    their weather."""
    blocks: dict[tuple[str, int], list[bool]] = {}
    for one in found:
        blocks.setdefault((one.case.climate, one.case.block), []).append(holds(one))
    sums = [(sum(block), len(block)) for block in blocks.values()]
    if not sums:
        return nan, nan
    random, shares = Random(seed), []
    for _ in range(DRAWS):
        drawn = random.choices(sums, k=len(sums))
        shares.append(sum(inside for inside, _ in drawn) / sum(count for _, count in drawn))
    return quantile(shares, 0.05), quantile(shares, 0.95)


def quantile(values: Iterable[float], share_of: float) -> float:
    """By linear interpolation between the order statistics."""
    ranked = sorted(values)
    if not ranked:
        return nan
    at = share_of * (len(ranked) - 1)
    low = int(at)
    return ranked[low] + (at - low) * (ranked[min(low + 1, len(ranked) - 1)] - ranked[low])


def _mean(values: Iterable[float]) -> float:
    known = [value for value in values if value < inf and not isnan(value)]
    return sum(known) / len(known) if known else nan
