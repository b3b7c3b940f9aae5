"""One piece compiled for many cheap passes: what each open step waits for, in numbers.

The walk says what is closed, and what can be done next (these hang on no plan). Deeper steps keep of their rules what
is settled (all that counts from the pour) and how the rest hangs on the steps before. A net never decides what may be
done: its moments are handed to the walk, which delays them where its rules say more.

What waits for a planned step waits from the end of its work, since that is when it is ticked: else each wait would come
later than planned by the hands' time before it, and a day's plan would fall out of its hours.
"""

import math
from collections.abc import Iterator, Sequence
from operator import itemgetter

from curetrack.timeline.combine import first_common
from curetrack.timeline.drying import Faces, drying_when
from curetrack.timeline.graph import Graph
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.compile import Compiled
from curetrack.timeline.planning.job import Ask, Drying, Job, Time
from curetrack.timeline.planning.links import closers

__all__ = ["Net"]


class Net(Compiled):
    """The jobs of one piece, and the times of one pass over them."""

    def __init__(
        self, name: str, basis: Basis, graph: Graph, *, untouched: bool = False, counts_work: bool = True
    ) -> None:
        """`untouched`: it is not poured yet, and the walk is asked for nothing that hangs on the pour (`pour_at`).
        `counts_work`: waits count from the end of planned work; False: from its start, as the walk has them."""
        super().__init__(basis, graph, untouched=untouched)
        self.name, self._counts_work = name, counts_work
        self.count: list[Time] = []
        self.end: list[Time] = []
        self.start: list[Time] = []
        self.done: list[bool] = []
        self.reset()

    def reset(self) -> None:
        """Nothing is placed but what is closed."""
        self.start = [job.start_h for job in self.jobs]
        self.count = [job.count_h for job in self.jobs]
        self.end = [job.end_h for job in self.jobs]
        self.done = [job.closed for job in self.jobs]

    @property
    def need_by_h(self) -> Time:
        """When the piece is needed, if that was said."""
        return self.basis.need_by_h

    @property
    def open(self) -> list[Job]:
        """The jobs that a plan has to place."""
        return [job for job in self.jobs if not job.closed and not job.through]

    def pour_at(self, basis: Basis, *, slow: bool = False) -> None:
        """The same piece, poured at another moment; only for one that was made `untouched`. `slow`: by the slow side of
        every band, as if the mix were weak and the weather cold."""
        self.retime(basis, slow=slow)
        self.reset()

    # --- one pass --------------------------------------------------------------------------------------------------

    def is_free(self, job: Job, *, pulled: bool = False) -> bool:
        """Whether all that it waits for is placed; those that come just in time wait to be pulled."""
        done = self.done
        if done[job.index] or (job.just_in_time and not pulled):
            return False
        for other in self._unpulled(job) if job.pulls else job.after:
            if not done[other]:
                return False
        if job.leads and not all(done[other] or self.jobs[other].just_in_time for other, _ in job.leads):
            return False
        return not job.node.closes_with or all(done[other] for other in closers(job, self.number))

    def ask(self, job: Job) -> Ask | None:
        """The earliest start by rules and predecessors, and the latest; None: it cannot be planned."""
        if not job.ok:
            return None
        after = self._unpulled(job) if job.pulls else job.after
        from_h, floor_h = self._latest(self.count, after, job.base_h), self._latest(self.end, after, job.base_h)
        if from_h is None or floor_h is None:
            return None
        moment_h = self._moment(job, from_h) if job.hangs else job.moment_h
        if moment_h is None:
            return None
        for other, lead_h in job.leads:
            end_h = self.end[other]
            if end_h is not None and self.done[other] and not self.jobs[other].through:
                floor_h = max(floor_h, end_h + lead_h)
        earliest_h = max(moment_h, floor_h, self.basis.now_h, job.later_h)
        if job.spans:
            earliest_h = first_common(job.spans, earliest_h)
        if earliest_h == math.inf:
            return None
        return earliest_h, self._late(job, from_h, floor_h, earliest_h)

    def rest_h(self, job: Job, wait_h: float) -> float:
        """How long a `wait` after a step lasts beyond its work."""
        return wait_h if self._counts_work else max(0.0, wait_h - job.need.hands_h)

    def is_over_before(self, job: Job, at_h: float) -> bool:
        """Whether a row ends before its next one, which is due then: that one never comes."""
        return job.until_h is not None and job.node.occurrence > 1 and at_h > job.until_h

    def earliest_h(self, job: Job) -> Time:
        """The earliest start by rules and predecessors, now or later, air and dew point aside."""
        from_h, floor_h = self._latest(self.count, job.after, job.base_h), self._latest(self.end, job.after, job.base_h)
        moment_h = self._moment(job, from_h) if job.ok and from_h is not None else None
        return None if moment_h is None or floor_h is None else max(moment_h, floor_h, self.basis.now_h, job.later_h)

    def ready_h(self, job: Job) -> Time:
        """When its own rules hold, the steps before it done or not, now or past: what a lead counts back from."""
        after = self._unpulled(job) if job.pulls else job.after
        from_h, floor_h = self._latest(self.count, after, job.base_h), self._latest(self.end, after, job.base_h)
        moment_h = self._moment(job, from_h) if job.ok and from_h is not None else None
        if moment_h is None or from_h is None or floor_h is None:
            return None
        if job.spans:
            moment_h = first_common(job.spans, max(moment_h, floor_h))
        elif moment_h == -math.inf:
            moment_h = from_h
        return moment_h if moment_h < math.inf else floor_h

    def suits(self, job: Job, at_h: float) -> float:
        """The moment itself if air and dew point allow it then, else the next that they do; inf: none in sight."""
        return first_common(job.spans, at_h) if job.spans else at_h

    def counts_from(self, job: Job) -> Iterator[int]:
        """All whose moment its own start hangs on."""
        yield from job.after
        yield from (lead for lead, _ in job.leads)
        yield from closers(job, self.number)
        if job.hardening is not None and job.hardening[2] is not None:
            yield job.hardening[2]
        if job.drying is not None:
            yield from (number for number, *_ in job.drying.ahead)

    def mark(self, job: Job, start_h: Time) -> None:
        """The job is placed; None: it cannot be planned."""
        index = job.index
        self.done[index] = True
        self.start[index] = start_h
        if job.through:
            self.count[index] = self._latest(self.count, job.after, job.base_h)
            self.end[index] = self._latest(self.end, job.after, job.base_h)
        elif job.until_h is not None:
            floor_h = self._latest(self.end, job.after, job.base_h)
            first_h = -math.inf if start_h is None or job.node.occurrence > 1 else start_h
            ends = None if floor_h is None or job.until_h == math.inf else max(job.until_h, floor_h, first_h)
            self.count[index] = self.end[index] = ends
        else:
            self.end[index] = end_h = None if start_h is None else start_h + job.need.hands_h
            self.count[index] = end_h if self._counts_work else start_h

    def unmark(self, job: Job) -> None:
        """As if it had not been placed."""
        index = job.index
        self.done[index] = False
        self.start[index] = self.count[index] = self.end[index] = None

    def _unpulled(self, job: Job) -> Sequence[int]:
        """Its predecessors without those that it has still to pull."""
        return [other for other in job.after if self.done[other] or not self.jobs[other].just_in_time]

    def _latest(self, times: list[Time], numbers: Sequence[int], base_h: float) -> Time:
        latest_h = base_h
        for number in numbers:
            at_h = times[number]
            if at_h is None:
                return None
            if at_h > latest_h:  # noqa: PLR1730 -- max() costs a call, and this runs most of all
                latest_h = at_h
        return latest_h

    def _moment(self, job: Job, from_h: float) -> Time:
        moment_h = job.moment_h
        if job.wait_h is not None:
            moment_h = max(moment_h, from_h + job.wait_h)
        if job.hardening is not None:
            clocks, time_h, since = job.hardening
            since_h = from_h if since is None else self.count[since]
            if since_h is None:
                return None
            when = clocks.reach(since_h, time_h)
            moment_h = max(moment_h, when.slow if job.slow else when.centre)
        if job.recoat_h is not None:
            coat_h = self._latest(self.count, job.coats, -math.inf) if job.coats else from_h
            if coat_h is None:
                return None
            moment_h = max(moment_h, coat_h + job.recoat_h)
        if job.drying is not None:
            dry_h = self._dry(job.drying)
            if dry_h is None:
                return None
            moment_h = max(moment_h, dry_h)
        return moment_h if moment_h < math.inf else None

    def _dry(self, drying: Drying) -> Time:
        wet_h, changes = max(drying.wet_h, drying.pour_h), list(drying.changes)
        for number, wets, until_h, share in drying.ahead:
            row_h = None if until_h is None else self.start[number]  # a row counts from its start, and wets to its end
            last_h = row_h if self.count[number] is None else self.count[number]
            if last_h is None:
                if wets:
                    return None
                continue
            if wets:
                wet_h = max(wet_h, last_h)
            if share is not None:
                changes.append((last_h if row_h is None else row_h, share))
        changes.sort(key=itemgetter(0))  # of two at one moment the later step's counts: they stay in their order
        when = drying_when(self.basis.course, Faces(wet_h, tuple(changes)), drying.need_h)
        return when.slow if drying.slow else when.centre

    def _late(self, job: Job, from_h: float, floor_h: float, ready_h: float) -> Time:
        late_h = math.inf if job.late_h is None else job.late_h
        if job.late_wait_h is not None:
            late_h = min(late_h, (floor_h if job.late_from_h is None else job.late_from_h) + job.late_wait_h)
        if job.recoat_to_h is not None:
            coat_h = self._latest(self.end, job.coats, -math.inf) if job.coats else from_h
            late_h = late_h if coat_h is None else min(late_h, coat_h + job.recoat_to_h)
        if job.row_h is not None:
            late_h = min(late_h, max(floor_h + job.row_h, ready_h))
        return late_h if late_h < math.inf else None
