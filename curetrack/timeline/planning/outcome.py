"""What came of a pass: how late, how far outside the hours, and when each piece is done."""

import math
from collections.abc import Mapping, Sequence

from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.cost import Cost, visits_of
from curetrack.timeline.planning.fits import Spot, within_h
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["cost_of", "done_h", "late_h"]


def cost_of(nets: Sequence[Net], spots: Mapping[tuple[int, int], Spot], calendar: Calendar) -> Cost:
    """Of all that is placed."""
    missed_h = night_h = outside_h = past_h = finish_h = 0.0
    work: list[tuple[float, float]] = []
    ends: dict[int, float] = {}
    for (piece, index), spot in spots.items():
        net = nets[piece]
        job = net.jobs[index]
        if job.through:
            continue
        end_h = spot.start_h + job.need.hands_h
        if not job.nobody:
            ends[piece] = max(ends.get(piece, -math.inf), end_h)
            work.append((spot.start_h, end_h))
        missed_h += late_h(net, job, spot)
        if spot.how in ("outside", "night", "long", "short"):
            outside_h += job.need.hands_h - calendar.in_hours_h(spot.start_h, end_h)
            night_h += within_h(calendar.nights, spot.start_h, end_h)
    for piece, net in enumerate(nets):
        over_h = ends.get(piece, net.basis.now_h)
        finish_h += over_h - net.basis.now_h
        if net.need_by_h is not None:
            past_h += max(0.0, over_h - net.need_by_h)
    return Cost(missed_h, night_h, outside_h, past_h, finish_h, visits_of(work))


def done_h(net: Net) -> float | None:
    """When the last step that wants somebody is over; None if one of them cannot be planned."""
    jobs = [job for job in net.open if not job.nobody and job.until_h is None and not net.is_early(job)]
    ends = [net.end[job.index] for job in jobs]
    known = [end_h for end_h in ends if end_h is not None]
    return max(known) if known and len(known) == len(ends) else None


def late_h(net: Net, job: Job, spot: Spot) -> float:
    """By how much a step misses its window."""
    missed_h = 1e6 if spot.how == "never" else 0.0
    if spot.how == "short":
        return missed_h + max(0.0, spot.start_h + job.need.hands_h - (spot.late_h or 0.0))
    if spot.late_h is not None and job.is_window and spot.late_h >= net.basis.now_h:  # not missed long ago
        return missed_h + max(0.0, spot.start_h - spot.late_h)
    return missed_h
