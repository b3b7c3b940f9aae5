"""The cheapest mend of a clash, tried: what the maker could do otherwise, and whether the window is then met.

The piece is placed on the calendar that the other pieces leave, once as it is and once for each trial, until one meets
the window without missing more elsewhere. What asks least comes first: the step before at another hour, the crew at
another time, the pour at another hour, a warmer shop (judgement). There are some 25 trials at most.
"""

from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from datetime import date

from msgspec import Struct
from msgspec.structs import asdict, replace

from curetrack.hours.expand import Rota
from curetrack.hours.windows import Window, Windows, joined
from curetrack.instants import from_h
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.cost import SAME_h
from curetrack.timeline.planning.fits import within_h
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.outcome import late_h
from curetrack.timeline.planning.search import by_deadline
from curetrack.timeline.planning.serial import Spot
from curetrack.timeline.types import Mend

__all__ = ["Tools", "WARM_degC", "find_mend"]

EARLIER_h = (1.0, 2.0, 3.0)  # hours more before the maker's own, for the step before
LATER_h = (1.0, 2.0, 4.0, 12.0, 24.0)
POUR_h = (1.0, -1.0, 2.0, -2.0, 4.0, -4.0, 8.0, -8.0, 12.0, -12.0, 24.0, -24.0, 48.0)
WARM_degC = (15.0, 18.0, 20.0, 22.0, 25.0)
WORTH_K = 1.0


class Tools(Struct, frozen=True):
    """The same piece under other conditions: at that temperature from now on, poured at that moment (None: it is poured
    already, or no pour is planned)."""

    net: Net
    warmed: Callable[[float], Net]
    poured: Callable[[float], Net] | None = None


class _Wider(Rota, frozen=True):
    """The same hours, and a stretch more."""

    more: Window = (0.0, 0.0)

    def maker(self, first: date, days: int) -> Windows:
        return joined([*super().maker(first, days), self.more])


class _Seen(Struct, frozen=True):
    """One pass: what the other steps miss, what is done outside the hours, and where the step falls."""

    elsewhere_h: float
    astray_h: float
    spot: Spot | None
    before: Spot | None
    pred: Job | None

    @property
    def meets(self) -> bool:
        spot = self.spot
        if spot is None or spot.how == "never":
            return False
        return spot.late_h is None or spot.start_h <= spot.late_h + SAME_h


Trial = tuple[Mend, Net, Rota]


def find_mend(step: str, tools: Tools, rota: Rota, taken: Sequence[Window]) -> Mend | None:
    """The first change by which a step meets its window; None: none of them does, or there is nothing to mend.

    taken   the stretches that other pieces have booked
    """
    as_is = _seen(step, tools.net, rota, taken)
    if as_is.spot is None or as_is.meets:
        return None
    with closing(_trials(step, tools, rota, as_is)) as trials:  # a trial puts back what it has changed
        for mend, net, hours in trials:
            then = _seen(step, net, hours, taken)
            astray = then.elsewhere_h > as_is.elsewhere_h + SAME_h or then.astray_h > as_is.astray_h + SAME_h
            if then.meets and not astray:
                spot = then.before if mend.rule == "before" else then.spot
                return mend if spot is None else replace(mend, at=from_h(spot.start_h))
    return None


def _trials(step: str, tools: Tools, rota: Rota, as_is: _Seen) -> Generator[Trial]:
    net = tools.net
    job = net.jobs[net.number[step]]
    yield from _before(net, rota, as_is)
    if job.need.people > 1 and rota.crew is not None:
        yield Mend("crew", float(job.need.people)), net, replace(rota, crew=None)
    pour_h, now_h = net.basis.pour_h, net.basis.now_h
    if tools.poured is not None and pour_h is not None:
        calendar = Calendar(rota, now_h)
        for hours in POUR_h:
            if pour_h + hours > now_h and calendar.window_of(pour_h + hours) is not None:
                yield Mend("pour", hours, "h"), tools.poured(pour_h + hours), rota
    if net.basis.course.has_temperature:
        for warm in WARM_degC:
            if warm > net.basis.course.temp_degC(now_h) + WORTH_K:
                yield Mend("warm", warm, "degC"), tools.warmed(warm), rota


def _before(net: Net, rota: Rota, as_is: _Seen) -> Iterator[Trial]:
    """Its predecessor sooner, in an hour or so that is not the maker's own yet, or later. At night nobody is asked."""
    pred, spot = as_is.pred, as_is.before
    if pred is None or spot is None:
        return
    for hours in EARLIER_h:
        more = (spot.start_h - hours, spot.start_h)
        first = from_h(more[0]).astimezone(rota.zone).date()
        if more[0] >= net.basis.now_h and within_h(rota.nights(first, 2), *more) == 0.0:
            yield Mend("before", -hours, "h", step=pred.id), net, _Wider(**asdict(rota), more=more)
    held_h = pred.later_h
    for hours in LATER_h:
        pred.later_h = max(held_h, spot.start_h + hours)
        try:
            yield Mend("before", hours, "h", step=pred.id), net, rota
        finally:
            pred.later_h = held_h


def _seen(step: str, net: Net, rota: Rota, taken: Sequence[Window]) -> _Seen:
    calendar = Calendar(rota, net.basis.now_h)
    for start_h, end_h in taken:
        calendar.book(start_h, end_h - start_h)
    found = by_deadline([net], lambda: calendar)
    job, cost = net.jobs[net.number[step]], found.cost
    spots = {number: found.spots[0, number] for number in job.after if (0, number) in found.spots}
    last = max(spots, key=lambda number: spots[number].start_h, default=None)
    before, pred = (None, None) if last is None else (spots[last], net.jobs[last])
    spot = found.spots.get((0, job.index))
    elsewhere_h = cost.late_h - (0.0 if spot is None else late_h(net, job, spot))
    return _Seen(elsewhere_h, cost.night_h + cost.outside_h, spot, before, pred)
