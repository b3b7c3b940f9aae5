"""Runs the bench until it is told to stop: with the dashboard, or without."""

import asyncio
import contextlib
import gc
import signal
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from curetrack.credentials import Credentials, read_credentials
from curetrack.errors import CuretrackError
from curetrack.nudge.channels.all import channels_of
from curetrack.nudge.channels.base import Channel, Message, Press
from curetrack.nudge.channels.bell import Ring, ring_terminal
from curetrack.service.bench import Bench
from curetrack.service.clock import Clock, SystemClock
from curetrack.service.logfile import close_log, hide_also, open_log
from curetrack.shop import Shop

if TYPE_CHECKING:
    from curetrack.desk.app import Dashboard

__all__ = ["at_rest", "run_bench"]


def run_bench(home: Path, *, headless: bool, clock: Clock | None = None, say: Callable[[str], None] = print) -> int:
    """The whole service; 0 when it was stopped. Raises CuretrackError for a ledger or settings that cannot be read."""
    log, no_log = open_log(home, read_credentials(home), echo=headless)
    try:
        with Shop(home) as shop:
            make = Maker(home, shop)
            bench = Bench(
                home, shop, make, clock or SystemClock(), log=log, besides=lambda: (no_log, make.trouble)
            )  # fmt: skip
            return asyncio.run(_headless(bench, make, say) if headless else _with_dashboard(bench, make))
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
    pieces would hold up a key for as long as writing a fact takes."""
    gc.collect()
    gc.freeze()


async def _headless(bench: Bench, make: Maker, say: Callable[[str], None]) -> int:
    make.ring = ring_terminal()
    stop = asyncio.Event()
    with _signals(stop):
        await bench.start()
        try:
            with contextlib.suppress(OSError):  # nobody reads it any more
                say(opening(bench))
            await stop.wait()
        finally:
            await bench.stop()
    return 0


async def _with_dashboard(bench: Bench, make: Maker) -> int:
    from curetrack.desk.app import Dashboard

    dashboard, stop, early = Dashboard(bench), asyncio.Event(), list[Message]()

    def ring(message: Message) -> None:
        if dashboard.is_running:
            dashboard.ring(message)
        else:
            early.append(message)  # what was missed is told before the screen stands: it rings then

    make.ring = ring
    with _signals(stop):
        await bench.start()
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
            await bench.stop()
    return dashboard.return_code or 0


async def _exit_on(stop: asyncio.Event, dashboard: "Dashboard") -> None:
    await stop.wait()
    dashboard.exit()


async def _ring_early(dashboard: "Dashboard", early: list[Message]) -> None:
    while not dashboard.is_running:
        await asyncio.sleep(0.1)
    for message in early:
        dashboard.ring(message)


def opening(bench: Bench) -> str:
    """What is said at the start of a service without a dashboard."""
    lines = [f"Nudges go out by {bench.carried_by}." if bench.carried_by else "No channel carries nudges."]
    if not bench.nudging:
        lines = [f"{bench.carried_by[:1].upper()}{bench.carried_by[1:]}."]
    return "\n".join([*lines, *bench.troubles])


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
