"""What is done again and again, each round guarded: whatever fails is said, and the next round comes all the same."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from contextlib import suppress

from curetrack.errors import CuretrackError

__all__ = ["Rounds"]

Round = Callable[[], Awaitable[None]]


class Rounds:
    """`heard` is called when something has begun to fail, or fails no more."""

    def __init__(self, log: logging.Logger, heard: Callable[[], None]) -> None:
        self._log, self._heard = log, heard
        self._tasks: list[asyncio.Task[None]] = []
        self._failing: dict[str, str] = {}

    @property
    def troubles(self) -> tuple[str, ...]:
        """What fails now, in words."""
        return tuple(dict.fromkeys(self._failing.values()))

    def every(self, period_s: float, what: Round) -> None:
        """From now on, with so much rest in between."""

        async def work() -> None:
            while True:
                await asyncio.sleep(period_s)
                await self.guarded(what)

        self._tasks.append(asyncio.ensure_future(work()))

    def whenever(self, woken: asyncio.Event, what: Round) -> None:
        """Whenever it is woken; `what` clears the event."""

        async def work() -> None:
            while True:
                await woken.wait()
                await self.guarded(what)

        self._tasks.append(asyncio.ensure_future(work()))

    async def stop(self) -> None:
        """What is being done is broken off."""
        tasks, self._tasks = self._tasks, []
        for task in tasks:
            task.cancel()
        for task in tasks:
            with suppress(asyncio.CancelledError):
                await task

    async def guarded(self, what: Round) -> bool:
        """Whether it went well. Said once in the log, not once a second."""
        name = getattr(what, "__name__", "")
        try:
            await what()
        except CuretrackError as error:
            self._fails(name, str(error))
        except Exception as error:
            if name not in self._failing:
                self._log.exception("this should not have happened")
            self._fails(name, f"The service has a fault ({type(error).__name__}); its log says more. It goes on.")
        else:
            if self._failing.pop(name, None) is not None:
                self._log.info("%s: goes again", name.strip("_"))
                self._heard()
            return True
        return False

    def _fails(self, name: str, text: str) -> None:
        if self._failing.get(name) != text:
            self._failing[name] = text
            self._log.error("%s", text)
            self._heard()
