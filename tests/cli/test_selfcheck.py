"""`curetrack selfcheck` as a person meets it: on a terminal that asks, and with real servers at the other end."""

import asyncio
import errno
import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller

from curetrack.credentials import keep_credential
from curetrack.shop import Shop
from tests.bus import FakeDaemon, notify_daemon, session_bus
from tests.cli.test_bench import Service, checked, home
from tests.nudge.channels.test_hook import Server, server
from tests.nudge.channels.test_mail import plain

__all__ = ["home", "notify_daemon", "plain", "server", "session_bus"]

ASKED = "[y/n] "
# the terminal is made the process's own first, so that its Ctrl-C reaches it and nobody else
CODE = "import fcntl, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); from curetrack.cli.main import entry; entry()"


class Terminal:
    """selfcheck on a terminal of its own."""

    def __init__(self, home: Path, *words: str, **environment: str) -> None:
        self.mine, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", CODE, "selfcheck", *words], stdin=theirs, stdout=theirs, stderr=theirs,
            env={**os.environ, "CURETRACK_HOME": str(home), "TERM": "xterm", **environment}, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self.text = ""

    def reads(self, wanted: str = "", within_s: float = 20.0) -> str:
        """What comes until that text, or until the end."""
        end, start = time.monotonic() + within_s, len(self.text)
        while time.monotonic() < end and not (wanted and wanted in self.text[start:]):
            if not select.select([self.mine], [], [], 0.1)[0]:
                continue
            try:
                data = os.read(self.mine, 4096)
            except OSError as error:
                if error.errno != errno.EIO:  # Linux says so when the other end is closed
                    raise
                data = b""
            if not data:
                break
            self.text += data.decode()
        if wanted:
            assert wanted in self.text[start:], self.text
        return self.text[start:]

    def types(self, keys: str) -> None:
        os.write(self.mine, keys.encode())

    def ends(self) -> tuple[int, str]:
        """Exit code, and all that it said, on one line."""
        self.reads()
        return self.process.wait(10), " ".join(self.text.split())


