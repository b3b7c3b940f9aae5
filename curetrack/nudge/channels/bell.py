"""The terminal's bell with one line of text: where there is no notification service, or beside it."""

import asyncio
from collections.abc import Callable

from curetrack.nudge.channels.base import Message, Sent, Undelivered

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
        except OSError as error:
            raise Undelivered(f"the terminal is gone ({error.strerror or error})") from error
        return Sent()

    async def withdraw(self, mark: str) -> None:
        """Nothing can be taken back."""

    async def close(self) -> None:
        """Nothing is held."""
        await asyncio.sleep(0)


def ring_terminal() -> Ring | None:
    """A ring for the terminal that standard error leads to; None if it leads to none."""
    import sys

    stream = sys.stderr
    if stream is None or not stream.isatty():
        return None

    def ring(message: Message) -> None:
        from curetrack.words.clean import clean

        first = f" -- {clean(message.body[0])}" if message.body else ""
        stream.write(f"\a{clean(message.title)}{first}\n")
        stream.flush()

    return ring
