"""Pieces that share a form: one after the other, and the plan says who has it until when.

The first shelf is poured on Saturday at 11:00 (hours count from then) and stripped a day later, in half an hour. The
form of the next takes two hours of hands and is over an hour before its pour. Hours are daily 8:00 to 20:00.
"""

import itertools
import random

import pytest

from curetrack.hours.shared import read_shared
from tests.timeline.making import done, line, poured, steady, step
from tests.timeline.planning.making import Made, local, planned, prepared, rota

WARM = steady(20.0)
DAY = rota("daily 8:00-20:00")
SHELF = (
    step("form", 'before = "pour"\nlead = "1 h"\nhands_on = "2 h"', after="")
    + step("mix", 'before = "pour"\nhands_on = "30 min"', after="form", kind="place")
    + step("pour", after="mix", kind="place")
    + step("strip", 'not_before = { age = "24 h" }\nhands_on = "30 min"')
    + step("seal", 'hands_on = "30 min"', after="strip", kind="coat")
)
FORM = "shelf form: shelf*"


def shelves(*pours: float, now: float = 1.0, shared: str = FORM, facts: tuple[object, ...] = (poured(),)) -> Made:
    """The first shelf, poured, and others to be poured at these hours."""
    first = prepared(SHELF, WARM, now, *facts, name="shelf 1")  # type: ignore[arg-type]  # events
    others = [prepared(SHELF, WARM, now, name=f"shelf {n + 2}", planned=pour) for n, pour in enumerate(pours)]
    return planned([first, *others], DAY, now, shared)


def test_the_next_form_is_built_when_the_one_before_is_stripped() -> None:
    """Poured on Sunday at 13:00, the form would be built from 10:00 on, and the first shelf stripped after it. It is
    free at 11:30, and over at 13:30, an hour and a half after it should be."""
    apart = shelves(26.0, shared="")
    assert (apart.start("strip"), apart.start("form", 1)) == ("Sun 12:00", "Sun 10:00")
    made = shelves(26.0)
    assert (made.start("strip"), made.start("form", 1)) == ("Sun 11:00", "Sun 11:30")
    notes = {note.rule: note for note in line(made.timeline(1), "form").notes}
    assert (notes["taken"].text, local(notes["taken"].at)) == ("shelf form (shelf 1)", "Sun 11:30")
    assert notes["short"].value == pytest.approx(1.5)


def test_a_pour_far_enough_ahead_waits_for_nothing_and_nothing_is_said() -> None:
    made = shelves(30.0)  # Sun 17:00: the form is built until 16:00
    assert made.start("form", 1) == "Sun 14:00"
    assert [note.rule for note in line(made.timeline(1), "form").notes] == []


def test_each_waits_for_who_is_before_it() -> None:
    """Both pours on Sunday; the third shelf's form waits for the second one's strip, a day after its pour."""
    made = shelves(26.0, 28.0)
    assert local(made.spot("strip", 1).start_h) == "Mon 13:00"
    assert made.start("form", 2) == "Mon 13:30"
    note = next(note for note in line(made.timeline(2), "form").notes if note.rule == "taken")
    assert (note.text, local(note.at)) == ("shelf form (shelf 2)", "Mon 13:30")


def test_the_pour_decides_who_comes_first() -> None:
    made = shelves(60.0, 30.0)
    assert made.spot("form", 2).start_h < made.spot("form", 1).start_h


def test_a_form_that_was_stripped_is_free_and_others_share_nothing() -> None:
    free = shelves(30.0, now=25.0, facts=(poured(), done("strip", 24.5)))
    assert free.start("form", 1) == "Sun 14:00"
    assert shelves(26.0, shared="table form: table*").start("form", 1) == "Sun 10:00"


def test_a_form_that_nobody_is_going_to_free_is_said() -> None:
    """The first one's form is built, and no pour is planned."""
    built = prepared(SHELF, WARM, 1.0, done("form", 0.5), name="shelf 1")
    other = prepared(SHELF, WARM, 1.0, name="shelf 2", planned=26.0)
    made = planned([built, other], DAY, 1.0, FORM)
    note = next(note for note in line(made.timeline(1), "form").notes if note.rule == "taken")
    assert (note.text, note.at) == ("shelf form (shelf 1)", None)


def test_planning_leaves_the_nets_as_they_were() -> None:
    made = shelves(26.0)
    assert all(job.later_h == float("-inf") for net in made.plan.nets for job in net.jobs)


@pytest.mark.parametrize("seed", range(60))
def test_no_shared_form_is_ever_in_two_places(seed: int) -> None:
    """Two to five pieces, one poured and the others up to ten days ahead; one or two things, held over some steps."""
    dice = random.Random(seed)
    pours = [dice.uniform(2.0, 240.0) for _ in range(dice.randint(1, 4))]
    shared = FORM + dice.choice(["", "; clamps: shelf 1, shelf 3, shelf 4 (form..seal)", "; base: shelf* (mix..strip)"])
    made = shelves(*pours, now=dice.choice([0.5, 9.0, 23.0]), shared=shared)
    for thing in read_shared(shared)[0]:
        held: list[tuple[float, float]] = []
        for piece, net in enumerate(made.plan.nets):
            if thing.is_used_by(net.name):
                first, last = net.jobs[net.number[thing.first]], made.spot(thing.last, piece)
                end_h = last.start_h + net.jobs[net.number[thing.last]].need.hands_h
                held.append((net.basis.now_h if first.closed else made.spot(thing.first, piece).start_h, end_h))
        for (_, end_h), (start_h, _) in itertools.pairwise(sorted(held)):
            assert end_h <= start_h + 1e-6, thing
    for piece, net in enumerate(made.plan.nets):  # by the walk
        for job in net.open:
            plan = line(made.timeline(piece), job.id).plan_at
            assert plan is not None
            assert local(plan) == local(made.spot(job.id, piece).start_h), (net.name, job.id)