@pytest.fixture
def terminal(home: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Starts one. No desktop is there unless the test has one."""
    if "DBUS_SESSION_BUS_ADDRESS" not in os.environ:
        monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    started: list[Terminal] = []

    def start(*words: str, **environment: str) -> Terminal:
        started.append(Terminal(home, *words, **environment))
        return started[-1]

    yield start
    for each in started:
        if each.process.poll() is None:
            each.process.kill()
            each.process.wait(5)
        os.close(each.mine)


@pytest.fixture
def no_desktop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)


def test_it_asks_whether_the_bell_rang(no_desktop: None, terminal: Callable[..., Terminal]) -> None:
    each = terminal()
    assert "\a" in each.reads(ASKED)
    each.types("maybe\n")
    each.reads(ASKED)  # neither yes nor no: it asks again
    each.types("Yes\n")
    code, said = each.ends()
    assert "the terminal's bell: sent, and seen" in said
    assert "no desktop session is there" in said
    assert "Traceback" not in said
    assert code == 1  # a piece is curing, and no bench runs


def test_what_did_not_come_is_a_fault(no_desktop: None, terminal: Callable[..., Terminal]) -> None:
    each = terminal(NO_COLOR="1")
    each.reads(ASKED)
    each.types("n\n")
    code, said = each.ends()
    assert code == 1
    assert "NOT OK bell: the terminal's bell: sent, but not seen" in said
    assert "none works" in said


def test_ctrl_c_ends_the_question(no_desktop: None, terminal: Callable[..., Terminal]) -> None:
    each = terminal()
    each.reads(ASKED)
    time.sleep(0.3)  # between the question and the waiting for its answer nothing is heard; nobody is so quick
    each.types("\x03")
    started = time.monotonic()
    code, said = each.ends()
    assert code == 130
    assert time.monotonic() - started < 5.0
    assert "Traceback" not in said


def test_quiet_and_json_ask_nothing(no_desktop: None, terminal: Callable[..., Terminal]) -> None:
    for words in (["--quiet"], ["--json"]):
        _, said = terminal(*words).ends()
        assert ASKED.strip() not in said


async def test_the_desktops_test_nudge_is_taken_back_when_it_was_seen(
    notify_daemon: FakeDaemon, terminal: Callable[..., Terminal]
) -> None:
    each = terminal()
    await notify_daemon.next(15.0)
    await asyncio.to_thread(each.reads, ASKED)
    each.types("y\n")
    await asyncio.to_thread(each.reads, ASKED)  # and the bell
    each.types("y\n")
    _, said = await asyncio.to_thread(each.ends)
    assert notify_daemon.open == {}
    assert "the desktop's notifications: sent, and seen" in said
    assert "2 work" in said


async def test_all_is_well(notify_daemon: FakeDaemon, home: Path) -> None:
    """The bench runs, and nothing needs to be done: exit 0."""
    service = Service(home, "--headless")
    try:
        beat = await asyncio.to_thread(service.beats)
        assert beat.carried_by == "the desktop's notifications"
        code, items = await asyncio.to_thread(checked, home)
    finally:
        await asyncio.to_thread(service.ends)
    assert {name: item for name, item in items.items() if not item["ok"]} == {}
    assert f"runs (process {beat.pid}), nudges by the desktop's notifications" in str(items["bench"]["text"])
    assert code == 0


def test_hook_and_mail_are_tried_for_real(no_desktop: None, home: Path, server: Server, plain: Controller) -> None:
    keep_credential(home, "hook_url", server.url)
    keep_credential(home, "hook_token", "t0ken-of-the-maker")
    with Shop(home) as shop:
        shop.set_settings([
            ("channels", "hook,mail"), ("mail_to", "maker@shop.test"), ("mail_server", f"127.0.0.1:{plain.port}"),
            ("mail_tls", "none"),
        ])  # fmt: skip
    _, items = checked(home)
    assert items["hook"]["ok"] is True
    assert items["mail"]["ok"] is True
    assert items["channels"]["text"] == "2 work"
    assert server.asked[0][1]["authorization"] == "Bearer t0ken-of-the-maker"
    assert plain.handler.mails[0]["Subject"] == "Selfcheck"
    assert "s3cret" not in str(items)
    assert "t0ken" not in str(items)


def test_a_hook_that_refuses(no_desktop: None, home: Path, server: Server) -> None:
    server.answers = [(403, {})]
    keep_credential(home, "hook_url", server.url)
    code, items = checked(home)
    assert code == 1
    assert items["hook"]["ok"] is False
    assert "hook_url" in str(items["hook"]["remedy"])
    assert "s3cret" not in str(items)


def test_secrets_that_others_can_read(no_desktop: None, home: Path) -> None:
    keep_credential(home, "hook_token", "t0ken-of-the-maker")
    (home / "secrets.toml").chmod(0o644)
    _, items = checked(home)
    assert items["secrets"]["ok"] is False
    assert "chmod 600" in str(items["secrets"]["remedy"])


def test_a_watched_folder_that_is_not_there(no_desktop: None, home: Path, tmp_path: Path) -> None:
    folder = tmp_path / "logger"
    folder.mkdir()
    with Shop(home) as shop:
        shop.set_settings([("watch_folder", str(folder))])
    assert checked(home, "--quiet")[1]["settings"]["ok"] is True
    folder.rmdir()
    assert checked(home, "--quiet")[1]["settings"]["ok"] is False


def test_settings_that_contradict_themselves_are_one_item(no_desktop: None, home: Path) -> None:
    (home / "settings.toml").write_text('hours = "Sat 9:00-10:00"\ncrew_hours = "Sun 9:00-10:00"\ncolour = 1\n')
    code, items = checked(home, "--quiet")
    assert (code, items["settings"]["ok"]) == (1, False)
    assert "line 3: unknown setting" in str(items["settings"]["text"])
    assert "line 2: crew_hours: the crew never comes" in str(items["settings"]["text"])
    assert [name for name, item in items.items() if "settings.toml" in str(item["text"])] == ["settings"]


def test_a_wrong_clock(no_desktop: None, home: Path) -> None:
    """Its own clock is set back by faketime(1): the real one, and a ledger that knows better."""
    done = subprocess.run(
        ["faketime", "-f", "-400d", sys.executable, "-m", "curetrack", "selfcheck", "--quiet"], capture_output=True,
        text=True, check=False, env={**os.environ, "CURETRACK_HOME": str(home)}, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    said = " ".join(done.stdout.split())
    assert done.returncode == 1
    assert "NOT OK clock: The computer's clock says" in said
    assert "set the computer's clock" in said
