"""What else is said about a step: looked at, put off, skipped, once more; and taking any of it back."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from curetrack.errors import BadInput, UnknownName
from curetrack.facts import Check, Event
from curetrack.ledger import View
from curetrack.ledger.replay import Entry, last_in_force, withdrawn
from curetrack.ledger.writer import Writer
from curetrack.shop.plausible import check_source, past, spelled
from curetrack.shop.receipts import Receipt
from curetrack.shop.sayings import written
from curetrack.shop.steps_of import line_named, round_of, without_round
from curetrack.shop.ticks import Ticks, check_words

__all__ = ["Steps"]

HARDNESS = "hardness"
PUT_OFF_AT_MOST = timedelta(days=60)


class Steps(Ticks):
    """The part of the Shop that hears of anything else about steps."""

    def check(
        self, name: str, step: str, answer: Check, *, at: datetime | None = None, now: datetime, source: str = "cli"
    ) -> Receipt:
        """Records a hand check of an open step, or the hardness check after a frost (`hardness`)."""
        source = check_source(source)
        check_words(check=answer)

        def decide() -> Callable[[Writer], Receipt]:
            if step.strip().casefold() == HARDNESS:
                return self._hardness(name, answer, at, now, source)
            said = self._saying(name, step, at, now)
            self._check_moment(said)
            line, lines = said.line, list[tuple[str, str]]()
            self._check_open(line)
            judged = self._as_of(said).line(line.step)
            if not line.check and not (judged is not None and judged.check_from):
                raise BadInput(f"{line.step} has no hand check", where="check", remedy="write a note instead")
            if answer == "fail":
                lines.append(("check_failed", line.fail or "wait and look again"))
            elif judged is not None and judged.check_from is not None and judged.check_from > said.at:
                lines.append(("check_early", f"it counts from {self._shown(judged.check_from)} on: look again then"))
            event = Event(0, said.piece.name, "check", said.at, now, source, step=line.step, check=answer)
            return lambda writer: written(writer, [event], lines)

        return self.write(decide)

    def _hardness(
        self, name: str, answer: Check, at: datetime | None, now: datetime, source: str
    ) -> Callable[[Writer], Receipt]:
        known, piece = self.known_piece(name)
        self._check_not_dropped(known)
        at = past("the check's time", at if at is not None else now, now, self.settings.zone)
        if known.pour is None or at < known.pour.at:
            raise BadInput(f"{name} was not poured then", where="check", found=self._shown(at))
        event = Event(0, known.name, "check", at, now, source, step=HARDNESS, check=answer)
        view = View(at, as_of=True)
        then = self.known(known.name, view)
        lines = []
        if answer == "pass" and self.solved(then, view, piece=piece, events=[*then.events, event]).suspect:
            lines.append(("check_early", "it counts after 24 h at 10 °C or more, measured: look again then"))
        return lambda writer: written(writer, [event], lines)

    def later(self, name: str, step: str, until: datetime, *, now: datetime, source: str = "cli") -> Receipt:
        """Puts a step off until then."""
        source = check_source(source)
        if not now < until <= now + PUT_OFF_AT_MOST:
            raise BadInput(
                "a step is put off to a time ahead, at most 60 days", found=self._shown(until),
                remedy="say 2h or Sat 9:00",
            )  # fmt: skip

        def decide() -> Callable[[Writer], Receipt]:
            said = self._saying(name, step, None, now)
            line = said.line
            self._check_open(line)
            lines = []
            if line.late_at is not None and until > line.late_at:
                lines.append(("later_than_limit", f"that is after its latest moment, {self._shown(line.late_at)}"))
            event = Event(0, said.piece.name, "later", now, now, source, step=line.step, until=until)
            return lambda writer: written(writer, [event], lines)

        return self.write(decide)

    def skip(self, name: str, step: str, *, at: datetime | None = None, now: datetime, source: str = "cli") -> Receipt:
        """Leaves a step out; a hold too, which is recorded like any other."""
        source = check_source(source)

        def decide() -> Callable[[Writer], Receipt]:
            said = self._saying(name, step, at, now)
            if said.line.state == "skipped":
                return lambda _: Receipt(False, None, "twice", (f"{said.line.step} is skipped already",))
            self._check_open(said.line)
            event = Event(0, said.piece.name, "skip", said.at, now, source, step=said.line.step)
            return lambda writer: written(writer, [event])

        return self.write(decide)

    def again(self, name: str, step: str, *, now: datetime, source: str = "cli") -> Receipt:
        """One more round of the steps that end with this one, or begin with it; it must have been done."""
        source = check_source(source)

        def decide() -> Callable[[Writer], Receipt]:
            known, piece = self.known_piece(name)
            self._check_not_dropped(known)
            timeline = self.solved(known, View(now), piece=piece)
            rounds = round_of(timeline, step)
            if not rounds:
                line_named(timeline, step)
                offered = sorted({without_round(line.step) for line in timeline.lines if line.again})
                raise BadInput(
                    f"no further round is offered for {step.strip()[:60]}", where="again",
                    remedy=f"offered for: {', '.join(offered)}" if offered else "the profile offers none",
                )  # fmt: skip
            still = next((line for line in rounds if line.state not in ("done", "skipped")), None)
            if still is not None:
                return lambda _: Receipt(False, None, "round_open", (f"{still.step} is still to do",))
            event = Event(0, piece.name, "again", now, now, source, step=without_round(rounds[0].step))
            return lambda writer: written(writer, [event])

        return self.write(decide)

    def undo(self, name: str, *, event_id: int | None = None, now: datetime, source: str = "cli") -> Receipt:
        """Withdraws the last fact of the piece that still stands, or a chosen one; undoing an undo brings back."""
        source = check_source(source)

        def decide() -> Callable[[Writer], Receipt]:
            entries = self.ledger.entries(spelled(name))
            if not entries:
                self.known_piece(name)
            target = self._target(name, entries, event_id)
            if target is None:
                raise BadInput(f"{spelled(name)} has nothing left to undo", where="undo")
            if target.id in withdrawn(entries):
                return lambda _: Receipt(False, None, "twice", (f"event {target.id} is withdrawn already",))
            return lambda writer: self._write_undo(writer, target, entries, now, source)

        return self.write(decide)

    def last_said(self, name: str) -> Entry | None:
        """What a plain undo would take back."""
        return last_in_force(self.ledger.entries(spelled(name)))

    @staticmethod
    def _target(name: str, entries: Sequence[Entry], event_id: int | None) -> Entry | None:
        if event_id is None:
            return last_in_force(entries)
        found = next((entry for entry in entries if entry.id == event_id), None)
        if found is None:
            raise UnknownName("event", str(event_id), [str(e.id) for e in entries[-12:]], where=name[:60])
        return found

    @staticmethod
    def _write_undo(writer: Writer, target: Entry, entries: Sequence[Entry], now: datetime, source: str) -> Receipt:
        """A pour takes its own reading with it, and an undone undo of it brings the reading back."""
        written, new = writer.add_event(Event(0, target.piece, "undo", now, now, source, target=target.id))
        undone, back = target, False
        while undone.kind == "undo":
            undone, back = next(entry for entry in entries if entry.id == undone.target), not back
        if undone.kind == "pour":
            for number in writer.readings_said_with(target.piece, undone.at_ms, undone.recorded_ms):
                writer.withdraw_reading(number, back=back, recorded_at=now, source=source)
        what = "brought back" if back else "withdrawn"
        text = f"{what}: {undone.kind} {undone.event.step if undone.event else ''}".rstrip()
        return Receipt(new, written, "withdrawn", (text,), (written,), withdrawn=undone.event)
