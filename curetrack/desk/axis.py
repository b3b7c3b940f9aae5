"""One axis of time for all pieces: what was done, now as one line through all of them, and what is planned.

A piece has one row: its name, its countdown in words, and the axis. What is behind it is a solid line with the shapes
of what was done; what is planned is the bare shapes, fading with distance. The band of its next step rises from the
earliest moment to the latest; a window stands open between two brackets. Nights are shaded. Under the piece in hand
stand the words of its marks.
"""

from collections.abc import Sequence
from datetime import timedelta

from rich.text import Text

from curetrack.desk.card import countdown
from curetrack.desk.rows import Cells, cut, row_of, styled, write
from curetrack.desk.scale import SPANS, Scale, scale_of
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.pressing import next_of
from curetrack.words.voice import Voice

__all__ = ["SPANS", "axis_rows"]

NEAR, FAR = 0.25, 0.6  # of the axis ahead: so far marks are bold, and from there on dim
RISE, RISE_ASCII = "▁▂▃▄▅▆▇", ",,;;///"
SIGNS = {"past": "━", "night": "░", "now": "│", "head": "▼", "more": "↕"}
SIGNS_ASCII = {"past": "-", "night": ":", "now": "|", "head": "v", "more": "+"}
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
WORDS_FROM = 4  # rows from which the words of the marks have one of their own, if not all pieces have a row without it
Marks = list[tuple[int, Line]]  # columns and the steps whose shapes stand there


