"""One pass: the steps of all pieces, placed one after another on one calendar, the most pressing first.

A step takes its first fit. Steps that are tied to it by a window (a recoat, "no later than an hour after") are placed
with it: where one of them would miss its window by so many hours, the first of the chain moves by at least as many and
all is tried again. A follower never starts earlier because its head starts later, so that this finds the first head
that works.
"""

import math
from collections.abc import Callable, Sequence
from heapq import heappop, heappush

from msgspec import Struct

from curetrack.timeline.graph import POUR
from curetrack.timeline.planning.before import Early, backwards, early_of, forwards
from curetrack.timeline.planning.calendar import Calendar, SLACK_h, Token
from curetrack.timeline.planning.cost import Cost, visits_of
from curetrack.timeline.planning.fits import Spot, first_fit, spot_for, within_h
from curetrack.timeline.planning.job import Ask, Job, or_never
from curetrack.timeline.planning.net import Net

__all__ = ["Key", "Pass", "Spot"]

CHAIN_AHEAD_h = 14 * 24.0  # so far the head of a chain is moved at most
CHAIN_TRIES = 120  # placings of one chain; then the earliest is kept
DEEPEST = 30

Heap = list[tuple[tuple[float, ...], int, int, Ask | None]]  # how pressing, piece, job, what was asked
Key = Callable[[int, Job, float, float | None], tuple[float, ...]]  # piece, job, earliest, latest -> how pressing


class _Mark(Struct, frozen=True):
    """One placing, for taking it back."""

    piece: int
    job: Job
    token: Token | None


