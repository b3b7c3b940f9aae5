"""Small things that may wait are done at the next visit, of whichever piece, and what must not wait does not.

Expected moments are read off the week by hand: Saturday 10 January 2026 11:00 in Berlin is the pour, hours on
weekends are 8:00-18:00. Work less than an hour apart is one visit anyhow (planning/cost.py); so what is put together
here lies further apart.
"""

import itertools
import random

import pytest

from curetrack.facts import Event
from curetrack.hours.expand import Rota
from curetrack.hours.windows import covered_h
from curetrack.instants import to_h
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.search import Found, best
from curetrack.timeline.planning.serial import Pass
from curetrack.timeline.planning.visits import WAITS_h
from tests.timeline.making import at, done, later, line, poured, steady, step
from tests.timeline.planning.lives import Life, life
from tests.timeline.planning.making import Made, check_nobody_twice, local, planned, prepared, rota

WARM = steady(20.0, 50.0)
SAME_h = 1e-6
SMALL = (0, 5, 10, 20, 30)  # minutes of a step
SEEDS, AT_ONCE = 500, 100
END = step(
    "end", 'not_before = { age = "60 h" }\nhands_on = "10 min"'
)  # long after all else: a piece is not done sooner


def small(wait: str, *more: str, minutes: int = 10, kind: str = "form") -> str:
    """A small step so long after the pour, and the piece's last one."""
    return (
        step("go", "\n".join((f'not_before = {{ age = "{wait}" }}\nhands_on = "{minutes} min"', *more)), kind=kind)
        + END
    )


def two(
    first: str, second: str, now: float = 2.0, *, facts: tuple[tuple[Event, ...], ...] = ((), ()),
    of: Rota | None = None,
) -> Made:  # fmt: skip
    """Two pieces of one shop, poured at the same time."""
    shop = [
        prepared(steps, WARM, now, poured(), *more, name=name)
        for name, steps, more in zip(("shelf", "bench"), (first, second), facts, strict=True)
    ]
    return planned(shop, of or rota(), now)


def starts(made: Made) -> tuple[str, str]:
    return made.start("go", 0), made.start("go", 1)


def rules(made: Made, piece: int = 0, step_id: str = "go") -> list[str]:
    return [note.rule for note in line(made.timeline(piece), step_id).notes]


# --- what is put together --------------------------------------------------------------------------------------------


def test_small_steps_of_two_pieces_are_one_visit_and_the_line_says_so() -> None:
    """Due 15:00 and 16:30: the shelf's waits for the bench's, and is done right after it."""
    made = two(small("4 h"), small("5.5 h", minutes=20))
    assert starts(made) == ("Sat 16:50", "Sat 16:30")
    found = line(made.timeline(0), "go")
    assert (local(found.ready_at), local(found.plan_at)) == ("Sat 15:00", "Sat 16:50")
    note = next(note for note in found.notes if note.rule == "visit")
    assert (note.text, note.value) == ("Do go (bench)", pytest.approx(1.0 + 50 / 60))
    assert rules(made, 1) == []
    assert made.plan.found.cost.visits == 2  # and the two ends


def test_three_small_steps_go_to_the_last_of_them() -> None:
    """14:00, 15:30 and 17:00: each may wait for the next."""
    shop = [prepared(small(f"{h} h"), WARM, 1.5, name=name) for h, name in ((3, "one"), (4.5, "two"), (6, "three"))]
    made = planned(shop, rota(), 1.5)
    assert sorted(made.start("go", piece) for piece in range(3)) == ["Sat 17:00", "Sat 17:10", "Sat 17:20"]
    assert [made.start("go", 2), rules(made, 0), rules(made, 1), rules(made, 2)] == [
        "Sat 17:00",
        ["visit"],
        ["visit"],
        [],
    ]


def test_where_hours_end_with_the_next_visit_it_is_done_right_before_it() -> None:
    """The bench's takes the last half hour until 18:00."""
    made = two(small("4 h"), small("6.5 h", minutes=30))
    assert starts(made) == ("Sat 17:20", "Sat 17:30")


