"""How late nudges are with 10,000 of them pending: python -m tests.bench.bench_nudges [PENDING] [SECONDS]

The real service with its scheduler, log and ledger on disk, and a channel that takes everything at once. Its outlook is
invented: so many moments of 200 pieces, one each twentieth of a second for as long as it runs, the rest over the days
after. Lateness is from a moment to the record that it went out.
"""

import asyncio
import gc
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curetrack.cli.main import GARBAGE_AT
from curetrack.nudge.types import How, Moment
from curetrack.service.bench import Bench
from curetrack.service.clock import SystemClock
from curetrack.shop import Shop
from curetrack.timeline.types import Timeline
from tests.nudge.lines import line
from tests.service.fake import Carrier

PIECES, EACH_s = 200, 0.05


class Invented:
    """An outlook (service/outlook.py) of moments that are known beforehand."""

    def __init__(self, moments: list[Moment]) -> None:
        self.moments, self.closed = moments, dict[str, How]()
        self.timelines: list[Timeline] = []
        self.trouble = ""

    async def renew(self) -> None:
        """Nothing changes."""

    async def renew_some(self, names: object) -> None:
        """Nothing changes."""


def moments(count: int, seconds: float) -> list[Moment]:
    """One each twentieth of a second from now on, the others over the days after."""
    now = datetime.now(UTC) + timedelta(seconds=2)
    found = []
    for number in range(count):
        soon = number * EACH_s < seconds
        at = now + timedelta(seconds=number * EACH_s) if soon else now + timedelta(seconds=seconds + 60 + number * 30)
        piece, step = f"piece {number % PIECES}", f"step-{number}"
        one = line(step, piece=piece, kind="wet", ready_at=at, opened_at=at, plan_at=at, floor_at=at)
        group = f"{piece}/{step}"
        found.append(Moment(f"{group}/ready", group, "ready", "ready", "step", at, piece, step, line=one))
    return found


async def measure(home: Path, count: int, seconds: float) -> tuple[list[float], float]:
    """Lateness in seconds of all that went out, and the share of a core that the service took."""
    with Shop(home) as shop:
        shop.set_settings([("timezone", "UTC")])
        carrier = Carrier()
        bench = Bench(home, shop, lambda press, known: [carrier], SystemClock())
        bench._outlook = Invented(moments(count, seconds))  # type: ignore[assignment]  # the same few names
        await bench.start()
        began, cpu = time.monotonic(), time.process_time()
        await asyncio.sleep(seconds + 5.0)
        share = (time.process_time() - cpu) / (time.monotonic() - began)
        await bench.stop()
        sent = [fact for fact in shop.nudges() if fact.phase == "sent"]
    return [(fact.recorded_at - fact.at).total_seconds() for fact in sent], share


def main() -> None:
    """Prints how late they were."""
    gc.set_threshold(GARBAGE_AT, 20, 20)  # as the console script does
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 30.0
    with tempfile.TemporaryDirectory() as folder:
        late, share = asyncio.run(measure(Path(folder) / "home", count, seconds))
    late.sort()
    expected = int(seconds / EACH_s)
    shown = ", ".join(f"p{part} {late[min(len(late) - 1, len(late) * part // 100)]:.3f} s" for part in (50, 95, 99))
    print(f"{count} pending; {len(late)} of {expected} fell due and went out; {share:.0%} of a core")
    print(f"lateness: {shown}, worst {late[-1]:.3f} s")


if __name__ == "__main__":
    main()
