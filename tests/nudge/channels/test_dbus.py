"""Desktop notifications on a real session bus: with a scripted service, a real one, and none at all."""

import asyncio
from pathlib import Path

import pytest
from dbus_fast.aio import MessageBus

from curetrack.nudge.channels.base import Button, Message, Undelivered
from curetrack.nudge.channels.dbus import BusNotifications
from tests.bus import FakeDaemon, RealDaemon, leave, running_bus, serve

DONE, LATER = Button("done", "Done"), Button("later", "Later, 1 h")
MIST = Message(
    "bench/mist/ready",
    "bench/mist",
    "Mist and re-cover · bench",
    ("Ready now.", "Every 12 h."),
    "normal",
    (DONE, LATER),
)


class Presses:
    """What was pressed."""

    def __init__(self) -> None:
        self.heard: asyncio.Queue[tuple[str, str]] = asyncio.Queue()

    async def __call__(self, key: str, button: str) -> None:
        await self.heard.put((key, button))

    async def next(self) -> tuple[str, str]:
        return await asyncio.wait_for(self.heard.get(), 5.0)


@pytest.fixture
def presses() -> Presses:
    return Presses()


async def test_it_arrives_with_buttons_and_urgency(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel = BusNotifications(presses)
    await channel.send(MIST)
    (shown,) = notify_daemon.all
    assert (shown.title, shown.body) == (MIST.title, "Ready now.\nEvery 12 h.")
    assert shown.buttons == {"done": "Done", "later": "Later, 1 h"}  # no button that nobody labelled
    assert shown.hints["urgency"] == 1  # the standard: 0 low, 1 normal, 2 critical
    notify_daemon.press(shown.number, "later")
    assert await presses.next() == ("bench/mist/ready", "later")
    await channel.close()


async def test_a_newer_one_takes_the_place_of_the_older(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel = BusNotifications(presses)
    first = await channel.send(MIST)
    second = await channel.send(MIST, replaces=first.mark)
    assert first.mark == second.mark
    assert len(notify_daemon.open) == 1
    await channel.withdraw(second.mark)
    assert not notify_daemon.open
    await channel.withdraw(second.mark)  # once more is no matter
    await channel.close()


async def test_markup_is_only_text(session_bus: str, presses: Presses) -> None:
    bus, daemon = await serve(session_bus, ["actions", "body", "body-markup"])
    channel = BusNotifications(presses)
    await channel.send(Message("k", "g", "a <b>title</b>", ("<b>bold</b> & more",)))
    assert daemon.all[0].body == "&lt;b&gt;bold&lt;/b&gt; &amp; more"
    await channel.close()
    await leave(bus)


async def test_no_markup_either_where_a_service_says_it_reads_none(notify_daemon: FakeDaemon, presses: Presses) -> None:
    """dunst 1.9 without a line on it in its settings says so, and draws <b> bold (seen)."""
    channel = BusNotifications(presses)
    await channel.send(Message("k", "g", "title", ("22 % < 80 % & a <b>bold</b> name",)))
    assert notify_daemon.all[0].body == "22 % < 80 % & a < b>bold< /b> name"
    await channel.close()


async def test_without_a_bus_it_says_so(presses: Presses, monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    with pytest.raises(Undelivered, match="no desktop session"):
        await BusNotifications(presses).open()
    for address in ("unix:path=/nowhere/at/all", "rubbish", "tcp:host=127.0.0.1,port=1"):
        with pytest.raises(Undelivered, match="no desktop session"):
            await BusNotifications(presses, address=address).send(MIST)


async def test_a_service_that_comes_goes_and_comes_again(session_bus: str, presses: Presses) -> None:
    channel = BusNotifications(presses)
    with pytest.raises(Undelivered, match="no notification service"):
        await channel.send(MIST)
    bus, daemon = await serve(session_bus)
    first = await channel.send(MIST)
    assert len(daemon.all) == 1
    await leave(bus)
    with pytest.raises(Undelivered, match="no notification service"):
        await channel.send(MIST)
    bus, daemon = await serve(session_bus)
    second = await channel.send(MIST, replaces=first.mark)  # a mark of another service replaces nothing
    assert daemon.all[0].number == 1
    assert second.mark != first.mark
    await channel.close()
    await leave(bus)


async def test_a_bus_that_dies_and_comes_again(bus_folder: Path, presses: Presses) -> None:
    """A new bus counts names and numbers from the beginning: an old mark must not take another's notification away."""
    address = f"unix:path={bus_folder}/bus"
    channel = BusNotifications(presses, address=address)
    with running_bus(bus_folder):
        first, daemon = await serve(address)
        old = await channel.send(MIST)
        assert len(daemon.all) == 1
    with pytest.raises(Undelivered, match="no desktop session"):
        await channel.send(MIST)
    await leave(first)
    with running_bus(bus_folder):
        bus, daemon = await serve(address)
        await channel.open()
        other = BusNotifications(presses, address=address)
        foreign = await other.send(Message("theirs", "theirs", "Somebody else's", ()))
        assert old.mark.partition("/")[2] == foreign.mark.partition("/")[2]  # the same but for the bus
        await channel.withdraw(old.mark)
        new = await channel.send(MIST, replaces=old.mark)
        assert [shown.title for shown in daemon.open.values()] == ["Somebody else's", MIST.title]
        daemon.press(int(new.mark.rpartition("/")[2]), "done")
        assert await presses.next() == (MIST.key, "done")
        await other.close()
        await leave(bus)
    with running_bus(bus_folder):  # it has died and come again unnoticed
        bus, daemon = await serve(address)
        await channel.send(MIST)
        assert len(daemon.all) == 1
        await channel.close()
        await leave(bus)


async def test_a_service_that_never_answers(session_bus: str, presses: Presses, monkeypatch: object) -> None:
    """It owns the name and is silent."""
    bus = await MessageBus(bus_address=session_bus).connect()
    bus.add_message_handler(lambda heard: heard.destination == "org.freedesktop.Notifications" or None)
    await bus.request_name("org.freedesktop.Notifications")
    assert isinstance(monkeypatch, pytest.MonkeyPatch)
    monkeypatch.setattr("curetrack.nudge.channels.dbus.REPLY_s", 0.1)
    channel = BusNotifications(presses)
    with pytest.raises(Undelivered, match="no notification service"):
        await channel.send(MIST)
    await channel.close()
    await leave(bus)


async def test_buttons_of_other_programs_are_not_heard(notify_daemon: FakeDaemon, presses: Presses) -> None:
    channel, other = BusNotifications(presses), BusNotifications(Presses())
    await channel.open()
    await other.send(MIST)
    notify_daemon.press(1, "done")
    await channel.send(MIST)
    notify_daemon.press(2, "later")
    assert await presses.next() == (MIST.key, "later")  # the first that was heard
    assert presses.heard.empty()
    await other.close()
    await channel.close()


async def test_the_oldest_marks_are_forgotten(
    notify_daemon: FakeDaemon, presses: Presses, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A service that runs for years does not grow."""
    monkeypatch.setattr("curetrack.nudge.channels.dbus.MOST_KEYS", 2)
    channel = BusNotifications(presses)
    for number in range(3):
        await channel.send(Message(f"key {number}", f"group {number}", "title", (), buttons=(DONE,)))
    for number in (1, 2, 3):
        notify_daemon.press(number, "done")
    assert [(await presses.next())[0] for _ in range(2)] == ["key 1", "key 2"]
    await channel.close()


async def test_a_button_on_a_notification_of_an_earlier_run_counts(notify_daemon: FakeDaemon, presses: Presses) -> None:
    earlier = BusNotifications(presses)
    sent = await earlier.send(MIST)
    await earlier.close()
    later = BusNotifications(presses, {sent.mark: MIST.key})
    await later.open()
    notify_daemon.press(1, "done")
    assert await presses.next() == (MIST.key, "done")
    await later.close()


async def test_each_press_is_heard(notify_daemon: FakeDaemon) -> None:
    heard = []

    async def press(key: str, button: str) -> None:
        heard.append(button)
        await asyncio.sleep(0)

    channel = BusNotifications(press)
    for _ in range(3):
        sent = await channel.send(MIST)
        notify_daemon.press(int(sent.mark.rpartition("/")[2]), "done")
        await asyncio.sleep(0.05)
    assert heard == ["done"] * 3
    await channel.close()


async def test_a_real_service_shows_it_and_its_button_is_heard(real_daemon: RealDaemon, presses: Presses) -> None:
    channel = BusNotifications(presses)
    before = real_daemon.pixels()
    await channel.send(MIST)
    assert await real_daemon.shown() == 1
    assert real_daemon.pixels() != before  # and it can be seen
    await real_daemon.press("Later")
    assert await presses.next() == (MIST.key, "later")
    await channel.close()


async def test_a_real_service_replaces_what_was_in_flight_at_a_crash(real_daemon: RealDaemon, presses: Presses) -> None:
    """Shown, but its mark was lost: the same group finds it."""
    killed = BusNotifications(presses)
    await killed.send(MIST)
    again = BusNotifications(presses)
    later = Message(MIST.key, MIST.group, MIST.title, ("12 min late.",), "critical")
    await again.send(later)  # the service would show the very same text but once by itself
    assert await real_daemon.shown() == 1
    await again.send(Message("other", "bench/flip", "Flip · bench", ("Ready now.",), "critical"))
    assert await real_daemon.shown() == 2  # another group stands beside it
    await again.close()
    await killed.close()
