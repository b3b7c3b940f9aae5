"""The bench: keeps the timelines, wakes when a nudge is due, tells it, and hears what is said elsewhere.

Everything runs in one loop. What is due is always decided anew from the facts, by one function (`_tell`), whatever
woke it: a job, a fact written by another process, a tap, a clock that jumped, a channel that came up. So nothing can be
lost between two of them, and nothing is told twice.

    outlook     timelines and moments                      outlook.py
    due         which nudges, from moments and the log     nudge/due.py
    post        channels, and what became of each          nudge/post.py
    jobs        when to wake                               jobs.py
    vigil       sleep, stops, clocks that are wrong        vigil.py
    rounds      what is done every so often                rounds.py
"""

import asyncio
import logging
import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from msgspec.structs import replace

from curetrack.desk.ports import News
from curetrack.errors import CuretrackError
from curetrack.nudge.answers import Answers
from curetrack.nudge.channels.base import Channel, Press
from curetrack.nudge.due import due
from curetrack.nudge.log import read_log
from curetrack.nudge.parcels import parcels
from curetrack.nudge.post import Post
from curetrack.nudge.quiet import quiet_of
from curetrack.nudge.replies import SEEN
from curetrack.nudge.types import Moment
from curetrack.service.beat import Pulse, read_beat, silent_holder
from curetrack.service.changes import Changed, Changes
from curetrack.service.clock import Clock
from curetrack.service.jobs import Jobs
from curetrack.service.lease import Lease
from curetrack.service.outlook import Outlook
from curetrack.service.rounds import Rounds
from curetrack.service.saying import news_of, said_of
from curetrack.service.vigil import Vigil
from curetrack.service.watch import WatchedFolder
from curetrack.shop import Shop
from curetrack.shop.planner import is_planned
from curetrack.timeline.types import Timeline
from curetrack.words.voice import Voice

__all__ = ["Bench", "Make"]

LISTEN_s = 1.0  # how often the ledger is asked whether it has changed
AGAIN_s, FOLDER_s, BEAT_s, RETIME_s = 15.0, 30.0, 60.0, 900.0
OLD_BEAT_s = 90.0

Make = Callable[[Press, Mapping[str, str]], Sequence[Channel]]


