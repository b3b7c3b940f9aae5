"""One pair of hands on the maker's windows: what is free, and the first fit. Work is not split: a coat, a grit, a fill
is one go."""

import math
from bisect import bisect_left, bisect_right
from datetime import date, tzinfo
from itertools import accumulate

from curetrack.hours.expand import Rota
from curetrack.hours.windows import ALWAYS, Window, Windows, without
from curetrack.instants import from_h
from curetrack.timeline.planning.free import BLOCK, Free, Need, SLACK_h, Token

__all__ = ["Calendar", "Need", "SLACK_h", "Token"]

LOOK_h = 5.0 / 60.0  # what a look takes (judgement)
MOST_DAYS = 3 * 366  # what fits nowhere in three years fits nowhere
FIRST_DAYS = 100
AROUND_DAYS = 32  # hours, nights and quiet hours are known so far beyond each moment that is asked for


class Calendar(Free):
    """From a moment on. Days are added as a question reaches further, up to three years."""

    def __init__(self, rota: Rota, from_h_: float) -> None:
        super().__init__()
        self.rota, self.from_h = rota, from_h_
        self._first: date = from_h(from_h_).astimezone(rota.zone).date()
        self._known_h = -math.inf  # moments up to this one can be asked for without adding days
        self._allowed: dict[tuple[int, bool], Windows] = {}
        self._stretches: dict[tuple[int, bool], tuple[list[Window], list[float]]] = {}
        self.nights: Windows = ()
        self.quiet: Windows = ()
        self._grow(FIRST_DAYS)

    @property
    def zone(self) -> tzinfo:
        """The shop's zone."""
        return self.rota.zone

    @property
    def has_hours(self) -> bool:
        """Whether the maker works at some hours of the week only, days away and extra days aside."""
        return self.rota.hours is not None

    # --- questions -------------------------------------------------------------------------------------------------

    def first_fit(self, earliest_h: float, need: Need) -> float | None:
        """The first start from `earliest_h` on within the windows; None if there is none within three years."""
        while True:
            found = self._first_fit(earliest_h, need)
            if found is not None and found + need.hands_h <= self._known_h:
                return found
            if found is None and 0.0 < self.longest_h(need, earliest_h) < need.hands_h - SLACK_h:
                return None  # what is longer than any stretch now will be longer later
            if not self._grow(self._days * 3):
                return found

    def reach(self, at_h: float) -> None:
        """Adds days until this moment is known, with what lies around it."""
        while at_h > self._known_h and self._grow(self._days * 3):
            pass

    def last_fit(self, earliest_h: float, latest_h: float, need: Need) -> float | None:
        """The last start between two moments; None if nothing fits there."""
        self.reach(latest_h + need.hands_h)
        allowed = self.allowed(need)
        for index in range(bisect_right(self._starts, latest_h + SLACK_h) - 1, -1, -1):
            if self._ends[index] < earliest_h - SLACK_h:
                break
            if self._room[index] + SLACK_h < need.hands_h:
                continue
            for start_h, end_h in reversed(self._gaps_for(index, need)):
                for low_h, high_h in reversed(_cut(allowed, start_h, end_h)):
                    at_h = min(high_h - need.hands_h, latest_h)
                    if at_h >= max(low_h, earliest_h) - SLACK_h:
                        return max(at_h, low_h, earliest_h)
        return None

    def longest_h(self, need: Need, from_h: float, until_h: float = math.inf) -> float:
        """The longest stretch between two moments that is allowed for such work, bookings aside; of those that are long
        enough for it the first; 0: there is none."""
        stretches, longest = self._stretches_for(need)
        index = max(0, bisect_right(stretches, (from_h, math.inf)) - 1)
        found_h = 0.0
        for number in range(index, len(stretches)):
            if until_h == math.inf and number > index:
                return max(found_h, longest[number])
            start_h, end_h = stretches[number]
            if start_h >= until_h or found_h >= need.hands_h:
                break
            found_h = max(found_h, min(end_h, until_h) - max(start_h, from_h))
        return found_h

    def _stretches_for(self, need: Need) -> tuple[list[Window], list[float]]:
        """All stretches that are allowed, and the length of the longest from each on."""
        key = (need.people, need.loud)
        if key not in self._stretches:
            allowed = self.allowed(need)
            windows = zip(self._starts, self._ends, strict=True)
            stretches = [each for first, last in windows for each in _cut(allowed, first, last)]
            longest = list(accumulate((end - start for start, end in reversed(stretches)), max))
            self._stretches[key] = stretches, longest[::-1]
        return self._stretches[key]

    def in_hours_h(self, start_h: float, end_h: float) -> float:
        """Hours of a stretch that lie in the maker's windows."""
        self.reach(end_h)
        if start_h == end_h:
            return 0.0
        index = max(0, bisect_right(self._ends, start_h))
        total = 0.0
        while index < len(self._starts) and self._starts[index] < end_h:
            total += max(0.0, min(end_h, self._ends[index]) - max(start_h, self._starts[index]))
            index += 1
        return total

    def window_of(self, at_h: float) -> Window | None:
        """The maker's window that holds a moment, the moment of its end included."""
        self.reach(at_h)
        index = bisect_left(self._ends, at_h - SLACK_h)
        if index < len(self._starts) and self._starts[index] <= at_h + SLACK_h:
            return self._starts[index], self._ends[index]
        return None

    def is_crew_short(self, need: Need) -> bool:
        """Whether it is the crew's hours, not the maker's, that hold no stretch long enough for such work."""
        alone = Need(need.hands_h, 1, need.loud)
        return need.people > 1 and self.longest_h(alone, self.from_h) >= need.hands_h - SLACK_h

    def last_moment_before(self, at_h: float, since_h: float) -> float | None:
        """The end of the maker's last window that has begun before a moment and ends after `since_h`."""
        self.reach(at_h)
        index = bisect_left(self._starts, at_h) - 1
        if index < 0 or self._ends[index] <= since_h or self._starts[index] == -math.inf:
            return None
        return min(self._ends[index], at_h)

    # --- inside ----------------------------------------------------------------------------------------------------

    def _first_fit(self, earliest_h: float, need: Need) -> float | None:
        allowed = self.allowed(need)
        if allowed is not ALWAYS:
            return self._first_allowed(earliest_h, need, allowed)
        hands_h = need.hands_h
        index, count = bisect_right(self._ends, earliest_h - SLACK_h), len(self._starts)
        while index < count:
            if index % BLOCK == 0 and self._blocks[index // BLOCK] + SLACK_h < hands_h:
                index += BLOCK
                continue
            if self._room[index] + SLACK_h >= hands_h:
                for start_h, end_h in self._gaps_for(index, need):
                    if end_h + SLACK_h < earliest_h + hands_h:
                        continue
                    at_h = start_h if start_h > earliest_h else earliest_h
                    if at_h + hands_h <= end_h + SLACK_h:
                        return at_h
            index += 1
        return None

    def _first_allowed(self, earliest_h: float, need: Need, allowed: Windows) -> float | None:
        """The same within narrower windows: these are gone through, and what of the maker's lies in each."""
        hands_h = need.hands_h
        for low_h, high_h in allowed[max(0, bisect_right(allowed, (earliest_h, math.inf)) - 1) :]:
            if high_h + SLACK_h < earliest_h + hands_h or high_h - low_h + SLACK_h < hands_h:
                continue
            index = bisect_right(self._ends, max(low_h, earliest_h) - SLACK_h)
            while index < len(self._starts) and self._starts[index] < high_h:
                if self._room[index] + SLACK_h >= hands_h:
                    for start_h, end_h in self._gaps_for(index, need):
                        at_h = max(start_h, low_h, earliest_h)
                        if at_h + hands_h <= min(end_h, high_h) + SLACK_h:
                            return at_h
                index += 1
        return None

    def _gaps_for(self, index: int, need: Need) -> list[Window]:
        """Free stretches of a window; a look without hands may fall into other work, but not into its last minutes."""
        return self._gaps[index] if need.hands_h > 0.0 else [(self._starts[index], self._ends[index] - LOOK_h)]

    def allowed(self, need: Need) -> Windows:
        """When such work may be done, the maker's windows and bookings aside."""
        if not need.loud and (need.people <= 1 or self.rota.crew is None):
            return ALWAYS
        key = (need.people if self.rota.crew is not None else 1, need.loud)
        if key not in self._allowed:
            found = self.rota.crew_for(key[0], self._first, self._days)
            self._allowed[key] = without(found, self.quiet) if need.loud and self.quiet else found
        return self._allowed[key]

    def _grow(self, days: int) -> bool:
        """More days; False if they are enough for anything."""
        if self._days >= MOST_DAYS:
            return False
        self._days = min(days, MOST_DAYS)
        known_h = self.from_h + (self._days - AROUND_DAYS) * 24.0
        self._known_h = known_h if self.rota.known else math.inf  # where nothing is set one day is like another
        self.quiet = self.rota.quiet_hours(self._first, self._days)
        self.nights = self.rota.nights(self._first, self._days)
        self._allowed, self._stretches = {}, {}
        self._lay(self.rota.maker(self._first, self._days))
        return True


def _cut(allowed: Windows, start_h: float, end_h: float) -> list[Window]:
    """The parts of one stretch that are allowed."""
    if allowed is ALWAYS:
        return [(start_h, end_h)]
    index = max(0, bisect_right(allowed, (start_h, math.inf)) - 1)
    found: list[Window] = []
    while index < len(allowed) and allowed[index][0] < end_h:
        low_h, high_h = max(start_h, allowed[index][0]), min(end_h, allowed[index][1])
        if low_h < high_h:
            found.append((low_h, high_h))
        index += 1
    return found
