"""From end to end: a phone's page in a real browser, the dashboard, a to-do list on a server, and the command line say
the same. Two servers that have nothing to do with each other; everything on loopback, all in the machine's own time.

What is waited for is asked again and again until a deadline. The two seconds run from the end of a sync.
"""

import asyncio
import logging
import math
import os
import sys
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any

from playwright.async_api import Browser, Page
from textual.pilot import Pilot
from textual.widgets import Static

from curetrack.credentials import keep_credential, read_credentials
from curetrack.desk.app import Dashboard
from curetrack.desk.keys import Taps
from curetrack.facts import Forecast, Shape
from curetrack.phone.caldav.run import Syncer, connect
from curetrack.phone.caldav.sync import Synced
from curetrack.phone.caldav.wire import Account, Wire
from curetrack.phone.entries import uid_of
from curetrack.phone.pairing import invite
from curetrack.service.bench import Bench
from curetrack.service.clock import SystemClock
from curetrack.service.page import PageSide, Where, _facts
from curetrack.service.todos import Todos
from curetrack.shop import Shop, View
from curetrack.words.kinds import SHAPES
from tests.phone.caldav.conftest import server, wires
from tests.phone.caldav.making import Phone
from tests.phone.caldav.servers import Running
from tests.phone.test_browser import chromium
from tests.service.fake import Carrier

__all__ = ["chromium", "server", "wires"]

EVERYWHERE_s = 2.0
SYNCED_s = 20.0  # within which a sync that is due has come to its end, on a machine that is busy otherwise
LOG = logging.getLogger("test")
CARD = "() => document.querySelector('.card h2')?.textContent ?? ''"
STEPS = ("vibrate", "screed", "cover-1", "trowel-back")
TO_THE_HOLD, WET, HELD = ("free", "cover-2"), "mist", "strip"


class Noted(Syncer):
    """A sync that notes when each began and ended, and what came of it."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.done: list[tuple[float, float, Synced]] = []

    def run(self) -> Synced | None:
        began = monotonic()
        done = super().run()
        if done is not None:
            self.done.append((began, monotonic(), done))
        return done


class MachineTime:
    """For the phone's to-do program."""

    @property
    def now(self) -> datetime:
        return datetime.now(UTC)


