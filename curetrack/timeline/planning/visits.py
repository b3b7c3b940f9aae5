"""Visits: what may wait is done with what is due next, so that the maker comes once.

A plan has each step as early as it goes. Where all the work of a visit may wait until the next one without costing
anything that matters more (a window, a night, an hour outside the maker's, a later end), it is moved there. Only what
lies days ahead at most is looked at, and nothing waits for longer than two days: plans change.
"""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from curetrack.hours.windows import Window
from curetrack.timeline.planning.calendar import Calendar, SLACK_h, Token
from curetrack.timeline.planning.cost import APART_h
from curetrack.timeline.planning.fits import Spot
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["grouped"]

AHEAD_h = 10 * 24.0
WAITS_h = 48.0
MAY_WAIT = ("form", "lift", "grind", "fill", "coat", "dry", "rest")  # fresh concrete and wet cures wait for nobody

Spots = dict[tuple[int, int], Spot]
Name = tuple[int, int]  # number of the piece, number of the job


class _Visit(Struct):
    """Work that lies together."""

    start_h: float
    end_h: float
    work: list[Name]


def grouped(nets: Sequence[Net], spots: Spots, calendar: Calendar) -> Spots:
    """The same plan with fewer visits where that costs nothing else. `calendar`: an empty one; it is filled."""
    now_h = calendar.from_h
    _restore(nets, spots)
    group = _Group(nets, dict(spots), calendar)
    visits = _visits(nets, spots, now_h + AHEAD_h)
    for visit in visits:
        for name in visit.work:
            calendar.book(spots[name].start_h, _hands_h(nets, name))
    for visit, then in zip(visits, visits[1:], strict=False):
        if then.start_h - visit.start_h <= WAITS_h:
            group.merge(visit, then)
    return group.spots


def _restore(nets: Sequence[Net], spots: Spots) -> None:
    """Each net as the plan has it."""
    for piece, net in enumerate(nets):
        net.reset()
        for job in net.jobs:
            if not net.done[job.index]:
                spot = spots.get((piece, job.index))
                net.mark(job, None if spot is None else spot.start_h)


def _visits(nets: Sequence[Net], spots: Spots, until_h: float) -> list[_Visit]:
    found: list[_Visit] = []
    for name, spot in sorted(spots.items(), key=lambda item: item[1].start_h):
        job = nets[name[0]].jobs[name[1]]
        if spot.start_h > until_h:
            break
        if job.through or job.nobody:
            continue
        end_h = spot.start_h + job.need.hands_h
        if found and spot.start_h <= found[-1].end_h + APART_h:
            found[-1].work.append(name)
            found[-1].end_h = max(found[-1].end_h, end_h)
        else:
            found.append(_Visit(spot.start_h, end_h, [name]))
    return found


def _hands_h(nets: Sequence[Net], name: Name) -> float:
    return nets[name[0]].jobs[name[1]].need.hands_h


class _Group:
    """The plan while visits are put together."""

    def __init__(self, nets: Sequence[Net], spots: Spots, calendar: Calendar) -> None:
        self.nets, self.spots, self.calendar = nets, spots, calendar
        self._ends = [
            max((spots[piece, job.index].start_h + job.need.hands_h for job in net.open
                 if (piece, job.index) in spots and not job.nobody), default=0.0)
            for piece, net in enumerate(nets)
        ]  # fmt: skip
        self._closing = [{job.node.closes_with for job in net.jobs if job.node.closes_with} for net in nets]

    def merge(self, visit: _Visit, then: _Visit) -> None:
        """All of the one into the next, or none of it."""
        if not all(self._may_wait(name) for name in visit.work):
            return
        tokens: list[Token] = []
        old = {name: self.spots[name] for name in visit.work}
        end_h = then.end_h
        for name in sorted(visit.work, reverse=True):  # followers first
            start_h = self._place_in(name, (then.start_h, end_h))
            if start_h is None:
                for token in reversed(tokens):
                    self.calendar.retract(token)
                for moved, spot in old.items():
                    self._set(moved, spot)
                return
            hands_h = _hands_h(self.nets, name)
            tokens.append(self.calendar.book(start_h, hands_h))
            self._set(name, replace(self.spots[name], start_h=start_h))
            end_h = max(end_h, start_h + hands_h)
        then.work += visit.work
        then.end_h = end_h

    def _may_wait(self, name: Name) -> bool:
        """Nothing reaches further than to its followers, which are asked."""
        net, job, spot = self.nets[name[0]], self.nets[name[0]].jobs[name[1]], self.spots[name]
        step = job.node.step
        if spot.how or step.kind not in MAY_WAIT or step.every is not None or step.wets or step.leaves is not None:
            return False
        early = net.is_early(job) or job.id in self._closing[name[0]]
        return not early and job.until_h is None and not job.held and not net.passed[job.index]

    def _place_in(self, name: Name, visit: Window) -> float | None:
        """Its first fit in or right after that visit, if its own window, its followers and the end of its piece leave
        it."""
        net, job, spot = self.nets[name[0]], self.nets[name[0]].jobs[name[1]], self.spots[name]
        start_h = self.calendar.first_fit(visit[0], job.need)
        if start_h is None or start_h > visit[1] + APART_h or start_h + job.need.hands_h > self._ends[name[0]] + SLACK_h:
            return None
        if spot.late_h is not None and start_h > spot.late_h or net.suits(job, start_h) > start_h + SLACK_h:
            return None
        self._set(name, replace(spot, start_h=start_h))
        fits = all(self._still_fits(name[0], follower) for follower in self._followers(net, job))
        self._set(name, spot)
        return start_h if fits else None

    def _followers(self, net: Net, job: Job) -> list[Job]:
        since = [other for other in net.jobs if other.hardening is not None and other.hardening[2] == job.index]
        return [net.jobs[number] for number in net.successors[job.index]] + since

    def _still_fits(self, piece: int, job: Job) -> bool:
        net, spot = self.nets[piece], self.spots.get((piece, job.index))
        asked = net.ask(job)
        if spot is None or job.closed:
            return spot is None
        return asked is not None and asked[0] <= spot.start_h + SLACK_h and (
            asked[1] is None or spot.late_h is None or min(asked[1], spot.late_h) >= min(spot.start_h, spot.late_h)
        )

    def _set(self, name: Name, spot: Spot) -> None:
        self.spots[name] = spot
        self.nets[name[0]].mark(self.nets[name[0]].jobs[name[1]], spot.start_h)