class Pass:
    """One plan in the making."""

    def __init__(self, nets: Sequence[Net], calendar: Calendar) -> None:
        """On this calendar, beside what is booked in it."""
        self.nets, self.calendar = nets, calendar
        self.spots: dict[tuple[int, int], Spot] = {}
        self._trail: list[_Mark] = []
        self._left = 0
        for net in nets:
            net.reset()

    # --- in an order -----------------------------------------------------------------------------------------------

    def run(self, key: Key, most_late_h: float = math.inf) -> bool:
        """Place everything by a rule of priority. False: given up, since windows are missed by more than that."""
        late_h = 0.0
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
                late_h += self._late_since(before)
                if late_h > most_late_h:
                    return False
            if not any(self._unstick(heap, piece, key) for piece in range(len(self.nets))):
                return True

    def prepare(self) -> None:
        """What comes before a pour is placed just in time for it, the nearest pour first; what its followers do not
        wait for is passed."""
        numbers = range(len(self.nets))
        for piece in sorted(numbers, key=lambda number: or_never(self.nets[number].basis.pour_h)):
            net = self.nets[piece]
            pour = net.number.get(POUR)
            if pour is not None and not net.basis.poured and net.basis.pour_h is not None:
                self._before_pour(piece, net, net.jobs[pour], net.basis.pour_h)
        for piece in numbers:
            self._pass_through(piece, self.nets[piece].jobs)

    def free(self, piece: int) -> list[Job]:
        """What can be placed next."""
        net = self.nets[piece]
        return [job for job in net.jobs if net.is_free(job)]

    def stuck(self, piece: int) -> Job | None:
        """The first held step that nothing has pulled, once nothing else is free."""
        net = self.nets[piece]
        return next((job for job in net.jobs if not net.done[job.index] and net.is_free(job, pulled=True)), None)

    def _push_free(self, heap: Heap, piece: int, jobs: Sequence[Job], key: Key) -> None:
        net = self.nets[piece]
        for job in jobs:
            if net.is_free(job):
                asked = net.ask(job)
                rank = key(piece, job, *asked) if asked is not None else (math.inf,)
                heappush(heap, (rank, piece, job.index, asked))

    def _late_since(self, since: int) -> float:
        late_h = 0.0
        for mark in self._trail[since:]:
            spot = self.spots.get((mark.piece, mark.job.index))
            if spot is not None and not mark.job.through:
                late_h += _late_h(self.nets[mark.piece], mark.job, spot)
        return late_h

    def _freed(self, piece: int, since: int) -> list[Job]:
        net = self.nets[piece]
        numbers = {other for mark in self._trail[since:] for other in net.successors[mark.job.index]}
        return [net.jobs[number] for number in sorted(numbers)]

    def _unstick(self, heap: Heap, piece: int, key: Key) -> bool:
        job = self.stuck(piece)
        if job is None:
            return False
        before = len(self._trail)
        self.place(piece, job)
        self._push_free(heap, piece, self._freed(piece, before), key)
        return True

    # --- one step --------------------------------------------------------------------------------------------------

    def place(self, piece: int, job: Job, asked: Ask | None = None) -> None:
        """A step with all that is tied to it. `asked`: what the net says of it, where that is known."""
        net = self.nets[piece]
        for lead, lead_h in job.leads:
            if not net.done[lead]:
                self._pull(piece, net, job, net.jobs[lead], lead_h)
                asked = None
        self._chain(piece, job, 0, asked)

    def retract(self, length: int) -> None:
        """Back to a trail of that length."""
        while len(self._trail) > length:
            mark = self._trail.pop()
            net = self.nets[mark.piece]
            net.unmark(mark.job)
            self.spots.pop((mark.piece, mark.job.index), None)
            if mark.token is not None:
                self.calendar.retract(mark.token)

    @property
    def length(self) -> int:
        """Of the trail."""
        return len(self._trail)

    def _mark(self, piece: int, job: Job, start_h: float | None, *, book: bool = True) -> None:
        net = self.nets[piece]
        token = None
        if start_h is not None and book and not job.through and not job.nobody:
            token = self.calendar.book(start_h, job.need.hands_h)
        net.mark(job, start_h)
        self._trail.append(_Mark(piece, job, token))

    def _pull(self, piece: int, net: Net, follower: Job, job: Job, lead_h: float) -> None:
        """A step that only has to come before another one: the last fit that leaves the lead, else the first."""
        for other, other_lead_h in job.leads:
            if not net.done[other]:
                self._pull(piece, net, job, net.jobs[other], other_lead_h)
        if net.done[job.index]:
            return
        asked, ready = net.ask(job), net.ready_h(follower)
        if asked is None:
            self._mark(piece, job, None)
            return
        start_h, how = asked[0], ""
        latest_h = None if ready is None else ready - lead_h - job.need.hands_h
        fit_h = None
        if latest_h is not None and latest_h >= asked[0] and not job.spans:
            fit_h = self.calendar.last_fit(asked[0], latest_h, job.need)
        if fit_h is None:
            fit_h, how = first_fit(self.calendar, net, job, asked[0])
        start_h = fit_h if fit_h is not None else start_h
        late_h = None if ready is None else ready - lead_h
        self._put(piece, job, Spot(start_h, late_h, asked[0], how))
        self._pass_through(piece, net.passed[job.index])

    def _put(self, piece: int, job: Job, spot: Spot) -> None:
        self._mark(piece, job, spot.start_h)
        self.spots[piece, job.index] = spot

    # --- chains ----------------------------------------------------------------------------------------------------

    def _chain(self, piece: int, job: Job, depth: int, asked: Ask | None = None, *, strict: bool = False) -> float:
        """Places a step and what is tied to it. First `strict`: nothing that is tied to it may leave the hours; only
        where no head within sight allows that, windows are saved outside them.

        Returns by how many hours it, or what is tied to it, misses its window: an earlier head moves by as many.
        """
        net = self.nets[piece]
        asked = net.ask(job) if asked is None else asked
        if asked is None:
            self._mark(piece, job, None)
            self._pass_through(piece, net.passed[job.index])
            return 0.0
        self._left = CHAIN_TRIES if depth == 0 else self._left
        earliest_h, late_h = asked
        length, from_h = self.length, earliest_h
        while True:
            self._left -= 1
            spot = spot_for(self.calendar, net, job, from_h, (earliest_h, late_h), strict=strict)
            self._put(piece, job, spot)
            missed_h = self._tied(piece, net, job, depth, strict=True)
            if missed_h <= SLACK_h or spot.how == "never":
                break
            from_h = spot.start_h + missed_h
            leaves_own = late_h is not None and from_h > late_h and job.is_window
            if (
                leaves_own or self._left <= 0 or from_h > earliest_h + CHAIN_AHEAD_h
            ):  # nothing helps: as early as it goes
                self.retract(length)
                spot = spot_for(self.calendar, net, job, earliest_h, (earliest_h, late_h), strict=strict)
                self._put(piece, job, spot)
                missed_h = self._tied(piece, net, job, depth, strict=strict)
                break
            self.retract(length)
        own_h = 0.0
        if late_h is not None and job.is_tied and late_h < (math.inf if job.late_h is None else job.late_h):
            own_h = max(0.0, spot.start_h - late_h) if late_h >= net.basis.now_h else 0.0
        return max(own_h, missed_h if strict else 0.0)

    def _tied(self, piece: int, net: Net, job: Job, depth: int, *, strict: bool) -> float:
        """Places the steps whose window hangs on this one; the most hours by which one of them misses it."""
        self._pass_through(piece, net.passed[job.index])
        missed_h = 0.0
        for other in net.tied[job.index] if depth < DEEPEST else ():
            if net.is_free(other) and all(net.done[lead] for lead, _ in other.leads):
                missed_h = max(missed_h, self._chain(piece, other, depth + 1, strict=strict))
        return missed_h

    def _pass_through(self, piece: int, jobs: Sequence[Job]) -> None:
        """Optional steps hold nobody up: they are placed when their turn comes, and book nothing."""
        net = self.nets[piece]
        todo = list(jobs)
        for job in todo:  # grows
            if job.through and not job.closed and net.is_free(job, pulled=True):
                asked = net.ask(job)
                start_h = None
                if asked is not None:
                    start_h, how = first_fit(self.calendar, net, job, asked[0])
                    start_h = asked[0] if start_h is None else start_h
                    self.spots[piece, job.index] = Spot(start_h, None, asked[0], how)
                self._mark(piece, job, start_h, book=False)
                todo += net.passed[job.index]

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

    # --- what came of it -------------------------------------------------------------------------------------------

    def cost(self) -> Cost:
        """Of all that is placed."""
        late_h = night_h = outside_h = past_h = finish_h = 0.0
        work: list[tuple[float, float]] = []
        calendar, ends = self.calendar, dict[int, float]()
        for (piece, index), spot in self.spots.items():
            net = self.nets[piece]
            job = net.jobs[index]
            if job.through:
                continue
            end_h = spot.start_h + job.need.hands_h
            if not job.nobody:
                ends[piece] = max(ends.get(piece, -math.inf), end_h)
                work.append((spot.start_h, end_h))
            late_h += _late_h(net, job, spot)
            if spot.how in ("outside", "night", "long", "short"):
                outside_h += job.need.hands_h - calendar.in_hours_h(spot.start_h, end_h)
                night_h += within_h(calendar.nights, spot.start_h, end_h)
        for piece, net in enumerate(self.nets):
            done_h = ends.get(piece, net.basis.now_h)
            finish_h += done_h - net.basis.now_h
            if net.need_by_h is not None:
                past_h += max(0.0, done_h - net.need_by_h)
        return Cost(late_h, night_h, outside_h, past_h, finish_h, visits_of(work))

    def done_h(self, piece: int) -> float | None:
        """When the last step that wants somebody is over; None if one of them cannot be planned."""
        net = self.nets[piece]
        jobs = [job for job in net.open if not job.nobody and job.until_h is None and not net.is_early(job)]
        ends = [net.end[job.index] for job in jobs]
        known = [end_h for end_h in ends if end_h is not None]
        return max(known) if known and len(known) == len(ends) else None


def _late_h(net: Net, job: Job, spot: Spot) -> float:
    """By how much a step misses its window."""
    late_h = 1e6 if spot.how == "never" else 0.0
    if spot.how == "short":
        return late_h + max(0.0, spot.start_h + job.need.hands_h - (spot.late_h or 0.0))
    if spot.late_h is not None and job.is_window and spot.late_h >= net.basis.now_h:  # not missed long ago
        return late_h + max(0.0, spot.start_h - spot.late_h)
    return late_h
