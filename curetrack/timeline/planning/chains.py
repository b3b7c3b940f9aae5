"""One step with all that is tied to it.

A step takes its first fit. Steps that are tied to it by a window (a recoat, "no later than an hour after") are placed
with it: where one of them would miss its window by so many hours, the first of the chain moves by at least as many and
all is tried again. A follower never starts earlier because its head starts later, so that this finds the first head
that works.
"""

import math

from curetrack.timeline.planning.calendar import SLACK_h
from curetrack.timeline.planning.fits import Spot, first_fit, freely, spot_for
from curetrack.timeline.planning.job import Ask, Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.trail import Trail

__all__ = ["Chains"]

CHAIN_AHEAD_h = 14 * 24.0  # so far the head of a chain is moved at most
CHAIN_TRIES = 120  # placings of one chain; then the earliest is kept
DEEPEST = 30


class Chains(Trail):
    """Placing."""

    _left = 0  # placings that the chain in hand may still try

    def place(self, piece: int, job: Job, asked: Ask | None = None) -> None:
        """A step with all that is tied to it. `asked`: what the net says of it, where that is known."""
        net = self.nets[piece]
        for lead, lead_h in job.leads:
            if not net.done[lead]:
                self._pull(piece, net, job, net.jobs[lead], lead_h)
                asked = None
        self._chain(piece, job, 0, asked)

    def _pull(self, piece: int, net: Net, follower: Job, job: Job, lead_h: float) -> None:
        """A step that only has to come before another one: the last fit that leaves the lead, else the first."""
        for other, other_lead_h in job.leads:
            if not net.done[other]:
                self._pull(piece, net, job, net.jobs[other], other_lead_h)
        if net.done[job.index]:
            return
        asked, ready_h = net.ask(job), self._fits_h(net, follower)
        if asked is None:
            self._mark(piece, job, None)
            return
        how = ""
        latest_h = None if ready_h is None else ready_h - lead_h - job.need.hands_h
        fit_h = None
        if latest_h is not None and latest_h >= asked[0] and not job.spans:
            fit_h = self.calendar.last_fit(asked[0], latest_h, job.need)
        if fit_h is None:
            fit_h, how = first_fit(self.calendar, net, job, asked[0])
        fit_h = freely(self.calendar, job.need, asked[0]) if fit_h is None else fit_h
        late_h, now_h = None if ready_h is None else ready_h - lead_h, net.basis.now_h
        if late_h is not None and (late_h >= now_h or asked[0] > now_h):  # it cannot be sooner: the other one waits
            late_h = max(late_h, fit_h + job.need.hands_h)
        self._put(piece, job, Spot(fit_h, late_h, asked[0], how))
        self._pass_through(piece, net.passed[job.index])

    def _fits_h(self, net: Net, job: Job) -> float | None:
        """When a step would be done if what only has to come before it were done: its first fit in the calendar; what
        could be done at once is due since its rules hold. None: that is not known yet."""
        ready_h, now_h = net.ready_h(job), net.basis.now_h
        if ready_h is None:
            return None
        fit_h, _ = first_fit(self.calendar, net, job, max(ready_h, now_h))
        return ready_h if fit_h is None or fit_h <= now_h + SLACK_h else max(ready_h, fit_h)

    def _chain(self, piece: int, job: Job, depth: int, asked: Ask | None = None, *, strict: bool = False) -> float:
        """Places a step and what is tied to it. First `strict`: nothing that is tied to it may leave the hours; only
        where no head within sight allows that, windows are saved outside them.

        Returns by how many hours it, or what is tied to it, misses its window: an earlier head moves by as many.
        """
        net = self.nets[piece]
        asked = net.ask(job) if asked is None else asked
        if asked is None or net.is_over_before(job, asked[0]):
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
        if not net.tied[job.index]:
            return missed_h
        for other in net.tied[job.index] if depth < DEEPEST else ():
            if net.is_free(other) and all(net.done[lead] for lead, _ in other.leads):
                missed_h = max(missed_h, self._chain(piece, other, depth + 1, strict=strict))
        return missed_h
