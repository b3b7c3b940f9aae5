"""A window that is closed while the screen is being drawn: the service must end, or nobody could nudge any more."""

import io
import os
import pty
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from curetrack.desk.outlet import Outlet
from curetrack.facts import Shape
from curetrack.shop import Shop
from tests.desk.test_tmux import PROFILE, WITHIN_s

LOGIN = "import os, sys; os.login_tty(int(sys.argv[1])); os.execv(sys.argv[2], sys.argv[2:])"
AT_ONCE = 6  # two of these six hung when writes were not guarded


class HungUp(io.StringIO):
    """As a terminal whose other end is closed (EIO)."""

    def write(self, text: str) -> int:
        raise OSError(5, "Input/output error")

    def flush(self) -> None:
        raise OSError(5, "Input/output error")


def test_what_nobody_takes_is_dropped() -> None:
    for file in (HungUp(), closed()):
        outlet = Outlet(file)
        assert outlet.write("abc") == 3
        outlet.flush()


def closed() -> io.StringIO:
    file = io.StringIO()
    file.close()
    return file


def test_all_else_is_the_file_s_own() -> None:
    file = io.StringIO()
    outlet = Outlet(file)
    assert outlet.write("abc") == 3
    assert file.getvalue() == "abc"
    assert outlet.isatty() is False


@pytest.fixture
def benches(tmp_path: Path) -> Iterator[list[tuple["subprocess.Popen[bytes]", int]]]:
    """Dashboards, each in a terminal of its own whose other end is ours."""
    found: list[tuple[subprocess.Popen[bytes], int]] = []
    for number in range(AT_ONCE):
        home, now = tmp_path / f"home{number}", datetime.now(UTC)
        with Shop(home) as shop:
            shop.set_settings([("timezone", "Europe/Berlin"), ("channels", "bell")])
            shop.pour("bench", profile=str(PROFILE), shape=Shape(1.8, 0.6, 0.04), at=now, now=now)
        ours, theirs = pty.openpty()
        command = [sys.executable, "-c", LOGIN, str(theirs), sys.executable, "-m", "curetrack", "bench"]
        env = {**os.environ, "CURETRACK_HOME": str(home), "TERM": "xterm-256color"}
        found.append((subprocess.Popen(command, env=env, pass_fds=[theirs]), ours))
        os.close(theirs)
    yield found
    for process, _ in found:
        process.kill()
        process.wait()


def test_a_window_closed_while_it_is_drawn_ends_the_service(
    benches: list[tuple["subprocess.Popen[bytes]", int]],
) -> None:
    for _, ours in benches:
        seen = b""
        while b"\x1b[" not in seen:
            seen += os.read(ours, 4096)
        os.close(ours)
    end = time.monotonic() + WITHIN_s
    assert [process.wait(max(0.1, end - time.monotonic())) for process, _ in benches] == [0] * AT_ONCE
