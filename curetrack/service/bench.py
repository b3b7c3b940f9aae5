"""The bench: keeps the timelines, wakes when a nudge is due, tells it, and hears what is said elsewhere.

Everything runs in one loop. What is due is always decided anew from the facts, by one function (`_tell`), whatever
woke it: a job, a fact written by another process, a tap, a clock that jumped, a channel that came up. So nothing can be
lost between two of them, and nothing is told twice.

    outlook     timelines and moments                      outlook.py
    due         which nudges, from moments and the log     nudge/due.py
    post        channels, and what became of each          nudge/post.py
    jobs        when to wake                               jobs.py
"""

import asyncio
import logging
import os
from collections.abc import Callable, Coroutine, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from curetrack import __version__
from curetrack.desk.ports import News
from curetrack.errors import CuretrackError
from curetrack.nudge.answers import Answers
from curetrack.nudge.channels.base import Channel, Press
from curetrack.nudge.due import due
from curetrack.nudge.log import read_log
from curetrack.nudge.parcels import parcels
from curetrack.nudge.post import Post
from curetrack.nudge.quiet import quiet_of
from curetrack.nudge.types import Moment, Nudge, Parcel
from curetrack.nudge.wording import message_of
from curetrack.service.beat import Beat, read_beat, write_beat
from curetrack.service.changes import Changes
from curetrack.service.clock import Clock
from curetrack.service.doubts import clock_doubt
from curetrack.service.jobs import Jobs
from curetrack.service.lease import Lease
from curetrack.service.outlook import Outlook
from curetrack.service.watch import WatchedFolder
from curetrack.shop import Shop
from curetrack.timeline.types import Alert, Timeline
from curetrack.words.voice import Voice

__all__ = ["Bench", "Make"]

LISTEN_s = 1.0  # how often the ledger is asked whether it has changed
AGAIN_s = 15.0
BEAT_s = 60.0
FOLDER_s = 30.0
RETIME_s = 900.0
JUMP_s, ABSENT_s = 2.0, 60.0
OLD_BEAT_s = 90.0

Make = Callable[[Press, Mapping[str, str]], Sequence[Channel]]


