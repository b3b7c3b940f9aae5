"""`curetrack bench --headless` and `selfcheck` as processes of their own, on a session bus of the test's own."""

import asyncio
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.facts import Shape
from curetrack.service.beat import Beat, read_beat
from curetrack.shop import Shop
from tests.bus import FakeDaemon, notify_daemon, session_bus

__all__ = ["notify_daemon", "session_bus"]

UP_s = 15.0


class Service:
    """One process."""

    def __init__(self, home: Path, *words: str, **environment: str) -> None:
        self.home = home
        self.process = subprocess.Popen(
            [sys.executable, "-m", "curetrack", "bench", *words], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.PIPE, text=True, env={**os.environ, "CURETRACK_HOME": str(home), **environment},
        )  # fmt: skip

    def beats(self, within_s: float = UP_s) -> Beat:
        """Its first beat."""
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            beat = read_beat(self.home)
            if beat is not None and beat.pid == self.process.pid:
                return beat
            assert self.process.poll() is None, self.process.communicate()
            time.sleep(0.02)
        raise AssertionError("it does not come up")

    def ends(self, number: int = signal.SIGTERM) -> tuple[int, str, str]:
        """Told to stop: exit code, output, errors."""
        if self.process.poll() is None:
            self.process.send_signal(number)
        out, err = self.process.communicate(timeout=10)
        return self.process.returncode, out, err


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A shop with a piece whose first step is late."""
    now = datetime.now(UTC)
    with Shop(tmp_path / "home") as shop:
        shop.set_settings([("timezone", "UTC")])
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now, now=now)
        poured = now - timedelta(hours=3)
        shop.pour("bench", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=poured, now=now)
    return tmp_path / "home"


@pytest.fixture
def service(home: Path) -> Iterator[Service]:
    service = Service(home, "--headless")
    yield service
    service.ends(signal.SIGKILL)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_it_stops_when_it_is_told(session_bus: str, service: Service, number: int) -> None:
    service.beats()
    code, _, err = service.ends(number)
    assert code == 0
    assert "Traceback" not in err


async def test_what_is_late_comes_as_a_notification_and_its_button_ticks(notify_daemon: FakeDaemon, home: Path) -> None:
    service = Service(home, "--headless")
    try:
        shown = await notify_daemon.next(UP_s)
        assert "bench" in f"{shown.title} {shown.body}"
        with Shop(home) as shop:
            before = len(shop.events("bench", _view()))
            await asyncio.sleep(0.5)  # nobody is so quick as to press before the service has its answer
            notify_daemon.press(shown.number, "later")
            for _ in range(100):
                if len(shop.events("bench", _view())) > before:
                    break
                await asyncio.sleep(0.05)
            assert shop.events("bench", _view())[-1].kind == "later"
            assert shop.events("bench", _view())[-1].source == "nudge"
    finally:
        service.ends()


def _view() -> "object":
    from curetrack.shop import View

    return View(datetime.now(UTC))


def test_without_a_terminal_it_runs_without_the_dashboard(home: Path, session_bus: str) -> None:
    service = Service(home)
    service.beats()
    code, _, err = service.ends()
    assert code == 0
    assert "no terminal is there for the dashboard" in err


def test_without_a_bus_it_says_so_and_goes_on(home: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    service = Service(home, "--headless", XDG_RUNTIME_DIR=str(tmp_path))
    beat = service.beats()
    assert any("no desktop session" in text for text in beat.troubles)
    code, out, _ = service.ends()
    assert code == 0
    assert "no desktop session" in out


def test_what_it_says_at_the_start_can_be_read_while_it_runs(home: Path, session_bus: str) -> None:
    """A service's output goes into a pipe; nothing may wait in it for the end."""
    service = Service(home, "--headless", PYTHONUNBUFFERED="")
    try:
        assert service.process.stdout is not None
        assert service.process.stdout.readline() == "No channel carries nudges.\n"
        assert service.process.poll() is None
    finally:
        service.ends()


def test_a_second_one_says_who_nudges(home: Path, session_bus: str, service: Service) -> None:
    first = service.beats()
    second = Service(home, "--headless")
    time.sleep(2.5)
    code, out, _ = second.ends()
    assert code == 0
    assert f"process {first.pid} nudges".casefold() in out.casefold()
    beat = read_beat(home)
    assert beat is not None
    assert beat.pid == first.pid


def test_a_ledger_that_is_none_is_said_in_one_line(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "ledger.sqlite").write_bytes(b"this is no database at all, whatever its name says" * 20)
    service = Service(home, "--headless")
    _, err = service.process.communicate(timeout=UP_s)
    assert service.process.returncode == 2
    assert "Traceback" not in err
    assert "ledger.sqlite" in err


# --- selfcheck -------------------------------------------------------------------------------------------------------


def checked(home: Path, *words: str, **environment: str) -> tuple[int, dict[str, dict[str, object]]]:
    """Exit code, and the items by name."""
    done = subprocess.run(
        [sys.executable, "-m", "curetrack", "selfcheck", "--json", *words], capture_output=True, text=True, check=False,
        stdin=subprocess.DEVNULL, env={**os.environ, "CURETRACK_HOME": str(home), **environment},
    )  # fmt: skip
    assert "Traceback" not in done.stderr
    told = json.loads(done.stdout)
    assert told["ok"] is (done.returncode == 0)
    return done.returncode, {item["name"]: item for item in told["items"]}


async def test_selfcheck_sends_a_test_nudge(notify_daemon: FakeDaemon, home: Path) -> None:
    _, items = await asyncio.to_thread(checked, home)
    assert [shown.title for shown in notify_daemon.all] == ["Selfcheck"]
    assert items["desktop"]["ok"] is True
    assert items["channels"]["ok"] is True
    assert "1 works" in str(items["channels"]["text"])
    assert items["bench"]["ok"] is False  # a piece is curing, and nobody watches
    assert "curetrack bench" in str(items["bench"]["remedy"])


def test_selfcheck_without_any_channel(home: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    code, items = checked(home, XDG_RUNTIME_DIR=str(tmp_path))
    assert code == 1
    assert items["channels"]["ok"] is False
    assert "none works" in str(items["channels"]["text"])


async def test_selfcheck_quietly_sends_nothing(notify_daemon: FakeDaemon, home: Path) -> None:
    _, items = await asyncio.to_thread(checked, home, "--quiet")
    assert notify_daemon.all == []
    assert "not tried" in str(items["channels"]["text"])


def test_selfcheck_reads_the_heartbeat(home: Path, session_bus: str, service: Service) -> None:
    beat = service.beats()
    _, items = checked(home, "--quiet")
    assert f"process {beat.pid}" in str(items["bench"]["text"])


def test_selfcheck_names_a_channel_that_is_not_set_up(home: Path, session_bus: str) -> None:
    with Shop(home) as shop:
        shop.set_settings([("channels", "mail,desktop")])
    _, items = checked(home)
    assert items["mail"]["ok"] is False
    assert "not set up" in str(items["mail"]["text"])
