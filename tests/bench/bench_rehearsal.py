"""A whole piece in fast motion with the real service: python -m tests.bench.bench_rehearsal [SECONDS_PER_DAY] [PROFILE]

The real service on a real ledger, its notifications on a real session bus; a robot in the maker's place reads each one
a while after it came and presses its first button; a logger writes the shop's temperature each hour from a process's
own connection. Reports what was told, how late, how often, and what the piece came to. With PICTURES=FOLDER it leaves
screens of the dashboard there, as SVG.
"""

import asyncio
import os
import sys
import tempfile
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curetrack.desk.app import Dashboard
from curetrack.facts import Forecast, Shape
from curetrack.nudge.channels.base import Message
from curetrack.nudge.channels.bell import Bell
from curetrack.nudge.channels.dbus import BusNotifications
from curetrack.rehearsal import DAY_degC, HUMIDITY_pct
from curetrack.service.bench import Bench
from curetrack.service.clock import FastClock
from curetrack.shop import Shop, View
from tests.bus import FakeDaemon, own_bus, serve

START = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)
READS_AFTER = timedelta(minutes=20)
GIVES_UP = timedelta(days=float(os.environ.get("GIVES_UP", "60")))
FIRST = ("yes", "done", "passed", "seen", "later")  # what the robot presses, if it is offered


class Robot:
    """Presses a button of whatever is shown, twenty minutes after it came."""

    def __init__(self, daemon: FakeDaemon, clock: FastClock) -> None:
        self.daemon, self.clock = daemon, clock
        self.pressed: Counter[str] = Counter()
        self.seen = 0

    async def work(self) -> None:
        """For ever."""
        while True:
            await self.daemon.arrived.wait()
            self.daemon.arrived.clear()
            for shown in self.daemon.all[self.seen :]:
                asyncio.ensure_future(self._answer(shown.number, shown))  # noqa: RUF006 -- ends with the loop
            self.seen = len(self.daemon.all)

    async def _answer(self, number: int, shown: object) -> None:
        await asyncio.sleep(READS_AFTER.total_seconds() / self.clock.rate)
        now = self.daemon.open.get(number)
        if now is not shown or now is None:
            return
        button = next((each for each in FIRST if each in now.buttons), None)
        if button is not None:
            self.pressed[button] += 1
            self.daemon.press(number, button)


async def log_temperatures(home: Path, clock: FastClock) -> None:
    """One reading an hour: 20 degC, but 6 degC in the first night."""
    with Shop(home) as shop:
        while True:
            now = clock.now()
            hours = (now - START) / timedelta(hours=1)
            temp = 6.0 if 12.0 <= hours <= 20.0 else DAY_degC
            shop.add_reading(temp_degC=temp, humidity_pct=HUMIDITY_pct, at=now, now=now, source="logger")
            await asyncio.sleep(3600.0 / clock.rate)


async def rehearse(home: Path, address: str, seconds_per_day: float, profile: str) -> int:
    """0 if the piece came to its end and everything was told once."""
    bus, daemon = await serve(address)
    clock = FastClock(START, 86400.0 / seconds_per_day)
    shop = Shop(home)
    shop.set_settings([("timezone", "Europe/Berlin")])
    shop.set_forecast(Forecast("steady", 0.0, DAY_degC, HUMIDITY_pct), now=START)
    shop.add_reading(temp_degC=DAY_degC, humidity_pct=HUMIDITY_pct, at=START, now=START)
    shop.pour("bench", profile=profile, shape=Shape(1.5, 0.8, 0.04), at=START, now=START)
    rung: list[Message] = []
    bench = Bench(
        home, shop, lambda press, known: [BusNotifications(press, known, address=address), Bell(rung.append)], clock
    )
    robot = Robot(daemon, clock)
    await bench.start()
    others = [asyncio.ensure_future(robot.work()), asyncio.ensure_future(log_temperatures(home, clock))]
    pictures = os.environ.get("PICTURES")
    dashboard = asyncio.ensure_future(watch(bench, Path(pictures))) if pictures else None
    while clock.now() < START + GIVES_UP and (bench.timelines or clock.now() < START + timedelta(hours=6)):
        await asyncio.sleep(0.2)
    if dashboard is not None:
        dashboard.cancel()
    ended = clock.now()
    for other in others:
        other.cancel()
    await bench.stop()
    bus.disconnect()
    return report(shop, daemon, robot, ended)


async def watch(bench: Bench, folder: Path) -> None:
    """Screens of the dashboard now and then, in two sizes."""
    folder.mkdir(parents=True, exist_ok=True)
    number = 0
    while True:
        for size in ((80, 24), (120, 40)):
            app = Dashboard(bench)
            async with app.run_test(size=size) as pilot:
                await pilot.pause(0.1)
                svg = app.export_screenshot()
            (folder / f"{number:03}-{size[0]}x{size[1]}.svg").write_text(svg)
        number += 1
        await asyncio.sleep(3.0)


def report(shop: Shop, daemon: FakeDaemon, robot: Robot, ended: datetime) -> int:
    """Prints what happened."""
    facts = shop.nudges()
    sent = [fact for fact in facts if fact.phase == "sent" and fact.channel == "desktop"]
    told = Counter((fact.key, fact.body["attempt"]) for fact in sent)
    answered = Counter(fact.key for fact in facts if fact.phase == "answered")
    twice = [key for (key, attempt), count in told.items() if count > 1 + answered[key]]
    timeline = shop.timeline("bench", View(ended))
    left = [line.step for line in timeline.lines if line.state not in ("done", "skipped") and not line.optional]
    for fact in sent:
        late = (fact.recorded_at - fact.at) / timedelta(minutes=1)
        when = f"attempt {fact.body['attempt']}, {late:5.0f} min after it was due"
        print(f"{fact.recorded_at:%d %b %H:%M}  {fact.key:<40} {when}")
    print(
        f"days: {(ended - START) / timedelta(days=1):.1f}; notifications: {len(daemon.all)}; nudges told: {len(sent)}"
    )
    print(f"pressed: {dict(robot.pressed)}; failed: {sum(fact.phase == 'failed' for fact in facts)}")
    for why in {str(fact.body["why"]) for fact in facts if fact.phase == "failed"}:
        print(f"failed: {why}")
    print(f"told twice: {twice or 'none'}; left open: {left or 'none'}")
    return 0 if not twice and not left else 1


def main() -> int:
    """The command."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    profile = sys.argv[2] if len(sys.argv) > 2 else "bagged-tabletop"
    with tempfile.TemporaryDirectory() as folder, own_bus() as address:
        return asyncio.run(rehearse(Path(folder) / "home", address, seconds, profile))


if __name__ == "__main__":
    sys.exit(main())
