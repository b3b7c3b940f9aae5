"""Timelines for many phones: solved when a fact has come in or the time has moved, not for each that asks."""

from collections.abc import Callable, Sequence
from datetime import datetime

from msgspec.structs import replace

from curetrack.errors import UnknownName
from curetrack.shop import Shop, View
from curetrack.shop.planner import is_planned
from curetrack.timeline.types import Timeline

__all__ = ["Looking"]

FRESH_s = 60  # as long a timeline serves, if nothing is said meanwhile


class Looking:
    """All pieces on the go, as they are now."""

    def __init__(self, shop: Shop, now: Callable[[], datetime]) -> None:
        self._shop, self._now = shop, now
        self._version: tuple[int, int, int] | None = None
        self._time: tuple[int, int] = (0, 0)
        self._newest = shop.newest()
        self._found: dict[str, Timeline] = {}

    def timelines(self) -> Sequence[Timeline]:
        """At most a minute old, and never older than the newest fact. Raises StoreTrouble."""
        now, version = self._now(), self._shop.ledger.version()
        time = (id(self._shop.settings), int(now.timestamp()) // FRESH_s)
        if version != self._version or time != self._time:
            self._renew(now, same_time=time == self._time and self._version is not None)
            self._version, self._time = version, time  # as it was before looking: what came meanwhile counts next time
        return list(self._found.values())

    def _renew(self, now: datetime, *, same_time: bool) -> None:
        """Where only ticks have come in, the pieces that they are about; all where these share a plan, and else."""
        newest = self._shop.newest()
        but_ticks = replace(newest, event=0, nudge=0, device=0)
        same_time = same_time and not is_planned(self._shop.settings)
        if same_time and but_ticks == replace(self._newest, event=0, nudge=0, device=0):
            for name in self._shop.pieces_said_since(self._newest.event):
                self._renew_one(name, now)
        else:
            found = self._shop.timelines(View(now), only_next=True)
            self._found = {timeline.piece: timeline for timeline in found}
        self._newest = newest

    def _renew_one(self, name: str, now: datetime) -> None:
        try:
            timeline = self._shop.timeline(name, View(now))
        except UnknownName:  # its plan was taken back
            self._found.pop(name, None)
            return
        if timeline.dropped or timeline.finished:
            self._found.pop(name, None)
        else:
            self._found[name] = timeline
