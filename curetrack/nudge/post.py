"""The post: carries parcels through the channels, and writes down what became of each.

The intent is on disk before anything is sent, the outcome after: a crash loses nothing, and at most the one in flight
comes again, under the same key. The first channel that works carries a nudge; a nudge for a hold goes out on two. A
channel that is slow to answer is not waited for: the next one carries the nudge as well.
"""

import asyncio
import logging
from collections.abc import Callable, Coroutine, Iterable, Sequence
from datetime import datetime
from typing import Any, TypeVar

from curetrack.facts import NudgeFact, NudgePhase
from curetrack.nudge.channels.base import Channel, Message, Undelivered
from curetrack.nudge.journal import Journal
from curetrack.nudge.log import Log, read_log
from curetrack.nudge.types import Nudge, Parcel, Settled
from curetrack.nudge.ways import Way
from curetrack.shop import Shop

__all__ = ["Post"]

FOR_A_HOLD = 2
DRAIN_s = 5.0
SOON_s = 5.0  # without an answer for so long the next channel carries it too
PATIENCE_s = 90.0  # a web hook tries for a minute
CLEAR_s = 2.0  # so long a settling waits for notifications to go; the rest goes on beside

T = TypeVar("T")


class Post:
    """`now` is the service's clock; `heard` is called whenever something here has changed. `log`: what was told
    before, from the ledger if it is not given."""

    def __init__(
        self, shop: Shop, channels: Sequence[Channel], now: Callable[[], datetime], *, log: Log | None = None,
        heard: Callable[[], None] = lambda: None, soon_s: float = SOON_s, patience_s: float = PATIENCE_s,
    ) -> None:  # fmt: skip
        self.in_flight: dict[str, str] = {}  # key -> place
        self._journal = Journal(shop, log if log is not None else read_log(shop.nudges()))
        self._now, self._heard = now, heard
        self._soon_s, self._patience_s = soon_s, patience_s
        self._ways = [Way(channel, patience_s) for channel in channels]
        self._single: dict[str, tuple[str, ...]] = {}  # parcel -> its holds, where it went out on one channel only
        self._shown: dict[tuple[str, str], str] = {}  # place, channel -> mark of what stands there and is no nudge
        self._running: set[asyncio.Task[Any]] = set()

    @property
    def log(self) -> Log:
        """All that is known of what was told, on disk or not yet."""
        return self._journal.log

    # --- life ------------------------------------------------------------------------------------------------------

    async def open(self) -> None:
        """Gets all channels ready; those that cannot be are down, and tried again by `reopen`."""
        await asyncio.gather(*(way.open() for way in self._ways))
        self._heard()

    async def use(self, channels: Sequence[Channel]) -> None:
        """Other channels from now on: the settings have changed. What is in flight may land first."""
        if self._running:
            await asyncio.wait(set(self._running), timeout=DRAIN_s)
        old, self._ways = self._ways, [Way(channel, self._patience_s) for channel in channels]
        await asyncio.gather(*(way.close() for way in old))
        await self.open()

    async def reopen(self) -> bool:
        """Tries what is down; True if a channel has come up."""
        down = [way for way in self._ways if way.down]
        came_up = [way for way, up in zip(down, await asyncio.gather(*(way.open() for way in down)), strict=True) if up]
        for way in came_up:
            way.failing = ""
        if came_up:
            self._heard()
        return bool(came_up)

    async def close(self) -> None:
        """Lets what is in flight land, for a while, and closes all channels."""
        running = set(self._running)
        if running:
            await asyncio.wait(running, timeout=DRAIN_s)
        for task in running:
            task.cancel()
        await asyncio.gather(*running, return_exceptions=True)
        await asyncio.gather(*(way.close() for way in self._ways))
        self.write_rest()

    async def landed(self) -> None:
        """Returns when nothing is in flight any more."""
        while self._running:
            await asyncio.wait(set(self._running))

    def _beside(self, work: Coroutine[Any, Any, T]) -> "asyncio.Task[T]":
        task = asyncio.ensure_future(work)
        self._running.add(task)
        task.add_done_callback(self._running.discard)
        return task

    # --- sending ---------------------------------------------------------------------------------------------------

    def start(self, parcel: Parcel, message: Message) -> "asyncio.Task[bool]":
        """Delivers beside everything else: a slow channel holds up nobody. Its keys are `in_flight` meanwhile."""
        keys = [nudge.moment.key for nudge in parcel.nudges]
        self.in_flight |= dict.fromkeys(keys, parcel.group)
        task = self._beside(self.deliver(parcel, message))

        def landed(_: "asyncio.Task[bool]") -> None:
            for key in keys:
                self.in_flight.pop(key, None)
            self._heard()

        task.add_done_callback(landed)
        return task

    async def deliver(self, parcel: Parcel, message: Message) -> bool:
        """Through the first channel that takes it, a hold through two. False: nobody took it; that is written down,
        and it will be tried again."""
        wanted, took = FOR_A_HOLD if parcel.hold else 1, 0
        ahead, whys = list(self._ways), dict[str, str]()
        running, awaited = dict[asyncio.Task[str], Way](), set[asyncio.Task[str]]()
        if not ahead:
            self._intend(parcel, message, [""])
        try:
            while True:
                count = max(0, wanted - took - len(awaited))
                starting, ahead = ahead[:count], ahead[count:]
                started = self._set_off(starting, parcel, message)
                running |= started
                awaited |= started.keys()
                if not running:
                    break
                patience_s = self._soon_s if awaited and ahead else None
                done, _ = await asyncio.wait(running, timeout=patience_s, return_when=asyncio.FIRST_COMPLETED)
                awaited = awaited - done if done else set()  # nobody answered: the next ones carry it too
                for task in done:
                    whys[running.pop(task).name] = task.result()
                took = sum(not why for why in whys.values())
        finally:
            for task in running:
                task.cancel()
        self._judge(parcel, took, [whys[way.name] for way in self._ways if whys.get(way.name)])
        self._heard()
        return bool(took)

    def _set_off(self, ways: Sequence[Way], parcel: Parcel, message: Message) -> "dict[asyncio.Task[str], Way]":
        """The intents on disk, in one transaction; then each channel by itself."""
        if ways:
            self._intend(parcel, message, [way.name for way in ways])
        return {asyncio.create_task(self._send(way, parcel, message)): way for way in ways}

    async def _send(self, way: Way, parcel: Parcel, message: Message) -> str:
        """Why it did not go out; "" when it did."""
        place = parcel.group
        try:
            sent = await way.send(message, lambda: self._mark(place, way.name))
        except Undelivered as error:
            why = str(error)
            self._record(parcel, "failed", [way.name], lambda nudge: {**_short(nudge, parcel), "why": why})
            return f"{way.reaches}: {why}"
        before = self._places(nudge.moment.key for nudge in parcel.nudges)
        before |= {nudge.moment.group for nudge in parcel.nudges}
        self._shown.pop((place, way.name), None)
        self._record(parcel, "sent", [way.name], lambda nudge: {**_short(nudge, parcel), "mark": sent.mark})
        self._beside(self._clear(before - {place}))
        return ""

    def _judge(self, parcel: Parcel, took: int, whys: Sequence[str]) -> None:
        """What is to be said of a parcel that went out on too few channels."""
        self._single.pop(parcel.key, None)
        if parcel.hold and took == 1:
            self._single[parcel.key] = tuple(nudge.moment.key for nudge in parcel.nudges if nudge.moment.hold)
        if not took:
            why = "; ".join(whys) or "no channel is set up"
            logging.getLogger("curetrack").warning("not delivered: %s (%s)", parcel.key, why)
            self._record(parcel, "failed", [""], lambda nudge: {**_short(nudge, parcel), "why": why})

    async def show(self, message: Message, beside: str = "") -> bool:
        """Something about a nudge that went out (a question, a refusal, what became of it), in its place or `beside`
        it: on the channel that carried it, and no nudge of its own. False: nobody showed it."""
        marks = self.log.marks(beside or message.group)
        for way in self._ways:
            if not marks.get(way.name):  # it shows nothing that could be answered
                continue
            try:
                sent = await way.send(message, lambda name=way.name: self._mark(message.group, name))  # type: ignore[misc]
            except Undelivered:
                continue
            self._shown[message.group, way.name] = sent.mark
            return True
        return False

    async def settle(self, settled: Iterable[Settled]) -> None:
        """Writes down that they need no answer any more, and takes their notifications back, unless something else
        stands in the same place."""
        now, facts, places = self._now(), list[NudgeFact](), set[str]()
        for one in settled:
            told = self.log.told(one.key)
            if told is None:
                continue
            body: dict[str, object] = {"how": one.how, "group": one.group}
            facts.append(NudgeFact(0, one.key, "answered", "", told.piece, told.step, now, now, body))
            places |= {one.group, *self._places([one.key])}
        if not facts:
            return
        self._journal.write(facts)
        await asyncio.wait([self._beside(self._clear(places))], timeout=CLEAR_s)
        self._heard()

    # --- what stands where -------------------------------------------------------------------------------------------

    def _mark(self, place: str, channel: str) -> str:
        """Of what a channel shows in a place now."""
        return self._shown.get((place, channel)) or self.log.marks(place).get(channel, "")

    def _places(self, keys: Iterable[str]) -> set[str]:
        """Where these were told last."""
        return {told.place for key in keys if (told := self.log.told(key)) is not None and told.place}

    async def _clear(self, places: Iterable[str]) -> None:
        """Takes back what is shown in these places, where nothing that waits for an answer stands any more."""

        def left(place: str, channel: str) -> str:
            standing = {told.place for told in self.log.open_keys if not told.seen} | set(self.in_flight.values())
            return "" if place in standing else self._mark(place, channel)

        await asyncio.gather(*(
            way.withdraw(lambda place=place, name=way.name: left(place, name))  # type: ignore[misc]
            for place in places for way in self._ways
        ))  # fmt: skip

    # --- what is known -----------------------------------------------------------------------------------------------

    @property
    def carried_by(self) -> str:
        """Which channels carry nudges now, in a few words; "" if none."""
        return ", ".join(way.reaches for way in self._ways if way.works)

    @property
    def troubles(self) -> tuple[str, ...]:
        """What is wrong, the gravest first."""
        found = [f"Not delivered: {told.title or told.key} ({told.why})" for told in self.log.undelivered]
        if not self.carried_by:
            found.append("No channel carries nudges now; they are kept, and come as soon as one does.")
        if self._journal.trouble:
            found.append(f"What is told cannot be written down ({self._journal.trouble}); nudges go out all the same.")
        found += [
            f"No nudges by {way.reaches}: {way.down}" if way.down
            else f"The last nudge by {way.reaches} did not go out: {way.failing}"
            for way in self._ways if not way.works and not (way.name == "desktop" and self._reached_elsewhere())
        ]  # fmt: skip
        alone = {key for keys in self._single.values() for key in keys}
        if any(told.key in alone for told in self.log.open_keys):
            found.append("A hold went out on one channel only; set up a second: curetrack shop --help")
        return tuple(found)

    def _reached_elsewhere(self) -> bool:
        """A person is reached by a hook or by mail: a machine without a desktop is no fault then."""
        return any(way.works for way in self._ways if way.name not in ("desktop", "bell"))

    # --- writing down ------------------------------------------------------------------------------------------------

    def _intend(self, parcel: Parcel, message: Message, channels: Sequence[str]) -> None:
        self._record(parcel, "intent", channels, lambda nudge: _intent(nudge, parcel, message))

    def _record(
        self, parcel: Parcel, phase: NudgePhase, channels: Sequence[str], body: Callable[[Nudge], dict[str, object]]
    ) -> None:
        now = self._now()
        self._journal.write([
            NudgeFact(
                0, nudge.moment.key, phase, channel, nudge.moment.piece, nudge.moment.step, nudge.due_at, now,
                body(nudge),
            )
            for channel in channels for nudge in parcel.nudges
        ])  # fmt: skip

    def write_rest(self) -> None:
        """Writes what could not be written before."""
        self._journal.write_rest()


def _short(nudge: Nudge, parcel: Parcel) -> dict[str, object]:
    return {"attempt": nudge.attempt, "group": nudge.moment.group, "place": parcel.group}


def _intent(nudge: Nudge, parcel: Parcel, message: Message) -> dict[str, object]:
    told = nudge.moment
    return {
        **_short(nudge, parcel), "kind": told.kind, "rung": told.rung, "parcel": parcel.key, "missed": nudge.missed,
        "over": list(nudge.over), "pieces": list(told.pieces), "grade": told.grade, "title": message.title,
    }  # fmt: skip
