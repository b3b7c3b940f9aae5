"""What lies ahead of each piece: its timeline as last worked out, and the moments that follow from it."""

import asyncio
import logging
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime

from curetrack.errors import CuretrackError, UnknownName
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.types import How, Moment
from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline
from curetrack.words.clean import clean

__all__ = ["Outlook"]


class Outlook:
    """All pieces on the go, in the order of their first mention. Works piece by piece and lets others run between."""

    def __init__(self, shop: Shop, now: Callable[[], datetime], log: logging.Logger) -> None:
        self._shop, self._now, self._log = shop, now, log
        self._timelines: dict[str, Timeline] = {}
        self._moments: dict[str, list[Moment]] = {}
        self._closed: dict[str, dict[str, How]] = {}
        self._newer: set[str] = set()  # worked out by themselves since all were begun
        self.trouble = ""

    @property
    def timelines(self) -> Sequence[Timeline]:
        """As last worked out; their `now` may be some minutes old."""
        return list(self._timelines.values())

    @property
    def moments(self) -> list[Moment]:
        """Of all pieces, and of the conditions."""
        own = [moment for moments in self._moments.values() for moment in moments]
        try:
            return own + conditions_of(self._timelines.values(), self._shop.settings.zone)
        except Exception as error:  # the steps' own nudges must not wait for it
            self._fault("the conditions", error)
            return own

    @property
    def closed(self) -> dict[str, How]:
        """Groups whose step is done or skipped."""
        return {group: how for closed in self._closed.values() for group, how in closed.items()}

    async def renew(self) -> None:
        """All pieces anew. What cannot be worked out stays as it was, and `trouble` says why."""
        self._newer.clear()
        try:
            work = self._shop.prepared(View(self._now()))
        except CuretrackError as error:
            self.trouble = str(error)
            return
        except Exception as error:
            self._fault("the list of pieces", error)
            return
        self.trouble, seen = "", set()
        for solve_it in work:
            await asyncio.sleep(0)  # a key that was pressed meanwhile is answered first
            seen.add(self._worked_out(solve_it))
        if not self.trouble:
            for name in self._timelines.keys() - seen - self._newer:
                self._forget(name)

    def renew_one(self, name: str) -> None:
        """One piece anew, now."""
        self._worked_out(lambda: self._shop.timeline(name, View(self._now())), name)
        self._newer.add(name)

    async def renew_some(self, names: Iterable[str]) -> None:
        """These pieces anew."""
        for name in names:
            await asyncio.sleep(0)
            self.renew_one(name)

    def _worked_out(self, solve_it: Callable[[], Timeline], name: str = "") -> str:
        """The name of the piece; "" if it cannot be worked out, and `trouble` says why: one piece must not hold up the
        others. What was said while all were worked out, from older facts, stands."""
        try:
            timeline = solve_it()
            if name or timeline.piece not in self._newer:
                self._keep(timeline)
        except UnknownName:
            self._forget(name)
        except CuretrackError as error:
            self.trouble = str(error)
        except Exception as error:
            self._fault(name or "a piece", error)
        else:
            return timeline.piece
        return ""

    def _fault(self, what: str, error: Exception) -> None:
        text = f"A fault of the program ({type(error).__name__}) keeps {clean(what)} from being worked out anew."
        if self.trouble != text:
            self._log.exception("%s", text)
        self.trouble = text

    def _keep(self, timeline: Timeline) -> None:
        if timeline.dropped or timeline.finished:
            self._forget(timeline.piece)
            self._closed[timeline.piece] = closed_of(timeline)  # what was told of it is settled by that
            return
        self._timelines[timeline.piece] = timeline
        self._moments[timeline.piece] = moments_of(timeline, self._shop.settings.zone)
        self._closed[timeline.piece] = closed_of(timeline)

    def _forget(self, name: str) -> None:
        for kept in (self._timelines, self._moments, self._closed):
            kept.pop(name, None)
