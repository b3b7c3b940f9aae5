"""Times of a cold `curetrack today`, to be run by hand: python -m tests.bench.bench_today

Twenty pieces in mixed states, two weeks of hourly readings, in a home of their own; each run is a process of its own,
started as the installed command is, on a copy of the tree with compiled bytecode. Goal: `today --json` takes at most
3 times as long as the bare imports that it cannot do without. Best and median of several runs, milliseconds; only runs
on the same idle machine compare.

The processes find the compiled profiles that the run before kept; the line "profiles anew" is without them. Then the
same with readings of their own (slab, hourly) for half of the pieces, which so no longer share one course.
"""

import compileall
import math
import os
import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter

from curetrack.errors import CuretrackError
from curetrack.facts import Shape
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line

RUNS = 15
PIECES = 20
DAYS = 14
BARE = "import sqlite3, json, datetime, zoneinfo"
PROFILES = ("bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop")
ROOT = Path(__file__).resolve().parents[2]
COMMAND = "import sys\nfrom curetrack.cli.main import entry\nsys.exit(entry())\n"  # as installers write it


def main() -> None:
    """Prints the table."""
    now = datetime.now(UTC)
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        tree = _tree(work)
        script = work / "curetrack"
        script.write_text(COMMAND)
        environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONDONTWRITEBYTECODE", "PYTHONHOME")}
        environment |= {"PYTHONPATH": str(tree), "CURETRACK_HOME": str(work / "home"), "TZ": "Europe/Berlin"}
        fill(work / "home", now)
        print(f"{PIECES} pieces, {DAYS * 24} hourly readings        best   median    ratio of the best")
        bare = _times([sys.executable, "-c", BARE], environment)
        _say("bare imports", bare, bare)
        for words in (["today", "--json"], ["today"]):
            _say(" ".join(words), _times([sys.executable, str(script), *words], environment), bare)
        anew = _times([sys.executable, str(script), "today", "--json"], environment, forget=work / "home" / "cache")
        _say("today --json, profiles anew", anew, bare)
        _own_readings(work / "home", now)
        _say("today --json, half with own", _times([sys.executable, str(script), "today", "--json"], environment), bare)


def _tree(work: Path) -> Path:
    """The program as it is installed: compiled, the profiles inside."""
    tree = work / "tree"
    skipped = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "curetrack", tree / "curetrack", ignore=skipped)
    shutil.copytree(ROOT / "profiles", tree / "curetrack" / "_profiles")
    compileall.compile_dir(tree, quiet=1)
    return tree


def _times(command: list[str], environment: dict[str, str], forget: Path | None = None) -> list[float]:
    found = []
    for number in range(RUNS + 1):
        if forget is not None:
            shutil.rmtree(forget, ignore_errors=True)
        start = perf_counter()
        subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, check=True)
        if number:  # the first one warms the disk
            found.append((perf_counter() - start) * 1000.0)
    return found


def _say(name: str, times: list[float], bare: list[float]) -> None:
    print(f"{name:32}{min(times):9.1f}{median(times):9.1f}{min(times) / min(bare):9.2f}")


# --- the home --------------------------------------------------------------------------------------------------------


def fill(home: Path, now: datetime) -> None:
    """The readings, and pieces poured every twelve hours; each is as far as its plan says, every fifth is behind."""
    with Shop(home) as shop:
        for hour in range(DAYS * 24):
            at = now - timedelta(hours=DAYS * 24 - hour)
            shop.add_reading(
                temp_degC=round(17.0 + 4.0 * math.sin(hour / 4.0), 1), humidity_pct=55.0, at=at, now=at, source="cli"
            )
        for number in range(PIECES):
            name, at = f"piece {number + 1}", now - timedelta(hours=6 + 12 * number)
            shape = Shape(1.2 + 0.03 * number, 0.6, 0.04)
            shop.pour(
                name, profile=PROFILES[number % 4], shape=shape, at=at, now=at, source="cli", override="benchmark"
            )
            _work_on(shop, name, at, now, most=number if number % 5 == 4 else 80)


def _work_on(shop: Shop, name: str, poured: datetime, now: datetime, most: int) -> None:
    at = poured
    for _ in range(most):
        line = _next(shop, name, at, now)
        if line is None or line.ready_at is None:
            return
        at = max(at, line.ready_at) + timedelta(minutes=5)
        check = "pass" if line.check else None
        try:
            shop.done(name, line.step, at=at, check=check, now=now, source="cli", override="benchmark")  # type: ignore[arg-type]
        except CuretrackError:
            return


def _next(shop: Shop, name: str, since: datetime, now: datetime) -> Line | None:
    """The first step that could be done an hour ago."""
    lines = [
        line
        for line in shop.timeline(name, View(now)).lines
        if line.open_to_do and not line.optional and line.state in ("ready", "late") and line.ready_at is not None
    ]
    due = [line for line in lines if line.ready_at and max(line.ready_at, since) < now - timedelta(hours=1)]
    return min(due, key=lambda line: line.ready_at or now, default=None)


def _own_readings(home: Path, now: datetime) -> None:
    with Shop(home) as shop:
        for number in range(0, PIECES, 2):
            for hour in range(6 + 12 * number):
                at = now - timedelta(hours=6 + 12 * number - hour, minutes=-1)
                temp = round(18.0 + 3.0 * math.sin(hour / 5.0 + number), 1)
                shop.add_reading(temp_degC=temp, piece=f"piece {number + 1}", at=at, now=at, source="cli")


if __name__ == "__main__":
    main()
