"""What a tap does: the same facts as the command line writes, with the same refusals, said in a sentence.

A tap has an id that the page made. Sent again, because its answer was lost, it changes nothing: the id is the fact's
source in the ledger. A tap that waited on the phone counts from when it was tapped, by how long it waited there, so
that a phone's wrong clock does not matter.
"""

import re
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta
from typing import Literal, get_args

from msgspec import Struct

from curetrack.errors import BadInput, CuretrackError
from curetrack.facts import Check, Place
from curetrack.shop import Receipt, Shop, View
from curetrack.timeline.types import Line
from curetrack.units import parse, parse_temperature
from curetrack.words.clean import clean
from curetrack.words.moments import moment
from curetrack.words.refusals import tapped
from curetrack.words.voice import Voice

__all__ = ["Deed", "Do", "Said", "Taps"]

Do = Literal["done", "passed", "override", "pass", "fail", "later", "skip", "again", "undo", "temp"]
SHAPE = re.compile(r"[0-9a-f]{14}\Z")
AT_ONCE_ms = 3000  # a tap that took no longer to come is one of now
MOST_HOURS = 60 * 24.0
LONGEST_ms = 30 * 86_400_000
WORDS: dict[str, str] = {
    "done": "Done", "passed": "Done", "override": "Done",
    "pass": "Check passed", "fail": "Check failed", "later": "Put off", "skip": "Left out",
    "again": "One more round",
}  # fmt: skip


class Deed(Struct, frozen=True):
    """One tap.

    id      14 hex digits, made by the page
    do      passed: done, its check was looked at and passed; override: done, against what stands in the way
    note    override: why
    hours   later: for how long
    event   undo: which
    temp, humidity, place   temp: as typed
    tapped_ms, sent_ms      by the phone's clock
    """

    id: str
    do: Do
    piece: str = ""
    step: str = ""
    crew: int | None = None
    note: str = ""
    hours: float = 1.0
    event: int | None = None
    temp: str = ""
    humidity: str = ""
    place: str = "slab"
    tapped_ms: int = 0
    sent_ms: int = 0


class Said(Struct, frozen=True):
    """What became of a tap. `event`: what an undo would take back."""

    text: str
    good: bool = True
    piece: str = ""
    event: int | None = None


class Taps:
    """Takes taps for one shop; never raises what a person can cause. `said` hears the piece that a fact is about;
    `line_of` knows a piece's step by name without working anything out, or does not."""

    def __init__(
        self, shop: Shop, now: Callable[[], datetime], said: Callable[[str], None],
        line_of: Callable[[str, str], Line | None] = lambda _piece, _step: None,
    ) -> None:  # fmt: skip
        self._shop, self._now, self._said, self._line_of = shop, now, said, line_of

    def take(self, deed: Deed) -> Said:
        """Writes what the tap says, once."""
        now = self._now()
        try:
            if not SHAPE.match(deed.id):
                raise BadInput("a tap without its id", remedy="load the page again")
            source = f"phone_{deed.id}"
            if self._shop.said_by(source):
                return Said("That was written down already.", piece=deed.piece)
            at = now - timedelta(milliseconds=_waited_ms(deed))
            answer = self._temp(deed, at, now, source) if deed.do == "temp" else self._of_step(deed, at, now, source)
        except CuretrackError as error:
            return Said(tapped(error, self._voice(now)), good=False, piece=deed.piece)
        self._said(answer.piece)
        return answer

    def _of_step(self, deed: Deed, at: datetime, now: datetime, source: str) -> Said:
        shop, name, step = self._shop, deed.piece, deed.step
        more: tuple[str, ...] = ()
        match deed.do:
            case "done" | "passed" | "override":
                note = deed.note if deed.do == "override" else None
                if note is not None and not note.strip():
                    raise BadInput("a hold is passed with a note only", where=step, remedy="say why in a few words")
                passed: Check | None = "pass" if deed.do == "passed" else None
                receipt = shop.done(
                    name, step, at=at, check=passed, crew=deed.crew, override=note, now=now, source=source
                )
            case "pass" | "fail":
                receipt = shop.check(name, step, deed.do, at=at, now=now, source=source)
            case "later":
                if not 0.0 < deed.hours <= MOST_HOURS:  # not a number is neither
                    raise BadInput("that is no time to put off for", where=step, remedy="use 15 min to 60 days")
                until = at + timedelta(hours=deed.hours)
                if until <= now:
                    return Said(f"It was put off until {moment(until, self._voice(now))}, and that has passed.")
                receipt = shop.later(name, step, until, now=now, source=source)
                more = (f"until {moment(until, self._voice(now))}",)
            case "skip":
                receipt = shop.skip(name, step, at=at, now=now, source=source)
            case "again":
                receipt = shop.again(name, step, now=now, source=source)
            case _:
                receipt = shop.undo(name, event_id=deed.event, now=now, source=source)
                return Said(f"{clean(name)}: {'; '.join(receipt.lines)}.", piece=name)
        return self._told(deed, receipt, now, more)

    def _told(self, deed: Deed, receipt: Receipt, now: datetime, more: tuple[str, ...]) -> Said:
        title = deed.step
        with suppress(CuretrackError):  # it was written; only its name is not to be had
            line = self._line_of(deed.piece, deed.step) or self._shop.timeline(deed.piece, View(now)).line(deed.step)
            title = line.title if line is not None else title
        text = "; ".join([f"{WORDS[deed.do]}: {clean(title)} · {clean(deed.piece)}", *more, *receipt.lines])
        event = receipt.event.id if receipt.written and receipt.event is not None else None
        return Said(f"{text}.", piece=deed.piece, event=event)

    def _temp(self, deed: Deed, at: datetime, now: datetime, source: str) -> Said:
        place = next((known for known in get_args(Place) if known == deed.place), None)
        if place is None:
            raise BadInput("no such place", found=deed.place[:40], remedy=f"use {', '.join(get_args(Place))}")
        typed = deed.temp.strip()
        temp = parse_temperature(typed, self._shop.settings.units) if typed else None
        damp = deed.humidity.strip()
        humidity = parse(f"{damp.removesuffix('%').strip()}%", "humidity") if damp else None
        self._shop.add_reading(
            temp_degC=temp, humidity_pct=humidity, place=place, piece=deed.piece, at=at, now=now, source=source
        )
        said = " ".join(text for text in (typed, f"{damp.removesuffix('%')} %" if damp else "") if text)
        return Said(f"Read: {place} {clean(said)}.")

    def _voice(self, now: datetime) -> Voice:
        settings = self._shop.settings
        return Voice(now, settings.zone, settings.units)


def _waited_ms(deed: Deed) -> int:
    waited = deed.sent_ms - deed.tapped_ms if deed.tapped_ms > 0 else 0
    if not AT_ONCE_ms <= waited:
        return 0
    if waited > LONGEST_ms:
        raise BadInput("that was tapped more than 30 days ago", remedy="say it at the bench")
    return waited
