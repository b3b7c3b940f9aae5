"""What happened while a logger's file was read: rows used, rows left out and why, their order, steps and gaps."""

from collections import Counter
from operator import sub

__all__ = ["GAP_MS", "Tally"]

GAP_MS = 2 * 3_600_000  # as in the course: readings up to 2 h apart are joined by straight lines
STEPS_COUNTED = 50_000  # rows whose steps are counted one by one; by then the usual one is known


class Tally:
    """Grows while rows are read. `lines`: read so far; `skipped`: reason -> (how often, first line)."""

    def __init__(self) -> None:
        self.used = self.lines = 0
        self.skipped: dict[str, tuple[int, int]] = {}
        self.notes: Counter[str] = Counter()
        self.first_ms: int | None = None
        self.last_ms: int | None = None
        self.gaps = self.widest_ms = 0  # pauses above 2 h between neighbouring rows of the file
        self.forward = self.backward = self.same = self.sorted = False  # steps that occurred; rows sorted since
        self._steps: Counter[int] = Counter()
        self._before: list[int] = []

    def skip(self, reason: str, line: int) -> None:
        """One line is left out."""
        count, first = self.skipped.get(reason, (0, line))
        self.skipped[reason] = (count + 1, first)

    def note(self, text: str, count: int = 1) -> None:
        """So many rows were taken, but changed."""
        if count:
            self.notes[text] += count

    def count(self, reason: str) -> int:
        """How many lines were left out for that reason."""
        return self.skipped.get(reason, (0, 0))[0]

    def losses(self) -> str:
        """The lines left out, in words."""
        return "; ".join(f"{count} x {reason} (first in line {line})" for reason, (count, line) in self.skipped.items())

    def add(self, ats: list[int]) -> None:
        """Count rows by their instants, in the order of the file."""
        if not ats:
            return
        count_steps = self.used < STEPS_COUNTED
        self.used += len(ats)
        ats = self._before + ats
        self._before = ats[-1:]
        if step := _even_step(ats):
            steps, kinds = [step], {step}
            self._steps[step] += count_steps * (len(ats) - 1)
        else:
            steps = list(map(sub, ats[1:], ats))
            kinds = set(steps)
            self._steps.update(steps[:STEPS_COUNTED] if count_steps else ())
        low, high = min(kinds, default=0), max(kinds, default=0)
        self.forward, self.backward = self.forward or high > 0, self.backward or low < 0
        self.same = self.same or 0 in kinds
        if max(high, -low) > GAP_MS:
            self.gaps += len(ats) - 1 if len(kinds) == 1 else sum(abs(step) > GAP_MS for step in steps)
            self.widest_ms = max(self.widest_ms, high, -low)
        first, last = (min(ats), max(ats)) if self.backward else (ats[0], ats[-1])
        self.first_ms = first if self.first_ms is None else min(self.first_ms, first)
        self.last_ms = last if self.last_ms is None else max(self.last_ms, last)

    def recount(self, ats: list[int]) -> None:
        """Steps and gaps once more, now that the rows have been put in order; what was left out stays counted."""
        fresh = Tally()
        fresh.add(ats)
        self.gaps, self.widest_ms, self._steps, self.sorted = fresh.gaps, fresh.widest_ms, fresh._steps, True

    @property
    def in_order(self) -> bool:
        """Oldest first or newest first all through; else gaps are not known before the rows are sorted."""
        return not (self.forward and self.backward)

    @property
    def step_ms(self) -> int | None:
        """The usual step between rows, whatever their order (of equals the shortest); None for a single row."""
        usual: Counter[int] = Counter()
        for step, count in self._steps.items():
            if step:
                usual[abs(step)] += count
        return min(usual, key=lambda step: (-usual[step], step), default=None)


def _even_step(ats: list[int]) -> int:
    """The step if it is the same between all rows, and forward, as it mostly is; else 0."""
    step = ats[1] - ats[0] if len(ats) > 1 else 0
    even = step > 0 and ats[-1] - ats[0] == step * (len(ats) - 1) and ats == list(range(ats[0], ats[-1] + 1, step))
    return step if even else 0
