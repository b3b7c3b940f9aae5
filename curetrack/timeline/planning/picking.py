"""The best pour of each day, without judging all of them.

Of each pour a bound is known at once: what bars it whatever follows, and that it is done no sooner than one a little
before it would be with all the time of the world, since who pours later is done later. Pours are looked at by their
bounds, and one is judged only when nothing that was judged is as good as its bound; so the answer is that of judging
them all (tests/timeline/planning/test_picking.py), for a fraction of the timelines.
"""

from collections.abc import Callable, Sequence
from datetime import date
from heapq import heapify, heappop, heappush

from msgspec.structs import replace

from curetrack.hours.expand import Rota
from curetrack.instants import from_h
from curetrack.timeline.planning.against import crew_at_pour, hands_at_pour, mixes_in_hours
from curetrack.timeline.planning.calendar import Calendar, SLACK_h
from curetrack.timeline.planning.choice import GRAVE, APART_h, Choice, Fault, UNSEEN_h, bars, waits_h
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.risks import Risks
from curetrack.timeline.planning.serial import Pass, deadline_first
from curetrack.timeline.planning.when import judge_one, worth

__all__ = ["best_of_days"]

BLOCK_h = 6.0  # so many hours share one bound
Key = tuple[float, ...]


def best_of_days(
    net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float], most: int,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> tuple[list[Choice], int]:  # fmt: skip
    """The best pour of each local day, the best day first, up to `most` of them; none within hours of a better one over
    midnight. And how many pours there were to choose from.

    net_at   the piece for a pour at that moment, not poured yet; the same weather for all
    tell     how many of them are settled
    """
    pours_h = worth(net_at, calendar, pours_h)
    bounds = _Bounds(net_at, calendar, pours_h)
    heap: list[tuple[Key, int, Choice | None]] = [(bounds(pour_h), n, None) for n, pour_h in enumerate(pours_h)]
    heapify(heap)
    best: dict[date, Choice] = {}
    left = len(heap)
    while heap and len(best) < most:
        _, number, choice = heappop(heap)
        pour_h = pours_h[number]
        day = from_h(pour_h).astimezone(calendar.zone).date()
        if day not in best and all(abs(other.pour_h - pour_h) >= APART_h for other in best.values()):
            if choice is None:
                choice = judge_one(net_at(pour_h), calendar, pour_h, bounds.risks(pour_h))
                heappush(heap, (choice.key, number, choice))
                continue
            best[day] = choice
        left -= 1
        tell(len(pours_h) - left, len(pours_h))
    tell(len(pours_h), len(pours_h))
    return list(best.values()), len(pours_h)


class _Bounds:
    """No key of a judged pour is smaller than its bound."""

    def __init__(self, net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float]) -> None:
        self._net_at, self._calendar = net_at, calendar
        self._risks = Risks(net_at(pours_h[0]).basis, pours_h)
        self._known: dict[float, list[Fault]] = {}
        self._freely = Calendar(Rota(calendar.zone), calendar.from_h)
        self._suit_h: dict[int, list[float]] = {}
        self._done_h: dict[tuple[int, float], float | None] = {}

    def risks(self, pour_h: float) -> list[Fault]:
        """What the forecast has against a pour."""
        if pour_h not in self._known:
            self._known[pour_h] = self._risks(pour_h)
        return self._known[pour_h]

    def __call__(self, pour_h: float) -> Key:
        net = self._net_at(pour_h)
        done_h = self._done_freely_h(net, pour_h)
        risks = self.risks(pour_h)
        there = mixes_in_hours(net, self._calendar, pour_h)  # nobody helps a maker who is not
        faults = [*risks, *(crew_at_pour(net, self._calendar, pour_h) if there else ())]
        taken = [fault.rule for fault in hands_at_pour(net, self._calendar, pour_h)]
        past_h = 0.0 if net.need_by_h is None or done_h is None else max(0.0, done_h - net.need_by_h)
        barred = bars(risks) or bool(taken) or done_h is None or past_h > 0.0
        grave = sum(1.0 for fault in risks if fault.rule in GRAVE) + len(taken)
        seen_h = pour_h + UNSEEN_h if done_h is None else done_h
        return (
            float(barred),
            grave,
            0.0,
            past_h,
            0.0 if barred else self._unmet(net, pour_h),  # of a form that is not built no more is asked
            float(round(seen_h + waits_h(faults))),
            0.0,
            pour_h,
        )

    def _unmet(self, net: Net, pour_h: float) -> float:
        """How many rules before the pour the weather does not meet until then, whenever they are looked at."""
        if id(net) not in self._suit_h:
            early = [job for job in net.jobs if job.spans and not job.through and not job.closed and net.is_early(job)]
            self._suit_h[id(net)] = [net.suits(job, net.basis.now_h) for job in early]
        return float(sum(suit_h > pour_h + SLACK_h for suit_h in self._suit_h[id(net)]))

    def _done_freely_h(self, net: Net, pour_h: float) -> float | None:
        """When the first pour of its hours would be done, with nothing else to do, by day and night."""
        first_h = max(pour_h // BLOCK_h * BLOCK_h, net.basis.now_h)
        key = id(net), first_h
        if key not in self._done_h:
            net.pour_at(replace(net.basis, pour_h=first_h, first_h=first_h))
            trial = Pass([net], self._freely)
            trial.run(deadline_first)
            self._done_h[key] = trial.done_h(0)
            trial.retract(0)
        return self._done_h[key]
