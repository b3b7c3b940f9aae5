"""The pieces' timelines for a page without a bench: worked out anew when a fact has come in or a minute has passed."""

from collections.abc import Callable, Sequence
from datetime import datetime

from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline

__all__ = ["Looking"]


class Looking:
    """All pieces on the go, as they are now. What has not changed stays the same object, as with a bench."""

    def __init__(self, shop: Shop, now: Callable[[], datetime]) -> None:
        self._shop, self._now = shop, now
        self._of: object = None
        self._found: Sequence[Timeline] = ()

    def timelines(self) -> Sequence[Timeline]:
        """At most a minute old, and never older than the newest fact. Raises StoreTrouble."""
        now = self._now()
        of = (self._shop.ledger.version(), self._shop.settings, int(now.timestamp()) // 60)
        if of != self._of:
            self._found, self._of = self._shop.timelines(View(now), only_next=True), of
        return self._found
