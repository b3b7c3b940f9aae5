"""Pieces that were finished not long ago: still in the calendar, and their ticks can still be taken back."""

from collections.abc import Collection
from datetime import datetime, timedelta

from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline

__all__ = ["FRESH", "finished_lately"]

FRESH = timedelta(days=30)


def finished_lately(shop: Shop, on_the_go: Collection[str], now: datetime) -> list[Timeline]:
    """Timelines of the pieces that are not among those on the go, and of which something was said within `FRESH`."""
    view, found = View(now), []
    for piece in shop.pieces(view):
        if piece.name in on_the_go:
            continue
        last = max((event.recorded_at for event in shop.events(piece.name, view)), default=None)
        if last is not None and now - last < FRESH:
            found.append(shop.timeline(piece.name, view))
    return found
