"""The terminal's bell with one line of text: where there is no notification service, or beside it."""

import os
import select
import sys
from collections.abc import Callable
from typing import TextIO

from curetrack.nudge.channels.base import Message, Sent, Undelivered
from curetrack.words.clean import clean

__all__ = ["Bell", "ring_terminal"]

Ring = Callable[[Message], None]


class Bell:
    """`ring` makes the sound and shows the line; None: there is no terminal to ring."""

    name = "bell"

    def __init__(self, ring: Ring | None) -> None:
        self._ring = ring

    @property
    def reaches(self) -> str:
        """In a few words."""
        return "the terminal's bell"

    async def open(self) -> None:
        """Raises Undelivered without a terminal."""
        if self._ring is None:
            raise Undelivered("no terminal is there to ring")

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Rings. A bell that has rung cannot be replaced."""
        await self.open()
        assert self._ring is not None
        try:
            self._ring(message)
        except BlockingIOError as error:
            raise Undelivered("the terminal is held (Ctrl-S); Ctrl-Q lets it go on") from error
        except OSError as error:
            raise Undelivered(f"the terminal is gone ({error.strerror or error})") from error
        return Sent()

    async def withdraw(self, mark: str) -> None:
        """Nothing can be taken back."""

    async def close(self) -> None:
        """Nothing is held."""


def ring_terminal(stream: TextIO | None = None) -> Ring | None:
    """A ring for the terminal that `stream` (standard error) leads to; None if it leads to none."""
    stream = sys.stderr if stream is None else stream
    if stream is None or not stream.isatty():
        return None
    encoding = stream.encoding or "ascii"

    def ring(message: Message) -> None:
        first = f" -- {clean(message.body[0])}" if message.body else ""
        _write(stream, f"\a{clean(message.title)}{first}\r\n".encode(encoding, "replace"))

    return ring


def _write(stream: TextIO, line: bytes) -> None:
    """Never waits: a terminal that was held with Ctrl-S would hold up every other nudge."""
    if sys.platform == "win32":
        stream.write(line.decode(stream.encoding or "ascii", "replace"))
        stream.flush()
        return
    try:
        terminal = os.open(os.ttyname(stream.fileno()), os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY)
    except OSError:  # in a container a terminal may have no path of its own
        if not select.select([], [stream.fileno()], [], 0)[1]:
            raise BlockingIOError from None
        os.write(stream.fileno(), line)
        return
    try:
        os.write(terminal, line)
    finally:
        os.close(terminal)