def test_followers_keep_their_order() -> None:
    """The shelf's follower is due an hour after its ten minutes of work, long before the bench's: both stay."""
    after = step("next", 'not_before = { wait = "1 h" }\nhands_on = "70 min"', after="go")
    made = two(small("4 h") + after, small("6 h 20 min"))
    assert [made.start("go"), made.start("next")] == ["Sat 15:00", "Sat 16:10"]


def test_a_follower_of_the_next_visit_is_done_after_it_all_the_same() -> None:
    """The shelf's second step is the next visit: the first goes right before it."""
    after = step("next", 'not_before = { age = "6 h" }\nhands_on = "20 min"', after="go")
    made = two(small("4 h") + after, END)
    assert [made.start("go"), made.start("next")] == ["Sat 16:50", "Sat 17:00"]


def test_a_rest_that_happens_by_itself_goes_along() -> None:
    rest = step("rest", 'not_before = { wait = "0 h" }\nhands_on = "0 min"', after="go", kind="rest")
    made = two(small("4 h") + rest, small("5.5 h", minutes=20))
    assert [made.start("go"), made.start("rest")] == ["Sat 16:50", "Sat 17:00"]
    assert local(line(made.timeline(0), "rest").plan_at) == "Sat 17:00"


# --- what does not wait ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ('no_later = { age = "12 h", else = "Too late." }', "form"),
        ("crew = 2", "lift"),
        ('not_before = { age = "4 h", air = { from = "10 degC" } }', "coat"),
        ("wets = true", "form"),
        ("", "place"),
        ("", "wet"),
        ('leaves = "covered"', "form"),
    ],
    ids=["a window", "a crew", "weather", "water", "fresh concrete", "a wet cure", "a cover"],
)
def test_what_matters_more_than_a_visit_does_not_wait(more: str, kind: str) -> None:
    body = more if "not_before" in more else f'not_before = {{ age = "4 h" }}\n{more}'
    made = two(step("go", f'hands_on = "10 min"\n{body}', kind=kind) + END, small("5.5 h"))
    assert starts(made) == ("Sat 15:00", "Sat 16:30")


@pytest.mark.parametrize(("minutes", "start"), [(60, "Sat 16:40"), (61, "Sat 14:00")])
def test_what_is_longer_than_an_hour_is_worth_a_visit_of_its_own(minutes: int, start: str) -> None:
    assert starts(two(small("3 h", minutes=minutes), small("5.5 h"))) == (start, "Sat 16:30")


def test_a_piece_is_not_done_later_for_a_visit() -> None:
    last = step("go", 'not_before = { age = "4 h" }\nhands_on = "10 min"')
    assert starts(two(last, small("5.5 h"))) == ("Sat 15:00", "Sat 16:30")


def test_the_first_of_two_coats_with_a_window_does_not_wait() -> None:
    """The second coat's window hangs on the end of its ten minutes."""
    recoat = 'recoat = { from = "2 h", to = "3 h", else = "Scuff." }'
    coat = step("coat", f'coats = 2\nhands_on = "10 min"\nnot_before = {{ age = "2.5 h" }}\n{recoat}', kind="coat")
    made = two(coat + END, small("4 h"))
    assert [made.start("coat-1"), made.start("coat-2")] == ["Sat 13:30", "Sat 15:40"]


def test_nothing_waits_for_longer_than_a_day() -> None:
    """Due Saturday 15:00; the next visit is on Sunday at 14:50, or at 15:00."""
    assert starts(two(small("4 h"), small("27 h 40 min")))[0] == "Sun 14:50"
    assert starts(two(small("4 h"), small("28 h")))[0] == "Sat 15:00"


def test_loud_work_does_not_wait_into_quiet_hours() -> None:
    made = two(small("4 h", "loud = true"), small("5.5 h"), of=rota(quiet_hours="16:00-17:00"))
    assert starts(made) == ("Sat 15:00", "Sat 16:30")


