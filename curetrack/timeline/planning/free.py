"""Windows with what is free in them, and the work that is booked.

Windows are looked through in blocks, so that a full calendar costs little; every booking can be taken back (a token for
each), so that a search can try and retract.
"""

import math
from bisect import bisect_left, bisect_right, insort

from msgspec import Struct

from curetrack.hours.windows import Window, Windows, joined, without

__all__ = ["BLOCK", "Free", "Need", "SLACK_h", "Token"]

BLOCK = 16  # windows that are looked over at once
SLACK_h = 1e-7  # less than a millisecond: rounding is no clash


class Token(Struct, frozen=True, gc=False):
    """A booking, for taking it back: the stretch, how many days were known, and the windows' gaps and room as they
    were before."""

    start_h: float
    end_h: float
    days: int
    gaps: tuple[tuple[int, list[Window], float], ...]


class Need(Struct, frozen=True, gc=False):
    """What a step wants of the calendar. No hands: a look, a moment within hours that keeps nobody."""

    hands_h: float
    people: int = 1
    loud: bool = False


class Free:
    """Windows in order: starts, ends, the free gaps in each, the longest gap (`room`), and that of each block."""

    def __init__(self) -> None:
        self._days = 0  # days that are known; more may be laid
        self._busy: list[Window] = []  # by start; one may lie within another
        self._most_h = 0.0  # the longest stretch of work that was ever booked
        self._starts: list[float] = []
        self._ends: list[float] = []
        self._gaps: list[list[Window]] = []
        self._room: list[float] = []
        self._blocks: list[float] = []

    def _lay(self, windows: Windows) -> None:
        """The windows of more days; those that are as they were keep what is booked in them."""
        known = zip(zip(self._starts, self._ends, strict=True), windows, strict=False)
        keep = next((n for n, (old, new) in enumerate(known) if old != new), min(len(self._starts), len(windows)))
        for row in (self._starts, self._ends, self._gaps, self._room):
            del row[keep:]
        for window in windows[keep:]:
            gaps = self._free_of(window)
            self._starts.append(window[0])
            self._ends.append(window[1])
            self._gaps.append(gaps)
            self._room.append(_longest(gaps))
        self._blocks = [max(self._room[n : n + BLOCK]) for n in range(0, len(self._room), BLOCK)]

    def book(self, start_h: float, hands_h: float) -> Token:
        """The hands are busy from then on."""
        end_h = start_h + hands_h
        touched: list[tuple[int, list[Window], float]] = []
        if hands_h > 0.0:
            insort(self._busy, (start_h, end_h))
            self._most_h = max(self._most_h, hands_h)
            index = bisect_right(self._ends, start_h)
            while index < len(self._starts) and self._starts[index] < end_h:
                touched.append((index, self._gaps[index], self._room[index]))
                self._take(index, start_h, end_h)
                index += 1
        return Token(start_h, end_h, self._days, tuple(touched))

    def retract(self, token: Token) -> None:
        """Takes the newest booking back."""
        if token.end_h > token.start_h:
            del self._busy[bisect_left(self._busy, (token.start_h, token.end_h))]
            for index, gaps, room_h in token.gaps if token.days == self._days else self._anew(token):
                self._gaps[index], self._room[index] = gaps, room_h
                block = index // BLOCK
                self._blocks[block] = max(self._blocks[block], room_h)

    def free_outside(self, earliest_h: float, latest_h: float, need: Need, shut: Windows) -> float | None:
        """The first start between two moments with free hands, the maker's windows aside, not in `shut`."""
        at_h = earliest_h
        for _ in range(len(shut) + len(self._busy) + 2):
            if at_h > latest_h + SLACK_h:
                return None
            moved = self._after_busy(at_h, need.hands_h)
            for start_h, end_h in _over(shut, moved, moved + max(need.hands_h, SLACK_h)):
                moved = max(moved, end_h) if start_h < moved + max(need.hands_h, SLACK_h) else moved
            if moved == at_h:
                return at_h
            at_h = moved
        return None

    def free_before(self, earliest_h: float, latest_h: float, need: Need, shut: Windows) -> float | None:
        """The last start between two moments with free hands, the maker's windows aside, not in `shut`."""
        taken = joined([*self._busy, *shut]) if need.hands_h > 0.0 else shut
        for start_h, end_h in reversed(without([(earliest_h, latest_h + need.hands_h)], taken)):
            if end_h - start_h + SLACK_h >= need.hands_h:
                return end_h - need.hands_h
        return None

    def _after_busy(self, at_h: float, hands_h: float) -> float:
        if hands_h <= 0.0:
            return at_h
        for index in range(self._first_over(at_h), len(self._busy)):
            start_h, end_h = self._busy[index]
            if start_h >= at_h + hands_h - SLACK_h:
                break
            if end_h > at_h + SLACK_h:
                at_h = end_h
        return at_h

    def _first_over(self, at_h: float) -> int:
        """The first booking that may last beyond a moment, however many begin after it."""
        return bisect_left(self._busy, (at_h - self._most_h - SLACK_h, -math.inf))

    def _anew(self, token: Token) -> list[tuple[int, list[Window], float]]:
        """The windows that a booking lay in, as they are without it, where days have been added since."""
        found: list[tuple[int, list[Window], float]] = []
        index = bisect_right(self._ends, token.start_h)
        while index < len(self._starts) and self._starts[index] < token.end_h:
            gaps = self._free_of((self._starts[index], self._ends[index]))
            found.append((index, gaps, _longest(gaps)))
            index += 1
        return found

    def _free_of(self, window: Window) -> list[Window]:
        gaps = [window]
        for index in range(self._first_over(window[0]), len(self._busy)):
            start_h, end_h = self._busy[index]
            if start_h >= window[1]:
                break
            gaps = _less(gaps, start_h, end_h)
        return gaps

    def _take(self, index: int, start_h: float, end_h: float) -> None:
        """Cuts a stretch out of one window."""
        old = self._gaps[index]
        if len(old) == 1:
            self._gaps[index] = gaps = _less(old, start_h, end_h)
        else:
            self._gaps[index] = gaps = _spliced(old, start_h, end_h)
        was_h, self._room[index] = self._room[index], _longest(gaps)
        block = index // BLOCK
        if was_h >= self._blocks[block]:
            self._blocks[block] = max(self._room[block * BLOCK : (block + 1) * BLOCK])


