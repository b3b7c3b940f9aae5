"""What holds of every plan, on 500 invented shops (seeds 0 to 499; tests/timeline/planning/lives.py).

Orders are enumerated here once more without any of the search's short cuts, and a grid of start times is searched by
itself: neither shares more with the planner than the rules it has to keep.
"""

import itertools
import random

import pytest

from curetrack.hours.windows import covered_h
from curetrack.instants import to_h
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.search import FEW, best, by_deadline
from curetrack.timeline.planning.serial import Pass
from tests.timeline.making import POUR_H, at, line, steady, step
from tests.timeline.planning.lives import Life, life
from tests.timeline.planning.making import check_nobody_twice, local, planned, prepared, rota

SEEDS, AT_ONCE = 500, 25
SAME_h = 1e-6
DAYS = 220


def nets_of(shop: Life) -> list[Net]:
    return [Net(p.piece.name, p.basis, p.graph) for p in shop.pieces]


def batches() -> list[range]:
    return [range(first, first + AT_ONCE) for first in range(0, SEEDS, AT_ONCE)]


@pytest.mark.parametrize("seeds", batches(), ids=lambda seeds: f"from {seeds[0]}")
def test_nobody_is_in_two_places_and_the_night_stays_quiet(seeds: range) -> None:
    for seed in seeds:
        shop = life(seed)
        made = planned(shop.pieces, shop.rota, shop.now)
        first = at(shop.now).astimezone(shop.rota.zone).date()
        hours, quiet = shop.rota.maker(first, DAYS), shop.rota.quiet_hours(first, DAYS)
        work: list[tuple[float, float, bool]] = []
        for (piece, index), spot in made.plan.found.spots.items():
            job = made.plan.nets[piece].jobs[index]
            end_h = spot.start_h + job.need.hands_h
            assert spot.start_h >= to_h(at(shop.now)) - SAME_h, (seed, job.id)
            if job.through or job.nobody:
                continue
            if job.need.hands_h > 0.0:
                work.append((spot.start_h, end_h, spot.how == "busy"))  # mixing, where the pour is set: it says so
            day_h = 24.0 - (quiet[0][1] - quiet[0][0] if quiet else 0.0)
            if job.need.loud and job.need.hands_h <= day_h:  # what is longer than the day's loud hours is said
                assert covered_h(quiet, spot.start_h, end_h) < SAME_h, (seed, job.id)
            if spot.how in ("", "alone"):
                assert covered_h(hours, spot.start_h, end_h) == pytest.approx(job.need.hands_h, abs=SAME_h), (
                    seed,
                    job.id,
                )
            if spot.how == "" and job.need.people > 1:
                there = shop.rota.crew_for(job.need.people, first, DAYS)
                assert any(s - SAME_h <= spot.start_h and end_h <= e + SAME_h for s, e in there), (seed, job.id)
        work.sort()
        check_nobody_twice(work, seed)


@pytest.mark.parametrize("seeds", batches(), ids=lambda seeds: f"from {seeds[0]}")
def test_a_planned_moment_is_never_before_the_step_s_own_rules(seeds: range) -> None:
    """By the walk: given the plan it moves nothing any further."""
    for seed in seeds:
        shop = life(seed)
        made = planned(shop.pieces, shop.rota, shop.now)
        for piece, net in enumerate(made.plan.nets):
            timeline = made.timeline(piece)
            for job in net.open:
                spot = made.plan.found.spots.get((piece, job.index))
                plan = line(timeline, job.id).plan_at
                assert (spot is None) == (plan is None), (seed, job.id)
                if spot is not None and plan is not None:
                    assert to_h(plan) == pytest.approx(spot.start_h, abs=1.0 / 3600.0), (seed, job.id)


def test_what_comes_before_a_pour_keeps_its_order_and_says_what_comes_too_late() -> None:
    """Each step before a planned pour starts when those before it are over. It is over a lead before the pour (mixing:
    at the pour) or says that it is not; where the pour is minutes ahead some step must say so."""
    seen = {False: 0, True: 0}
    for seed in range(SEEDS):
        shop = life(seed)
        made = planned(shop.pieces, shop.rota, shop.now)
        for piece, net in enumerate(made.plan.nets):
            pour_h, spots = net.basis.pour_h, made.plan.found.spots
            if net.basis.poured or pour_h is None:
                continue
            leads = dict(net.jobs[net.number["pour"]].leads)
            late = False
            for job in (net.jobs[number] for number in leads):
                spot = spots[piece, job.index]
                before = [net.jobs[number] for number in job.after if not net.jobs[number].through]
                ends = [spots[piece, other.index].start_h + other.need.hands_h for other in before]
                assert spot.start_h >= max(ends, default=0.0) - SAME_h, (seed, job.id)
                in_time = spot.start_h + job.need.hands_h <= pour_h - leads[job.index] + SAME_h
                assert in_time or job.through or spot.how in ("short", "never"), (seed, job.id)
                late |= spot.how in ("short", "never")
            seen[late] += 1
            assert late or pour_h - net.basis.now_h > 2.0, seed  # an hour of form, a lead of one, the mixing
    assert min(seen.values()) > SEEDS / 10, seen


@pytest.mark.parametrize("seeds", batches(), ids=lambda seeds: f"from {seeds[0]}")
def test_never_worse_than_earliest_deadline_first(seeds: range) -> None:
    for seed in seeds:
        shop = life(seed)
        now_h = to_h(at(shop.now))
        found = best(nets_of(shop), lambda shop=shop, now_h=now_h: Calendar(shop.rota, now_h))  # type: ignore[misc]
        edf = by_deadline(nets_of(shop), lambda shop=shop, now_h=now_h: Calendar(shop.rota, now_h))  # type: ignore[misc]
        assert found.cost.key <= edf.cost.key, seed


