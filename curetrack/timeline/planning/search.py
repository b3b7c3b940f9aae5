"""The best of several orders; of few steps, of all orders.

Up to `FEW` open steps each order that the predecessors allow is tried, as far as `MOST_TRIED` placings go (branch and
bound; orders that lead to the same places are followed once). Beyond, the earliest deadline goes first, and where that
leaves something to wish for other rules are tried too: since it is among them, the answer is never worse than it.
"""

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from curetrack.instants import or_never
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.cost import Cost, SAME_h
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.serial import Key, Pass, Spot, deadline_first

__all__ = ["FEW", "Found", "best", "by_deadline", "exhaustive"]

FEW = 8
FURTHER = ((150, 4), (1500, 2), (math.inf, 1))  # up to so many open steps, so many further rules: a plan comes at once
MOST_TRIED = 20_000  # placings of one exhaustive search


class Found(Struct, frozen=True):
    """A plan: where each step was placed, by piece and number of the job; its cost; when each piece is done."""

    spots: dict[tuple[int, int], Spot]
    cost: Cost
    done_h: tuple[float | None, ...]
    rule: str = ""


def best(nets: Sequence[Net], calendar: Callable[[], Calendar]) -> Found:
    """The best plan that is found. `calendar` gives an empty one each time."""
    first = by_deadline(nets, calendar)
    if sum(len(net.open) for net in nets) <= FEW:
        found = exhaustive(nets, calendar())
        return found if found.cost.key < first.cost.key else first
    if first.cost.is_clean or len(nets) == 1:
        return first
    dues = _dues(nets, first)
    least = first
    rules = _rules(nets, dues)
    steps = sum(len(net.open) for net in nets)
    for rule, key in rules[: next(count for most, count in FURTHER if steps <= most)]:
        trial = Pass(nets, calendar())
        if not trial.run(key, least.cost.late_h + SAME_h):
            continue  # what it has missed so far is more than the best plan misses in all
        found = _found(trial, rule)
        least = found if found.cost.key < least.cost.key else least
        if found.cost.is_clean:
            break
    return least


def by_deadline(nets: Sequence[Net], calendar: Callable[[], Calendar]) -> Found:
    """Earliest deadline first, then what can start first."""
    trial = Pass(nets, calendar())
    trial.run(deadline_first)
    return _found(trial, "deadline")


def _rules(nets: Sequence[Net], dues: dict[tuple[int, int], float]) -> list[tuple[str, Key]]:
    """More rules of priority. `dues`: until when a step may start for its piece to be done by its date."""

    def due(piece: int, job: Job, late_h: float | None) -> float:
        return min(dues.get((piece, job.index), math.inf), math.inf if late_h is None else late_h)

    def first_ready(piece: int, job: Job, earliest_h: float, late_h: float | None) -> tuple[float, ...]:
        return (earliest_h, due(piece, job, late_h))

    def least_slack(piece: int, job: Job, earliest_h: float, late_h: float | None) -> tuple[float, ...]:
        return (due(piece, job, late_h) - earliest_h, earliest_h)

    def due_first(piece: int, job: Job, earliest_h: float, late_h: float | None) -> tuple[float, ...]:
        return (due(piece, job, late_h), earliest_h)

    wanted = sorted(range(len(nets)), key=lambda piece: (or_never(nets[piece].need_by_h), piece))
    rank = {piece: number for number, piece in enumerate(wanted)}

    def by_piece(piece: int, _job: Job, earliest_h: float, _late_h: float | None) -> tuple[float, ...]:
        return (rank[piece], earliest_h)

    return [("ready", first_ready), ("due", due_first), ("slack", least_slack), ("piece", by_piece)]


def _dues(nets: Sequence[Net], found: Found) -> dict[tuple[int, int], float]:
    """From a first plan: the date of the piece, less what there is from the step to its end."""
    dues: dict[tuple[int, int], float] = {}
    for (piece, index), spot in found.spots.items():
        need_by_h, done_h = nets[piece].need_by_h, found.done_h[piece]
        if need_by_h is not None and done_h is not None:
            dues[piece, index] = need_by_h - (done_h - spot.start_h)
    return dues


def exhaustive(nets: Sequence[Net], calendar: Calendar) -> Found:
    """All orders, as far as `MOST_TRIED` goes; what cannot beat the best so far is not followed."""
    trial = Pass(nets, calendar)
    trial.prepare()
    state = _Tree(trial)
    state.follow()
    return state.best if state.best is not None else _found(trial, "all orders")


class _Tree:
    """Depth first over orders."""

    def __init__(self, trial: Pass) -> None:
        self.trial = trial
        self.best: Found | None = None
        self.seen: set[frozenset[tuple[int, int, float]]] = set()
        self.tried = 0

    def follow(self) -> None:
        trial = self.trial
        free = [(piece, job) for piece in range(len(trial.nets)) for job in trial.free(piece)]
        if not free:
            free = [(piece, job) for piece in range(len(trial.nets)) if (job := trial.stuck(piece)) is not None][:1]
        if not free:
            self._keep()
            return
        for piece, job in free:
            if self.tried > MOST_TRIED:
                return
            length = trial.length
            self.tried += 1
            trial.place(piece, job)
            if self._is_new() and not self._is_worse():
                self.follow()
            trial.retract(length)

    def _keep(self) -> None:
        cost = self.trial.cost()
        if self.best is None or cost.key < self.best.cost.key:
            self.best = _found(self.trial, "all orders", cost)

    def _is_new(self) -> bool:
        where = frozenset((piece, index, spot.start_h) for (piece, index), spot in self.trial.spots.items())
        where |= {(piece, -1, float(sum(net.done))) for piece, net in enumerate(self.trial.nets)}
        if where in self.seen:
            return False
        self.seen.add(where)
        return True

    def _is_worse(self) -> bool:
        """What a plan has cost so far only grows."""
        return self.best is not None and self.trial.cost().key[:3] > self.best.cost.key[:3]


def _found(trial: Pass, rule: str, cost: Cost | None = None) -> Found:
    done = tuple(trial.done_h(piece) for piece in range(len(trial.nets)))
    return Found(dict(trial.spots), trial.cost() if cost is None else cost, done, rule)
