"""The service as a process: a machine that sleeps, a killed holder of the lease, homes and disks that refuse, and a
terminal that is closed."""

import asyncio
import os
import signal
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.facts import Shape
from curetrack.service.beat import read_beat
from curetrack.shop import Shop
from tests.bus import FakeDaemon, notify_daemon, session_bus
from tests.cli.test_bench import Service
from tests.disk import mounted
from tests.service.fake import Carrier, bench_of
from tests.service.test_bench import PROFILE, READY, STRIP, Place, settled, titles

__all__ = ["notify_daemon", "session_bus"]

FAKETIME = next(iter(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1")), None)  # Debian: faketime
NOBODY = 65534
IS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A piece of case W1, poured and covered just now."""
    now = datetime.now(UTC).replace(microsecond=0)
    with Shop(tmp_path / "home") as shop:
        shop.set_settings([("timezone", "UTC")])
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now, now=now)
        shop.pour("bench", profile=str(PROFILE), shape=Shape(1.2, 0.6, 0.04), at=now, now=now)
        shop.done("bench", "cover", now=now)
        shop.done("bench", "mist", now=now)
    return tmp_path / "home"


async def came(daemon: FakeDaemon, count: int, seconds: float) -> None:
    """Waits until so many have come."""
    end = time.monotonic() + seconds
    while len(daemon.all) < count and time.monotonic() < end:
        await asyncio.sleep(0.05)
    assert len(daemon.all) >= count, [shown.title for shown in daemon.all]


@pytest.mark.skipif(sys.platform != "linux", reason="the clock is moved by a preloaded library of Linux")
async def test_a_machine_that_sleeps_tells_one_digest(notify_daemon: FakeDaemon, home: Path, tmp_path: Path) -> None:
    """The wall clock jumps by 12 h 20 min while the steady one goes on from where it was, as in a suspend of Linux."""
    assert FAKETIME is not None, "faketime is not installed: run tests/run, or install it"
    stamp = tmp_path / "stamp"
    stamp.write_text("+0\n")
    service = Service(
        home, "--headless", LD_PRELOAD=str(FAKETIME), FAKETIME_TIMESTAMP_FILE=str(stamp), FAKETIME_NO_CACHE="1",
        FAKETIME_DONT_FAKE_MONOTONIC="1",
    )  # fmt: skip
    try:
        await asyncio.to_thread(service.beats)
        await asyncio.sleep(1.5)
        assert notify_daemon.all == []
        stamp.write_text("+740m\n")
        began = time.monotonic()
        await came(notify_daemon, 1, 10.0)
        took_s = time.monotonic() - began
        await asyncio.sleep(1.5)
        (shown,) = notify_daemon.all
    finally:
        code, _, err = await asyncio.to_thread(service.ends)
    assert code == 0, err
    assert took_s < 5.0  # the case allows 60 s
    assert shown.title.endswith("things waited")
    with Shop(home) as shop:
        intents = [fact for fact in shop.nudges() if fact.phase == "intent" and fact.channel == "desktop"]
    assert {"look", "strip"} <= {fact.step for fact in intents}
    assert any(fact.step.startswith("mist") for fact in intents)
    assert all(fact.body["missed"] for fact in intents if fact.step)


async def stands_by(home: Path, service: Service, within_s: float = 20.0) -> None:
    """Until it has started, and the lease was another's: then it waits for it."""
    started = f"process {service.process.pid}, nudging: False"
    end = time.monotonic() + within_s
    while started not in (home / "log" / "bench.log").read_text("utf-8"):
        assert time.monotonic() < end, "it does not start"
        await asyncio.sleep(0.05)


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL")
async def test_a_killed_one_is_followed_by_the_one_that_waited(notify_daemon: FakeDaemon, home: Path) -> None:
    first = Service(home, "--headless")
    second = None
    try:
        await asyncio.to_thread(first.beats)
        second = Service(home, "--headless")
        await stands_by(home, second)
        first.ends(signal.SIGKILL)
        await asyncio.to_thread(second.beats, 5.0)  # it looks each second whether the lease is free
        beat = read_beat(home)
        assert beat is not None
        assert beat.nudging
    finally:
        first.ends(signal.SIGKILL)
        code, _, err = await asyncio.to_thread(second.ends) if second is not None else (0, "", "")
    assert code == 0
    assert "the lease was free" in err


# --- homes and disks that refuse -------------------------------------------------------------------------------------


def by_somebody_else(home: Path) -> list[str]:
    """Runs the service in a fork without the right to write; what it says: its troubles, and what it told."""
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # forking beside threads: the child starts none
        child = os.fork()
    if child == 0:
        status = 1
        try:
            if IS_ROOT:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            with os.fdopen(writing, "w") as pipe:
                pipe.write("\n".join(asyncio.run(_run_at_ready(home))))
            status = 0
        finally:
            os._exit(status)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        said = pipe.read()
    assert os.waitpid(child, 0)[1] == 0
    return said.splitlines()


async def _run_at_ready(home: Path) -> list[str]:
    from tests.service.fake import HandClock

    carrier = Carrier()
    bench = bench_of(home, HandClock(READY), carrier, timezone="UTC")
    await bench.start()
    await settled(bench)
    await bench._try_again()
    await settled(bench)
    said = [f"told {title}" for title in titles(carrier)] + [f"nudging {bench.nudging}", *bench.troubles]
    await bench.stop()
    bench.shop.close()
    return said


@pytest.fixture
def open_tmp() -> Iterator[Path]:
    """A folder that others may enter, as pytest's is private."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        yield Path(folder)


@pytest.mark.skipif(os.name != "posix", reason="folders without the right to write are made by mode bits here")
def test_a_home_that_cannot_be_written(open_tmp: Path) -> None:
    """Nudges go out all the same, once; it says what it cannot do."""
    home = open_tmp / "home"
    Place(home).shop.close()
    home.chmod(0o555)
    for file in home.iterdir():
        file.chmod(0o444)
    try:
        said = by_somebody_else(home)
    finally:
        home.chmod(0o755)
    assert [text for text in said if text.startswith("told ")] == ["told Check the cover · bench"]
    assert "nudging True" in said
    assert any("another process may nudge as well" in text for text in said)
    assert any("Nothing can be written to" in text for text in said)
    assert any("read-only" in text and "nudges go out all the same" in text for text in said)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 800 kB."""
    with mounted(tmp_path / "disk", "800k", "SQLite's own limit stands for it in test_bench") as place:
        yield place


def fill(ballast: Path) -> None:
    """To the last byte."""
    file = os.open(ballast, os.O_CREAT | os.O_WRONLY)
    try:
        while True:
            os.write(file, b"x" * 4096)
    except OSError:
        os.close(file)
    assert os.statvfs(ballast).f_bavail == 0


async def test_a_service_that_starts_on_a_full_disk(small_disk: Path) -> None:
    """It cannot even make SQLite's side files; nothing is lost, and all is written down when there is room."""
    place = Place(small_disk / "home")
    place.shop.close()
    fill(small_disk / "ballast")
    place.clock.runs_to(READY)
    bench = await place.bench()
    try:
        await settled(bench)
        assert titles(place.carrier) == ["Check the cover · bench"]
        assert any("No space left" in text for text in bench.troubles)
        assert any("nudges go out all the same" in text for text in bench.troubles)
        (small_disk / "ballast").unlink()
        place.shop.done("bench", "look", now=READY)  # another process, as soon as there is room
        await bench._try_again()
        await place.come_to(READY + timedelta(minutes=1), bench)
        assert bench.troubles == []
        assert bench.timelines[0].line("look").state == "done"
        assert [fact.phase for fact in place.shop.nudges()] == ["intent", "sent", "answered"]
        assert titles(place.carrier) == ["Check the cover · bench"]
        await place.come_to(STRIP, bench)
        assert len(place.carrier.sent) > 1
    finally:
        await bench.stop()
        bench.shop.close()
        place.shop.close()


# --- a terminal ------------------------------------------------------------------------------------------------------


ON_TERMINAL = """
import fcntl, os, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)  # so that closing it hangs up
os.execv(sys.executable, [sys.executable, "-m", "curetrack", "bench"])
"""


class Screen:
    """The service with its dashboard on a terminal of its own."""

    def __init__(self, home: Path) -> None:
        import pty

        self.master, slave = pty.openpty()
        kept = {**os.environ, "CURETRACK_HOME": str(home), "TERM": "xterm-256color", "LINES": "24", "COLUMNS": "80"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", ON_TERMINAL], stdin=slave, stdout=slave, stderr=slave, env=kept,
            start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        os.set_blocking(self.master, False)
        self.painted = b""

    def reads(self) -> None:
        """What has been painted since; an unread terminal would fill up."""
        try:
            while more := os.read(self.master, 65536):
                self.painted += more
        except OSError:
            return

    def until(self, words: bytes, seconds: float = 15.0) -> None:
        """Waits until that is on the screen."""
        end = time.monotonic() + seconds
        while words not in self.painted:
            assert time.monotonic() < end, self.painted[-2000:]
            assert self.process.poll() is None, self.painted[-2000:]
            time.sleep(0.05)
            self.reads()

    def ends(self) -> int:
        """Its exit code, when it has ended by itself."""
        end = time.monotonic() + 10.0
        while self.process.poll() is None and time.monotonic() < end:
            time.sleep(0.05)
            self.reads()
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
            raise AssertionError("it does not end")
        return self.process.returncode


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals")
@pytest.mark.parametrize("how", ["TERM", "q", "hang up"])
def test_the_dashboard_ends_cleanly(home: Path, session_bus: str, how: str) -> None:
    screen = Screen(home)
    closed = False
    try:
        screen.until(b"bench")
        time.sleep(0.5)
        if how == "TERM":
            screen.process.send_signal(signal.SIGTERM)
        elif how == "q":
            os.write(screen.master, b"q")
        else:
            os.close(screen.master)
            closed = True
        code = screen.ends() if not closed else screen.process.wait(10)
    finally:
        if screen.process.poll() is None:
            screen.process.kill()
            screen.process.wait()
        if not closed:
            os.close(screen.master)
    assert code == 0
    assert b"Traceback" not in screen.painted
    log = (home / "log" / "bench.log").read_text()
    assert log.rstrip().endswith("stopped")
    assert "ERROR" not in log
