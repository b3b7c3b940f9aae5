"""How soon the dashboard answers a key, with 50 pieces: python -m tests.bench.bench_desk [PIECES]

The real service beside it (without channels), a real ledger on disk. Each key is pressed twenty times; what is measured
is from the key's event until the board has been given its new text, the writing of the fact included.
"""

import asyncio
import gc
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

from textual import events
from textual.pilot import Pilot
from textual.widgets import Static

from curetrack.cli.main import GARBAGE_AT
from curetrack.desk.app import Dashboard
from curetrack.facts import Forecast, Shape
from curetrack.service.bench import Bench
from curetrack.service.clock import SystemClock
from curetrack.service.run import at_rest
from curetrack.shop import Shop

KEYS = ("down", "up", "right", "z", "l", "d", "u y", "question_mark", "escape", "c", "c")


def fill(home: Path, pieces: int) -> Shop:
    """A shop with so many pieces, poured over the last week, two months of readings by the hour."""
    now = datetime.now(UTC)
    shop = Shop(home)
    shop.set_settings([("timezone", "Europe/Berlin")])
    start = now - timedelta(days=60)
    start_ms = int(start.timestamp() * 1000)
    rows = [(start_ms + h * 3_600_000, 15.0 + h % 24 / 4.0, 55.0, None) for h in range(60 * 24)]
    shop.import_readings(rows, now=now)
    shop.set_forecast(Forecast("steady", 0.0, 16.0, 55.0), now=now)
    for number in range(pieces):
        shop.pour(
            f"piece {number}", profile=("bagged-tabletop", "bagged-polished")[number % 2], shape=Shape(1.5, 0.7, 0.04),
            at=now - timedelta(hours=3.0 * number), now=now,
        )  # fmt: skip
    return shop


async def measure(home: Path, pieces: int) -> dict[str, list[float]]:
    """Milliseconds by key."""
    shop = fill(home, pieces)
    bench = Bench(home, shop, lambda press, known: [], SystemClock())
    await bench.start()
    at_rest()  # as the command does
    app = Dashboard(bench)
    found: dict[str, list[float]] = {}
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        for _ in range(20):
            for keys in KEYS:
                for key in keys.split():
                    found.setdefault(key, []).append(await one(app, pilot, key))
    await bench.stop()
    return found


async def one(app: Dashboard, pilot: Pilot[None], key: str) -> float:
    """From the key until the board has its new text."""
    board = app.query_one("#board", Static)
    painted = asyncio.Event()
    update = board.update

    def noticed(*args: object, **more: object) -> None:
        update(*args, **more)  # type: ignore[arg-type]  # as it was called
        painted.set()

    board.update = noticed  # type: ignore[method-assign]
    began = time.perf_counter()
    app.post_message(events.Key(key, key if len(key) == 1 else None))
    await asyncio.wait_for(painted.wait(), 5.0)
    took = (time.perf_counter() - began) * 1000.0
    board.update = update  # type: ignore[method-assign]
    await pilot.pause()
    return took


def main() -> None:
    """Prints the median and the slowest of each key."""
    gc.set_threshold(GARBAGE_AT, 20, 20)  # as the console script does
    pieces = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    with tempfile.TemporaryDirectory() as folder:
        found = asyncio.run(measure(Path(folder) / "home", pieces))
    for key, times in found.items():
        print(f"{key:<14} median {median(times):6.1f} ms   slowest {max(times):6.1f} ms   ({len(times)})")
    every = sorted(each for times in found.values() for each in times)
    p95 = every[int(len(every) * 0.95)]
    print(f"all            median {median(every):6.1f} ms   p95 {p95:6.1f} ms   slowest {every[-1]:.1f} ms")


if __name__ == "__main__":
    main()
