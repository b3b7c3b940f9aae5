"""The plan of a shop: from its pieces and its rota to what is agreed for each step."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from curetrack.hours.expand import Rota
from curetrack.hours.shared import Shared
from curetrack.timeline.planning.agreed import Agreed, Remark
from curetrack.timeline.planning.calendar import Calendar, Need
from curetrack.timeline.planning.cost import visits_of
from curetrack.timeline.planning.fits import within_h
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.search import Found
from curetrack.timeline.planning.serial import Spot
from curetrack.timeline.planning.sharing import best_sharing, is_in_two_places
from curetrack.timeline.planning.visits import Name, grouped

__all__ = ["Plan", "plan_nets"]

WORTH_SAYING_h = 1.0


class Plan(Struct, frozen=True):
    """Agreed moments by piece and step, and what was found."""

    agreed: dict[str, dict[str, Agreed]]
    found: Found
    nets: tuple[Net, ...]

    def taken_beside(self, name: str) -> list[tuple[float, float]]:
        """When the hands are busy with the other pieces."""
        found: list[tuple[float, float]] = []
        for (piece, index), spot in self.found.spots.items():
            job = self.nets[piece].jobs[index]
            if self.nets[piece].name != name and job.takes_hands:
                found.append((spot.start_h, spot.start_h + job.need.hands_h))
        return found


def plan_nets(nets: Sequence[Net], rota: Rota, now_h: float, shared: Sequence[Shared] = ()) -> Plan:
    """The plan of all pieces at a moment."""
    empty = Calendar(rota, now_h)
    found, taken = best_sharing(nets, lambda: Calendar(rota, now_h), shared)
    fewer, beside = _fewer_visits(nets, found, empty)
    if is_in_two_places(nets, fewer.spots, shared):  # what is shared was to be freed sooner
        fewer, beside = found, {}
    found = fewer
    agreed: dict[str, dict[str, Agreed]] = {net.name: {} for net in nets}
    for name, spot in found.spots.items():
        net, job = nets[name[0]], nets[name[0]].jobs[name[1]]
        remarks = _remarks(job, spot, empty)
        by = taken.get(name)
        if by is not None:
            remarks = (Remark("taken", at_h=by.until_h, text=f"{by.thing} ({by.piece})"), *remarks)
        if name in beside:
            remarks = (*remarks, _visit(nets, name, beside[name], spot))
        agreed[net.name][job.id] = Agreed(spot.start_h, remarks, spot.late_h if job.just_in_time else None)
    return Plan(agreed, found, tuple(nets))


def _fewer_visits(nets: Sequence[Net], found: Found, empty: Calendar) -> tuple[Found, dict[Name, Name]]:
    """The same plan with what may wait at the next visit, and what each of these waits for."""
    moved, beside = grouped(nets, found.spots, empty)
    if not moved:
        return found, {}
    spots = found.spots | moved
    jobs = [(spot, nets[piece].jobs[index]) for (piece, index), spot in spots.items()]
    work = [(spot.start_h, spot.start_h + job.need.hands_h) for spot, job in jobs if job.takes_hands]
    return replace(found, spots=spots, cost=replace(found.cost, visits=visits_of(work))), beside


def _visit(nets: Sequence[Net], name: Name, other: Name, spot: Spot) -> Remark:
    title = nets[other[0]].jobs[other[1]].node.step.title
    text = title if other[0] == name[0] else f"{title} ({nets[other[0]].name})"
    return Remark("visit", spot.start_h - spot.earliest_h, text=text)


def _remarks(job: Job, spot: Spot, calendar: Calendar) -> tuple[Remark, ...]:
    found: list[Remark] = []
    end_h = spot.start_h + job.need.hands_h
    calendar.reach(end_h)
    if spot.how in ("outside", "night"):
        found.append(Remark(spot.how, job.need.hands_h - calendar.in_hours_h(spot.start_h, end_h)))
    elif spot.how == "short" and spot.late_h is not None:
        found.append(Remark("short", end_h - spot.late_h))
    elif spot.how:
        crew = spot.how == "long" and calendar.is_crew_short(job.need)
        found.append(Remark(spot.how, job.need.hands_h, text="crew" if crew else ""))
    waits_h = spot.start_h - spot.earliest_h
    if job.node.step.every is not None and waits_h > WORTH_SAYING_h and not job.through:
        visit_h = calendar.last_moment_before(spot.earliest_h, calendar.from_h)
        wets = visit_h is not None and (job.node.occurrence > 1 or visit_h >= job.moment_h)  # no water before it is due
        found.append(Remark("overnight", waits_h, visit_h if wets else None))
    if job.recoat_to_h is not None and spot.late_h is not None and spot.late_h > spot.earliest_h:
        quiet_h = within_h(calendar.quiet, spot.earliest_h, spot.late_h)
        if quiet_h > (spot.late_h - spot.earliest_h) / 2.0:
            found.append(Remark("quiet", quiet_h, spot.earliest_h))
    lift = job.node.step.kind == "lift" and job.need.people > 1
    if lift and calendar.rota.crew is not None and waits_h > WORTH_SAYING_h:
        alone_h = calendar.first_fit(spot.earliest_h, Need(job.need.hands_h, 1, job.need.loud))
        if alone_h is not None and spot.start_h > alone_h + WORTH_SAYING_h:
            found.append(Remark("waits", spot.start_h - alone_h, alone_h))
    return tuple(found)