class Bench:
    """The service. `make` makes the channels, given whom a pressed button calls and the marks of earlier runs."""

    def __init__(self, home: Path, shop: Shop, make: Make, clock: Clock, *, log: logging.Logger | None = None) -> None:
        self.home, self.shop, self.clock = home, shop, clock
        self.log = log or logging.getLogger("curetrack")
        self.lease = Lease(home)
        self._make = make
        self._outlook = Outlook(shop, clock.now)
        self._jobs = Jobs(clock, self._wake_for, lambda text: self.log.error("%s", text))
        self._changes = Changes(shop)
        self._folder = WatchedFolder(shop, clock.now, self.log.info)
        self._post: Post | None = None
        self._answers: Answers | None = None
        self._woken, self._pieces, self._all = asyncio.Event(), set[str](), False
        self._retry = self._absent = False
        self._waiting: tuple[Moment, ...] = ()
        self._listeners: list[Callable[[], None]] = []
        self._tasks: list[asyncio.Task[None]] = []
        self._telling = asyncio.Lock()
        self._started_at, self._alive_s, self._doubt = clock.now(), clock.steady_s(), ""
        self.url = ""

    # --- life --------------------------------------------------------------------------------------------------------

    async def start(self) -> None:
        """Takes up where the last run ended: what was missed since arrives as one digest."""
        now = self.clock.now()
        beat = read_beat(self.home)
        self.lease.take()
        self._judge_clock(beat.at if beat is not None else None)
        log = read_log(self._asked(self.shop.nudges, []))
        self._post = Post(self.shop, [], self.clock.now, log=log, heard=self._changed)
        self._answers = Answers(self.shop, self._post, self.clock.now, said=self._was_said)
        await self._post.use(self._make(self._answers.press, log.keys_by_mark("desktop")))
        self._jobs.start()
        self._absent = beat is None or abs((now - beat.at).total_seconds()) > OLD_BEAT_s
        self._changes.look()
        self.log.info("started, process %d, nudging: %s", os.getpid(), self.lease.held or bool(self.lease.trouble))
        await self.tick()
        self._beat()
        for period_s, what in (
            (LISTEN_s, self._listen), (AGAIN_s, self._try_again), (BEAT_s, self._every_beat),
            (FOLDER_s, self._watch_folder), (RETIME_s, self._retime_all),
        ):  # fmt: skip
            self._tasks.append(asyncio.ensure_future(self._every(period_s, what)))
        self._tasks.append(asyncio.ensure_future(self._work()))

    async def stop(self) -> None:
        """Ends cleanly: what is in flight lands, and the lease is free."""
        for task in self._tasks:
            task.cancel()
        for task in self._tasks:
            with suppress(asyncio.CancelledError):
                await task
        self._tasks.clear()
        self._jobs.stop()
        if self._post is not None:
            await self._post.close()
        self._beat()
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
        if self._post is None:
            return ()
        voice, found = self._voice(), []
        for told in self._waiting:
            known = self._post.log.told(told.key)
            if known is not None and known.open and not known.seen:
                message = message_of(Parcel(told.key, told.group, (Nudge(told, told.at),)), voice)
                urgent = told.grade == "ruin" or told.rung == "late"
                found.append(News(told.key, message.title, message.body, urgent, told.piece, told.step))
        return found

    @property
    def troubles(self) -> Sequence[str]:
        """What is wrong, the gravest first."""
        own = (self._doubt, self._outlook.trouble, self.lease.trouble)
        post = self._post.troubles if self._post is not None else ()
        return [text for text in (*own, *post, *self._folder.troubles, *self._changes.troubles) if text]

    @property
    def carried_by(self) -> str:
        """Which channels carry nudges; or who nudges in this one's place."""
        if not self.nudging:
            return f"process {self.lease.holder() or '?'} nudges; this one only shows"
        return self._post.carried_by if self._post is not None else ""

    def listen(self, heard: Callable[[], None]) -> None:
        """`heard` is called whenever something has changed."""
        self._listeners.append(heard)

    def said(self, piece: str) -> None:
        """A fact was written here."""
        if piece:
            self._outlook.renew_one(piece)
            self._wake_for(piece)
        else:
            self._all = True
            self._woken.set()

    def seen(self, key: str) -> None:
        """It was read."""
        if self._answers is not None:
            self._run(self._answers.press(key, "seen"))

    # --- waking ------------------------------------------------------------------------------------------------------

    def _wake_for(self, piece: str) -> None:
        self._pieces.add(piece)
        self._woken.set()

    async def _work(self) -> None:
        """Everything that woke it is done here, one after another."""
        while True:
            await self._woken.wait()
            await self._guarded(self.tick)

    async def tick(self) -> None:
        """Renews what is asked for, tells what is due, and sets the jobs."""
        async with self._telling:
            self._woken.clear()
            self._away()
            pieces, self._pieces = self._pieces, set()
            everything, self._all = self._all or self._absent or not self._outlook.timelines, False
            if everything:
                await self._outlook.renew()
            else:
                await self._outlook.renew_some(sorted(pieces - {""}))
            await self._tell()
        self._notify()

    def _away(self) -> None:
        """Notices that nobody ran for a while: the machine slept, its clock was set, or the process was stopped."""
        jumped_s = self.clock.jumped_s()
        alive_s, self._alive_s = self._alive_s, self.clock.steady_s()
        paused_s = self._alive_s - alive_s
        if abs(jumped_s) > JUMP_s:
            self.log.warning("the clock moved by %.0f s beside its running", jumped_s)
            self._all = True
            self._jobs.look_again()
            self._judge_clock(None)
        if jumped_s > ABSENT_s or paused_s > ABSENT_s:
            self._absent = True

    async def _tell(self) -> None:
        post = self._post
        if post is None:
            return
        now, absent, retry = self.clock.now(), self._absent, self._retry
        self._absent = self._retry = False
        found = due(
            [*self._outlook.moments, *self._own_moments(now)], post.log, quiet_of(self.shop.settings), now,
            closed=self._outlook.closed, absent=absent, retry=retry,
        )  # fmt: skip
        self._waiting = found.waiting
        wanted = {told.key for told in found.waiting}
        for told in post.log.undelivered:
            if told.key not in wanted:
                post.log.forget(told.key)
        if not self.nudging:
            self._jobs.sync([])
            return
        nudges = tuple(nudge for nudge in found.nudges if nudge.moment.key not in post.in_flight)
        voice = self._voice()
        for parcel in parcels(_with(found, nudges), now, absent=absent):
            message = message_of(parcel, voice)
            self.log.info("%s: %s", parcel.key, ", ".join(nudge.moment.key for nudge in parcel.nudges))
            post.start(parcel, message)
        await post.settle([one for one in found.settled if one.key not in post.in_flight])
        self._jobs.sync(found.pending)

    def _own_moments(self, now: datetime) -> list[Moment]:
        """What the service itself has to say."""
        if not self._doubt:
            return []
        alert = Alert("warn", "clock", subject=self._doubt)
        key = f"clock/{now.astimezone(UTC).date().isoformat()}"
        return [Moment(key, key, "conditions", "known", "ruin", now, "", alert=alert)]

    # --- every so often ----------------------------------------------------------------------------------------------

    async def _listen(self) -> None:
        """What other processes have written, and whether the machine has slept."""
        self._away()
        if self._all or self._absent:
            self._woken.set()
        changed = self._changes.look()
        if not changed:
            return
        if changed.nudges and self._post is not None:
            self._post.log.with_facts(self.shop.nudges(self._post.log.last_id))
        if changed.settings and self._post is not None and self._answers is not None:
            known = self._post.log.keys_by_mark("desktop")
            await self._post.use(self._make(self._answers.press, known))
        self._all = self._all or changed.everything or changed.settings
        self._pieces |= changed.pieces
        self._woken.set()

    async def _try_again(self) -> None:
        """What was not to be had before: the lease, a channel, a disk with room."""
        if not self.lease.held and self.lease.take() and self.lease.held:
            self.log.info("the lease was free: this process nudges now")
            self._absent = True
        if self._post is not None:
            self._post.write_rest()
            if await self._post.reopen():
                self._retry = True
        if self._absent or self._retry:
            self._woken.set()

    async def _every_beat(self) -> None:
        self._beat()

    async def _watch_folder(self) -> None:
        folder = self.shop.settings.watch_folder
        if self.nudging and self._folder.look(folder):
            self._all = True
            self._woken.set()

    async def _retime_all(self) -> None:
        self._judge_clock(None)
        self._all = True
        self._woken.set()

    async def _every(self, period_s: float, what: Callable[[], Coroutine[Any, Any, None]]) -> None:
        while True:
            await asyncio.sleep(period_s)
            await self._guarded(what)

    async def _guarded(self, what: Callable[[], Coroutine[Any, Any, None]]) -> None:
        """Whatever fails is written down, and the next round comes all the same."""
        try:
            await what()
        except CuretrackError as error:
            self._outlook.trouble = str(error)
            self.log.error("%s", error)
            self._notify()
        except Exception:
            self.log.exception("this should not have happened")

    # --- small things ------------------------------------------------------------------------------------------------

    async def _was_said(self, piece: str) -> None:
        """A tap was taken."""
        self.said(piece)

    def _changed(self) -> None:
        """The post has news: what became of a nudge changes what is pending."""
        self._woken.set()

    def _notify(self) -> None:
        for heard in self._listeners:
            heard()

    def _run(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.ensure_future(work)
        self._tasks.append(task)
        task.add_done_callback(lambda done: self._tasks.remove(done) if done in self._tasks else None)

    def _judge_clock(self, beat_at: datetime | None) -> None:
        last_ms = self._asked(self.shop.ledger.last_recorded_ms, None)
        last = None if last_ms is None else datetime.fromtimestamp(last_ms / 1000.0, UTC)
        doubt = clock_doubt(self.clock.now(), last, beat_at)
        if doubt and doubt != self._doubt:
            self.log.warning("%s", doubt)
        self._doubt = doubt

    def _asked(self, ask: Callable[[], Any], otherwise: Any) -> Any:
        try:
            return ask()
        except CuretrackError as error:
            self._outlook.trouble = str(error)
            self.log.error("%s", error)
            return otherwise

    def _voice(self) -> Voice:
        settings = self.shop.settings
        return Voice(self.clock.now(), settings.zone, settings.units)

    def _beat(self) -> None:
        beat = Beat(
            os.getpid(), self.clock.now(), self._started_at, __version__, self.nudging, self.carried_by,
            tuple(self.troubles), self._jobs.next_at, self.url,
        )  # fmt: skip
        if self.nudging:  # one that only shows must not hide that nobody nudges
            with suppress(OSError):
                write_beat(self.home, beat)


def _with(found: Any, nudges: tuple[Nudge, ...]) -> Any:
    from msgspec.structs import replace

    return replace(found, nudges=nudges)