# --- time goes on ----------------------------------------------------------------------------------------------------


def test_what_waits_is_not_pushed_away_while_time_goes_on() -> None:
    """Planned anew, nothing being done: the visit stays, and moves on with now once it is due."""
    first, second = small("4 h"), small("5.5 h", minutes=20)
    for now in (2.0, 3.0, 4.0, 4.25, 4.5, 5.0, 5.3):
        assert starts(two(first, second, now)) == ("Sat 16:50", "Sat 16:30"), now
    assert starts(two(first, second, 5.75)) == ("Sat 16:45", "Sat 16:55")


def test_a_step_that_waited_for_a_visit_is_done_at_that_visit() -> None:
    """The bench's was done at 16:40: the shelf's is due now, though a third piece has small work at 17:50."""
    third = prepared(small("6 h 40 min"), WARM, 5.75, name="third")
    ticked = prepared(small("5.5 h"), WARM, 5.75, poured(), done("go", 5.5 + 1 / 6), name="bench")
    shelf = prepared(small("4 h"), WARM, 5.75, name="shelf")
    assert planned([shelf, ticked, third], rota(), 5.75).start("go") == "Sat 16:45"
    idle = prepared(END, WARM, 5.75, name="bench")
    assert planned([shelf, idle, third], rota(), 5.75).start("go") == "Sat 17:50"


def test_who_is_there_does_it_now() -> None:
    """The bench's was done at 14:50, the shelf's is due at 15:00: within the hour, the maker is there."""
    done_late = (done("go", 3 + 50 / 60),)
    third = step("next", 'not_before = { age = "5.5 h" }\nhands_on = "10 min"', after="go")
    made = two(small("4 h"), small("3 h") + third, 4.0, facts=((), done_late))
    assert [made.start("go", 0), made.start("next", 1)] == ["Sat 15:00", "Sat 16:30"]


def test_what_the_maker_put_off_waits_from_then_on() -> None:
    """Ready since Saturday 15:00, put off to Sunday 14:00: a visit at 15:20 is within a day of that."""
    put_off = (later("go", 4.0, 27.0),)
    assert starts(two(small("4 h"), small("28 h 20 min"), 5.5, facts=(put_off, ())))[0] == "Sun 15:30"


# --- what holds of every plan ----------------------------------------------------------------------------------------


def nets_of(shop: Life) -> list[Net]:
    return [Net(p.piece.name, p.basis, p.graph) for p in shop.pieces]


def cost_of(nets: list[Net], found: Found, calendar: Calendar) -> tuple[float, ...]:
    """Counted anew from where everything lies."""
    again = Pass(nets, calendar)
    again.spots = dict(found.spots)
    return again.cost().key


def errands(seed: int) -> Life:
    """A shop of a seed's hours (planning/lives.py), with small steps here and there over three days: some in a
    chain, some with a window, a crew or noise."""
    dice = random.Random(seed)
    now = dice.choice([1.5, 4.0, 9.0, 22.0])
    pieces = []
    for number in range(dice.randint(2, 4)):
        steps = ""
        for n in range(dice.randint(2, 5)):
            body = [f'hands_on = "{dice.choice(SMALL)} min"']
            body.append(dice.choice(('not_before = {{ age = "{} h" }}', 'not_before = {{ wait = "{} h" }}')))
            body[-1] = body[-1].format(round(dice.uniform(1.0, 70.0 if "age" in body[-1] else 12.0), 1))
            body += ["loud = true"] if dice.random() < 0.2 else []
            body += ['no_later = { age = "80 h", else = "Too late." }'] if dice.random() < 0.15 else []
            body += ["crew = 2"] if dice.random() < 0.1 else []
            body += ["optional = true"] if dice.random() < 0.1 else []
            kind = dice.choice(["form", "grind", "fill", "coat", "lift", "rest", "cover"])
            after = f"s{dice.randrange(n)}" if n and dice.random() < 0.6 else "pour"
            steps += step(f"s{n}", "\n".join(body), after=after, kind=kind)
        last = step("end", 'not_before = { age = "90 h" }', after=f"s{n}")
        pieces.append(prepared(steps + last, WARM, now, name=f"p{number}"))
    return Life(life(seed).rota, tuple(pieces), now)


