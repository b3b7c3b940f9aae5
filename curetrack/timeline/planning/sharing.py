"""Forms that several pieces share: each has it from its first step in a piece until the last one is over.

Who has it keeps it; the others take it in the order of their pours. The plan is made, and made again with the first
step of who comes next waiting until who is before has freed it, until that changes nothing any more.
"""

import math
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from curetrack.hours.shared import Shared
from curetrack.instants import or_never
from curetrack.timeline.graph import POUR
from curetrack.timeline.planning.calendar import Calendar, SLACK_h
from curetrack.timeline.planning.fits import Spot
from curetrack.timeline.planning.job import Job, Taken
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.search import Found, best

__all__ = ["best_sharing", "is_in_two_places", "taken_before", "taken_by", "wait_for_shared"]

ROUNDS = 12  # each piece that waits for one that waits takes one more
GROWING = 6  # rounds after which nobody is let forward any more

Name = tuple[int, int]  # of a step: the piece, and the number of the job


class _Use(Struct, frozen=True):
    """One piece's use of a thing; `has`: it has it already."""

    piece: int
    net: Net
    first: Job
    last: Job
    has: bool


def best_sharing(
    nets: Sequence[Net], calendar: Callable[[], Calendar], shared: Sequence[Shared]
) -> tuple[Found, dict[Name, Taken]]:
    """The best plan that is found in which nothing shared is in two places; and which steps wait for it."""
    rows = [(thing.name, row) for thing in shared if len(row := _row(nets, thing)) > 1]
    found = best(nets, calendar)
    if not rows:
        return found, {}
    before = [(use.first, use.first.later_h) for _, row in rows for use in row]
    waiting: dict[Name, Taken] = {}
    kept: tuple[Found, dict[Name, Taken]] | None = None
    try:
        for number in range(ROUNDS):
            waits = _waits(rows, found.spots)
            early = {name for name, by in waits.items() if _too_soon(found.spots[name], by)}
            if not early and (kept is None or found.cost.key < kept[0].cost.key):
                kept = found, waiting
            wanted = {name: by for name, by in waits.items() if name in early or name in waiting}
            if number >= GROWING:  # it swings to and fro: what has waited so long stays so
                wanted = {name: max(by, waiting.get(name, by), key=_order) for name, by in wanted.items()}
            if wanted == waiting:
                break
            waiting = wanted
            _wait(nets, waiting, before)
            found = best(nets, calendar)
    finally:
        for job, later_h in before:
            job.later_h = later_h
    found, waiting = kept if kept is not None else (found, waiting)
    return found, waiting | {name: by for name, by in _waits(rows, found.spots).items() if by.until_h is None}


def is_in_two_places(nets: Sequence[Net], spots: Mapping[Name, Spot], shared: Sequence[Shared]) -> bool:
    """Whether something shared is taken before it is free."""
    rows = [(thing.name, _row(nets, thing)) for thing in shared]
    return any(_too_soon(spots[name], by) for name, by in _waits(rows, spots).items())


def taken_by(nets: Sequence[Net], spots: Mapping[Name, Spot], shared: Sequence[Shared]) -> dict[str, Taken]:
    """What planned pieces need, and until when, by the name of the thing."""
    found = ((thing.name, _last_of(thing.name, _row(nets, thing), spots)) for thing in shared)
    return {name: by for name, by in found if by is not None}


def taken_before(
    nets: Sequence[Net], spots: Mapping[Name, Spot], shared: Sequence[Shared], piece: str
) -> dict[str, Taken]:
    """What those need that have a thing before this piece, and until when, by the name of the thing."""
    found: dict[str, Taken] = {}
    for thing in shared:
        row = _row(nets, thing)
        place = next((number for number, use in enumerate(row) if use.net.name == piece), 0)
        by = _last_of(thing.name, row[:place], spots)
        if by is not None:
            found[thing.name] = by
    return found


def wait_for_shared(net: Net, taken: Mapping[str, Taken], shared: Sequence[Shared]) -> None:
    """A piece to come waits for what others have, whenever it is poured."""
    for thing in shared:
        by, row = taken.get(thing.name), _row([net], thing)
        if by is not None and row and not row[0].has:
            job, until_h = row[0].first, _order(by)
            if job.taken is None or until_h > _order(job.taken):
                job.taken = by
            job.later_h = max(job.later_h, until_h)


def _row(nets: Sequence[Net], thing: Shared) -> list[_Use]:
    """The pieces that use it still, in their order."""
    found = [use for piece, net in enumerate(nets) if (use := _use(piece, net, thing)) is not None]
    return sorted(found, key=lambda use: (not use.has, or_never(use.net.basis.pour_h), use.piece))


def _use(piece: int, net: Net, thing: Shared) -> _Use | None:
    first, last = net.number.get(thing.first), net.number.get(thing.last)
    if not thing.is_used_by(net.name) or first is None or last is None or net.jobs[last].closed:
        return None
    job = net.jobs[first]
    if job.id == POUR and not net.basis.poured:  # the pour itself stays where it is set: what comes right before it
        leads = [number for number, lead_h in job.leads if lead_h <= 0.0 and not net.jobs[number].closed]
        job = net.jobs[leads[-1]] if leads else job
    return _Use(piece, net, job, net.jobs[last], job.closed and (job.id != POUR or net.basis.poured))


def _waits(rows: Sequence[tuple[str, Sequence[_Use]]], spots: Mapping[Name, Spot]) -> dict[Name, Taken]:
    """Of each step that takes something over, what it has to wait for; the longest, where these are several."""
    found: dict[Name, Taken] = {}
    for thing, row in rows:
        for number, use in enumerate(row):
            name, by = (use.piece, use.first.index), _last_of(thing, row[:number], spots)
            if not use.has and by is not None and name in spots:
                found[name] = max(by, found.get(name, by), key=_order)
    return found


def _last_of(thing: str, row: Sequence[_Use], spots: Mapping[Name, Spot]) -> Taken | None:
    """Who of them frees it last; one of whom that is not in sight before all."""
    found: Taken | None = None
    for use in row:
        spot = spots.get((use.piece, use.last.index))
        if spot is None:
            return Taken(thing, use.net.name, None)
        until_h = spot.start_h + use.last.need.hands_h
        if found is None or found.until_h is None or until_h > found.until_h:
            found = Taken(thing, use.net.name, until_h)
    return found


def _wait(nets: Sequence[Net], waiting: Mapping[Name, Taken], before: Sequence[tuple[Job, float]]) -> None:
    """Keeps these steps until what they wait for is free, and no others."""
    for job, later_h in before:
        job.later_h = later_h
    for (piece, index), by in waiting.items():
        job = nets[piece].jobs[index]
        if by.until_h is not None:
            job.later_h = max(job.later_h, by.until_h)


def _order(by: Taken) -> float:
    return -math.inf if by.until_h is None else by.until_h


def _too_soon(spot: Spot, by: Taken) -> bool:
    return spot.start_h < _order(by) - SLACK_h