class House:
    """All that shows or says something: the bench with its dashboard, a browser, a phone's to-do program."""

    def __init__(
        self, bench: Bench, side: PageSide, page: Page, pilot: Pilot[None], list_: Phone, syncer: Noted
    ) -> None:
        self.bench, self.side, self.page, self.pilot, self.list = bench, side, page, pilot, list_
        self.app: Dashboard = pilot.app  # type: ignore[assignment]  # it is ours
        self._syncer, self._told, self.ahead_s = syncer, 0, 0.0
        piece = bench.shop.piece("top", View(bench.now()))
        self._uids = {line.step: uid_of(piece, line.step) for line in self._timeline().lines}

    # --- what is read where ----------------------------------------------------------------------------------------

    def _timeline(self) -> Any:
        return self.bench.shop.timeline("top", View(self.bench.now()))

    def title(self, step: str) -> str:
        return str(self._timeline().line(step).title)

    def done(self, step: str) -> datetime | None:
        """By the ledger."""
        at: datetime | None = self._timeline().line(step).done_at
        return at

    def dashboard(self, step: str) -> bool:
        """Whether the dashboard has that step in hand."""
        line = self._timeline().line(step)
        text = " ".join(str(self.app.query_one("#board", Static).render()).split())
        return f"{SHAPES[line.kind].word}: {line.title} · top" in text

    async def browser(self, step: str) -> bool:
        """Whether that step is the first on the phone's page."""
        return str(await self.page.evaluate(CARD)) == self.title(step)

    async def todo(self, step: str) -> Any:
        """As the server has it now; {} if it is not there."""
        uid = self._uids[step]
        return await asyncio.to_thread(lambda: self.list.fetch(uid) if self.list.there(uid) else {})

    async def ticked(self, step: str) -> bool:
        """Whether the to-do says done in all three ways, and when."""
        todo, at = await self.todo(step), self.done(step)
        status, percent = str(todo.get("STATUS")), todo.get("PERCENT-COMPLETE")
        if status != "COMPLETED":
            return False
        assert percent == 100
        assert at is not None
        assert todo["COMPLETED"].dt == at.replace(microsecond=0)
        return True

    async def open(self, step: str) -> bool:
        """Whether the to-do says in no way that it is done."""
        todo = await self.todo(step)
        return str(todo.get("STATUS")) == "NEEDS-ACTION" and "COMPLETED" not in todo and "PERCENT-COMPLETE" not in todo

    async def both_show(self, step: str) -> bool:
        """Page and dashboard have that step first."""
        return self.dashboard(step) and await self.browser(step)

    async def both_keep_open(self, step: str) -> bool:
        """Page and dashboard have that step among what comes next."""
        there = await self.page.locator("main li", has_text=self.title(step)).count()
        return there == 1 and step in [line.step for line in self.app._board.steps]

    # --- what is said where ----------------------------------------------------------------------------------------

    async def phone_says(self, step: str, change: Callable[[str], None]) -> None:
        """The to-do program changes what it has just read, and sends it; once more where a sync has come between, or
        was writing just then."""
        uid, end = self._uids[step], monotonic() + SYNCED_s
        status = 0
        while status not in (200, 201, 204):
            assert status in (0, 412, 423), status
            assert monotonic() < end
            await asyncio.to_thread(self.list.fetch, uid)
            change(uid)
            status = await asyncio.to_thread(self.list.send, uid)

    async def command_says(self, *words: str) -> None:
        """Another process on the same home."""
        command = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "curetrack", *words, stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
            env={**os.environ, "CURETRACK_HOME": str(self.bench.home)},
        )  # fmt: skip
        out, _ = await command.communicate()
        assert command.returncode == 0, out.decode()

    async def key(self, key: str) -> None:
        """A key of the dashboard, a moment after the step has come into hand."""
        self.app._came_at, self.app._taps = -math.inf, Taps()
        await self.pilot.press(key)

    # --- time ------------------------------------------------------------------------------------------------------

    async def heard(self, what: str, step: str) -> tuple[float, Synced]:
        """The end of the sync that hears it from the list, which is due now, and all that it did."""
        end = monotonic() + SYNCED_s
        while True:
            self.ahead_s += 1000.0  # again and again: one that is under way sets the time for the next anew
            for _, ended, did in self._syncer.done[self._told :]:
                self._told += 1
                if (what, step) in [(fact.what, fact.step) for fact in did.facts]:
                    return ended, did
            assert monotonic() < end, f"no sync has heard of {step}: {self.side.troubles}"
            await asyncio.sleep(0.02)

    async def comes_onto_the_list(self, step: str) -> None:
        """The tick, which is in the ledger already: with a sync that comes by itself, soon after something was said.
        None that began from now on has been at its end for long by then."""
        since = monotonic()
        await by(since + SYNCED_s, lambda: self.ticked(step), f"the tick of {step} is not on the list")
        ends = (ended for began, ended, _ in self._syncer.done if began >= since)
        assert monotonic() - min(ends, default=math.inf) < EVERYWHERE_s


async def by(end_s: float, what: Callable[[], Awaitable[bool]], text: str) -> None:
    """It comes to be so before then."""
    while True:
        asked_s = monotonic()
        if await what():
            return
        assert asked_s < end_s, text
        await asyncio.sleep(0.02)


@asynccontextmanager
async def house(
    home: Path, running: Running, wires: Callable[[Account], Wire], browser: Browser
) -> AsyncIterator[House]:
    """A piece that was poured just now, a list on the server, a paired phone; everything runs."""
    now, account = datetime.now(UTC), running.account
    with Shop(home) as shop:
        shop.set_settings([("timezone", "Europe/Berlin")])
        shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=now)
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now, now=now)
        shop.pour("top", profile="bagged-tabletop", shape=Shape(1.8, 0.6, 0.04), at=now, now=now)
        keep_credential(home, "todo_password", account.password)
        wire = wires(account)
        kept = connect(home, wire, account, "everywhere")
        bench = Bench(home, shop, lambda press, known: [Carrier()], SystemClock())
        syncer = Noted(home, lambda: read_credentials(home).todo_password, bench.now)
        made: list[House] = []
        todos = Todos(
            home, bench.now, lambda: _facts(shop), LOG, syncer=syncer,
            clock_s=lambda: monotonic() + (made[0].ahead_s if made else 0.0),
        )  # fmt: skip
        side, app = PageSide(bench, Where(port=0), todos=todos), Dashboard(bench)
        await bench.start()
        await side.start()
        try:
            async with app.run_test(size=(120, 40)) as pilot:
                page = await _paired(browser, side.url, invite(home, bench.now()))
                phone = Phone(wires(account), kept.url, MachineTime())  # type: ignore[arg-type]  # it has the moment
                made.append(House(bench, side, page, pilot, phone, syncer))
                yield made[0]
                assert bench.troubles == []
                assert side.troubles == ()
        finally:
            await side.stop()
            await bench.stop()
            syncer.close()