class Bench:
    """The service. `make` makes the channels, given whom a pressed button calls and the marks of earlier runs."""

    def __init__(self, home: Path, shop: Shop, make: Make, clock: Clock, *, log: logging.Logger | None = None) -> None:
        self.home, self.shop, self.clock = home, shop, clock
        self.log = log or logging.getLogger("curetrack")
        self.lease = Lease(home)
        self._make = make
        self._besides: list[Callable[[], Sequence[str]]] = []
        self._outlook = Outlook(shop, clock.now, self.log)
        self._jobs = Jobs(clock, self._wake_for, lambda text: self.log.error("%s", text))
        self._changes, self._heard = Changes(shop), Changed()
        self._folder = WatchedFolder(shop, clock.now, self.log.info)
        self._vigil = Vigil(shop, clock, self.log)
        self._rounds = Rounds(self.log, self._notify)
        self._woken, self._pieces, self._all = asyncio.Event(), set[str](), False
        self._post = Post(shop, [], clock.now, log=read_log(()), heard=self._woken.set)
        self._answers = Answers(shop, self._post, clock.now, said=self._was_said)
        self._retry = self._read = False
        self._silent = ""
        self._waiting: tuple[Moment, ...] = ()
        self._listeners: list[Callable[[], None]] = []
        self._taps = set[asyncio.Task[None]]()
        self._telling = asyncio.Lock()
        self._pulse = Pulse(home, clock.now())

    # --- life --------------------------------------------------------------------------------------------------------

    async def start(self) -> None:
        """Takes up where the last run ended: what was missed since arrives as one digest."""
        beat = read_beat(self.home)
        self.lease.take()
        self._vigil.takes_up(beat.at if beat is not None else None, OLD_BEAT_s)
        with suppress(CuretrackError):  # the first tick says it, and tells nothing before this has been read
            await self._read_nudges()
        await self._use_channels()
        self._jobs.start()
        self.log.info("started, process %d, nudging: %s", os.getpid(), self.nudging)
        await self._rounds.guarded(self.tick)
        await self._beat()
        for period_s, what in (
            (LISTEN_s, self._listen), (AGAIN_s, self._try_again), (BEAT_s, self._beat),
            (FOLDER_s, self._watch_folder), (RETIME_s, self._retime_all),
        ):  # fmt: skip
            self._rounds.every(period_s, what)
        self._rounds.whenever(self._woken, self.tick)

    async def stop(self) -> None:
        """Ends cleanly: what is in flight lands, and the lease is free."""
        await self._rounds.stop()
        self._jobs.stop()
        if self._taps:
            await asyncio.wait(self._taps, timeout=1.0)
        await self._post.close()
        await self._beat()
        self.lease.release()
        self.log.info("stopped")

    # --- what the dashboard sees (desk/ports.py) ---------------------------------------------------------------------

    def now(self) -> datetime:
        """The moment."""
        return self.clock.now()

    @property
    def timelines(self) -> Sequence[Timeline]:
        """All pieces on the go."""
        return self._outlook.timelines

    @property
    def nudging(self) -> bool:
        """This process nudges."""
        return self.lease.held or bool(self.lease.trouble)

    @property
    def news(self) -> Sequence[News]:
        """What was told and not answered, the most urgent first."""
        return news_of(self._waiting, self._post.log, self._voice(), self.log)

    @property
    def troubles(self) -> Sequence[str]:
        """What is wrong, the gravest first."""
        own = (self._vigil.doubt, self._outlook.trouble, *self._rounds.troubles, self.lease.trouble, self._silent)
        others = (*self._post.troubles, *self._folder.troubles, *self._changes.troubles)
        found = (*own, self._pulse.trouble, *others, *(text for told in self._besides for text in told()))
        return [text for text in dict.fromkeys(found) if text]

    @property
    def carried_by(self) -> str:
        """Which channels carry nudges; or who nudges in this one's place."""
        if not self.nudging:
            return f"process {self.lease.holder() or '?'} nudges; this one only shows"
        return self._post.carried_by

    def tell_also(self, troubles: Callable[[], Sequence[str]]) -> None:
        """Further troubles, of what runs beside it."""
        self._besides.append(troubles)

    def listen(self, heard: Callable[[], None]) -> None:
        """`heard` is called whenever something has changed."""
        self._listeners.append(heard)

    def said(self, piece: str) -> None:
        """A fact was written here."""
        if piece:  # looked at first: what others have said of this piece by now is in the timeline, too
            with suppress(CuretrackError):  # then it is looked at within a second
                changed = self._changes.look()
                self._heard |= replace(changed, pieces=changed.pieces - {piece})
            self._outlook.renew_one(piece)
        self._all |= not piece or is_planned(self.shop.settings)  # one pair of hands: the others move, too
        self._woken.set()

    def retime(self) -> None:
        """Somebody looks: what hangs on the time alone is to be of now."""
        self._all = True
        self._woken.set()

    def seen(self, key: str) -> None:
        """It was read."""
        task = asyncio.ensure_future(self._answers.press(key, SEEN.id))
        self._taps.add(task)
        task.add_done_callback(self._taps.discard)

    # --- waking ------------------------------------------------------------------------------------------------------

    def _wake_for(self, piece: str) -> None:
        self._pieces.add(piece)
        self._woken.set()

    async def tick(self) -> None:
        """Renews what is asked for, tells what is due, and sets the jobs."""
        async with self._telling:
            self._woken.clear()
            self._look_at_clock()
            if not self._read:
                await self._read_nudges()
            pieces, self._pieces = self._pieces, set()
            if self._all or self._vigil.absent or not self._outlook.timelines:
                self._all = False
                await self._outlook.renew()
            else:
                await self._outlook.renew_some(sorted(pieces - {""}))
            await self._tell()
        self._notify()

    async def _tell(self) -> None:
        post, now, absent = self._post, self.clock.now(), self._vigil.absent
        found = due(
            [*self._outlook.moments, *self._vigil.moments(now)], post.log, quiet_of(self.shop.settings), now,
            closed=self._outlook.closed, absent=absent, retry=self._retry,
        )  # fmt: skip
        self._waiting = found.waiting
        post.log.forget_but({told.key for told in found.waiting})
        if self.nudging:
            fresh = tuple(nudge for nudge in found.nudges if nudge.moment.key not in post.in_flight)
            for parcel in parcels(replace(found, nudges=fresh), now, absent=absent):
                self.log.info("%s: %s", parcel.key, ", ".join(nudge.moment.key for nudge in parcel.nudges))
                post.start(parcel, said_of(parcel, self._voice(), self.log))
        self._vigil.back()
        self._retry = False
        self._jobs.sync(found.pending if self.nudging else ())
        if self.nudging:
            await post.settle([one for one in found.settled if one.key not in post.in_flight])

    # --- every so often ----------------------------------------------------------------------------------------------

    async def _listen(self) -> None:
        """What other processes have written, whether they are still there, and whether the machine has slept."""
        self._look_at_clock()
        if not self.lease.held and self.lease.take() and self.lease.held:
            await self._take_over()
        if self._all or self._vigil.absent:
            self._woken.set()
        changed, self._heard = self._heard | self._changes.look(), Changed()
        if not changed:
            return
        self._all |= changed.everything or changed.settings or (bool(changed.pieces) and is_planned(self.shop.settings))
        self._pieces |= changed.pieces
        self._woken.set()
        if changed.replaced:
            self.log.warning("the ledger was removed or replaced: read anew")
            self._post.log.start_over()
        if changed.nudges:
            await self._read_nudges()
        if changed.settings:
            await self._use_channels()

    async def _take_over(self) -> None:
        """The process that nudged is gone."""
        self.log.info("the lease was free: this process nudges now")
        self._vigil.absent = True
        await self._read_nudges()
        await self._use_channels()
        self._woken.set()
        await self._beat()

    async def _try_again(self) -> None:
        """What was not to be had before: a channel, a disk with room, a ledger that answers."""
        if self.shop.ledger.still:  # a disk that was full or read-only: it may have room now, and something new
            self.shop.ledger.close()
        if self._pulse.trouble:
            await self._beat()
        self._post.write_rest()
        self._retry |= await self._post.reopen()
        self.lease.check()
        self._silent = "" if self.nudging else silent_holder(read_beat(self.home), self.clock.now())
        failed = bool(self._outlook.trouble or self._rounds.troubles)
        self._all |= failed
        if self._vigil.absent or self._retry or failed:
            self._woken.set()

    async def _watch_folder(self) -> None:
        if self.nudging and self._folder.look(self.shop.settings.watch_folder):
            self._all = True
            self._woken.set()

    async def _retime_all(self) -> None:
        self._vigil.judge()
        self._all = True
        self._woken.set()

    # --- small things ------------------------------------------------------------------------------------------------

    async def _press(self, key: str, button: str) -> None:
        """A button of a notification. A bus tells all who listen; the one that nudges acts."""
        if self.nudging:
            await self._answers.press(key, button)

    async def _was_said(self, piece: str) -> None:
        """A tap was taken."""
        self.said(piece)

    async def _use_channels(self) -> None:
        """Those of the settings, knowing what already stands on the screen."""
        await self._post.use(self._make(self._press, self._post.log.keys_by_mark("desktop")))

    async def _read_nudges(self) -> None:
        """What was told, here before or by another process."""
        self._post.log.with_facts(self.shop.nudges(self._post.log.last_id))
        self._read = True

    def _notify(self) -> None:
        for heard in self._listeners:
            heard()

    def _look_at_clock(self) -> None:
        if self._vigil.look():
            self._all = True
            self._jobs.look_again()

    def _voice(self) -> Voice:
        settings = self.shop.settings
        return Voice(self.clock.now(), settings.zone, settings.units)

    async def _beat(self) -> None:
        if self.nudging:  # one that only shows must not hide that nobody nudges
            self._pulse.beats(self.clock.now(), self.carried_by, self.troubles, self._jobs.next_at)
