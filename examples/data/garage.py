"""Makes the air of an unheated garage out of hourly weather: python3 garage.py cold-outside.csv > cold-garage.csv

The weather is measured, the garage is a model, and a simple one. Its air follows the air outside with a first-order
lag, dT/dt = (T_outside - T) / 12 h: a thin-walled building with its door closed, no sun, no heater, no people. Between
two hours the outside air is taken as a straight line, for which the lag has an exact solution. The garage starts at the
mean of the first day, and its first two days are left out, so that where it started no longer matters (e^-4 = 2 %).

The moisture of the air is taken to be the same inside as outside; the relative humidity is worked out anew at the
garage's temperature, at most 100 %. Wind is left out: behind a closed door the air is still.
"""

import csv
import math
import sys
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

LAG = timedelta(hours=12)  # assumed
LEFT_OUT = timedelta(hours=48)

Hour = tuple[datetime, float, float]  # instant, degC, relative humidity in %


def saturation_Pa(temp_degC: float) -> float:
    """Vapour pressure of saturated air over water, by Magnus' formula with the constants of Alduchov and Eskridge."""
    return 610.94 * math.exp(17.625 * temp_degC / (temp_degC + 243.04))


def garage(outside: list[Hour]) -> list[Hour]:
    """The garage's hours: lagged temperature, and the outside air's moisture at that temperature."""
    first_day = [temp for at, temp, _ in outside if at < outside[0][0] + timedelta(hours=24)]
    temp = sum(first_day) / len(first_day)
    inside = [(outside[0][0], temp)]
    for (earlier, before, _), (at, after, _) in pairwise(outside):
        elapsed = (at - earlier) / LAG
        behind = (after - before) / elapsed  # how far a steady rise leaves the garage behind
        temp = after - behind + (temp - before + behind) * math.exp(-elapsed)
        inside.append((at, temp))
    return [
        (at, temp, min(100.0, humidity * saturation_Pa(out) / saturation_Pa(temp)))
        for (at, temp), (_, out, humidity) in zip(inside, outside, strict=True)
        if at >= outside[0][0] + LEFT_OUT
    ]


def read(path: Path) -> list[Hour]:
    """Rows of time,temp_degC,humidity_pct,wind_m_s."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        return [
            (datetime.fromisoformat(row["time"]), float(row["temp_degC"]), float(row["humidity_pct"])) for row in rows
        ]


def text(hours: list[Hour]) -> str:
    """The same as a logger's file, to a tenth of a degree and a whole percent."""
    lines = [f"{at.isoformat(timespec='minutes')},{temp:.1f},{humidity:.0f}\n" for at, temp, humidity in hours]
    return "".join(["time,temp_degC,humidity_pct\n", *lines])


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python3 garage.py OUTSIDE.csv > GARAGE.csv")
    sys.stdout.write(text(garage(read(Path(sys.argv[1])))))
