"""Runs the bench until it is told to stop: with the dashboard, or without."""

import asyncio
import contextlib
import gc
import signal
import sys
from collections.abc import AsyncIterator, Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from curetrack.credentials import Credentials, read_credentials
from curetrack.errors import CuretrackError, StoreTrouble
from curetrack.nudge.channels.all import channels_of
from curetrack.nudge.channels.base import Channel, Message, Press
from curetrack.nudge.channels.bell import Ring, ring_terminal
from curetrack.service.alone import Alone
from curetrack.service.bench import Bench
from curetrack.service.clock import Clock, SystemClock
from curetrack.service.logfile import close_log, hide_also, open_log
from curetrack.service.page import PageSide, Where
from curetrack.shop import Shop

if TYPE_CHECKING:
    from curetrack.desk.app import Dashboard

__all__ = ["at_rest", "run_bench", "run_page"]


def run_bench(
    home: Path, *, headless: bool, where: Where | None = None, clock: Clock | None = None,
    say: Callable[[str], None] = print,
) -> int:  # fmt: skip
    """The whole service; 0 when it was stopped. `where`: the phone's page; None: none. Raises CuretrackError for a
    ledger or settings that cannot be read, or a certificate that is none."""
    if where is not None:
        where.check()
    log, no_log = open_log(home, read_credentials(home), echo=headless)
    try:
        with Shop(home) as shop:
            make = Maker(home, shop)
            bench = Bench(home, shop, make, clock or SystemClock(), log=log)
            bench.tell_also(lambda: (no_log, make.trouble))
            page = PageSide(bench, where) if where is not None else None
            return asyncio.run(_headless(bench, make, page, say) if headless else _with_dashboard(bench, make, page))
    finally:
        close_log()


class Maker:
    """Makes the channels by the settings and secrets of the moment. `trouble`: why the secrets cannot be read."""

    def __init__(self, home: Path, shop: Shop) -> None:
        self.ring: Ring | None = None
        self.trouble = ""
        self._home, self._shop = home, shop

    def __call__(self, press: Press, known: Mapping[str, str]) -> Sequence[Channel]:
        """See channels_of."""
        credentials, self.trouble = Credentials(), ""
        try:
            credentials = read_credentials(self._home)
        except CuretrackError as error:
            self.trouble = str(error)
        hide_also(credentials)
        return channels_of(self._shop.settings, credentials, press, self.ring, known)


def at_rest() -> None:
    """All that has been made by now stays: the collector need not look through it again and again, which with fifty
    pieces would hold up a key, or a phone, for as long as writing a fact takes."""
    gc.collect()
    gc.freeze()


def run_page(home: Path, where: Where, *, clock: Clock | None = None, say: Callable[[str], None] = print) -> int:
    """The phone's page alone, until it is stopped; 0 then. Raises CuretrackError as run_bench does."""
    where.check()
    log, _ = open_log(home, read_credentials(home), echo=True, name="page.log")
    try:
        with Shop(home) as shop:
            return asyncio.run(_page_alone(Alone(home, shop, clock or SystemClock(), log), where, say))
    finally:
        close_log()


async def _page_alone(alone: Alone, where: Where, say: Callable[[str], None]) -> int:
    page, stop = PageSide(alone, where), asyncio.Event()
    with _signals(stop):
        async with _going(alone, page):
            if not page.url:
                raise StoreTrouble("; ".join(page.troubles) or "the page could not be served")
            with contextlib.suppress(OSError):  # nobody reads it any more
                say("\n".join([*_page_told(page), "It nudges nobody: that is the bench's."]))
            at_rest()
            await stop.wait()
    return 0


@contextlib.asynccontextmanager
async def _going(carrier: Bench | Alone, page: PageSide | None) -> AsyncIterator[None]:
    await carrier.start()
    try:
        if page is not None:
            await page.start()
        yield
    finally:
        if page is not None:
            await page.stop()
        await carrier.stop()


async def _headless(bench: Bench, make: Maker, page: PageSide | None, say: Callable[[str], None]) -> int:
    make.ring = ring_terminal()
    if page is not None:
        bench.tell_also(lambda: page.troubles)
    stop = asyncio.Event()
    with _signals(stop):
        async with _going(bench, page):
            with contextlib.suppress(OSError):  # nobody reads it any more
                say(opening(bench, page))
            at_rest()
            await stop.wait()
    return 0


async def _with_dashboard(bench: Bench, make: Maker, page: PageSide | None) -> int:
    from curetrack.desk.app import Dashboard

    dashboard, stop, early = Dashboard(bench), asyncio.Event(), list[Message]()

    def ring(message: Message) -> None:
        if dashboard.is_running:
            dashboard.ring(message)
        else:
            early.append(message)  # what was missed is told before the screen stands: it rings then

    make.ring = ring
    if page is not None:
        bench.tell_also(lambda: page.troubles)
    with _signals(stop):
        async with _going(bench, page):
            at_rest()
            beside = [
                asyncio.ensure_future(_exit_on(stop, dashboard)),
                asyncio.ensure_future(_ring_early(dashboard, early)),
            ]
            try:
                await dashboard.run_async()
            finally:
                for task in beside:
                    task.cancel()
    return dashboard.return_code or 0


async def _exit_on(stop: asyncio.Event, dashboard: "Dashboard") -> None:
    await stop.wait()
    dashboard.exit()


async def _ring_early(dashboard: "Dashboard", early: list[Message]) -> None:
    while not dashboard.is_running:
        await asyncio.sleep(0.1)
    for message in early:
        dashboard.ring(message)


def opening(bench: Bench, page: PageSide | None = None) -> str:
    """What is said at the start of a service without a dashboard."""
    lines = [f"Nudges go out by {bench.carried_by}." if bench.carried_by else "No channel carries nudges."]
    if not bench.nudging:
        lines = [f"{bench.carried_by[:1].upper()}{bench.carried_by[1:]}."]
    return "\n".join([*lines, *_page_told(page), *bench.troubles])


def _page_told(page: PageSide | None) -> list[str]:
    if page is None or not page.url:
        return []
    return [f"Page for phones: {', '.join(page.others or (page.url,))} (curetrack phone pairs one)."]


@contextlib.contextmanager
def _signals(stop: asyncio.Event) -> Iterator[None]:
    """SIGINT and SIGTERM end the service cleanly; so does a terminal that hangs up, unless it was started so that
    this does not matter (nohup)."""
    loop = asyncio.get_running_loop()
    names = ("SIGINT", "SIGTERM", "SIGHUP")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    numbers = [number for number in numbers if signal.getsignal(number) is not signal.SIG_IGN]
    if sys.platform == "win32":
        before = {number: signal.getsignal(number) for number in numbers}
        for number in numbers:
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(stop.set))
        yield
        for number, handler in before.items():
            signal.signal(number, handler)
        return
    for number in numbers:
        loop.add_signal_handler(number, stop.set)
    try:
        yield
    finally:
        for number in numbers:
            loop.remove_signal_handler(number)
