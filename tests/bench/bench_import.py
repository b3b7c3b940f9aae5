"""Times of importing a logger's file, to be run by hand: python -m tests.bench.bench_import

A million rows (ISO time, temperature) through the command line, in a process of its own, against csv.reader and
executemany into a bare table. Goal: at most three times as long. Then the same file again (nothing changes), a file of
epoch seconds, and reading 30 days of minutes back. CPU seconds, the best of several.
"""

import csv
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import process_time

from curetrack.ledger import Ledger

ROWS, RUNS = 1_000_000, 3
START = datetime(2024, 1, 1, tzinfo=UTC)


def main() -> None:
    """Prints the table."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        iso, epoch = _files(home)
        bare = min(_bare(iso, home / f"bare{n}.sqlite") for n in range(RUNS))
        print(f"csv.reader and executemany, bare table   {bare:6.2f} s")
        for name, file in (("ISO times", iso), ("epoch seconds", epoch)):
            ours = min(_import(file, home / f"{file.stem}{n}") for n in range(RUNS))
            print(f"curetrack temp --from, {name:<18}{ours:6.2f} s   {ours / bare:4.1f} times")
        again = _import(iso, home / "iso0")
        print(f"the same file again                      {again:6.2f} s   {again / bare:4.1f} times")
        with Ledger(home / "iso0" / "ledger.sqlite") as ledger:
            from_ms = int((START + timedelta(minutes=ROWS - 43_200)).timestamp() * 1000)
            print(f"43,200 readings loaded                   {_best(lambda: ledger.readings_since(from_ms)):6.3f} s")


def _files(home: Path) -> tuple[Path, Path]:
    iso, epoch = home / "iso.csv", home / "epoch.csv"
    times = [START + timedelta(minutes=n) for n in range(ROWS)]
    temps = [f"{8 + n % 977 / 100:.2f}" for n in range(ROWS)]
    with iso.open("w") as file:
        file.write("time,temp_degC\n")
        file.writelines(f"{at:%Y-%m-%dT%H:%M:%SZ},{temp}\n" for at, temp in zip(times, temps, strict=True))
    with epoch.open("w") as file:
        file.write("timestamp,temp_degC\n")
        file.writelines(f"{at.timestamp():.0f},{temp}\n" for at, temp in zip(times, temps, strict=True))
    return iso, epoch


def _bare(file: Path, store: Path) -> float:
    start = process_time()
    connection = sqlite3.connect(store)
    connection.execute("CREATE TABLE reading (at, temp)")
    with file.open(newline="") as rows:
        connection.executemany("INSERT INTO reading VALUES (?, ?)", csv.reader(rows))
    connection.commit()
    connection.close()
    return process_time() - start


def _import(file: Path, home: Path) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "curetrack", "temp", "--from", str(file)]
    subprocess.run(command, env={**os.environ, "CURETRACK_HOME": str(home)}, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _best(what: Callable[[], object]) -> float:
    found = []
    for _ in range(5):
        start = process_time()
        what()
        found.append(process_time() - start)
    return min(found)


if __name__ == "__main__":
    main()
