"""Runs the bench until it is told to stop: with the dashboard, or without."""

import asyncio
import contextlib
import logging
import signal
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from curetrack.credentials import Credentials, read_credentials
from curetrack.errors import CuretrackError
from curetrack.nudge.channels.all import channels_of
from curetrack.nudge.channels.base import Channel, Press
from curetrack.nudge.channels.bell import Ring, ring_terminal
from curetrack.service.bench import Bench
from curetrack.service.clock import Clock, SystemClock
from curetrack.service.logfile import close_log, open_log
from curetrack.shop import Shop

__all__ = ["run_bench"]


def run_bench(home: Path, *, headless: bool, clock: Clock | None = None, say: Callable[[str], None] = print) -> int:
    """The whole service; 0 when it was stopped. Raises CuretrackError for a ledger or settings that cannot be read."""
    credentials = read_credentials(home)
    log = open_log(home, credentials, echo=headless)
    try:
        with Shop(home) as shop:
            _ = shop.settings
            return asyncio.run(_run(home, shop, clock or SystemClock(), log, headless=headless, say=say))
    finally:
        close_log()


async def _run(
    home: Path, shop: Shop, clock: Clock, log: logging.Logger, *, headless: bool, say: Callable[[str], None]
) -> int:
    stop = asyncio.Event()
    if headless:
        bench = Bench(home, shop, _make(home, shop, ring_terminal()), clock, log=log)
        with _signals(stop):
            await bench.start()
            say(opening(bench))
            await stop.wait()
            await bench.stop()
        return 0
    return await _with_dashboard(home, shop, clock, log, stop)


async def _with_dashboard(home: Path, shop: Shop, clock: Clock, log: logging.Logger, stop: asyncio.Event) -> int:
    from curetrack.desk.app import Dashboard

    rung: list[Dashboard] = []
    bench = Bench(
        home, shop, _make(home, shop, lambda message: rung[0].ring(message) if rung else None), clock, log=log
    )
    await bench.start()
    dashboard = Dashboard(bench)
    rung.append(dashboard)
    try:
        with _signals(stop):
            stopping = asyncio.ensure_future(_exit_on(stop, dashboard))
            await dashboard.run_async()
            stopping.cancel()
    finally:
        await bench.stop()
    return dashboard.return_code or 0


async def _exit_on(stop: asyncio.Event, dashboard: "object") -> None:
    await stop.wait()
    dashboard.exit()  # type: ignore[attr-defined]  # the type is textual's, imported only with a dashboard


def opening(bench: Bench) -> str:
    """What is said at the start of a service without a dashboard."""
    lines = [f"Nudges go out by {bench.carried_by}." if bench.carried_by else "No channel carries nudges."]
    if not bench.nudging:
        lines = [f"{bench.carried_by[:1].upper()}{bench.carried_by[1:]}."]
    return "\n".join([*lines, *bench.troubles])


def _make(home: Path, shop: Shop, ring: Ring | None) -> Callable[[Press, Mapping[str, str]], Sequence[Channel]]:
    """Makes the channels by the settings and secrets of the moment."""

    def make(press: Press, known: Mapping[str, str]) -> Sequence[Channel]:
        try:
            credentials = read_credentials(home)
        except CuretrackError:
            credentials = Credentials()
        return channels_of(shop.settings, credentials, press, ring, known)

    return make


@contextlib.contextmanager
def _signals(stop: asyncio.Event) -> Iterator[None]:
    """SIGINT and SIGTERM end the service cleanly; a terminal that hangs up does, too."""
    loop = asyncio.get_running_loop()
    names = ("SIGINT", "SIGTERM", "SIGHUP")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
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
