"""A service for tests that kill it: python -m tests.service.child HOME BUS START RATE -- runs until it is killed."""

import asyncio
import sys
from datetime import datetime
from pathlib import Path

from curetrack.nudge.channels.bell import Bell
from curetrack.nudge.channels.dbus import BusNotifications
from curetrack.service.bench import Bench
from curetrack.service.clock import FastClock
from curetrack.shop import Shop


async def run(home: Path, address: str, start: datetime, rate: float) -> None:
    """The real service on a fast clock."""
    with Shop(home) as shop:
        bench = Bench(
            home, shop, lambda press, known: [BusNotifications(press, known, address=address), Bell(lambda _: None)],
            FastClock(start, rate),
        )  # fmt: skip
        await bench.start()
        print("up", flush=True)
        await asyncio.Event().wait()


if __name__ == "__main__":
    asyncio.run(run(Path(sys.argv[1]), sys.argv[2], datetime.fromisoformat(sys.argv[3]), float(sys.argv[4])))
