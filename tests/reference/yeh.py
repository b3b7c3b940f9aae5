"""Measured strengths: I-C. Yeh 1998, concrete compressive strength, UCI repository (CC BY 4.0), in tests/data/."""

import csv
from collections import defaultdict
from functools import cache
from pathlib import Path

__all__ = ["MIX_AGES", "plain_mixes", "ratios_to_28_days"]

FILE = Path(__file__).parents[1] / "data" / "concrete_strength_by_age.csv"
MIX = ("cement", "water", "superplasticizer", "coarse_aggregate", "fine_aggregate")


@cache
def plain_mixes() -> tuple[dict[float, float], ...]:
    """age [days] -> strength [MPa] of each mix with Portland cement only; several bars of one age by their mean."""
    bars: dict[tuple[str, ...], dict[float, list[float]]] = defaultdict(lambda: defaultdict(list))
    with FILE.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if float(row["blast_furnace_slag"]) == 0.0 and float(row["fly_ash"]) == 0.0:
                bars[tuple(row[part] for part in MIX)][float(row["age"])].append(float(row["compressive_strength"]))
    return tuple({age: sum(found) / len(found) for age, found in ages.items()} for ages in bars.values())


MIX_AGES = tuple(tuple(sorted((age * 24.0, strength) for age, strength in mix.items())) for mix in plain_mixes())


@cache
def ratios_to_28_days() -> dict[float, list[float]]:
    """age [days] -> strength over that at 28 days, of each plain mix that has both ages."""
    ratios: dict[float, list[float]] = defaultdict(list)
    for mean in plain_mixes():
        for age, strength in mean.items():
            if 28.0 in mean:
                ratios[age].append(strength / mean[28.0])
    return dict(ratios)
