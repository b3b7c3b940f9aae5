"""The channel of macOS and Windows, through its library's part for Linux on a bus of our own."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from dbus_fast.aio import MessageBus

from curetrack.nudge.channels.base import Button, Message, Undelivered
from curetrack.nudge.channels.other import NotifierNotifications
from tests.bus import FakeDaemon, leave, running_bus, serve

MIST = Message(
    "bench/mist/ready", "bench/mist", "Mist and re-cover · bench", ("Ready now.", "Every 12 h."), "critical",
    (Button("done", "Done"), Button("later", "Later, 15 min")),
)  # fmt: skip


class Presses:
    """What was pressed."""

    def __init__(self) -> None:
        self.heard: asyncio.Queue[tuple[str, str]] = asyncio.Queue()

    async def __call__(self, key: str, button: str) -> None:
        await self.heard.put((key, button))

    async def next(self) -> tuple[str, str]:
        return await asyncio.wait_for(self.heard.get(), 5.0)


@pytest.fixture(autouse=True)
async def _left(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[None]:
    """The library stays on the bus as long as its process lives."""
    joined: list[MessageBus] = []

    class Noted(MessageBus):
        def __init__(self) -> None:
            super().__init__()
            joined.append(self)

    monkeypatch.setattr("desktop_notifier.backends.dbus.MessageBus", Noted)
    yield
    for bus in joined:
        await leave(bus)


@pytest.fixture
def presses() -> Presses:
    return Presses()


async def test_it_arrives_and_its_buttons_are_heard(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel = NotifierNotifications(presses)
    sent = await channel.send(MIST)
    assert sent.mark
    (shown,) = notify_daemon.all
    assert (shown.title, shown.body) == (MIST.title, "Ready now.\nEvery 12 h.")
    assert {"done": "Done", "later": "Later, 15 min"}.items() <= shown.buttons.items()
    assert shown.hints["urgency"] == 2
    notify_daemon.press(shown.number, "later")
    assert await presses.next() == (MIST.key, "later")
    await channel.close()


async def test_a_click_beside_the_buttons_does_nothing(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel = NotifierNotifications(presses)
    await channel.send(MIST)
    notify_daemon.press(1, "default")
    await channel.send(MIST)
    notify_daemon.press(2, "done")
    assert await presses.next() == (MIST.key, "done")
    assert presses.heard.empty()
    await channel.close()


async def test_a_newer_one_takes_the_place_of_the_older(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel = NotifierNotifications(presses)
    first = await channel.send(MIST)
    second = await channel.send(MIST, replaces=first.mark)
    assert notify_daemon.closed == [1]
    assert list(notify_daemon.open) == [2]
    await channel.withdraw(second.mark)
    assert not notify_daemon.open
    await channel.withdraw(second.mark)
    await channel.withdraw("of an earlier run")
    await channel.close()


async def test_a_service_that_comes_goes_and_comes_again(session_bus: str, presses: Presses) -> None:
    channel = NotifierNotifications(presses)
    with pytest.raises(Undelivered, match="no notification service"):
        await channel.send(MIST)
    bus, _ = await serve(session_bus)
    await channel.send(MIST)
    await leave(bus)
    await asyncio.sleep(0.05)
    with pytest.raises(Undelivered, match="did not take"):
        await channel.send(MIST)
    bus, daemon = await serve(session_bus)
    await channel.send(MIST)
    assert len(daemon.all) == 1
    await channel.close()
    await leave(bus)


async def test_a_bus_that_dies_and_comes_again(
    bus_folder: Path, presses: Presses, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", f"unix:path={bus_folder}/bus")
    channel = NotifierNotifications(presses)
    with running_bus(bus_folder) as address:
        bus, _ = await serve(address)
        await channel.send(MIST)
    await leave(bus)
    with pytest.raises(Undelivered, match="did not take"):
        await channel.send(MIST)
    with running_bus(bus_folder) as address:
        bus, daemon = await serve(address)
        await channel.send(MIST)
        assert len(daemon.all) == 1
        await leave(bus)


async def test_without_a_bus_it_says_so(presses: Presses, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere/at/all")
    with pytest.raises(Undelivered, match="no notification service"):
        await NotifierNotifications(presses).open()
