"""What all words about a step have in common: which step is meant, when, and whether that can be."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput
from curetrack.facts import Event, Piece
from curetrack.instants import from_h, to_h
from curetrack.ledger import View
from curetrack.ledger.writer import Writer
from curetrack.shop.desk import Known
from curetrack.shop.plausible import past
from curetrack.shop.pours import Pours
from curetrack.shop.receipts import Receipt
from curetrack.shop.steps_of import POUR, before_pour, follows_pour, line_named, without_round

if TYPE_CHECKING:
    from curetrack.timeline.types import Line, Timeline

__all__ = ["Saying", "Sayings", "written"]


class Saying(Struct, frozen=True):
    """A piece, the step that is meant, and the moment it is said to have happened."""

    known: Known
    piece: Piece
    timeline: "Timeline"  # now
    line: "Line"
    at: datetime


class Sayings(Pours):
    """The part of the Shop that understands which step is meant."""

    def _saying(self, name: str, step: str, at: datetime | None, now: datetime) -> Saying:
        """Finds the piece and the step as they are now, and checks the time."""
        known, piece = self.known_piece(name)
        self._check_not_dropped(known)
        at = past("its time", at if at is not None else now, now, self.settings.zone)
        timeline = self.solved(known, View(now))
        line = line_named(timeline, step)
        if line.step == POUR:
            raise BadInput("the pour is told by `pour`", where=step.strip(), remedy=f"curetrack pour {name}")
        return Saying(known, piece, timeline, line, at)

    def _as_of(self, said: Saying, more: Sequence[Event] = ()) -> "Timeline":
        """The timeline as it was at the moment that is spoken of, with these events besides. A step that was left out
        and is done after all is judged as if it had not been: leaving out a hold does not open it."""
        as_now = said.at == said.timeline.now and not more
        if as_now and not any(_is_ahead_or_skips(event, said) for event in said.known.events):
            return said.timeline
        view = View(said.at, as_of=True)
        known = self.known(said.piece.name, view)
        events = [event for event in known.events if event.kind != "skip" or event.step != said.line.step]
        return self.solved(known, view, piece=known.piece or said.piece, events=[*events, *more])

    def _check_moment(self, said: Saying) -> None:
        """On the right side of the pour, and not before what it follows was done."""
        pour = said.known.pour
        profile = self.profile(said.piece.profile_sha, said.piece.profile_id)
        if pour is not None and said.at < pour.at and follows_pour(profile, said.line.step):
            raise BadInput(f"that is before the pour ({self._shown(pour.at)})", where=said.line.step,
                           found=self._shown(said.at), remedy="see --at")  # fmt: skip
        if pour is not None and said.at > pour.at and without_round(said.line.step) in before_pour(profile):
            raise BadInput(
                f"it comes before the pour ({self._shown(pour.at)})", where=said.line.step, found=self._shown(said.at),
                remedy="say when it was done with --at",
            )  # fmt: skip
        for other in said.line.after:
            before = said.timeline.line(other)
            if before is not None and before.done_at is not None and other != POUR and _whole(said.at) < before.done_at:
                raise BadInput(
                    f"that is before {other} was done ({self._shown(before.done_at)})", where=said.line.step,
                    found=self._shown(said.at), remedy="see --at, or undo that one first",
                )  # fmt: skip

    def _check_open(self, line: "Line") -> None:
        if line.state == "done" and line.done_at is not None:
            raise BadInput(
                f"{line.step} was done {self._shown(line.done_at)}", where=line.piece, remedy="undo that first"
            )
        if line.state == "skipped":
            raise BadInput(f"{line.step} is skipped", where=line.piece, remedy="undo that first, or tick it with done")


def _is_ahead_or_skips(event: Event, said: Saying) -> bool:
    """It makes the timeline as it was then another one than that of now."""
    return event.at > said.at or (event.kind == "skip" and event.step == said.line.step)


def _whole(at: datetime) -> datetime:
    """As a timeline says its moments, to the second: one tick may follow another at once."""
    return from_h(to_h(at))


def written(writer: Writer, events: Sequence[Event], lines: Sequence[tuple[str, str]] = ()) -> Receipt:
    said = [writer.add_event(event) for event in events]
    event, new = said[-1]
    key = lines[0][0] if lines else "" if new else "twice"
    return Receipt(new, event, key, tuple(text for _, text in lines), tuple(event for event, _ in said))
