"""Visits: small things that may wait are done with what is due next, so that the maker comes once.

A plan has each step as early as it goes. Where a visit is small and all of it may wait, it goes to the next one: right
after its work, else right before it. It costs nothing that matters more: it stays within the hours, nothing that has a
window, a crew, a weather rule or fresh concrete in it waits, no follower moves, no piece is finished later.

What waits is not pushed away for ever. It waits for a day at most, counted from when its rules were met, and only until
the maker is there next: once work has been recorded since, it is due now. Both hang on facts, not on an earlier plan.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from curetrack.timeline.planning.calendar import Calendar, SLACK_h
from curetrack.timeline.planning.cost import APART_h
from curetrack.timeline.planning.fits import Spot
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["Name", "grouped"]

AHEAD_h = 7 * 24.0  # what lies further ahead moves too much to be put together
WAITS_h = 24.0  # for longer nothing is put off to save a visit (judgement)
SMALL_h = APART_h  # longer work is worth a visit of its own (judgement); nor does less reach the visit after the next
MAY_WAIT = ("form", "lift", "grind", "fill", "coat", "dry", "rest")  # fresh concrete and wet cures wait for nobody

Name = tuple[int, int]  # number of the piece, number of the job
Spots = dict[Name, Spot]


class _Visit(Struct):
    """Work that lies together, in its order."""

    start_h: float
    end_h: float
    work: list[Name]


def grouped(nets: Sequence[Net], spots: Spots, calendar: Calendar) -> tuple[Spots, dict[Name, Name]]:
    """What of a plan moves to the next visit, and for each of these steps the first one of that visit. `calendar`: an
    empty one, from now on."""
    group = _Group(nets, spots, calendar)
    for visit, then in pairwise(group.visits(calendar.from_h + AHEAD_h)):
        group.merge(visit, then)
    return group.moved, group.beside


class _Group:
    """The plan while visits are put together."""

    def __init__(self, nets: Sequence[Net], spots: Spots, calendar: Calendar) -> None:
        self.nets, self.spots, self.calendar = nets, spots, calendar
        self.moved: Spots = {}
        self.beside: dict[Name, Name] = {}
        self._ends: dict[int, float] = {}  # of the pieces that were looked at
        self._there_h = max((at_h for net in nets for at_h in _worked(net, calendar.from_h)), default=-math.inf)

    def visits(self, until_h: float) -> list[_Visit]:
        """As `cost.visits_of` counts them; but what was due long ago has come no nearer to the next by waiting."""
        found: list[_Visit] = []
        for start_h, name in sorted((spot.start_h, name) for name, spot in self.spots.items()):
            job = self._job(name)
            if start_h > until_h:
                break
            if not job.takes_hands:
                continue
            end_h = start_h + job.need.hands_h
            near = found and start_h <= found[-1].end_h + APART_h
            if near and not (
                len(found) == 1 and start_h > found[0].end_h + SLACK_h and self._waited(found[0], start_h)
            ):
                found[-1].work.append(name)
                found[-1].end_h = max(found[-1].end_h, end_h)
            else:
                found.append(_Visit(start_h, end_h, [name]))
        return found

    def merge(self, visit: _Visit, then: _Visit) -> None:
        """All of the one into the next, or none of it; what is near all the same is one visit from then on."""
        near = then.start_h <= visit.end_h + APART_h
        grown = near and not self.beside.keys().isdisjoint(visit.work)
        if grown or (not self._moves(visit, then) and near):
            then.start_h, then.end_h = visit.start_h, max(visit.end_h, then.end_h)
            then.work = [*visit.work, *then.work]

    def _moves(self, visit: _Visit, then: _Visit) -> bool:
        hands_h = sum(self._job(name).need.hands_h for name in visit.work)
        if hands_h > SMALL_h or not all(self._may_wait(name) for name in visit.work):
            return False
        if not all(self._waits_for(name, visit, then) for name in visit.work):
            return False
        if self._put(visit.work, then.end_h):
            then.end_h += hands_h
        elif self._put(visit.work, then.start_h - hands_h):
            then.start_h -= hands_h
        else:
            return False
        self.beside.update(dict.fromkeys(visit.work, next(name for name in then.work if name not in self.beside)))
        then.work = [*then.work, *visit.work]
        return True

    def _may_wait(self, name: Name) -> bool:
        """By what the step is: it has no window, ends no row of mistings, wants no crew and no weather."""
        net, job, spot = self.nets[name[0]], self._job(name), self._spot(name)
        step = job.node.step
        if spot.how or spot.late_h is not None or step.kind not in MAY_WAIT or step.wets or step.leaves == "covered":
            return False
        if job.just_in_time or job.spans or job.need.people > 1 or job.until_h is not None or net.is_early(job):
            return False
        return not net.tied[job.index] and not any(other.node.closes_with == job.id for other in net.jobs)

    def _waits_for(self, name: Name, visit: _Visit, then: _Visit) -> bool:
        """By what has happened: nobody is there, or has been since it was ready, and it does not wait for too long."""
        ready_h = self._ready_h(name)
        if visit.start_h <= self._there_h + APART_h or ready_h < self._there_h - SLACK_h:
            return False
        return then.end_h <= ready_h + WAITS_h

    def _waited(self, visit: _Visit, then_h: float) -> bool:
        """Whether all of it is due now, and was due so early that it was no visit with what begins then."""
        if visit.start_h > self.calendar.from_h + SLACK_h or then_h <= visit.end_h + SLACK_h:
            return False
        hands_h = visit.end_h - visit.start_h
        return all(self._may_wait(name) and self._ready_h(name) + hands_h + APART_h < then_h for name in visit.work)

    def _ready_h(self, name: Name) -> float:
        """When its rules and the steps before it let it be done, now or past."""
        net, job, earliest_h = self.nets[name[0]], self._job(name), self._spot(name).earliest_h
        if name[0] not in self._ends:
            self._restore(name[0])
        if earliest_h > self.calendar.from_h + SLACK_h:
            return earliest_h
        ends = [end_h for number in job.after if (end_h := net.end[number]) is not None]
        ready_h = net.ready_h(job)
        return max(job.later_h, -math.inf if ready_h is None else ready_h, *ends)

    def _put(self, names: Sequence[Name], at_h: float) -> bool:
        """One after the other from a moment on, if that suits all of them and their followers; else all stays."""
        before, fits = dict(self.moved), True
        for name in names:
            need = self._job(name).need
            end_h = at_h + need.hands_h
            fit_h = self.calendar.first_fit(at_h, need)
            fits = fits and fit_h is not None and fit_h <= at_h + SLACK_h and end_h <= self._ends[name[0]] + SLACK_h
            self.moved[name] = replace(self._spot(name), start_h=at_h)
            at_h = end_h
        pieces = {piece for piece, _ in names}
        if fits and all(self._replay(piece, {index for other, index in names if other == piece}) for piece in pieces):
            return True
        self.moved = before
        for piece in pieces:
            self._replay(piece, set())
        return False

    def _restore(self, piece: int) -> None:
        """The net as the plan has it, since a search leaves it as its last try was; and when the piece is done."""
        self._replay(piece, set())
        jobs = [job for job in self.nets[piece].open if not job.nobody and job.until_h is None]
        spots = [(self.spots.get((piece, job.index)), job.need.hands_h) for job in jobs]
        self._ends[piece] = max((spot.start_h + hands_h for spot, hands_h in spots if spot is not None), default=0.0)

    def _replay(self, piece: int, touched: set[int]) -> bool:
        """All steps of a piece again in their order. What follows the touched ones has to stay where it is; but a rest
        that happens by itself goes with them. False: something would come before its rules."""
        net, fits = self.nets[piece], True
        net.reset()
        for job in net.jobs:
            if job.closed:
                continue
            spot = self.moved.get((piece, job.index)) or self.spots.get((piece, job.index))
            if touched and not touched.isdisjoint([job.index, *net.counts_from(job)]):
                asked = net.ask(job)
                if spot is None or asked is None:
                    fits = fits and spot is None and (asked is None or job.through)
                elif asked[0] > spot.start_h + SLACK_h:
                    fits = fits and job.nobody and (spot.late_h is None or asked[0] <= spot.late_h)
                    self.moved[piece, job.index] = spot = replace(spot, start_h=asked[0])
                    touched.add(job.index)
                if job.through:
                    touched.add(job.index)
            net.mark(job, None if spot is None else spot.start_h)
        return fits

    def _job(self, name: Name) -> Job:
        return self.nets[name[0]].jobs[name[1]]

    def _spot(self, name: Name) -> Spot:
        return self.moved.get(name, self.spots[name])


def _worked(net: Net, now_h: float) -> Iterator[float]:
    """When somebody did something to the piece, as far as it is recorded."""
    for job in net.jobs:
        if job.closed and job.start_h is not None and job.start_h <= now_h and job.node.step.until is None:
            yield job.start_h
