"""The dashboard once for real: the command in a terminal, with the service beside it, driven by keys through tmux."""

import os
import re
import shlex
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.desk.keys import BOUNCE_s
from curetrack.facts import Forecast, Shape
from curetrack.shop import Shop, View
from tests.bus import tool

PROFILE = Path(__file__).with_name("desk.toml")
WITHIN_s = 20.0
COLOURS = re.compile(r"\x1b\[([0-9;]*)m")


class Terminal:
    """One tmux server of its own, with one window."""

    def __init__(self, socket: Path) -> None:
        self._tmux = [tool("tmux"), "-f", os.devnull, "-S", str(socket)]

    def __call__(self, *words: str) -> str:
        """A command of tmux."""
        done = subprocess.run([*self._tmux, *words], capture_output=True, text=True, timeout=WITHIN_s, check=False)
        return done.stdout

    def runs(self, command: str, home: Path, width: int = 80, height: int = 24, **more: str) -> None:
        """Starts a command in a window of that size; its exit code is shown when it has ended."""
        set_ = {"CURETRACK_HOME": str(home), "TERM": "screen-256color", "PYTHONUTF8": "1", **more}
        lines = " ".join(f"{key}={shlex.quote(value)}" for key, value in set_.items())
        unset = "env -u NO_COLOR -u CURETRACK_ASCII -u DBUS_SESSION_BUS_ADDRESS"
        self("new-session", "-d", "-x", str(width), "-y", str(height), f"{unset} {lines} {command}; echo ended $?; cat")

    def keys(self, *keys: str) -> None:
        self("send-keys", *keys)

    def shown(self) -> str:
        return self("capture-pane", "-p")

    def until(self, true: Callable[[], bool]) -> None:
        """Waits for it; what was shown last is the failure's text."""
        end = time.monotonic() + WITHIN_s
        while not true():
            assert time.monotonic() < end, self.shown()
            time.sleep(0.1)


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    found = Terminal(tmp_path / "tmux")
    yield found
    found("kill-server")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A shop with a piece that was poured an hour ago; nudges ring the terminal's bell."""
    home, now = tmp_path / "home", datetime.now(UTC)
    with Shop(home) as shop:
        shop.set_settings([("timezone", "Europe/Berlin"), ("channels", "bell")])
        shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=now)
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now - timedelta(hours=1), now=now)
        shop.pour("bench", profile=str(PROFILE), shape=Shape(1.8, 0.6, 0.04), at=now - timedelta(hours=1), now=now)
    return home


BENCH = f"{sys.executable} -m curetrack bench"


def done_steps(home: Path) -> list[tuple[str, str]]:
    with Shop(home) as shop:
        return [(e.step, e.source) for e in shop.events("bench", View(datetime.now(UTC))) if e.kind == "done"]


def test_a_day_at_the_bench(terminal: Terminal, home: Path) -> None:
    """Seen, ticked, asked, told by another process, drawn anew for another size, and ended."""
    terminal.runs(BENCH, home, COLUMNS="80", LINES="24")  # as some shells export them: they must not fix the size
    terminal.until(lambda: "Cover it · bench" in terminal.shown())
    rows = terminal.shown().rstrip("\n").split("\n")
    assert len(rows) == 24
    assert rows[-1].startswith("d done")
    assert "Nudges go out by the terminal's bell" in rows[-2]

    terminal.keys("d")
    terminal.until(lambda: "Strip the sides" in terminal.shown())
    assert done_steps(home) == [("cover", "desk")]

    time.sleep(BOUNCE_s + 0.1)  # else it is the same tap
    terminal.keys("d")
    terminal.until(lambda: "too soon" in terminal.shown())
    assert done_steps(home) == [("cover", "desk")]

    terminal.keys("t")
    terminal.until(lambda: "temperature" in terminal.shown())
    terminal.keys("-l", "17C 61%")
    terminal.keys("Enter")
    terminal.until(lambda: "slab 17 °C" in terminal.shown())

    with Shop(home) as shop:  # another process
        now = datetime.now(UTC)
        shop.done("bench", "strip", override="looked sound", now=now)
    terminal.until(lambda: "Flip it over" in terminal.shown())

    terminal("resize-window", "-x", "120", "-y", "40")
    terminal.until(lambda: "MPa" in terminal.shown() and terminal.shown().rstrip("\n").count("\n") == 39)

    terminal.keys("q")
    terminal.until(lambda: "ended 0" in terminal.shown())
    assert "Flip it over" not in terminal.shown()  # the terminal is as it was before
    assert terminal("display-message", "-p", "#{alternate_on}#{cursor_flag}").strip() == "01"


@pytest.mark.parametrize("key", ["C-c", "C-q"])
def test_other_keys_that_people_end_programs_with(terminal: Terminal, home: Path, key: str) -> None:
    terminal.runs(BENCH, home)
    terminal.until(lambda: "Cover it · bench" in terminal.shown())
    terminal.keys(key)
    terminal.until(lambda: "ended 0" in terminal.shown())


def test_without_colour(terminal: Terminal, home: Path) -> None:
    """NO_COLOR: bold, dim, italic and reverse are left, no colour is."""
    terminal.runs(BENCH, home, NO_COLOR="1")
    terminal.until(lambda: "Cover it · bench" in terminal.shown())
    assert codes(terminal) <= {"", "0", "1", "2", "3", "7", "39", "49"}


def test_with_colour(terminal: Terminal, home: Path) -> None:
    """What the test without colour would see if there were some."""
    terminal.runs(BENCH, home)
    terminal.until(lambda: "Cover it · bench" in terminal.shown())
    assert codes(terminal) & {"36", "96"}


def test_letters_of_a_terminal_that_knows_no_others(terminal: Terminal, home: Path) -> None:
    terminal.runs(BENCH, home, CURETRACK_ASCII="1")
    terminal.until(lambda: "Cover it - bench" in terminal.shown())
    assert terminal.shown().isascii()


def codes(terminal: Terminal) -> set[str]:
    found = COLOURS.findall(terminal("capture-pane", "-p", "-e"))
    return {code for codes in found for code in codes.split(";")}