def axis_rows(
    timelines: Sequence[Timeline], chosen: int, voice: Voice, width: int, height: int,
    *, span: timedelta = SPANS[1], ascii_only: bool = False,
) -> list[Text]:  # fmt: skip
    """The days, then as many pieces as there are rows for, the chosen one always among them, with the words of its
    marks below it where there is room."""
    if height < 2 or not timelines:
        return []
    scale, signs = scale_of(voice, width, span), SIGNS_ASCII if ascii_only else SIGNS
    worded = height >= min(len(timelines) + 2, WORDS_FROM)
    shown = min(len(timelines), height - 1 - worded)
    first = max(0, min(chosen - shown // 2, len(timelines) - shown))
    place = f"{chosen + 1} of {len(timelines)} {signs['more']}" if shown < len(timelines) else ""
    rows = [styled((f"{place:<{scale.left}}", "dim")) + _days(scale, signs)]
    for number in range(first, first + shown):
        row = _Row(timelines[number], scale, ascii_only=ascii_only)
        rows.append(_named(timelines[number], row, voice, chosen=number == chosen, ascii_only=ascii_only))
        if worded and number == chosen:
            rows.append(styled(" " * scale.left) + row.words())
    return rows


def _days(scale: Scale, signs: dict[str, str]) -> Text:
    """The names of the days at their midnights, noon between them if there is room, and the nights' shade."""
    cells: Cells = [(signs["night"], "night") if night else (" ", "calm") for night in scale.night]
    free = 0
    for midnight in scale.midnights():
        cell = scale.cell(midnight)
        local = midnight.astimezone(scale.voice.zone)
        name = f"{DAYS[local.weekday()]} {local.day}"
        if cell is not None and cell >= free and cell + len(name) <= scale.width:
            write(cells, cell, name, "calm")
            free = cell + len(name) + 1
        noon = scale.cell(midnight + timedelta(hours=12))
        if noon is not None and scale.per_cell < timedelta(minutes=100) and free <= noon < scale.width - 5:
            write(cells, noon, "12", "dim")
    cells[scale.now_cell] = (signs["head"], "now")
    return row_of(cells)


def _named(timeline: Timeline, row: "_Row", voice: Voice, *, chosen: bool, ascii_only: bool) -> Text:
    """The name, the countdown of its next step, the axis."""
    scale = row.scale
    point = (">" if ascii_only else "▸") if chosen else " "
    name = f"{point}{cut(clean(timeline.piece), scale.name - 1):<{scale.name - 1}} "
    parts = [(name, "title" if chosen else "calm")]
    if scale.left > scale.name + 1:
        said, style = countdown(row.next, voice) if row.next is not None else ("", "calm")
        said = said.removeprefix("> ").partition(",")[0].replace("check first", "check")
        parts.append((f"{said:<{scale.left - scale.name - 1}}", "calm" if style == "title" else style))
    return styled(*parts) + row_of(row.cells)


def _free(cells: Cells, at: int, start: int, word: str) -> bool:
    """A word has its own columns, and at its sides no letter of another; now may stand beside it."""
    if not 0 <= at < len(cells):
        return True
    return cells[at][0] == " " or (cells[at][1] == "now" and not start <= at < start + len(word))


class _Row:
    """The axis of one piece."""

    def __init__(self, timeline: Timeline, scale: Scale, *, ascii_only: bool) -> None:
        self.scale, self.ascii_only = scale, ascii_only
        self.signs = SIGNS_ASCII if ascii_only else SIGNS
        self.next = next((line for line in next_of(timeline) if not line.optional), None)
        self.cells: Cells = [(self.signs["night"], "night") if night else (" ", "calm") for night in scale.night]
        self.marks: Marks = []
        self._taken = {scale.now_cell}
        if self.next is not None:
            self._band(self.next)
            self._window(self.next)
        self._past(timeline)
        for line in timeline.lines:
            if line.done_at is not None and line.state == "done":
                self._mark(scale.cell(line.done_at), line, "past", before_now=True)
        self.cells[scale.now_cell] = (self.signs["now"], "now")
        planned = [line for line in timeline.lines if line.state not in ("done", "skipped") and not line.optional]
        for line in sorted(planned, key=lambda line: (line.plan_at is None, line.plan_at)):
            self._planned(line)

    def words(self) -> Text:
        """The first words of what the marks are, under them: first what is ahead, then what was done."""
        cells: Cells = [(" ", "calm")] * self.scale.width
        cells[self.scale.now_cell] = (self.signs["now"], "now")
        for cell, line in sorted(self.marks, key=lambda mark: (mark[1].state == "done", mark[0])):
            word = clean(line.title).split()[0].strip(",.;:").casefold()
            style = "dim" if line.state == "done" else "alarm" if line.state == "late" else "calm"
            for start in (cell, cell - len(word) + 1):  # from its mark on, or up to it
                room = range(start - 1, start + len(word) + 1)
                if start >= 0 and room.stop <= len(cells) + 1 and all(_free(cells, at, start, word) for at in room):
                    write(cells, start, word, style)
                    break
        return row_of(cells)

    def _past(self, timeline: Timeline) -> None:
        """A solid line from the pour, or from the first thing done, until now."""
        starts = [line.done_at for line in timeline.lines if line.done_at is not None]
        starts += [timeline.poured_at] if timeline.poured_at is not None else []
        if starts and min(starts) < self.scale.end:
            for cell in range(self.scale.clipped(min(starts)), self.scale.now_cell):
                self.cells[cell] = (self.signs["past"], "dim")

    def _band(self, line: Line) -> None:
        """Rises from the earliest moment to the latest."""
        if line.band is None or line.band[0] == line.band[1] or line.band[1] <= self.scale.start:
            return
        first, last = line.band
        if first >= self.scale.end:
            return
        signs = RISE_ASCII if self.ascii_only else RISE
        for cell in range(self.scale.clipped(first), self.scale.clipped(last) + 1):
            part = (self.scale.moment(cell) - first) / (last - first)
            self.cells[cell] = (signs[max(0, min(len(signs) - 1, int(part * len(signs))))], "band")

    def _window(self, line: Line) -> None:
        """Brackets where a window opens and where it closes."""
        if line.closes != "window" or line.late_at is None:
            return
        style = "alarm" if line.state == "late" else "title"
        for at, sign in ((line.opened_at or line.ready_at, "("), (line.late_at, ")")):
            if (cell := self.scale.cell(at)) is not None:
                self.cells[cell] = (sign, style)

    def _planned(self, line: Line) -> None:
        """A late one is an exclamation mark beside now, and its shape stands where it was due."""
        scale, now = self.scale, self.scale.now_cell
        if line.state == "late":
            self._mark(scale.cell(line.late_at), line, "alarm", before_now=True)
            self.cells[min(now + 1, scale.width - 1)] = ("!", "alarm")
            return
        cell = scale.cell(line.plan_at)
        if cell is None:
            return
        ahead = (cell - now) / max(1, scale.width - now)
        due = line.state == "ready" and cell <= now + 1
        self._mark(cell, line, "now" if due else "title" if ahead < NEAR else "dim" if ahead > FAR else "calm")

    def _mark(self, cell: int | None, line: Line, name: str, *, before_now: bool = False) -> None:
        """Where a mark stands already, the next column is tried; where now is, the one beside it."""
        if cell is None:
            return
        side = -1 if before_now else 1
        places = [at for at in (cell, cell + side) if 0 <= at < self.scale.width and at not in self._taken]
        places = [at for at in places if self.cells[at][0] not in "!()"] or places
        if places:
            self.cells[places[0]] = (shape(line.kind, ascii_only=self.ascii_only), name)
            self._taken.add(places[0])
            self.marks.append((places[0], line))
