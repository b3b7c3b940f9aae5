"""What a tap on a notification does: the same facts as the command line writes, with the same refusals.

A tap may come late, twice, or after the step was done elsewhere: then it changes nothing. A hold asks once more.
"""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime

from curetrack.errors import CuretrackError
from curetrack.nudge.channels.base import Message
from curetrack.nudge.log import Told
from curetrack.nudge.post import Post
from curetrack.nudge.types import Settled
from curetrack.nudge.wording import confirm_of, later_for, no_longer, refusal_of
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line
from curetrack.words.refusals import refusal_text
from curetrack.words.voice import Voice

__all__ = ["Answers"]

SOURCE = "nudge"


class Answers:
    """`said` is told the piece whenever a fact of it was written."""

    def __init__(
        self, shop: Shop, post: Post, now: Callable[[], datetime], *, said: Callable[[str], Awaitable[None]]
    ) -> None:
        self._shop, self._post, self._now, self._said = shop, post, now, said
        self._lock = asyncio.Lock()

    async def press(self, key: str, button: str) -> None:
        """`key`: of the notification; `button`: done, passed, yes, no, later, seen. Never raises what a person can
        cause: it is shown in the notification's place."""
        async with self._lock:
            told = self._post.log.of_parcel(key)
            if not told:
                return
            if button == "seen":
                await self._seen(told)
                return
            first = next((each for each in told if each.step), None)
            if first is None:
                return
            try:
                await self._of_step(key, button, first)
            except CuretrackError as error:
                await self._post.show(refusal_of(key, first.place, refusal_text(error, self._voice())))

    async def _seen(self, told: list[Told]) -> None:
        await self._post.settle([Settled(each.key, each.group, "seen") for each in told])
        await self._said("")

    async def _of_step(self, key: str, button: str, told: Told) -> None:
        line = self._line(told)
        if line is None or line.state in ("done", "skipped"):
            await self._said(told.piece)
            return
        now, people = self._now(), line.crew if line.kind == "lift" and line.crew > 1 else None
        asks = line.hold and bool(line.check)
        match button:
            case "later":
                self._shop.later(told.piece, line.step, now + later_for(line), now=now, source=SOURCE)
            case "passed" if asks:
                await self._post.show(confirm_of(key, told.place, line))
                return
            case "yes" if asks:
                self._shop.done(told.piece, line.step, check="pass", crew=people, now=now, source=SOURCE)
            case "no" if asks:
                self._shop.check(told.piece, line.step, "fail", now=now, source=SOURCE)
                await self._post.show(self._failed(key, told, line))
            case "done":
                self._shop.done(told.piece, line.step, crew=people, now=now, source=SOURCE)
            case _:
                return
        await self._said(told.piece)

    def _failed(self, key: str, told: Told, line: Line) -> Message:
        return no_longer(key, told.place, line)

    def _line(self, told: Told) -> Line | None:
        timeline = self._shop.timeline(told.piece, View(self._now()))
        return None if timeline.dropped else timeline.line(told.step)

    def _voice(self) -> Voice:
        settings = self._shop.settings
        return Voice(self._now(), settings.zone, settings.units)
