"""How late nudges come while 10,000 are pending: python -m tests.bench.bench_nudges [PENDING] [SECONDS]

The real service on a real ledger and the machine's clock, with a channel that notes when it was called. The moments are
invented: that many groups spread over ten days, of which some hundred fall into the next minute, at any instant, and
one burst of them at the same one. Each wake-up works out a real piece anew, as the service does. Goal: 99 of 100 at
most 1 s late, which is also told for the burst (it goes out as one digest).
"""

import asyncio
import random
import sys
import tempfile
import time
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace

from curetrack.facts import Forecast, Shape
from curetrack.nudge.channels.base import Message, Sent
from curetrack.nudge.moments import moments_of
from curetrack.nudge.types import How
from curetrack.service.bench import Bench
from curetrack.service.clock import SystemClock
from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline

SINGLE, BURST = 300, 50
MOST_LATE_s = 1.0


class Ahead:
    """An outlook with that many moments, in the place of the real one."""

    trouble = ""

    def __init__(self, shop: Shop, pending: int, seconds: float) -> None:
        self._shop = shop
        dice, now = random.Random(1), datetime.now(UTC) + timedelta(seconds=2)
        model = moments_of(shop.timeline("bench", View(now)), UTC)[0]
        soon = [now + timedelta(seconds=dice.uniform(0.0, seconds)) for _ in range(SINGLE)]
        burst = [now + timedelta(seconds=seconds / 2.0)] * BURST
        later = [now + timedelta(days=dice.uniform(0.1, 10.0)) for _ in range(pending - SINGLE - BURST)]
        self.moments = [
            replace(model, key=f"piece{n}/step/ready", group=f"piece{n}/step", at=at, piece=f"piece{n}")
            for n, at in enumerate((*soon, *burst, *later))
        ]
        self.at = {moment.key: moment.at for moment in self.moments}
        self.timelines = [shop.timeline("bench", View(now))]
        self.closed: dict[str, How] = {}

    async def renew(self) -> None:
        """One piece is enough."""
        self.renew_one("bench")

    def renew_one(self, _name: str) -> Timeline:
        """The work that a wake-up causes."""
        return self._shop.timeline("bench", View(datetime.now(UTC)))

    async def renew_some(self, names: Iterable[str]) -> None:
        """As the real one."""
        for name in names:
            await asyncio.sleep(0)
            self.renew_one(name)


class Noting:
    """A channel that notes when what came."""

    name, reaches = "desktop", "the benchmark"

    def __init__(self, ahead: Ahead) -> None:
        self.ahead, self.late_s = ahead, dict[str, float]()

    async def open(self) -> None:
        """Ready."""

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Notes it."""
        now = datetime.now(UTC)
        nudges = message.data["nudges"]
        assert isinstance(nudges, list)
        for nudge in nudges:
            self.late_s[nudge["key"]] = (now - self.ahead.at[nudge["key"]]).total_seconds()
        return Sent(message.key)

    async def withdraw(self, mark: str) -> None:
        """Nothing is shown."""

    async def close(self) -> None:
        """Nothing is held."""


async def measure(home: Path, pending: int, seconds: float) -> int:
    """Prints how late they came; 0 if the goal is reached."""
    shop = Shop(home)
    now = datetime.now(UTC)
    shop.set_settings([("timezone", "UTC")])
    shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=now)
    shop.pour("bench", profile="bagged-tabletop", shape=Shape(1.5, 0.8, 0.04), at=now, now=now)
    ahead = Ahead(shop, pending, seconds)
    noting = Noting(ahead)
    bench = Bench(home, shop, lambda press, known: [noting], SystemClock())
    bench._outlook = ahead  # type: ignore[assignment]
    began, used = time.perf_counter(), time.process_time()
    await bench.start()
    print(f"start with {pending} pending: {time.perf_counter() - began:.2f} s")
    await asyncio.sleep(seconds + 5.0)
    share = (time.process_time() - used) / (time.perf_counter() - began)
    await bench.stop()
    shop.close()
    late = sorted(noting.late_s.values())
    p99 = late[int(len(late) * 0.99)]
    print(
        f"{len(late)} of {SINGLE + BURST} came, late by: median {late[len(late) // 2] * 1000.0:.0f} ms, "
        f"p99 {p99 * 1000.0:.0f} ms, at most {late[-1] * 1000.0:.0f} ms; {share:.0%} of a core meanwhile"
    )
    return 0 if len(late) == SINGLE + BURST and p99 <= MOST_LATE_s and late[0] >= 0.0 else 1


def main() -> int:
    """See above."""
    pending = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    with tempfile.TemporaryDirectory() as folder:
        return asyncio.run(measure(Path(folder) / "home", pending, seconds))


if __name__ == "__main__":
    sys.exit(main())