@pytest.mark.parametrize("first", range(0, SEEDS, AT_ONCE))
def test_fewer_visits_cost_nothing_else(first: int) -> None:
    """500 shops of small errands and 500 invented lives (seeds 0 to 499), beside the same plans ungrouped."""
    moved = 0
    for seed, make in itertools.product(range(first, first + AT_ONCE), (errands, life)):
        shop = make(seed)
        nets, now_h = nets_of(shop), to_h(at(shop.now))
        before = best(nets, lambda shop=shop, now_h=now_h: Calendar(shop.rota, now_h))  # type: ignore[misc]
        made = planned(shop.pieces, shop.rota, shop.now)
        after, calendar = made.plan.found, Calendar(shop.rota, now_h)
        assert cost_of(nets, after, calendar) == pytest.approx(after.cost.key, abs=SAME_h), seed
        assert after.cost.key[:-1] == pytest.approx(before.cost.key[:-1], abs=1.0 / 60.0), seed
        assert after.done_h == before.done_h, seed
        assert after.cost.visits <= before.cost.visits, seed
        names = [name for name, spot in after.spots.items() if spot != before.spots[name]]
        if any(before.spots[name].earliest_h > now_h + SAME_h for name in names):  # not only what is due since long ago
            assert after.cost.visits < before.cost.visits, seed
        for piece, index in names:
            assert after.spots[piece, index].start_h > before.spots[piece, index].start_h, seed
            _stays_within_its_rules(made, piece, index, seed)
        moved += len(names)
        _nobody_is_in_two_places(made, shop, seed)
    assert moved > AT_ONCE / 4


def _stays_within_its_rules(made: Made, piece: int, index: int, seed: int) -> None:
    """By the walk, which plans it no later than agreed; and within its window."""
    job, spot = made.plan.nets[piece].jobs[index], made.plan.found.spots[piece, index]
    found = line(made.timeline(piece), job.id)
    assert found.plan_at is not None, seed
    assert to_h(found.plan_at) == pytest.approx(spot.start_h, abs=1.0 / 3600.0), (seed, job.id)
    assert found.late_at is None or to_h(found.late_at) >= spot.start_h - SAME_h, (seed, job.id)
    assert spot.start_h <= spot.earliest_h + WAITS_h or spot.earliest_h <= to_h(made.now), (seed, job.id)


def _nobody_is_in_two_places(made: Made, shop: Life, seed: int) -> None:
    first = at(shop.now).astimezone(shop.rota.zone).date()
    quiet, work = shop.rota.quiet_hours(first, 220), []
    for (piece, index), spot in made.plan.found.spots.items():
        job = made.plan.nets[piece].jobs[index]
        end_h = spot.start_h + job.need.hands_h
        if not job.through and not job.nobody and job.need.hands_h > 0.0:
            work.append((spot.start_h, end_h, spot.how == "busy"))  # mixing, where the pour is set: it says so
        if job.need.loud and not job.through and spot.how not in ("loud", "never"):
            assert covered_h(quiet, spot.start_h, end_h) < SAME_h, (seed, job.id)
    check_nobody_twice(work, seed)


def test_planned_again_at_the_same_moment_it_is_the_same() -> None:
    """Also by nets that have been planned with before."""
    from curetrack.timeline.planning.plan import plan_nets

    for seed in range(60):
        shop = errands(seed)
        nets, now_h = nets_of(shop), to_h(at(shop.now))
        one = plan_nets(nets, shop.rota, now_h)
        assert plan_nets(nets, shop.rota, now_h).agreed == one.agreed, seed
        assert planned(shop.pieces, shop.rota, shop.now).plan.agreed == one.agreed, seed
