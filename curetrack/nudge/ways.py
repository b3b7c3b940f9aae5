"""One channel, guarded: it answers in bounded time, one message after another, and fails only with words.

A channel talks to the world; it may hang, or fail in ways nobody thought of. Neither may stop a nudge from going out
by another one.
"""

import asyncio
import logging
from collections.abc import Callable

from curetrack.nudge.channels.base import Channel, Message, Sent, Undelivered

__all__ = ["Way"]

OPEN_s = 10.0
WITHDRAW_s = 10.0


class Way:
    """`down`: why it cannot be opened; `failing`: why the last message did not go out; "" where all is well."""

    def __init__(self, channel: Channel, patience_s: float) -> None:
        self.name = channel.name
        self.down = self.failing = ""
        self._channel, self._patience_s = channel, patience_s
        self._lock = asyncio.Lock()

    @property
    def reaches(self) -> str:
        """In a few words."""
        return self._channel.reaches

    @property
    def works(self) -> bool:
        """As far as is known."""
        return not (self.down or self.failing)

    async def open(self) -> bool:
        """Gets ready, or says in `down` why not. A channel that is busy sending is left alone."""
        if self._lock.locked():
            return False
        async with self._lock:
            return await self._open()

    async def _open(self) -> bool:
        self.down = await self._said(self._channel.open, min(OPEN_s, self._patience_s))
        return not self.down

    async def _said(self, what: Callable[[], object], limit_s: float) -> str:
        """Why it failed, or "" if it did not."""
        try:
            async with asyncio.timeout(limit_s):
                await what()  # type: ignore[misc]
        except Undelivered as error:
            return str(error) or "no reason was given"
        except TimeoutError:
            return "it does not answer"
        except Exception as error:
            logging.getLogger("curetrack").exception("channel %s", self.name)
            return f"it failed unexpectedly ({type(error).__name__})"
        return ""

    async def send(self, message: Message, replaces: Callable[[], str]) -> Sent:
        """Carries the message when those before it are through; `replaces` is asked then. Raises Undelivered, also when
        it takes too long in all."""
        sent: list[Sent] = []

        async def carried() -> None:
            async with self._lock:
                sent.append(await self._channel.send(message, replaces()))

        why = await self._said(carried, self._patience_s)
        self.failing = why
        if sent and not why:
            self.down = ""
            return sent[0]
        await self.open()
        raise Undelivered(why)

    async def withdraw(self, mark: Callable[[], str]) -> None:
        """Takes back what `mark` names by the time the channel is free; "" takes back nothing."""

        async def back() -> None:
            async with self._lock:
                if known := mark():
                    await self._channel.withdraw(known)

        await self._said(back, WITHDRAW_s)

    async def close(self) -> None:
        """Lets go."""
        await self._said(self._channel.close, WITHDRAW_s)
