"""What the dashboard shows, apart from how: which piece and which of its steps is in hand."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from curetrack.desk.lines import Air
from curetrack.desk.ports import Beside
from curetrack.facts import Reading
from curetrack.instants import to_h
from curetrack.timeline.types import Line, Timeline
from curetrack.words.pressing import Pressing, next_of, pressing_key

__all__ = ["Board", "air_of"]

ASKED_ANEW = timedelta(minutes=1)
STEADY_s = 120.0  # so long after the last key the most pressing piece comes into hand by itself
AFTER_DEED_s = 20.0  # sooner when something has just been said of the piece: then what is next is wanted
AIR_OLD_h = 24.0


class Board:
    """The pieces, the most pressing first; one is in hand, and one of its next steps."""

    def __init__(self, beside: Beside) -> None:
        self._beside = beside
        self.pieces: list[Timeline] = []
        self._name, self._step = "", ""  # "": the most pressing of its steps
        self._steady_until: datetime | None = None
        self._keys: dict[str, tuple[Timeline, datetime, Pressing]] = {}
        self.renew()

    def renew(self) -> None:
        """Takes the timelines as they are now. Who has just used a key keeps the piece they had."""
        now = self._beside.now()
        found = [(self._pressing(timeline, now), timeline) for timeline in self._beside.timelines]
        self.pieces = [timeline for _, timeline in sorted(found, key=lambda pair: pair[0])]
        until = self._steady_until
        steady = until is not None and now < until <= now + timedelta(seconds=STEADY_s)  # the clock may be put back
        if not steady or self._name not in {timeline.piece for timeline in self.pieces}:
            self._name, self._step = (self.pieces[0].piece if self.pieces else ""), ""

    def _pressing(self, timeline: Timeline, now: datetime) -> Pressing:
        """The same timeline is asked once a minute: with fifty pieces it would be most of the work of a key."""
        kept = self._keys.get(timeline.piece)
        if kept is None or kept[0] is not timeline or now - kept[1] > ASKED_ANEW:
            kept = self._keys[timeline.piece] = (timeline, now, _key(timeline, now))
        return kept[2]

    @property
    def number(self) -> int:
        """Which piece is in hand."""
        return next((n for n, timeline in enumerate(self.pieces) if timeline.piece == self._name), 0)

    @property
    def piece(self) -> Timeline | None:
        """The piece in hand."""
        return self.pieces[self.number] if self.pieces else None

    @property
    def steps(self) -> list[Line]:
        """Its next steps, the most pressing first; what is optional stands behind them."""
        return _wanted_first(next_of(self.piece)) if self.piece is not None else []

    @property
    def line(self) -> Line | None:
        """The step in hand."""
        steps = self.steps
        return next((line for line in steps if line.step == self._step), steps[0] if steps else None)

    def move(self, pieces: int = 0, steps: int = 0) -> None:
        """Takes another piece, or another of its next steps, into the hand."""
        self.touch()
        if pieces and self.pieces:
            self._name, self._step = self.pieces[(self.number + pieces) % len(self.pieces)].piece, ""
        line = self.line
        if steps and line is not None:
            found = self.steps
            self._step = found[(found.index(line) + steps) % len(found)].step

    def first(self) -> None:
        """Something was said of the piece in hand: its most pressing step now, and soon that of them all."""
        self._step, self._steady_until = "", self._beside.now() + timedelta(seconds=AFTER_DEED_s)

    def touch(self) -> None:
        """A key was used: the piece stays in hand for a while."""
        self._steady_until = self._beside.now() + timedelta(seconds=STEADY_s)


def _key(timeline: Timeline, now: datetime) -> Pressing:
    lines = _wanted_first(next_of(timeline))
    return pressing_key(lines[0], now) if lines else (9, True, 0.0, False, 0.0)


def _wanted_first(lines: list[Line]) -> list[Line]:
    return sorted(lines, key=lambda line: line.optional)


def air_of(readings: Sequence[Reading], now: datetime) -> Air:
    """The newest humidity and the dew point of that reading, if they are not a day old."""
    from curetrack.concrete.air import dew_point_degC

    since = to_h(now) - AIR_OLD_h
    newest = next((r for r in readings if r.humidity_pct is not None and r.at_h >= since), None)
    if newest is None or newest.humidity_pct is None:
        return None, None
    temp = newest.temp_degC
    dew = dew_point_degC(temp, newest.humidity_pct) if temp is not None and newest.humidity_pct > 0.0 else None
    return newest.humidity_pct, dew
