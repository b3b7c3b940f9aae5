"""The bell, on a real terminal (a pseudo-terminal of the test's own)."""

import io
import os
import termios
from collections.abc import Iterator
from typing import TextIO

import pytest

from curetrack.nudge.channels.base import Message, Undelivered
from curetrack.nudge.channels.bell import Bell, ring_terminal

MIST = Message("bench/mist/ready", "bench/mist", "Mist and re-cover · bench", ("Ready now.", "Every 12 h."))


@pytest.fixture
def terminal() -> Iterator[tuple[int, TextIO]]:
    """The reading end, and the terminal as a program has it."""
    ours, theirs = os.openpty()
    with os.fdopen(theirs, "w", encoding="utf-8") as stream:
        yield ours, stream
    os.close(ours)


async def test_it_rings_with_one_line(terminal: tuple[int, TextIO]) -> None:
    ours, stream = terminal
    channel = Bell(ring_terminal(stream))
    await channel.open()
    assert (await channel.send(MIST)).mark == ""
    heard = os.read(ours, 1000).decode()
    assert heard.startswith("\a")  # BEL, ECMA-48 8.3.3
    assert heard.strip("\a\r\n") == "Mist and re-cover · bench -- Ready now."
    await channel.withdraw("")
    await channel.close()


async def test_a_name_cannot_steer_the_terminal(terminal: tuple[int, TextIO]) -> None:
    ours, stream = terminal
    await Bell(ring_terminal(stream)).send(Message("k", "g", "\x1b]0;mine\x07\x1b[2J\n\u202eevil", ("\x1b[31mred",)))
    heard = os.read(ours, 1000).decode()
    assert heard.count("\a") == 1
    assert "\x1b" not in heard
    assert "\u202e" not in heard
    assert heard.count("\n") == 1


async def test_letters_that_the_terminal_does_not_have(terminal: tuple[int, TextIO]) -> None:
    ours, stream = terminal
    with os.fdopen(os.dup(stream.fileno()), "w", encoding="ascii") as plain:
        await Bell(ring_terminal(plain)).send(MIST)
    assert b"Mist and re-cover ? bench" in os.read(ours, 1000)


async def test_a_held_terminal_holds_up_nothing(terminal: tuple[int, TextIO]) -> None:
    """Somebody has pressed Ctrl-S."""
    ours, stream = terminal
    channel = Bell(ring_terminal(stream))
    termios.tcflow(stream.fileno(), termios.TCOOFF)
    with pytest.raises(Undelivered, match="held"):
        await channel.send(MIST)
    termios.tcflow(stream.fileno(), termios.TCOON)
    await channel.send(MIST)
    assert os.read(ours, 1000).count(b"\a") == 1


async def test_a_terminal_without_a_path(terminal: tuple[int, TextIO], monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a container: it is there, and has no name."""

    def nameless(_: int) -> str:
        raise OSError(19, "No such device")

    monkeypatch.setattr(os, "ttyname", nameless)
    ours, stream = terminal
    channel = Bell(ring_terminal(stream))
    await channel.send(MIST)
    assert os.read(ours, 1000).startswith(b"\a")
    termios.tcflow(stream.fileno(), termios.TCOOFF)
    with pytest.raises(Undelivered, match="held"):
        await channel.send(MIST)
    termios.tcflow(stream.fileno(), termios.TCOON)


async def test_a_terminal_that_was_closed() -> None:
    ours, theirs = os.openpty()
    with os.fdopen(theirs, "w", encoding="utf-8") as stream:
        channel = Bell(ring_terminal(stream))
        os.close(ours)
        with pytest.raises(Undelivered, match="the terminal is gone"):
            await channel.send(MIST)


async def test_no_terminal() -> None:
    assert ring_terminal(io.StringIO()) is None
    with pytest.raises(Undelivered, match="no terminal"):
        await Bell(None).open()


async def test_a_ring_of_somebody_elses() -> None:
    """The dashboard's own."""
    rung: list[Message] = []
    await Bell(rung.append).send(MIST)
    assert rung == [MIST]