async def _paired(browser: Browser, url: str, secret: str) -> Page:
    context = await browser.new_context(viewport={"width": 360, "height": 740}, is_mobile=True, has_touch=True)
    page = await context.new_page()
    await page.goto(f"{url}/pair/{secret}")
    await page.get_by_role("button", name="Pair this phone").tap()
    await page.locator(".card h2").wait_for()
    return page


async def test_what_is_said_anywhere_is_known_everywhere(
    tmp_path: Path, server: Running, wires: Callable[[Account], Wire], chromium: Browser
) -> None:
    async with house(tmp_path / "home", server, wires, chromium) as at:
        vibrate, screed, cover, trowel = STEPS
        await by(monotonic() + SYNCED_s, lambda: at.open(vibrate), "the list stays empty")
        assert await at.both_show(vibrate)
        await _a_tick_in_the_browser(at, vibrate, then=screed)
        await _a_tick_on_the_list(at, screed, then=cover)
        await _a_tick_at_the_dashboard(at, cover, then=trowel)
        await _a_tick_at_the_command_line(at, trowel, then=TO_THE_HOLD[0])
        await _a_tick_taken_back_on_the_list(at, trowel)
        await _a_hold_that_is_ticked_too_soon(at)


async def _a_tick_in_the_browser(at: House, step: str, then: str) -> None:
    await at.page.locator(".card button.big").tap()
    await by(monotonic() + EVERYWHERE_s, lambda: at.both_show(then), "a tick on the phone is not on the dashboard")
    await at.comes_onto_the_list(step)


async def _a_tick_on_the_list(at: House, step: str, then: str) -> None:
    await at.phone_says(step, at.list.tick)
    ended, _ = await at.heard("done", step)
    await by(ended + EVERYWHERE_s, lambda: at.both_show(then), "a tick on the list is not on page and dashboard")
    assert at.done(step) is not None
    assert await at.ticked(step)


async def _a_tick_at_the_dashboard(at: House, step: str, then: str) -> None:
    await at.key("d")
    await by(monotonic() + EVERYWHERE_s, lambda: at.both_show(then), "a tick at the dashboard is not on the page")
    await at.comes_onto_the_list(step)


async def _a_tick_at_the_command_line(at: House, step: str, then: str) -> None:
    await at.command_says("done", "top", step)
    await by(monotonic() + EVERYWHERE_s, lambda: at.both_show(then), "a command's tick is not on page and dashboard")
    await at.comes_onto_the_list(step)


async def _a_tick_taken_back_on_the_list(at: House, step: str) -> None:
    await at.phone_says(step, at.list.reopen)
    ended, _ = await at.heard("reopen", step)
    await by(ended + EVERYWHERE_s, lambda: at.both_show(step), "what was reopened on the list stays done elsewhere")
    assert at.done(step) is None
    assert await at.open(step)


async def _a_hold_that_is_ticked_too_soon(at: House) -> None:
    for step in (STEPS[-1], *TO_THE_HOLD):
        await at.phone_says(step, at.list.tick)
    ended, _ = await at.heard("done", TO_THE_HOLD[-1])
    await by(ended + EVERYWHERE_s, lambda: at.both_show(WET), "ticks on the list are not on page and dashboard")
    await at.phone_says(HELD, at.list.tick)
    ended, did = await at.heard("done", HELD)
    assert len(did.refusals) == 1
    await by(ended + EVERYWHERE_s, lambda: at.open(HELD), "a hold that was ticked too soon stays ticked on the list")
    first = str((await at.todo(HELD))["DESCRIPTION"]).splitlines()[0]
    assert first.startswith(f"Not taken: top, {HELD}: ")
    assert "MPa" in first  # the strength that it has, and that it needs
    while monotonic() < ended + EVERYWHERE_s:  # and at no moment it is done there
        assert await at.both_keep_open(HELD)
        assert at.done(HELD) is None
        await asyncio.sleep(0.05)
    assert await at.open(HELD)
