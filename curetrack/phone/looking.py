"""Timelines for many phones: solved when a fact has come in or the time has moved, not for each that asks."""

from collections.abc import Callable, Sequence
from datetime import datetime

from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline

__all__ = ["Looking"]

FRESH_s = 20  # as long a timeline serves, if nothing is said meanwhile


class Looking:
    """All pieces on the go, as they are now."""

    def __init__(self, shop: Shop, now: Callable[[], datetime]) -> None:
        self._shop, self._now = shop, now
        self._key: tuple[object, ...] = ()
        self._found: tuple[Timeline, ...] = ()

    def timelines(self) -> Sequence[Timeline]:
        """At most 20 s old, and never older than the newest fact. Raises StoreTrouble."""
        now = self._now()
        key = (self._shop.ledger.version(), id(self._shop.settings), int(now.timestamp()) // FRESH_s)
        if key != self._key:
            self._found = tuple(self._shop.timelines(View(now), only_next=True))
            self._key = key
        return self._found
