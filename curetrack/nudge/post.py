"""The post: carries parcels through the channels, and writes down what became of each.

The intent is on disk before anything is sent, the outcome after: a crash loses nothing, and at most the one in flight
comes again, under the same key. The first channel that works carries a nudge; a nudge for a hold goes out on two.
"""

import asyncio
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime

from curetrack.errors import StoreTrouble
from curetrack.facts import NudgeFact, NudgePhase
from curetrack.nudge.channels.base import Channel, Message, Undelivered
from curetrack.nudge.log import Log
from curetrack.nudge.types import Nudge, Parcel, Settled
from curetrack.nudge.wording import title_of
from curetrack.shop import Shop

__all__ = ["Post"]

DRAIN_s = 5.0
FOR_A_HOLD = 2


class Post:
    """`now` is the service's clock; `heard` is called whenever something here has changed."""

    def __init__(
        self, shop: Shop, channels: Sequence[Channel], now: Callable[[], datetime], *, log: Log,
        heard: Callable[[], None] = lambda: None,
    ) -> None:  # fmt: skip
        self.log = log
        self._shop, self._channels, self._now, self._heard = shop, list(channels), now, heard
        self._down: dict[str, str] = {}  # channel -> why
        self._locks = {channel.name: asyncio.Lock() for channel in channels}
        self._unwritten: list[NudgeFact] = []
        self._no_disk = ""
        self._single: set[str] = set()  # holds that went out on one channel only
        self._running: set[asyncio.Task[bool]] = set()
        self.in_flight: dict[str, str] = {}  # key -> place

    # --- life ------------------------------------------------------------------------------------------------------

    async def open(self) -> None:
        """Gets all channels ready; those that cannot be are down, and tried again by `reopen`."""
        for channel in self._channels:
            await self._try_open(channel)
        self._heard()

    async def use(self, channels: Sequence[Channel]) -> None:
        """Other channels from now on: the settings have changed."""
        old, self._channels, self._down = self._channels, list(channels), {}
        self._locks = {channel.name: asyncio.Lock() for channel in channels}
        for channel in old:
            await channel.close()
        await self.open()

    async def reopen(self) -> bool:
        """Tries what is down; True if a channel has come up."""
        down = [channel for channel in self._channels if channel.name in self._down]
        came_up = [await self._try_open(channel) for channel in down]
        if any(came_up):
            self._heard()
        return any(came_up)

    async def close(self) -> None:
        """Lets what is in flight land, for a while, and closes all channels."""
        if self._running:
            await asyncio.wait(self._running, timeout=DRAIN_s)
        for task in self._running:
            task.cancel()
        for channel in self._channels:
            await channel.close()
        self.write_rest()

    async def _try_open(self, channel: Channel) -> bool:
        try:
            await channel.open()
        except Undelivered as error:
            self._down[channel.name] = str(error)
            return False
        self._down.pop(channel.name, None)
        return True

    # --- sending ---------------------------------------------------------------------------------------------------

    def start(self, parcel: Parcel, message: Message) -> "asyncio.Task[bool]":
        """Delivers beside everything else: a slow channel holds up nobody. Its keys are `in_flight` meanwhile."""
        keys = [nudge.moment.key for nudge in parcel.nudges]
        self.in_flight |= dict.fromkeys(keys, parcel.group)
        task = asyncio.ensure_future(self.deliver(parcel, message))
        self._running.add(task)

        def landed(done: "asyncio.Task[bool]") -> None:
            self._running.discard(done)
            for key in keys:
                self.in_flight.pop(key, None)
            self._heard()

        task.add_done_callback(landed)
        return task

    async def deliver(self, parcel: Parcel, message: Message) -> bool:
        """Through the first channel that takes it, a hold through two. False: nobody took it; that is written down,
        and it will be tried again."""
        wanted, took, reasons = FOR_A_HOLD if parcel.hold else 1, 0, list[str]()
        for channel in self._channels:
            self._record(parcel, "intent", channel.name, lambda nudge: _intent(nudge, parcel))
            why = await self._send(channel, parcel, message)
            if why is None:
                took += 1
            else:
                reasons.append(f"{channel.reaches}: {why}")
            if took == wanted:
                break
        self._single = self._single - {parcel.key} if took != 1 or not parcel.hold else self._single | {parcel.key}
        if not took:
            why = "; ".join(reasons) or "no channel is set up"
            self._record(parcel, "failed", "", lambda nudge: {**_short(nudge, parcel), "why": why})
        self._heard()
        return bool(took)

    async def _send(self, channel: Channel, parcel: Parcel, message: Message) -> str | None:
        """None when it went out, else why not."""
        replaces = self.log.marks(parcel.group).get(channel.name, "")
        async with self._locks[channel.name]:
            try:
                sent = await channel.send(message, replaces)
            except Undelivered as error:
                why = str(error)
            else:
                self._down.pop(channel.name, None)
                self._record(parcel, "sent", channel.name, lambda nudge: {**_short(nudge, parcel), "mark": sent.mark})
                return None
        self._record(parcel, "failed", channel.name, lambda nudge: {**_short(nudge, parcel), "why": why})
        await self._try_open(channel)
        return why

    async def show(self, message: Message) -> None:
        """Something about a nudge that went out, in its place (a question, a refusal): no nudge of its own."""
        marks = self.log.marks(message.group)
        for channel in self._channels:
            if channel.name in marks:
                try:
                    await channel.send(message, marks[channel.name])
                except Undelivered:
                    continue
                return

    async def settle(self, settled: Iterable[Settled]) -> None:
        """Writes down that they need no answer any more, and takes their notifications back, unless something else
        stands in the same place."""
        done = list(settled)
        now = self._now()
        facts = []
        for one in done:
            told = self.log.told(one.key)
            if told is not None:
                body: dict[str, object] = {"how": one.how, "group": one.group}
                facts.append(NudgeFact(0, one.key, "answered", "", told.piece, told.step, now, now, body))
        self._write(facts)
        standing = {told.place for told in self.log.open_keys if not told.seen} | set(self.in_flight.values())
        for place in {told.place for one in done if (told := self.log.told(one.key)) is not None} - standing:
            for channel in self._channels:
                mark = self.log.marks(place).get(channel.name)
                if mark:
                    await channel.withdraw(mark)
        if done:
            self._heard()

    # --- what is known ---------------------------------------------------------------------------------------------

    @property
    def carried_by(self) -> str:
        """Which channels carry nudges now, in a few words; "" if none."""
        return ", ".join(channel.reaches for channel in self._channels if channel.name not in self._down)

    @property
    def troubles(self) -> tuple[str, ...]:
        """What is wrong, the gravest first."""
        found = [f"Not delivered: {told.title or told.key} ({told.why})" for told in self.log.undelivered]
        if self._no_disk:
            found.append(f"What is told cannot be written down ({self._no_disk}); nudges go out all the same.")
        names = {channel.name: channel.reaches for channel in self._channels}
        found += [f"No nudges by {names[name]}: {why}" for name, why in self._down.items()]
        if self._single:
            found.append("A hold went out on one channel only; set up a second: curetrack shop --help")
        return tuple(dict.fromkeys(found))

    # --- writing down ------------------------------------------------------------------------------------------------

    def _record(
        self, parcel: Parcel, phase: NudgePhase, channel: str, body: Callable[[Nudge], dict[str, object]]
    ) -> None:
        now = self._now()
        self._write([
            NudgeFact(
                0, nudge.moment.key, phase, channel, nudge.moment.piece, nudge.moment.step, nudge.due_at, now,
                body(nudge),
            )
            for nudge in parcel.nudges
        ])  # fmt: skip

    def _write(self, facts: list[NudgeFact]) -> None:
        """On disk if that is possible; what is not is remembered, and written as soon as it is."""
        self.log.with_facts(facts)
        self._unwritten += facts
        self.write_rest()

    def write_rest(self) -> None:
        """Writes what could not be written before."""
        if not self._unwritten:
            return
        try:
            written = self._shop.log_nudges(self._unwritten)
        except StoreTrouble as error:
            self._no_disk = str(error)
            return
        self._unwritten, self._no_disk = [], ""
        self.log.last_id = max([self.log.last_id, *(fact.id for fact in written)])


def _short(nudge: Nudge, parcel: Parcel) -> dict[str, object]:
    return {"attempt": nudge.attempt, "group": nudge.moment.group, "place": parcel.group}


def _intent(nudge: Nudge, parcel: Parcel) -> dict[str, object]:
    told = nudge.moment
    return {
        **_short(nudge, parcel), "kind": told.kind, "rung": told.rung, "parcel": parcel.key, "missed": nudge.missed,
        "over": list(nudge.over), "pieces": list(told.pieces), "title": title_of(told),
    }  # fmt: skip
