"""Kills a service at random moments of a piece's life, and says what became of its nudges. For a test and a benchmark.

A robot answers what it is shown; the service is killed (SIGKILL) again and again, at a random moment after its start,
and takes up where time has come to. At the end one service runs in peace for a while. What must hold:

    every fact that was acknowledged is there, and the ledger is whole
    nothing that waits for the maker is untold
    a notification without a record of having gone out was in flight at a kill: at most one for each kill
    and where it came again, it came under the same key, in place of the earlier one
"""

import asyncio
import random
import sqlite3
import sys
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec import Struct

from curetrack.facts import Forecast, Shape
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.due import due
from curetrack.nudge.log import read_log
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.quiet import quiet_of
from curetrack.shop import Shop, View
from tests.bus import FakeDaemon, serve

START = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)
RATE = 4000.0  # a day in 22 s
STARTING_s = 0.25  # before it nothing can have gone out


class Outcome(Struct):
    """What was counted."""

    kills: int
    told: int  # nudges with a record that they went out
    shown: int  # notifications that arrived
    unrecorded: int  # arrived without such a record
    untold: list[str]  # waiting for the maker, and never told
    lost_ticks: list[str]  # acknowledged, and not in the ledger
    whole: str  # what SQLite says of the file
    doubled: list[str]  # told again under the same attempt without being in flight at a kill


async def kill_often(home: Path, address: str, kills: int, seed: int) -> Outcome:
    """The whole thing."""
    dice = random.Random(seed)
    bus, daemon = await serve(address)
    now = START
    with Shop(home) as shop:
        shop.set_settings([("timezone", "UTC")])
        shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=now)
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now, now=now)
        for number in range(3):
            shop.pour(f"piece{number}", profile="bagged-tabletop", shape=Shape(1.5, 0.8, 0.04), at=now, now=now)
        ticked: list[tuple[str, str]] = []
        for _ in range(kills):
            now = await _one_run(home, address, daemon, now, dice, dice.uniform(STARTING_s, 1.6))
            ticked += _tick_one(shop, now, dice)
        now = await _one_run(home, address, daemon, now, dice, 4.0, answer=False)
        outcome = _judge(shop, daemon, now, kills, ticked)
    bus.disconnect()
    return outcome


async def _one_run(
    home: Path, address: str, daemon: FakeDaemon, now: datetime, dice: random.Random, lives_s: float,
    *, answer: bool = True,
) -> datetime:  # fmt: skip
    """Starts it, lets it live so long, kills it; the moment it has come to."""
    child = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "tests.service.child", str(home), address, now.isoformat(), str(RATE),
        stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip
    loop = asyncio.get_running_loop()
    began = loop.time()
    while loop.time() < began + lives_s:
        await asyncio.sleep(0.05)
        if answer and daemon.open and dice.random() < 0.3:
            number = dice.choice(list(daemon.open))
            buttons = list(daemon.open[number].buttons)
            if buttons:
                daemon.press(number, dice.choice(buttons))
    child.kill()
    await child.wait()
    return now + timedelta(seconds=(loop.time() - began) * RATE)


def _tick_one(shop: Shop, now: datetime, dice: random.Random) -> list[tuple[str, str]]:
    """Something is ticked at the command line while the service is down, and acknowledged."""
    timelines = [t for t in shop.timelines(View(now)) if any(line.state == "ready" for line in t.lines)]
    if not timelines or dice.random() < 0.6:
        return []
    timeline = dice.choice(timelines)
    line = next(line for line in timeline.lines if line.state == "ready")
    receipt = shop.done(line.piece, line.step, crew=line.crew if line.kind == "lift" else None, now=now)
    return [(line.piece, line.step)] if receipt.written else []


def _judge(shop: Shop, daemon: FakeDaemon, now: datetime, kills: int, ticked: list[tuple[str, str]]) -> Outcome:
    facts = shop.nudges()
    sent = [fact for fact in facts if fact.phase == "sent" and fact.channel == "desktop"]
    records = {(str(fact.body.get("mark")), fact.recorded_at) for fact in sent}
    timelines = shop.timelines(View(now))
    zone = shop.settings.zone
    moments = [m for t in timelines for m in moments_of(t, zone)] + conditions_of(timelines, zone)
    closed = {group: how for t in timelines for group, how in closed_of(t).items()}
    log = read_log(facts)
    found = due(moments, log, quiet_of(shop.settings), now, closed=closed)
    # a moment of the last seconds may have come after the kill: a minute of the fast clock is 15 ms
    slack = timedelta(seconds=1.5 * RATE)
    untold = [n.moment.key for n in found.nudges if n.attempt == 1 and n.due_at < now - slack]
    done = {(piece, step) for piece in {p for p, _ in ticked} for step in _done_steps(shop, piece, now)}
    with sqlite3.connect(shop.home / "ledger.sqlite") as connection:
        whole = connection.execute("PRAGMA integrity_check").fetchone()[0]
    asked = sum("yes" in shown.buttons for shown in daemon.all)  # a question is no nudge: it has no record
    asked += sum(shown.title.startswith(("Not ticked", "Done", "Put off")) for shown in daemon.all)
    shown = len(daemon.all) - asked
    attempts = Counter((fact.key, fact.body["attempt"]) for fact in sent)
    settled = Counter(fact.key for fact in facts if fact.phase == "answered")
    doubled = [key for (key, _), count in attempts.items() if count > 1 + settled[key]]
    return Outcome(
        kills, len(sent), shown, shown - len(records), untold, sorted(f"{p}/{s}" for p, s in set(ticked) - done), whole,
        doubled,
    )  # fmt: skip


def _done_steps(shop: Shop, piece: str, now: datetime) -> set[str]:
    return {event.step for event in shop.events(piece, View(now)) if event.kind == "done"}
