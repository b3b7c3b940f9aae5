"""The rehearsal's picture: the clock, the next step, the piece on one axis of time, what has just happened.

Three layouts were sketched: a scrolling diary (nothing to look at), two columns (too narrow at 80), and this one: what
comes next stands still in the middle, time runs below it.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from curetrack.cli.layout import Row, Span, row
from curetrack.cli.views.parts import slab_text
from curetrack.cli.views.today import card_rows
from curetrack.rehearsal import Frame, Rehearsal
from curetrack.timeline.types import Line, Timeline
from curetrack.words.amounts import temperature
from curetrack.words.clean import clean
from curetrack.words.kinds import SHAPES
from curetrack.words.moments import duration, stamp
from curetrack.words.pressing import next_of
from curetrack.words.reasons import why_said
from curetrack.words.voice import Voice

__all__ = ["axis_rows", "ending_rows", "frame_rows", "plain_rows"]

CARD_ROWS, LATEST = 9, 6
NIGHT = "░"


def frame_rows(frames: Sequence[Frame], number: int, voice: Voice, width: int) -> list[Row]:
    """One picture, always of the same height, so that nothing jumps."""
    timeline = frames[number].timeline
    head = row(Span(f"{stamp(voice.now, voice)} · {slab_text(timeline, voice)}", "now"), flat=True)
    coming = next_of(timeline)
    card = card_rows(coming[0], voice)[:CARD_ROWS] if coming else [row("Nothing is left to do.")]
    card += [row()] * (CARD_ROWS - len(card))
    latest = [
        happened for frame in frames[max(0, number - LATEST + 1) : number + 1] for happened in _said(frame, voice)
    ]
    latest += [row()] * (LATEST - len(latest))
    return [head, row(), *card, row(), *axis_rows(timeline, voice, width), row(), *latest[-LATEST:]]


def plain_rows(frame: Frame, voice: Voice) -> list[Row]:
    """The same for a pipe: one line for what happened."""
    return _said(frame, voice)


def _said(frame: Frame, voice: Voice) -> list[Row]:
    at = Span(_local(frame.timeline.now, voice), "dim")
    if frame.deed is not None:
        line = frame.deed.line
        left_out = " (left out)" if frame.deed.skipped else ""
        return [row(f"{SHAPES[line.kind].glyph} {clean(line.title)}{left_out}", gutter=at)]
    if frame.shift is None or frame.shift.line.ready_at is None:
        return []
    line, cold = frame.shift.line, temperature(frame.shift.temp_degC, voice.system)
    moved = _moved(frame.shift.before, frame.shift.line.ready_at)
    text = f"{clean(line.title)} moves {moved}, {_local(frame.shift.before, voice)} to "
    text += f"{_local(frame.shift.line.ready_at, voice)}: the slab is at {cold}"
    return [row(Span(f"{text}; {why_said(line, voice, opening=False, timed=False)}", "alarm"), gutter=at)]


def _moved(before: datetime, after: datetime) -> str:
    hours = (after - before).total_seconds() / 3600.0
    return f"{duration(abs(hours))} {'later' if hours > 0 else 'earlier'}"


def _local(at: datetime, voice: Voice) -> str:
    return f"{at.astimezone(voice.zone):%a %d %b %H:%M}"


# --- the axis --------------------------------------------------------------------------------------------------------


def axis_rows(timeline: Timeline, voice: Voice, width: int) -> list[Row]:
    """The piece's life on one line: done steps, now, and the planned ones; nights are shaded."""
    marks = [(at, line) for line in timeline.lines if (at := line.done_at or line.plan_at) and not line.optional]
    if not marks:
        return []
    first = min(at for at, _ in marks)
    last = max(*(at for at, _ in marks), first + timedelta(days=2))
    cells = _Cells(first, last, max(20, width - 2), voice)
    for at, line in marks:
        cells.put(at, line, done=line.done_at is not None)
    return [cells.days(), cells.line(), cells.now(timeline.now)]


class _Cells:
    def __init__(self, first: datetime, last: datetime, width: int, voice: Voice) -> None:
        self.first, self.width, self.voice = first, width, voice
        self.per_cell = (last - first) / (width - 1)
        self.marks: list[tuple[str, str]] = []
        for number in range(width):
            hour = (first + self.per_cell * number).astimezone(voice.zone).hour
            night = hour >= 22 or hour < 6
            self.marks.append((NIGHT if night and self.per_cell < timedelta(hours=5) else " ", "dim"))

    def put(self, at: datetime, line: Line, *, done: bool) -> None:
        self.marks[self._cell(at)] = (SHAPES[line.kind].glyph, "title" if done else "dim")

    def line(self) -> Row:
        return Row(tuple(Span(glyph, style) for glyph, style in self.marks), flat=True)

    def days(self) -> Row:
        """The local days, where there is room for their names."""
        text = [" "] * self.width
        day = self.first.astimezone(self.voice.zone).replace(hour=0, minute=0, second=0) + timedelta(days=1)
        free = 0
        while (cell := self._cell(day)) < self.width - 6:
            if cell >= free and day > self.first:
                name = f"|{day:%a} {day.day}"
                text[cell : cell + len(name)] = name
                free = cell + len(name) + 1
            day += timedelta(days=1)
        return row(Span("".join(text).rstrip(), "dim"), flat=True)

    def now(self, at: datetime) -> Row:
        return row(Span(" " * self._cell(at) + "^ now", "now"), flat=True)

    def _cell(self, at: datetime) -> int:
        return max(0, min(self.width - 1, round((at - self.first) / self.per_cell)))


# --- the end ---------------------------------------------------------------------------------------------------------


def ending_rows(rehearsal: Rehearsal, voice: Voice) -> list[Row]:
    """What was seen, in three sentences, and what to type next."""
    events = rehearsal.events
    done = sum(event.kind == "done" for event in events)
    skipped = sum(event.kind == "skip" for event in events)
    days = (voice.now - rehearsal.pour_at).total_seconds() / 86400.0
    said = [f"From the pour to the last step {days:.0f} days: {done} steps done, {skipped} left out."]
    said += [_shift_text(first, last, voice) for first, last in rehearsal.moved.values()]
    said.append("All of it was invented but the arithmetic. Yours: curetrack pour NAME --profile P --size S")
    return [row(), *(row(text, flat=True) for text in said)]


def _shift_text(first: datetime, last: Line, voice: Voice) -> str:
    ready = last.ready_at or first
    return (
        f"{clean(last.title)}: {_moved(first, ready)} than a warm night had promised, "
        f"{_local(ready, voice)} in place of {_local(first, voice)}."
    )
