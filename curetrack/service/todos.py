"""The to-do list, kept in step: soon after something was said here, and every two minutes to hear what was ticked
elsewhere. A server in trouble is asked less and less often."""

import asyncio
import logging
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from time import monotonic

from curetrack.credentials import read_credentials
from curetrack.errors import CuretrackError
from curetrack.phone.caldav.run import Syncer
from curetrack.phone.caldav.store import FILE_NAME
from curetrack.phone.caldav.sync import Synced
from curetrack.service.daemon import beside

__all__ = ["Todos"]

SOON_s = 2.0  # after something was said: what is said right after goes along
PERIOD_s, LONGEST_s = 120.0, 1800.0


class Todos:
    """`look` is called again and again; it syncs when it is time. `facts`: another thing whenever something was said
    that a to-do can hang on, cheap to ask."""

    def __init__(
        self, home: Path, now: Callable[[], datetime], facts: Callable[[], object], log: logging.Logger,
        *, syncer: Syncer | None = None, clock_s: Callable[[], float] = monotonic,
    ) -> None:  # fmt: skip
        self._home, self._facts, self._log, self._clock_s = home, facts, log, clock_s
        self._syncer = syncer or Syncer(home, lambda: read_credentials(home).todo_password, now)
        self._seen: object = None
        self._rest_s, self._next_s = PERIOD_s, 0.0
        self.trouble = ""

    async def look(self) -> None:
        """One look: whether a list is connected and it is time, and if so a sync."""
        if not (self._home / FILE_NAME).exists():
            self.trouble, self._seen, self._rest_s, self._next_s = "", None, PERIOD_s, 0.0
            return
        due = self._clock_s() >= self._next_s
        if not due and (self.trouble or self._facts() == self._seen):
            return
        if not due:
            await asyncio.sleep(SOON_s)
        await self._sync()

    async def _sync(self) -> None:
        before, self._next_s = self._facts(), self._clock_s() + self._rest_s  # whatever comes of it
        try:
            done = await beside(self._syncer.run)
        except CuretrackError as error:
            self._rest_s = min(LONGEST_s, 2.0 * self._rest_s) if self.trouble else PERIOD_s
            self._next_s = self._clock_s() + self._rest_s
            self._says(f"The to-do list is not in step: {error}.")
            return
        except Exception:
            self._seen = before  # the same words would only bring it about again
            raise
        self._rest_s, self._next_s, self._seen = PERIOD_s, self._clock_s() + PERIOD_s, before
        self._says(f"The to-do list: {done.troubles[0]}." if done is not None and done.troubles else "")
        if done is not None:
            self._log_it(done)

    def _says(self, trouble: str) -> None:
        if trouble != self.trouble:
            self._log.warning("%s", trouble or "the to-do list is in step again")
        self.trouble = trouble

    def _log_it(self, done: Synced) -> None:
        for fact in done.facts:
            self._log.info("to-do list: %s %s %s", fact.what, fact.piece, fact.step)
        for why in done.refusals:
            self._log.info("to-do list: %s", why)
        if done.written:
            self._log.info("to-do list: %d written", done.written)
