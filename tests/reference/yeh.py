"""Measured strengths: I-C. Yeh 1998, concrete compressive strength, UCI repository (CC BY 4.0), in tests/data/."""

import csv
from collections import defaultdict
from functools import cache
from pathlib import Path

__all__ = ["ratios_to_28_days"]

FILE = Path(__file__).parents[1] / "data" / "concrete_strength_by_age.csv"
MIX = ("cement", "water", "superplasticizer", "coarse_aggregate", "fine_aggregate")


@cache
def ratios_to_28_days() -> dict[float, list[float]]:
    """age [days] -> strength over that at 28 days, of each mix with Portland cement only that has both ages; several
    bars of one mix and age count by their mean."""
    bars: dict[tuple[str, ...], dict[float, list[float]]] = defaultdict(lambda: defaultdict(list))
    with FILE.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if float(row["blast_furnace_slag"]) == 0.0 and float(row["fly_ash"]) == 0.0:
                bars[tuple(row[part] for part in MIX)][float(row["age"])].append(float(row["compressive_strength"]))
    ratios: dict[float, list[float]] = defaultdict(list)
    for ages in bars.values():
        mean = {age: sum(values) / len(values) for age, values in ages.items()}
        for age, strength in mean.items():
            if 28.0 in mean:
                ratios[age].append(strength / mean[28.0])
    return dict(ratios)
