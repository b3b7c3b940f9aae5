"""The phone's page without a bench: it shows and takes ticks, and nudges nobody."""

import asyncio
import logging
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from curetrack.service.changes import Changes
from curetrack.service.clock import Clock
from curetrack.service.outlook import Outlook
from curetrack.service.rounds import Rounds
from curetrack.shop import Shop
from curetrack.timeline.types import Timeline

__all__ = ["Alone"]

LISTEN_s, AGAIN_s, RETIME_s = 1.0, 15.0, 900.0


class Alone:
    """Carries the page (service/page.py)."""

    nudging = False

    def __init__(self, home: Path, shop: Shop, clock: Clock, log: logging.Logger) -> None:
        self.home, self.shop, self.log = home, shop, log
        self._clock = clock
        self._outlook = Outlook(shop, clock.now, log)
        self._changes = Changes(shop)
        self._listeners: list[Callable[[], None]] = []
        self._rounds = Rounds(log, self._notify)
        self._woken = asyncio.Event()

    @property
    def timelines(self) -> Sequence[Timeline]:
        """As last worked out."""
        return self._outlook.timelines

    @property
    def troubles(self) -> tuple[str, ...]:
        """What is wrong."""
        found = (self._outlook.trouble, *self._rounds.troubles, *self._changes.troubles)
        return tuple(text for text in found if text)

    def now(self) -> datetime:
        """The moment."""
        return self._clock.now()

    def listen(self, heard: Callable[[], None]) -> None:
        """See Carrier."""
        self._listeners.append(heard)

    def said(self, piece: str) -> None:
        """See Carrier."""
        if piece:
            self._outlook.renew_one(piece)
            self._notify()
        else:
            self._woken.set()

    def retime(self) -> None:
        """See Carrier."""
        self._woken.set()

    async def start(self) -> None:
        """Works all out, and looks every second whether something has changed."""
        await self._rounds.guarded(self._renew)
        self._rounds.every(LISTEN_s, self._look)
        self._rounds.every(RETIME_s, self._renew)
        self._rounds.every(AGAIN_s, self._try_again)
        self._rounds.whenever(self._woken, self._renew)

    async def stop(self) -> None:
        """No more."""
        await self._rounds.stop()

    async def _try_again(self) -> None:
        """What could not be read before."""
        if self.shop.ledger.still:
            self.shop.ledger.close()
        if self.troubles:
            self._woken.set()

    async def _look(self) -> None:
        if self._changes.look():
            self._woken.set()

    async def _renew(self) -> None:
        self._woken.clear()
        await self._outlook.renew()
        self._notify()

    def _notify(self) -> None:
        for heard in self._listeners:
            heard()
