"""Our side of the to-dos: what the timelines want on the list, and what the phone said, told to the Shop.

Said twice is said once: each answer of the phone is looked for before it is written, since a sync that was killed says
it again.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

from curetrack.errors import BadInput, Refused
from curetrack.facts import Event, Piece
from curetrack.phone.caldav.types import Fact, Texts, Wanted
from curetrack.phone.entries import Entry, entries_of, uid_of
from curetrack.phone.finished import finished_lately
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.pressing import next_of
from curetrack.words.refusals import tapped
from curetrack.words.voice import Voice

__all__ = ["SOURCE", "ShopSide"]

SOURCE = "todo"
POUR = "pour"
NOTE_LETTERS = 1900


class ShopSide:
    """A Shop as one sync sees it, at `now`."""

    def __init__(self, shop: Shop, now: datetime) -> None:
        self._shop, self._now = shop, now
        settings = shop.settings
        self._voice = Voice(now, settings.zone, settings.units)

    def wanted(self) -> Mapping[str, Wanted]:
        """All steps that are open or done, of pieces on the go and of such that were finished not long ago."""
        view = View(self._now)
        pieces = {piece.name: piece for piece in self._shop.pieces(view)}
        timelines = self._shop.timelines(view)
        timelines += finished_lately(self._shop, {timeline.piece for timeline in timelines}, self._now)
        found = (
            want for timeline in timelines if timeline.piece in pieces
            for want in _wanted(pieces[timeline.piece], timeline, self._voice)
        )  # fmt: skip
        return {want.uid: want for want in found}

    # --- what the phone said ---------------------------------------------------------------------------------------

    def say(self, fact: Fact) -> str:
        """Records it; why it was refused, "" if it was not. Faults of the store are raised: the next sync says it
        again."""
        try:
            self._record(fact)
        except (Refused, BadInput) as error:
            return f"Not taken: {tapped(error, self._voice)}"
        return ""

    def _record(self, fact: Fact) -> None:
        match fact.what:
            case "done":
                try:
                    self._done(fact, fact.at)
                except BadInput:  # a phone's clock, or its minutes, before what must have come first
                    self._done(fact, self._now)
            case "reopen":
                self._reopen(fact)
            case "later":
                self._later(fact)
            case "note":
                self._note(fact)

    def _done(self, fact: Fact, at: datetime) -> None:
        if fact.step == POUR:
            self._shop.pour(fact.piece, at=at, now=self._now, source=SOURCE)
        else:
            self._shop.done(fact.piece, fact.step, at=at, now=self._now, source=SOURCE)

    def _reopen(self, fact: Fact) -> None:
        """Withdraws the tick. A pour is taken back only while nothing hangs on it."""
        events = self._events(fact)
        if fact.step == POUR and any(event.kind == "done" and event.step != POUR for event in events):
            raise BadInput("steps after the pour are ticked", where=fact.piece, remedy="take those back first")
        kind = "pour" if fact.step == POUR else "done"
        ticks = [event for event in events if event.kind == kind and (kind == "pour" or event.step == fact.step)]
        if ticks:
            self._shop.undo(fact.piece, event_id=ticks[-1].id, now=self._now, source=SOURCE)

    def _later(self, fact: Fact) -> None:
        """Done beats later."""
        line = self._shop.timeline(fact.piece, View(self._now)).line(fact.step)
        if line is None or line.state == "done" or fact.until is None or line.put_off_until == fact.until:
            return
        self._shop.later(fact.piece, fact.step, fact.until, now=self._now, source=SOURCE)

    def _note(self, fact: Fact) -> None:
        text = clean(f"{fact.step}: {fact.text}")[:NOTE_LETTERS].strip()
        if any(event.kind == "note" and event.text == text for event in self._events(fact)):
            return
        self._shop.note(fact.piece, text, at=fact.at, now=self._now, source=SOURCE)

    def _events(self, fact: Fact) -> list[Event]:
        return self._shop.events(fact.piece, View(self._now))


def _wanted(piece: Piece, timeline: Timeline, voice: Voice) -> Iterator[Wanted]:
    """The steps in their order. Optional ones are offered by the page, not by a list that rings."""
    entries = {entry.step: entry for entry in entries_of(piece, timeline, voice)}
    coming = {line.step for line in next_of(timeline)}
    for line in timeline.lines:
        if not line.optional and line.state != "skipped":
            yield _one(uid_of(piece, line.step), line, entries.get(line.step), coming=line.step in coming)


def _one(uid: str, line: Line, entry: Entry | None, *, coming: bool) -> Wanted:
    title = f"{shape(line.kind)} {clean(line.title)} · {clean(line.piece)}"
    if line.done_at is not None:
        return Wanted(uid, line.piece, line.step, Texts(title), done_at=_whole(line.done_at), coming=coming)
    if entry is None:
        return Wanted(uid, line.piece, line.step, Texts(title, clean(line.say)), coming=coming)
    words = "\n".join(text for text in (entry.times_text, entry.description) if text)
    return Wanted(
        uid, line.piece, line.step, Texts(title, words), _whole(entry.starts), tuple(map(_whole, entry.alarms)),
        untimed=entry.description, times=entry.times, coming=coming,
    )  # fmt: skip


def _whole(at: datetime) -> datetime:
    """To the second, as a to-do has it."""
    return at.replace(microsecond=0)
