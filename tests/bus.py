"""A session bus of our own for tests, with a scripted notification service, or a real one on a screen nobody sees.

Import the fixtures into a conftest: `from tests.bus import notify_daemon, real_daemon, session_bus`.
"""

import asyncio
import os
import shutil
import struct
import subprocess
import tempfile
import time
import zlib
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest
from dbus_fast import Message
from dbus_fast.aio import MessageBus
from dbus_fast.service import ServiceInterface, dbus_method, dbus_signal

__all__ = [
    "FakeDaemon", "RealDaemon", "bus_folder", "leave", "notify_daemon", "own_bus", "real_daemon", "running_bus",
    "serve", "session_bus", "tool",
]  # fmt: skip

BUS_CONF = """<busconfig><type>session</type><keep_umask/><listen>unix:path={socket}</listen><auth>EXTERNAL</auth>
<policy context="default"><allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/><allow own="*"/>
</policy></busconfig>"""
NAME = "org.freedesktop.Notifications"


def tool(name: str) -> str:
    """The path of a program that tests need; tests/run installs it, so that it is missing is a failure."""
    found = shutil.which(name)
    assert found is not None, f"{name} is not installed: run tests/run, or install it"
    return found


@contextmanager
def running_bus(folder: Path) -> Iterator[str]:
    """A bus at a socket in that folder; its address."""
    conf = folder / "bus.conf"
    conf.write_text(BUS_CONF.format(socket=folder / "bus"))
    bus = subprocess.Popen(
        [tool("dbus-daemon"), f"--config-file={conf}", "--nofork", "--nopidfile", "--nosyslog", "--print-address"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert bus.stdout is not None
    try:
        yield bus.stdout.readline().strip()  # it listens by then
    finally:
        bus.terminate()
        bus.wait(5)
        bus.stdout.close()
        (folder / "bus").unlink(missing_ok=True)


@pytest.fixture
def bus_folder() -> Iterator[Path]:
    """A short path: a socket's may have 107 letters."""
    with tempfile.TemporaryDirectory(prefix="bus") as folder:
        yield Path(folder)


@contextmanager
def own_bus() -> Iterator[str]:
    """A bus of the caller's alone; its address."""
    with tempfile.TemporaryDirectory(prefix="bus") as folder, running_bus(Path(folder)) as address:
        yield address


@pytest.fixture
def session_bus(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A bus of this test alone; its address is in the environment."""
    with own_bus() as address:
        monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", address)
        yield address


class Shown:
    """One notification as the service was asked to show it."""

    def __init__(self, number: int, title: str, body: str, actions: list[str], hints: dict[str, Any]) -> None:
        self.number, self.title, self.body = number, title, body
        self.buttons = dict(zip(actions[::2], actions[1::2], strict=True))
        self.hints = {name: variant.value for name, variant in hints.items()}


class FakeDaemon(ServiceInterface):
    """A notification service by the book (Desktop Notifications 1.2) that remembers everything and draws nothing.

    all     every Notify, in order
    open    what is shown now, by number
    closed  numbers that were closed, in order
    """

    def __init__(self, capabilities: list[str]) -> None:
        super().__init__(NAME)
        self.capabilities, self.last = capabilities, 0
        self.all: list[Shown] = []
        self.open: dict[int, Shown] = {}
        self.closed: list[int] = []
        self.arrived = asyncio.Event()

    @dbus_method()
    def GetCapabilities(self) -> "as":  # noqa: F722 -- annotations are D-Bus signatures
        return self.capabilities

    @dbus_method()
    def GetServerInformation(self) -> "ssss":  # noqa: F821
        return ["scripted", "test", "1", "1.2"]

    @dbus_method()
    def Notify(
        self, app: "s", replaces: "u", icon: "s", title: "s", body: "s", actions: "as", hints: "a{sv}", timeout: "i"  # noqa: F722, F821
    ) -> "u":  # fmt: skip  # noqa: F821
        self.last = max(self.last, replaces) if replaces else self.last + 1
        number = replaces or self.last
        shown = Shown(number, title, body, actions, hints)
        self.all.append(shown)
        self.open[number] = shown
        self.arrived.set()
        return number

    @dbus_method()
    def CloseNotification(self, number: "u"):  # noqa: F821
        self._close(number, 3)

    @dbus_signal()
    def ActionInvoked(self, number, key) -> "us":  # noqa: F821
        return [number, key]

    @dbus_signal()
    def NotificationClosed(self, number, reason) -> "uu":  # noqa: F821
        return [number, reason]

    def _close(self, number: int, reason: int) -> None:
        if self.open.pop(number, None) is not None:
            self.closed.append(number)
            self.NotificationClosed(number, reason)

    def press(self, number: int, button: str) -> None:
        """A person presses a button; the notification goes, as services do it."""
        assert button in self.open[number].buttons
        self.ActionInvoked(number, button)
        self._close(number, 2)

    async def next(self, timeout_s: float = 5.0) -> Shown:
        """Waits for the next notification."""
        await asyncio.wait_for(self.arrived.wait(), timeout_s)
        self.arrived.clear()
        return self.all[-1]


async def serve(address: str, capabilities: list[str] | None = None) -> tuple[MessageBus, FakeDaemon]:
    """Puts a scripted service on the bus."""
    bus = await MessageBus(bus_address=address).connect()
    daemon = FakeDaemon(capabilities or ["actions", "body", "persistence"])
    bus.export("/org/freedesktop/Notifications", daemon)
    await bus.request_name(NAME)
    return bus, daemon


async def leave(bus: MessageBus) -> None:
    """Off the bus, with the socket closed."""
    if not bus.connected:
        return
    bus.disconnect()
    with suppress(Exception):  # the bus may have died first
        await asyncio.wait_for(bus.wait_for_disconnect(), 5.0)


@pytest.fixture
async def notify_daemon(session_bus: str) -> AsyncIterator[FakeDaemon]:
    """A scripted service on a bus of this test alone."""
    bus, daemon = await serve(session_bus)
    yield daemon
    await leave(bus)


class RealDaemon:
    """A real notification service (dunst) on a screen that nobody sees. Its context menu is a script that picks the
    button named in a file: that is how a test presses it."""

    def __init__(self, folder: Path, display: str, address: str) -> None:
        self.folder, self.display, self.address = folder, display, address
        self.screen = folder / "Xvfb_screen0"
        self.environment = {**os.environ, "DISPLAY": display, "DBUS_SESSION_BUS_ADDRESS": address}

    async def press(self, label: str) -> None:
        """Opens the context menu of what is shown and chooses that button."""
        (self.folder / "wanted").write_text(label)
        bus = await MessageBus(bus_address=self.address).connect()
        reply = await bus.call(
            Message(
                destination=NAME, path="/org/freedesktop/Notifications", interface="org.dunstproject.cmd0",
                member="ContextMenuCall",
            )
        )  # fmt: skip
        await leave(bus)
        assert reply is not None
        assert reply.message_type.name == "METHOD_RETURN", reply.body

    async def shown(self) -> int:
        """How many are on the screen."""
        bus = await MessageBus(bus_address=self.address).connect()
        reply = await bus.call(
            Message(
                destination=NAME, path="/org/freedesktop/Notifications", interface="org.freedesktop.DBus.Properties",
                member="Get", signature="ss", body=["org.dunstproject.cmd0", "displayedLength"],
            )
        )  # fmt: skip
        await leave(bus)
        assert reply is not None
        count: int = reply.body[0].value
        return count

    def pixels(self) -> tuple[int, int, list[bytes]]:
        """Width, height and rows (red, green, blue) of the screen at this moment. Xvfb keeps it as an X window dump:
        a header of 32-bit numbers (its own length first, then width and height as the 5th and 6th, bytes per line as
        the 13th, colours as the 20th), a table of colours of 12 bytes each, then blue, green, red, 0 for each pixel."""
        dump = self.screen.read_bytes()
        head = struct.unpack(">25I", dump[:100])
        width, height, line, start = head[4], head[5], head[12], head[0] + 12 * head[19]
        rows = []
        for top in range(start, start + height * line, line):
            row = bytearray(3 * width)
            for colour in range(3):
                row[colour::3] = dump[top + 2 - colour : top + 4 * width : 4]
            rows.append(bytes(row))
        return width, height, rows

    def picture(self, path: Path) -> None:
        """Writes the screen as PNG (ISO/IEC 15948): for a person to look at."""
        width, height, rows = self.pixels()
        parts = [
            (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
            (b"IDAT", zlib.compress(b"".join(b"\0" + row for row in rows))),
            (b"IEND", b""),
        ]
        chunks = (struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
                  for kind, body in parts)  # fmt: skip
        path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(chunks))


@pytest.fixture
def real_daemon(session_bus: str, tmp_path: Path) -> Iterator[RealDaemon]:
    """dunst on Xvfb, on a bus of this test alone."""
    screen = subprocess.Popen(
        [tool("Xvfb"), "-displayfd", "1", "-screen", "0", "900x500x24", "-nolisten", "tcp", "-fbdir", str(tmp_path)],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert screen.stdout is not None
    daemon: subprocess.Popen[str] | None = None
    try:
        display = f":{screen.stdout.readline().strip()}"
        menu = tmp_path / "menu"
        menu.write_text(f'#!/bin/sh\ngrep -F -- "$(cat {tmp_path}/wanted)"\n')
        menu.chmod(0o755)
        conf = tmp_path / "dunstrc"
        conf.write_text(
            f"[global]\n    dmenu = {menu}\n    font = Monospace 14\n    width = 700\n    origin = top-left\n"
            "    markup = full\n"  # as in the file it is shipped with
        )
        daemon = subprocess.Popen(
            [tool("dunst"), "-conf", str(conf)], env={**os.environ, "DISPLAY": display}, text=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        asyncio.run(_owned(session_bus))
        yield RealDaemon(tmp_path, display, session_bus)
    finally:
        for process in (daemon, screen):
            if process is not None:
                process.terminate()
                process.wait(5)
        screen.stdout.close()


async def _owned(address: str) -> None:
    """Waits until somebody serves notifications."""
    bus = await MessageBus(bus_address=address).connect()
    end = time.monotonic() + 10.0
    while time.monotonic() < end:
        reply = await bus.call(
            Message(
                destination="org.freedesktop.DBus", path="/org/freedesktop/DBus", interface="org.freedesktop.DBus",
                member="NameHasOwner", signature="s", body=[NAME],
            )
        )  # fmt: skip
        if reply is not None and reply.body and reply.body[0] is True:
            await leave(bus)
            return
        await asyncio.sleep(0.05)
    raise AssertionError("no notification service came up")
