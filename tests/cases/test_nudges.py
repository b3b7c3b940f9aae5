"""Case W1: a laptop asleep over three nudges. One digest, the most urgent first, nothing lost."""

import asyncio
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curetrack.facts import Forecast, Shape
from curetrack.service.bench import Bench
from curetrack.shop import View
from tests.service.fake import Carrier, HandClock, bench_of

BERLIN = ZoneInfo("Europe/Berlin")
PROFILE = Path(__file__).with_name("nudges.toml")
DAY = "2026-02-03"


def local(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN)


POURED, MORNING = local(f"{DAY} 19:30"), local("2026-02-04 08:10")


class Night:
    """One shop, one service, one channel."""

    def __init__(self, home: Path) -> None:
        self.home, self.clock, self.carrier = home, HandClock(POURED), Carrier()
        self.bench: Bench = bench_of(home, self.clock, self.carrier, Carrier("second"))
        shop = self.bench.shop
        shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=POURED)
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=POURED, now=POURED)
        shop.pour("bench", profile=str(PROFILE), shape=Shape(1.2, 0.6, 0.04), at=POURED, now=POURED)
        shop.done("bench", "cover", now=POURED)
        shop.done("bench", "mist", now=POURED)

    def sleeps(self) -> None:
        """Until 08:10; the logger at the slab goes on."""
        self.clock.sleeps_to(MORNING)
        self.bench.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=MORNING, now=MORNING)

    async def settled(self) -> None:
        """Lets everything that was started come to its end."""
        for _ in range(5):
            await self.bench.tick()
            await asyncio.sleep(0.01)


@pytest.fixture
async def night(tmp_path: Path) -> AsyncIterator[Night]:
    night = Night(tmp_path)
    yield night
    await night.bench.stop()


async def test_w1_one_digest_most_urgent_first(night: Night) -> None:
    await night.bench.start()
    night.clock.runs_to(local(f"{DAY} 22:00"))
    await night.settled()
    assert night.carrier.sent == []
    night.sleeps()
    await night.settled()
    (card,) = night.carrier.sent
    assert card.title == "3 things waited"
    assert card.body == (
        "Mist and re-cover · bench: 1 h 40 min late",
        "Strip the side forms · bench: ready since 07:30",
        "Check the cover · bench: ready since 22:30",
    )


async def test_w1_each_missed_nudge_is_marked_in_the_log(night: Night) -> None:
    await night.bench.start()
    night.sleeps()
    await night.settled()
    rows = [fact for fact in night.bench.shop.nudges() if fact.phase == "intent" and fact.channel == "desktop"]
    due = {fact.step: fact.at.astimezone(BERLIN).strftime("%H:%M") for fact in rows}
    assert due["strip"] == "07:30"
    assert due["look"] == "22:30"
    assert all(fact.body["missed"] is True for fact in rows)
    assert {step.partition(".")[0] for step in due} == {"mist", "strip", "look"}
    mist = next(fact for fact in rows if fact.step.startswith("mist"))
    assert mist.body["over"] == [f"bench/{mist.step}/ready"]  # that it was due at 06:30 is told with its being late


async def test_w1_a_hold_goes_out_on_two_channels(night: Night) -> None:
    await night.bench.start()
    night.sleeps()
    await night.settled()
    sent = {fact.channel for fact in night.bench.shop.nudges() if fact.phase == "sent" and fact.step == "strip"}
    assert sent == {"desktop", "second"}


async def test_w1_the_next_misting_counts_from_the_real_one(night: Night) -> None:
    await night.bench.start()
    night.sleeps()
    await night.settled()
    ticked = local("2026-02-04 08:20")
    night.clock.runs_to(ticked)
    night.bench.shop.done("bench", "mist", now=ticked)
    lines = night.bench.shop.timeline("bench", View(ticked)).lines
    following = next(line for line in lines if line.step.startswith("mist") and line.state == "waiting")
    assert following.ready_at == ticked + timedelta(hours=11)  # the profile's 11 h, not from the missed plan
    await night.bench._listen()
    await night.settled()
    assert len(night.carrier.sent) == 1  # nothing comes twice


async def test_w1_the_same_after_a_restart(tmp_path: Path) -> None:
    """Off from 22:00 to 08:10, and a new process in the morning: the same digest, once."""
    night = Night(tmp_path)
    await night.bench.start()
    night.clock.runs_to(local(f"{DAY} 22:00"))
    await night.settled()
    await night.bench.stop()
    night.clock.runs_to(MORNING)
    night.bench.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=MORNING, now=MORNING)
    later = bench_of(tmp_path, night.clock, night.carrier, Carrier("second"))
    await later.start()
    for _ in range(3):
        await later.tick()
        await asyncio.sleep(0.01)
    assert [card.title for card in night.carrier.sent] == ["3 things waited"]
    await later.stop()
    again = bench_of(tmp_path, night.clock, night.carrier, Carrier("second"))
    await again.start()
    for _ in range(3):
        await again.tick()
        await asyncio.sleep(0.01)
    assert len(night.carrier.sent) == 1
    await again.stop()
