"""Times of planning, to be run by hand: python -m tests.bench.bench_plan

1,000 active pieces of 100 shops (ten each), re-timed: net and plan of each shop anew, as after one more fact. Goal: at
most 1.5 s in all. Then one shop of 20 and of 200 pieces: goal, at most 12-fold. Then how far the plans of these shops
are from the best bound, and from earliest deadline first. A plan's bound: each piece by itself on an empty calendar; no
plan of several can be less late, or done sooner.

Pieces are of four profiles, poured at different hours of the last ten days, each as far as it would be if its maker had
kept up. Courses and sorted facts are there already, as in a service that runs. Times are the processor's, so that what
else runs on the machine counts little.
"""

import gc
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from time import process_time
from zoneinfo import ZoneInfo

from curetrack.cli.main import GARBAGE_AT
from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Piece, Reading, Shape
from curetrack.hours.expand import Rota
from curetrack.hours.rota import rota_of
from curetrack.instants import to_h
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.profile.types import Profile
from curetrack.settings import Settings
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.plan import plan_nets
from curetrack.timeline.planning.search import Found, by_deadline
from curetrack.timeline.solve import Prepared, prepare
from curetrack.timeline.walk import Walk

NOW = datetime(2026, 3, 14, 9, tzinfo=UTC)
PROFILES = ("bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop")
WEEKS = (
    "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00", "Mon-Fri 8:00-17:00", "daily 7:00-9:00 18:00-22:00",
    "Tue-Sat 9:00-19:00",
)  # fmt: skip
RUNS = 3


def main() -> None:
    """Prints the table."""
    gc.set_threshold(GARBAGE_AT, 20, 20)  # as the installed command does
    profiles = [_profile(name) for name in PROFILES]
    course = _course()
    shops = [(_rota(n), [_piece(profiles, course, n * 10 + k) for k in range(10)]) for n in range(100)]
    count = sum(len(pieces) for _, pieces in shops)
    steps = sum(len(net.open) for rota, pieces in shops for net in _nets(pieces))
    print(f"{count:,} pieces of {len(shops)} shops, {steps:,} open steps       best of {RUNS}")
    everything = _best(lambda: [_plan(rota, pieces) for rota, pieces in shops])
    print(f"nets and plans of all anew   {everything:8.2f} s   (goal 1.5)")
    nets_alone = _best(lambda: [_nets(pieces) for _, pieces in shops])
    print(f"  of it nets                 {nets_alone:8.2f} s")
    few, many = (_best(lambda n=n: _plan(_rota(0), _shop(profiles, course, n)), made=n) for n in (20, 200))  # type: ignore[misc]
    print(f"one shop of  20 pieces       {few * 1000:8.0f} ms")
    print(f"one shop of 200 pieces       {many * 1000:8.0f} ms  {many / few:.1f}-fold (goal 12)")
    _gaps(shops)


_SHOPS: dict[int, list[Prepared]] = {}


def _shop(profiles: list[Profile], course: Course, count: int) -> list[Prepared]:
    if count not in _SHOPS:
        _SHOPS[count] = [_piece(profiles, course, n) for n in range(count)]
    return _SHOPS[count]


def _best(what: Callable[[], object], made: int = 0) -> float:
    if made:
        what()
    found = []
    for _ in range(RUNS):
        start = process_time()
        what()
        found.append(process_time() - start)
    return min(found)


def _gaps(shops: list[tuple[Rota, list[Prepared]]]) -> None:
    """How much better than earliest deadline first, and how far from the bound."""
    late = edf_late = bound_late = finish = edf_finish = bound_finish = 0.0
    better = 0
    for rota, pieces in shops:
        found, edf, alone = _plan(rota, pieces), _edf(rota, pieces), [_plan(rota, [piece]) for piece in pieces]
        late, edf_late = late + found.cost.late_h, edf_late + edf.cost.late_h
        finish, edf_finish = finish + found.cost.finish_h, edf_finish + edf.cost.finish_h
        bound_late += sum(one.cost.late_h for one in alone)
        bound_finish += sum(one.cost.finish_h for one in alone)
        better += found.cost.key < edf.cost.key
        assert found.cost.key <= edf.cost.key
    print(f"{len(shops)} shops               plan   deadline first    bound")
    print(f"hours late in windows   {late:8.0f}{edf_late:12.0f}{bound_late:12.0f}")
    print(f"hours until all is done {finish:8.0f}{edf_finish:12.0f}{bound_finish:12.0f}")
    print(
        f"better than deadline first in {better} shops, worse in none; {finish / bound_finish - 1:.1%} over the bound"
    )


# --- shops -----------------------------------------------------------------------------------------------------------


def _plan(rota: Rota, pieces: list[Prepared]) -> Found:
    return plan_nets(_nets(pieces), rota, to_h(NOW)).found


def _edf(rota: Rota, pieces: list[Prepared]) -> Found:
    return by_deadline(_nets(pieces), lambda: Calendar(rota, to_h(NOW)))


def _nets(pieces: list[Prepared]) -> list[Net]:
    return [Net(p.piece.name, p.basis, p.graph) for p in pieces]


def _rota(number: int) -> Rota:
    crew = "Sat 9:00-17:00" if number % 8 in (0, 3) else ""  # where the maker works on Saturdays
    return rota_of(
        Settings(timezone="Europe/Berlin", hours=WEEKS[number % 4], quiet_hours="22:00-06:30", crew=3, crew_hours=crew)
    )  # fmt: skip


def _profile(name: str) -> Profile:
    profile_id, document = find(name)
    return compile_profile(document, profile_id, profile_id)


def _course() -> Course:
    start = to_h(NOW) - 14 * 24.0
    rows = [Reading(start + k, 16.0 + 5.0 * (k % 24) / 24.0, 55.0, id=k + 1) for k in range(14 * 24)]
    return build_course(rows, None, ZoneInfo("Europe/Berlin"))


def _piece(profiles: list[Profile], course: Course, number: int) -> Prepared:
    pour = NOW - timedelta(hours=3.0 + (number * 37) % 240)
    profile = profiles[number % 4]
    need_by = NOW + timedelta(days=10 + number % 20) if number % 3 else None
    shape = Shape(1.0 + 0.05 * (number % 20), 0.6, 0.04)
    piece = Piece(f"piece {number}", shape, profile.id, "", pour - timedelta(days=3), need_by=need_by)
    events = [Event(1, piece.name, "pour", pour, pour)]
    while len(events) < 40:  # as far as the maker who kept up would be
        made = prepare(piece, profile, events, course, NOW)
        ready = [
            (placed.floor_h or 0.0, placed.node.id)
            for placed in Walk(made.basis, made.graph, only_next=True).run().values()
            if placed.is_open and not placed.blockers and not placed.node.step.optional and placed.when is not None
            and max(placed.when.centre, placed.floor_h or 0.0) < to_h(NOW) - 24.0
        ]  # fmt: skip
        if not ready:
            break
        at = NOW - timedelta(hours=24.0 - len(events) / 60.0)
        events.append(Event(len(events) + 1, piece.name, "done", at, NOW, step=min(ready)[1]))
    return prepare(piece, profile, events, course, NOW)


if __name__ == "__main__":
    main()
