"""Real outside temperatures, hour by hour: two series of tests/data/weather, and two that packages bring along.

Holes are never filled silently. An hour that was not recorded is bridged by a straight line where the hole is at most
3 h, and counted; across a longer hole nothing is known, and pours near it are left out, and counted.
"""

import csv
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from importlib.metadata import PackageNotFoundError, distribution
from itertools import pairwise
from math import isnan, nan
from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec

__all__ = ["Climate", "climates"]

WEATHER = Path(__file__).parents[2] / "data" / "weather"
BRIDGED_H = 3


class Climate(msgspec.Struct, frozen=True):
    """One year of outside air: `temps_degC[k]` at `start_h + k` (POSIX hours); nan where nothing is known."""

    name: str
    what: str
    zone: tzinfo
    start_h: int
    temps_degC: tuple[float, ...]
    missing: int  # hours that were not recorded
    bridged: int  # of those, so many in holes that were bridged


def climates() -> tuple[list[Climate], list[str]]:
    """Those that are there, and a sentence about each that is not."""
    found = [
        _of_file("new_york_2013", "New York 2013", "measured", ZoneInfo("America/New_York")),
        _of_file("greensboro_typical_year", "Greensboro", "typical year of real months", timezone(-timedelta(hours=5))),
    ]
    absent = []
    for make, package in ((_of_demandlib, "demandlib"), (_of_accim, "accim-samples")):
        try:
            found.append(make())
        except (PackageNotFoundError, FileNotFoundError):
            absent.append(f"{package} is not installed: its climate is left out (pip install --no-deps {package})")
    return found, absent


def _of_file(stem: str, name: str, what: str, zone: tzinfo) -> Climate:
    temps: list[float] = []
    with (WEATHER / f"{stem}.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))[1:]
    for row in rows:
        temps += [float(cell) if cell else nan for cell in row[1:]]
    first = datetime.fromisoformat(rows[0][0]).replace(tzinfo=UTC)
    return _climate(name, what, zone, round(first.timestamp() / 3600.0), temps)


def _of_demandlib() -> Climate:
    """A German test reference year of region 4, a typical year of real stretches, in Central European standard time."""
    path = _packaged("demandlib", "TRY2010_04_Jahr.dat")
    lines = [line.split() for line in path.read_text(encoding="latin-1").splitlines()]
    start = next(index for index, cells in enumerate(lines) if cells and cells[0] == "***")
    temps = [float(cells[8]) for cells in lines[start + 1 :] if cells]
    return _climate("Germany 4", "test reference year", timezone(timedelta(hours=1)), _january(1), temps)


def _of_accim() -> Climate:
    """Aberdeen, an international weather year for energy calculations: a typical year of real months."""
    path = _packaged("accim-samples", "GBR_Aberdeen.Dyce.030910_IWEC.epw")
    rows = path.read_text(encoding="latin-1").splitlines()[8:]
    temps = [float(row.split(",")[6]) for row in rows]
    return _climate("Aberdeen", "typical year of real months", UTC, _january(0), temps)


def _packaged(package: str, name: str) -> Path:
    """A data file of an installed package. Raises PackageNotFoundError or FileNotFoundError."""
    for file in distribution(package).files or ():
        if file.name == name:
            return Path(str(file.locate()))
    raise FileNotFoundError(name)


def _january(offset_h: int) -> int:
    """The first hour of such a year, which ends at 01:00 of its zone; the year's number, 2010, is arbitrary."""
    return round(datetime(2010, 1, 1, 1, tzinfo=timezone(timedelta(hours=offset_h))).timestamp() / 3600.0)


def _climate(name: str, what: str, zone: tzinfo, start_h: int, temps: list[float]) -> Climate:
    while temps and isnan(temps[0]):
        temps, start_h = temps[1:], start_h + 1
    while temps and isnan(temps[-1]):
        temps.pop()
    missing = sum(map(isnan, temps))
    known = [index for index, temp in enumerate(temps) if not isnan(temp)]
    bridged = 0
    for before, after in pairwise(known):
        if 1 < after - before <= BRIDGED_H + 1:
            for index in range(before + 1, after):
                share = (index - before) / (after - before)
                temps[index] = temps[before] + share * (temps[after] - temps[before])
                bridged += 1
    return Climate(name, what, zone, start_h, tuple(temps), missing, bridged)
