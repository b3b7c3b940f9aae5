"""What a tap on a notification does: the same facts as the command line writes, with the same refusals.

A tap may come late, twice, or after the step was done elsewhere: then it changes nothing. A hold asks once more.
"""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from curetrack.errors import CuretrackError
from curetrack.nudge.log import Told
from curetrack.nudge.post import Post
from curetrack.nudge.replies import answer_of, asks, confirm_of, no_longer, put_off_of, refusal_of
from curetrack.nudge.types import Settled
from curetrack.shop import Shop, View
from curetrack.shop.receipts import Receipt
from curetrack.shop.refusals import missed_text
from curetrack.shop.steps_of import later_for
from curetrack.timeline.types import Line, Timeline
from curetrack.words.refusals import tapped
from curetrack.words.voice import Voice

__all__ = ["Answers"]

SOURCE = "nudge"
SAME_TAP = timedelta(minutes=5)  # put off twice so shortly after one another: once


class Answers:
    """`said` is told the piece whenever a fact of it was written, or may have been elsewhere."""

    def __init__(
        self, shop: Shop, post: Post, now: Callable[[], datetime], *, said: Callable[[str], Awaitable[None]]
    ) -> None:
        self._shop, self._post, self._now, self._said = shop, post, now, said
        self._lock = asyncio.Lock()

    async def press(self, key: str, button: str) -> None:
        """`key`: of the notification. `button`: done, later, seen; passed, which asks; and the answers to that: yes
        (passed and done), open (passed), no (failed), keep (nothing). Never raises what a person can cause: it is
        shown in the notification's place."""
        async with self._lock:
            about = self._post.log.of_parcel(key)
            if button == "seen":
                await self._seen(about)
                return
            first = next((told for told in about if told.step), None)
            if first is None:
                return
            try:
                await self._of_step(key, button, first)
            except CuretrackError as error:
                await self._post.show(refusal_of(key, _place(first), tapped(error, self._voice())))

    async def _seen(self, about: list[Told]) -> None:
        """Only what still waits: an old notification must not silence the next one of its kind."""
        waiting = [told for told in about if told.open and not told.seen]
        if waiting:
            await self._post.settle([Settled(told.key, told.group, "seen") for told in waiting])
            await self._said("")

    async def _of_step(self, key: str, button: str, told: Told) -> None:
        timeline = self._timeline(told.piece)
        line = None if timeline.dropped else timeline.line(told.step)
        if line is None or line.state in ("done", "skipped"):
            await self._said(told.piece)
            return
        place, now, asked = _place(told), self._now(), asks(line)
        if button == "later":
            await self._later(line, place, now)
        elif button == "passed" and asked:
            await self._post.show(confirm_of(key, place, line))
        elif button in ("done", "passed") or (button == "yes" and not asked):
            await self._done(line, place, now)  # refused where a check is wanted: it has opened, or shut, meanwhile
        elif button == "yes":
            await self._done(line, place, now, passed=True)
        elif button == "open" and asked:
            receipt = self._shop.check(line.piece, line.step, "pass", now=now, source=SOURCE)
            if receipt.text_key == "check_early":
                await self._post.show(refusal_of(key, place, ". ".join(receipt.lines)))
            await self._said(line.piece)
        elif button == "no" and asked and not missed_text(line):
            self._shop.check(line.piece, line.step, "fail", now=now, source=SOURCE)
            await self._post.show(no_longer(key, place, line))
            await self._said(line.piece)

    async def _done(self, line: Line, place: str, now: datetime, *, passed: bool = False) -> None:
        """A tick; a lift with the people it needs, as the button said."""
        people = line.crew if line.kind == "lift" and line.crew > 1 else None
        receipt = self._shop.done(
            line.piece, line.step, check="pass" if passed else None, crew=people, now=now, source=SOURCE
        )
        if receipt.written:
            after = self._timeline(line.piece)
            await self._post.show(answer_of(line, after, self._voice(), _remarks(receipt)), beside=place)
        await self._said(line.piece)

    async def _later(self, line: Line, place: str, now: datetime) -> None:
        until = now + later_for(line)
        if line.put_off_until is None or line.put_off_until < until - SAME_TAP:
            receipt = self._shop.later(line.piece, line.step, until, now=now, source=SOURCE)
            await self._post.show(put_off_of(line, until, self._voice(), _remarks(receipt)), beside=place)
        await self._said(line.piece)

    def _timeline(self, piece: str) -> Timeline:
        return self._shop.timeline(piece, View(self._now()))

    def _voice(self) -> Voice:
        settings = self._shop.settings
        return Voice(self._now(), settings.zone, settings.units)


def _place(told: Told) -> str:
    """Where its notification stands; one that was in flight at a crash has no other than its own."""
    return told.place or told.group


def _remarks(receipt: Receipt) -> list[str]:
    return [f"{text[:1].upper()}{text[1:]}." for text in receipt.lines]
