"""One pass: the steps of all pieces, placed one after another on one calendar, the most pressing first."""

import math
from collections.abc import Callable, Sequence
from heapq import heappop, heappush

from curetrack.instants import or_never
from curetrack.timeline.graph import POUR
from curetrack.timeline.planning.before import Early, backwards, early_of, forwards
from curetrack.timeline.planning.calendar import SLACK_h
from curetrack.timeline.planning.chains import Chains
from curetrack.timeline.planning.cost import Cost
from curetrack.timeline.planning.fits import Spot
from curetrack.timeline.planning.job import Ask, Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.outcome import cost_of, done_h, late_h

__all__ = ["Key", "Pass", "Spot", "deadline_first"]

Heap = list[tuple[tuple[float, ...], int, int, Ask | None]]  # how pressing, piece, job, what was asked
Key = Callable[[int, Job, float, float | None], tuple[float, ...]]  # piece, job, earliest, latest -> how pressing


def deadline_first(_piece: int, _job: Job, earliest_h: float, late_h: float | None) -> tuple[float, ...]:
    """A key: the earliest deadline first, then what can start first."""
    return (or_never(late_h), earliest_h)


class Pass(Chains):
    """One plan in the making."""

    # --- in an order -----------------------------------------------------------------------------------------------

    def run(self, key: Key, most_late_h: float = math.inf) -> bool:
        """Place everything by a rule of priority. False: given up, since windows are missed by more than that."""
        missed_h = 0.0
        heap: Heap = []
        self.prepare()
        for piece in range(len(self.nets)):
            self._push_free(heap, piece, self.nets[piece].jobs, key)
        while True:
            while heap:
                _, piece, index, asked = heappop(heap)
                net = self.nets[piece]
                if net.done[index]:
                    continue
                before = len(self._trail)
                self.place(piece, net.jobs[index], asked)
                self._push_free(heap, piece, self._freed(piece, before), key)
                missed_h += self._late_since(before)
                if missed_h > most_late_h:
                    return False
            pulled = [self._unstick(heap, piece, key) for piece in range(len(self.nets))]
            if not any(pulled):
                return True

    def prepare(self) -> None:
        """Concrete that is in its form goes before everything. Then what comes before a pour to come is placed just in
        time for it, the nearest pour first; what its followers do not wait for is passed."""
        numbers = range(len(self.nets))
        by_pour = sorted(numbers, key=lambda number: or_never(self.nets[number].basis.pour_h))
        self._fresh_first([piece for piece in by_pour if self.nets[piece].basis.poured])
        for piece in by_pour:
            net = self.nets[piece]
            pour = net.number.get(POUR)
            if pour is not None and not net.basis.poured and net.basis.pour_h is not None:
                self._before_pour(piece, net, net.jobs[pour], net.basis.pour_h)
        for piece in numbers:
            self._pass_through(piece, self.nets[piece].jobs)

    def _fresh_first(self, pieces: Sequence[int]) -> None:
        """What is done to fresh concrete within its window, the window that closes first before the others: a chore for
        another pour must not take its moment, nor must a window that has passed already."""
        heap: Heap = []
        for piece in pieces:
            self._pass_through(piece, self.nets[piece].jobs)
            self._push_fresh(heap, piece, self.nets[piece].jobs)
        while heap:
            _, piece, index, asked = heappop(heap)
            if not self.nets[piece].done[index]:
                before = len(self._trail)
                self.place(piece, self.nets[piece].jobs[index], asked)
                self._push_fresh(heap, piece, self._freed(piece, before))

    def _push_fresh(self, heap: Heap, piece: int, jobs: Sequence[Job]) -> None:
        self._push_free(heap, piece, [job for job in jobs if job.is_fresh and job.is_window], deadline_first)

    def free(self, piece: int) -> list[Job]:
        """What can be placed next."""
        net = self.nets[piece]
        return [job for job in net.jobs if net.is_free(job)]

    def stuck(self, piece: int) -> Job | None:
        """The first just-in-time step that nothing has pulled, once nothing else is free."""
        net = self.nets[piece]
        return next((job for job in net.jobs if not net.done[job.index] and net.is_free(job, pulled=True)), None)

    def _push_free(self, heap: Heap, piece: int, jobs: Sequence[Job], key: Key) -> None:
        net = self.nets[piece]
        for job in jobs:
            if net.is_free(job):
                asked = net.ask(job)
                rank = self._rank(piece, job, asked, key)
                heappush(heap, (rank, piece, job.index, asked))

    def _rank(self, piece: int, job: Job, asked: Ask | None, key: Key) -> tuple[float, ...]:
        """A window that has passed already presses no more than what has none: one that can be met goes first."""
        if asked is None:
            return (math.inf,)
        earliest_h, late_h = asked
        missed = late_h is not None and late_h < self.nets[piece].basis.now_h
        return key(piece, job, earliest_h, None if missed else late_h)

    def _late_since(self, since: int) -> float:
        missed_h = 0.0
        for piece, job, _ in self._trail[since:]:
            spot = self.spots.get((piece, job.index))
            if spot is not None and not job.through and (job.is_window or spot.how):
                missed_h += late_h(self.nets[piece], job, spot)
        return missed_h

    def _freed(self, piece: int, since: int) -> list[Job]:
        net = self.nets[piece]
        if since == len(self._trail) - 1:
            return [net.jobs[number] for number in net.successors[self._trail[since][1].index]]
        numbers = {other for _, job, _ in self._trail[since:] for other in net.successors[job.index]}
        return [net.jobs[number] for number in sorted(numbers)]

    def _unstick(self, heap: Heap, piece: int, key: Key) -> bool:
        job = self.stuck(piece)
        if job is None:
            return False
        before = len(self._trail)
        self.place(piece, job)
        self._push_free(heap, piece, self._freed(piece, before), key)
        return True

    # --- before the pour -------------------------------------------------------------------------------------------

    def _before_pour(self, piece: int, net: Net, pour: Job, pour_h: float) -> None:
        """Backwards from the pour if all of it fits; else forwards from now."""
        early, length = early_of(net, pour, pour_h), self.length
        spots = backwards(self.calendar, net, early, pour_h)
        if spots is None or not self._put_early(piece, net, early, spots):
            self.retract(length)
            self._put_early(piece, net, early, None)
        for job in net.jobs:
            if not net.done[job.index] and net.is_early(job):
                self._mark(piece, job, None)

    def _put_early(self, piece: int, net: Net, early: Early, spots: dict[int, Spot] | None) -> bool:
        """Each step before the pour where it was found to fit, else (None) at its first fit. False if one of them comes
        before its rules."""
        for job in early.jobs:
            spot = forwards(self.calendar, net, job, early) if spots is None else spots[job.index]
            if spots is not None and spot is not None and not job.through:
                earliest_h = net.earliest_h(job)
                if earliest_h is not None and earliest_h > spot.start_h + SLACK_h:
                    return False
            self._mark(piece, job, None if spot is None else spot.start_h, book=not job.through)
            if spot is not None:
                self.spots[piece, job.index] = spot
        return True

    # --- what came of it --------------------------------------------------------------------------------------------

    def cost(self) -> Cost:
        """Of all that is placed."""
        return cost_of(self.nets, self.spots, self.calendar)

    def done_h(self, piece: int) -> float | None:
        """When the last step that wants somebody is over; None if one of them cannot be planned."""
        return done_h(self.nets[piece])