def _spliced(old: list[Window], start_h: float, end_h: float) -> list[Window]:
    """The same as `_less`, of many gaps: only those that the stretch meets are looked at."""
    first = bisect_right(old, (start_h, -math.inf))
    first = first - 1 if first and old[first - 1][1] > start_h else first
    last = first
    while last < len(old) and old[last][0] < end_h:
        last += 1
    return [*old[:first], *_less(old[first:last], start_h, end_h), *old[last:]]


def _less(gaps: list[Window], start_h: float, end_h: float) -> list[Window]:
    found: list[Window] = []
    for low_h, high_h in gaps:
        if high_h <= start_h or low_h >= end_h:
            found.append((low_h, high_h))
            continue
        if low_h < start_h - SLACK_h:
            found.append((low_h, start_h))
        if high_h > end_h + SLACK_h:
            found.append((end_h, high_h))
    return found


def _longest(gaps: list[Window]) -> float:
    return max([high_h - low_h for low_h, high_h in gaps], default=0.0)


def _over(windows: Windows, start_h: float, end_h: float) -> list[Window]:
    """The windows that overlap a stretch."""
    index = max(0, bisect_right(windows, (start_h, math.inf)) - 1)
    found: list[Window] = []
    while index < len(windows) and windows[index][0] < end_h:
        if windows[index][1] > start_h:
            found.append(windows[index])
        index += 1
    return found