# --- as good as trying everything ------------------------------------------------------------------------------------


def every_order(nets: list[Net], calendar: Calendar) -> tuple[float, ...]:
    """The best cost over all orders that the predecessors allow, without bound or memory."""
    trial = Pass(nets, calendar)
    trial.prepare()

    def follow() -> tuple[float, ...]:
        free = [(piece, job) for piece in range(len(nets)) for job in trial.free(piece)]
        free = free or [(p, job) for p in range(len(nets)) if (job := trial.stuck(p)) is not None][:1]
        if not free:
            return trial.cost().key
        found: list[tuple[float, ...]] = []
        for piece, job in free:
            length = trial.length
            trial.place(piece, job)
            found.append(follow())
            trial.retract(length)
        return min(found)

    return follow()


@pytest.mark.parametrize("seeds", batches(), ids=lambda seeds: f"from {seeds[0]}")
def test_of_few_steps_every_order_was_tried(seeds: range) -> None:
    """Up to eight open steps; enumerated in full here up to six, so that the test ends."""
    tried = 0
    for seed in seeds:
        shop = life(seed, most_steps=3, most_pieces=2)
        nets, now_h = nets_of(shop), to_h(at(shop.now))
        if sum(len(net.open) for net in nets) > 6:
            continue
        found = best(nets, lambda shop=shop, now_h=now_h: Calendar(shop.rota, now_h))  # type: ignore[misc]
        assert found.cost.key <= every_order(nets_of(shop), Calendar(shop.rota, now_h)), seed
        tried += 1
    assert tried > AT_ONCE / 2


def test_eight_steps_are_searched_as_well_as_all_their_orders() -> None:
    steps = "".join(
        step(f"s{n}", f'hands_on = "{40 + 10 * n} min"\nno_later = {{ age = "{3 + (5 * n) % 9} h", else = "Late." }}')
        for n in range(4)
    )
    shop = [prepared(steps, steady(20.0), 1.0, name=name) for name in ("one", "two")]
    nets = [Net(p.piece.name, p.basis, p.graph) for p in shop]
    assert sum(len(net.open) for net in nets) == FEW
    of, now_h = rota("daily 8:00-15:00"), POUR_H + 1.0
    found = best(nets, lambda: Calendar(of, now_h))
    orders = _some_orders(nets, Calendar(of, now_h))
    assert found.cost.key <= min(orders)
    assert len(set(orders)) > 10  # the order matters here


def _some_orders(nets: list[Net], calendar: Calendar) -> list[tuple[float, ...]]:
    """1,000 of the 40,320 orders, each 40th."""
    found: list[tuple[float, ...]] = []
    jobs = [(piece, job) for piece, net in enumerate(nets) for job in net.open]
    trial = Pass(nets, calendar)
    for number, order in enumerate(itertools.permutations(jobs)):
        if number % 40:
            continue
        for piece, job in order:
            trial.place(piece, job)
        found.append(trial.cost().key)
        trial.retract(0)
    return found


@pytest.mark.parametrize("seed", range(40))
def test_no_grid_of_starts_is_less_late_or_less_outside(seed: int) -> None:
    """Three steps with windows, in hours of a weekend, all lengths whole half-hours: every triple of half-hours that
    does not collide, by itself. Work may leave the hours, awake, where that alone meets its window."""
    dice = random.Random(seed)
    hands = [dice.choice([0.5, 1.0, 1.5, 2.0]) for _ in range(3)]
    lates = [dice.choice([2.0, 3.0, 4.5, 6.0]) for _ in range(3)]
    steps = "".join(
        step(f"s{n}", f'hands_on = "{hands[n]} h"\nno_later = {{ age = "{lates[n]} h", else = "Late." }}', kind="grind")
        for n in range(3)
    )
    made = planned([prepared(steps, steady(20.0), 1.0)], rota("Sat-Sun 8:00-15:00"), 1.0)
    choices = [_starts(hand, late) for hand, late in zip(hands, lates, strict=True)]
    best_h = min(
        (sum(late_h for _, _, late_h, _ in triple), sum(outside_h for *_, outside_h in triple))
        for triple in itertools.product(*choices)
        if all(one[1] <= other[0] for one, other in itertools.pairwise(sorted(triple)))
    )
    cost = made.plan.found.cost
    assert (cost.late_h, cost.outside_h) == pytest.approx(best_h, abs=SAME_h)


def _starts(hand_h: float, late_h: float) -> list[tuple[float, float, float, float]]:
    """Start, end, hours late, hours outside: on Saturday from 12:00 (1 h after the pour) until 22:00, hours end at
    15:00 (4 h); on Sunday in hours, 8:00 to 15:00 (21 h to 28 h)."""
    found: list[tuple[float, float, float, float]] = []
    for half in range(2, 22):
        start_h, end_h = half / 2.0, half / 2.0 + hand_h
        outside_h = min(hand_h, max(0.0, end_h - 4.0))
        if end_h <= 11.0 and (outside_h == 0.0 or start_h <= late_h):
            found.append((start_h, end_h, max(0.0, start_h - late_h), outside_h))
    sunday = (21.0 + half / 2.0 for half in range(14))
    return found + [(at_h, at_h + hand_h, at_h - late_h, 0.0) for at_h in sunday if at_h + hand_h <= 28.0]


def test_the_same_shop_is_planned_the_same_way_twice() -> None:
    for seed in (3, 77, 411):
        one, other = (planned(shop.pieces, shop.rota, shop.now) for shop in (life(seed), life(seed)))
        assert one.plan.found.spots == other.plan.found.spots
        assert [local(spot.start_h) for spot in one.plan.found.spots.values()]
