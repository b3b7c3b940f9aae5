"""One axis of time for all pieces: what was done, now as one line through all of them, and what is planned.

A piece has one row. Done steps are their shapes in bold, planned ones in plain, fading with distance; the band of its
next timed step rises from its earliest to its latest moment; a window that will close is a pair of brackets. Above it
the days, with a line for the night.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from rich.text import Text

from curetrack.desk.rows import Cells, cut, row_of, styled, write
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.pressing import next_of
from curetrack.words.voice import Voice

__all__ = ["SPANS", "axis_rows"]

SPANS = (timedelta(days=1), timedelta(days=3), timedelta(days=8), timedelta(days=24))
PAST = 0.22  # of the axis lies behind now
NAME = 12
NIGHT_FROM, NIGHT_TO = 22, 6
FAR = 0.6  # of the axis ahead, from where on marks are dim
RISE, RISE_ASCII = "▁▂▃▄▅▆▇", ".,:;+*#"
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def axis_rows(
    timelines: Sequence[Timeline], chosen: int, voice: Voice, width: int, height: int,
    *, span: timedelta = SPANS[1], ascii_only: bool = False,
) -> list[Text]:  # fmt: skip
    """The days, then as many pieces as there are rows for, the chosen one always among them."""
    if height < 2 or not timelines:
        return []
    scale = _Scale(voice, max(20, width - NAME - 1), span)
    rows = [styled((" " * (NAME + 1), "calm")) + _days(scale, ascii_only=ascii_only)]
    shown = height - 1
    first = max(0, min(chosen - shown // 2, len(timelines) - shown))
    visible = range(first, min(first + shown, len(timelines)))
    return rows + [_row(timelines[n], scale, chosen=n == chosen, ascii_only=ascii_only) for n in visible]


class _Scale:
    """Which cell a moment falls into."""

    def __init__(self, voice: Voice, width: int, span: timedelta) -> None:
        self.voice, self.width = voice, width
        self.start, self.per_cell = voice.now - span * PAST, span / width
        self.now_cell = self.cell(voice.now) or 0

    def cell(self, at: datetime | None) -> int | None:
        """None: outside, or no moment."""
        if at is None:
            return None
        number = int((at - self.start) / self.per_cell)
        return number if 0 <= number < self.width else None

    def clipped(self, at: datetime) -> int:
        """The nearest cell."""
        return max(0, min(self.width - 1, int((at - self.start) / self.per_cell)))

    def moment(self, cell: int) -> datetime:
        """The middle of a cell."""
        return self.start + self.per_cell * (cell + 0.5)


def _days(scale: _Scale, *, ascii_only: bool) -> Text:
    """The names of the days at their midnights, hours between them if there is room, and nights as a line."""
    signs: Cells = []
    for number in range(scale.width):
        hour = scale.moment(number).astimezone(scale.voice.zone).hour
        night = hour >= NIGHT_FROM or hour < NIGHT_TO
        signs.append(("-" if ascii_only else "─", "night") if night else (" ", "calm"))
    free, day = 0, scale.start.astimezone(scale.voice.zone).date()
    for _ in range(60):
        midnight = datetime.combine(day, datetime.min.time(), scale.voice.zone).astimezone(UTC)
        cell = scale.cell(midnight)
        name = f"{DAYS[day.weekday()]} {day.day}"
        if cell is not None and cell >= free and cell + len(name) <= scale.width:
            write(signs, cell, name, "calm")
            free = cell + len(name) + 1
        noon = scale.cell(midnight + timedelta(hours=12))
        if noon is not None and scale.per_cell < timedelta(minutes=100) and free <= noon < scale.width - 5:
            write(signs, noon, "12", "dim")
        day += timedelta(days=1)
    write(signs, scale.now_cell, "v" if ascii_only else "▼", "now")
    return row_of(signs)


def _row(timeline: Timeline, scale: _Scale, *, chosen: bool, ascii_only: bool) -> Text:
    cells: Cells = [(" ", "calm")] * scale.width
    upcoming = next_of(timeline)
    if upcoming:
        _band(upcoming[0], cells, scale, ascii_only=ascii_only)
    for line in timeline.lines:
        _window(line, cells, scale)
    _mark(cells, scale.now_cell, "|" if ascii_only else "│", "now")
    for line in timeline.lines:
        _step(line, cells, scale, ascii_only=ascii_only)
    name = f"{cut(clean(timeline.piece), NAME):<{NAME}}"
    row = styled((name, "chosen" if chosen else "calm"), ">" if chosen and ascii_only else " ")
    return row + row_of(cells)


def _band(line: Line, cells: Cells, scale: _Scale, *, ascii_only: bool) -> None:
    """Rises from the earliest moment to the latest."""
    if line.band is None or line.band[0] == line.band[1]:
        return
    first, last = line.band
    if last <= scale.start or (scale.cell(first) is None and first > scale.voice.now):
        return
    signs = RISE_ASCII if ascii_only else RISE
    begin, end = scale.clipped(first), scale.clipped(last)
    for cell in range(begin, end + 1):
        part = (scale.moment(cell) - first) / (last - first)
        cells[cell] = (signs[max(0, min(len(signs) - 1, int(part * len(signs))))], "band")


def _window(line: Line, cells: Cells, scale: _Scale) -> None:
    """Brackets where a window opens and where it closes."""
    if line.closes != "window" or line.late_at is None or line.state in ("done", "skipped"):
        return
    opens = line.opened_at or line.ready_at
    for at, sign in ((opens, "("), (line.late_at, ")")):
        cell = scale.cell(at)
        if cell is not None:
            cells[cell] = (sign, "alarm" if line.state == "late" else "dim")


def _step(line: Line, cells: Cells, scale: _Scale, *, ascii_only: bool) -> None:
    glyph = shape(line.kind, ascii_only=ascii_only)
    if line.done_at is not None:
        _mark(cells, scale.cell(line.done_at), glyph, "past")
        return
    if line.state == "skipped" or line.optional:
        return
    if line.state == "late":
        _mark(cells, scale.now_cell, "!", "alarm")
        return
    cell = scale.cell(line.plan_at)
    if cell is None or cells[cell][1] in ("past", "alarm"):
        return
    far = cell - scale.now_cell > (scale.width - scale.now_cell) * FAR
    _mark(cells, cell, glyph, "now" if cell == scale.now_cell else "dim" if far else "calm")


def _mark(cells: Cells, cell: int | None, sign: str, name: str) -> None:
    if cell is not None:
        cells[cell] = (sign, name)
