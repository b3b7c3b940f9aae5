"""The best pours are those that judging every pour would give, on 120 invented shops (test_when_properties.py).

The oracle is the sentence itself: all pours by their keys, the best of each day that is not within six hours of a
better one.
"""

from collections.abc import Sequence
from datetime import tzinfo

from msgspec.structs import replace

from curetrack.instants import from_h, to_h
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.choice import Choice
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.picking import _Bounds, best_of_days
from curetrack.timeline.planning.when import half_hours
from tests.timeline.making import at, steady, step
from tests.timeline.planning.making import judge, planned, prepared, rota
from tests.timeline.planning.test_when_properties import AHEAD_h, Asked

SEEDS, BEST = 120, 3


def plainly(choices: Sequence[Choice], zone: tzinfo, most: int) -> list[float]:
    taken: list[Choice] = []
    for choice in sorted(choices, key=lambda choice: choice.key):
        day = from_h(choice.pour_h).astimezone(zone).date()
        if all(from_h(o.pour_h).astimezone(zone).date() != day and abs(o.pour_h - choice.pour_h) >= 6.0 for o in taken):
            taken.append(choice)
    return [choice.pour_h for choice in taken[:most]]


def both(seed: int) -> tuple[list[float], list[float], int, int]:
    asked = Asked(seed, alone=seed % 2 == 0)
    piece = asked.poured(asked.shop.now + 1.0)
    net = Net("new", piece.basis, piece.graph, untouched=True)
    calendar = Calendar(asked.shop.rota, asked.now_h)
    if asked.others:
        for start_h, end_h in planned(asked.others, asked.shop.rota, asked.shop.now).plan.taken_beside("new"):
            calendar.book(start_h, end_h - start_h)
    pours_h = half_hours(asked.now_h, asked.now_h + AHEAD_h)
    told: list[tuple[int, int]] = []
    found, judged = best_of_days(lambda _h: net, calendar, pours_h, BEST, lambda *done: told.append(done))
    assert told == sorted(told)
    assert told[-1] == (judged, judged)
    fresh = Net("new", piece.basis, piece.graph, untouched=True)  # what the picking asked left nothing behind
    choices = judge(lambda _h: fresh, calendar, pours_h)
    assert len(choices) == judged
    return [choice.pour_h for choice in found], plainly(choices, asked.shop.rota.zone, BEST), judged, seed


def test_they_are_the_ones_that_judging_all_would_give() -> None:
    other = [(seed, found, plain) for found, plain, _, seed in map(both, range(SEEDS)) if found != plain]
    assert other == []


def test_no_key_is_smaller_than_its_bound() -> None:
    """That is what the picking rests on. Who mixes for longer than the hours are is not there for all of it, whatever
    the crew does then; where the form is not built, or it is too cold, much bars a pour at once."""
    mix = 'hands_on = "90 min"\nbefore = "pour"\ncrew = 2'
    form = 'hands_on = "2 h"\nbefore = "mix"\nlead = "24 h"\nnot_before = { air = { from = "10 degC" } }'
    steps = (
        step("form", form, after="")
        + step("mix", mix, after="form", kind="place")
        + step("pour", after="mix", kind="place")
        + step("strip", 'not_before = { age = "24 h" }\nhands_on = "30 min"')
    )
    for temp_degC in (2.0, 15.0):
        for hours in ("daily 12:00-13:00", "Mon-Fri 18:00-21:00, Sat 8:00-18:00"):
            shop = rota(hours, crew_hours="Wed 6:00-20:00", crew=2)
            piece = prepared(steps, steady(temp_degC), 1.0, name="new", planned=30.0)
            net, now_h = Net("new", piece.basis, piece.graph, untouched=True), to_h(at(1.0))
            calendar, pours_h = Calendar(shop, now_h), half_hours(now_h, now_h + 7 * 24.0)
            choices = judge(lambda _h, net=net: net, calendar, pours_h)
            net = Net("new", piece.basis, piece.graph, untouched=True)
            bounds = _Bounds(lambda _h, net=net: net, calendar, pours_h)
            assert [choice.faults for choice in choices if choice.key < bounds(choice.pour_h)] == []
            found, _ = best_of_days(lambda _h, net=net: net, calendar, pours_h, BEST)
            assert [choice.pour_h for choice in found] == plainly(choices, shop.zone, BEST)


def test_a_pour_that_is_only_thought_of_in_the_past_takes_nothing_from_those_to_come() -> None:
    """Of each six hours the first pour is asked for a bound, though it may have passed: its fresh work would be over.
    The same net is asked for all others."""
    steps = step("pour", after="", kind="place") + step(
        "vibrate", 'no_later = { wait = "30 min", else = "Leave it." }\nhands_on = "15 min"', kind="place"
    )
    piece = prepared(steps, steady(20.0), 5.5, name="new", planned=30.0)
    net, now_h = Net("new", piece.basis, piece.graph, untouched=True), to_h(at(5.5))
    best_of_days(lambda _h: net, Calendar(rota(), now_h), half_hours(now_h, now_h + 24.0), BEST)
    vibrate = net.jobs[net.number["vibrate"]]
    assert (vibrate.need.hands_h, vibrate.nobody) == (0.25, False)
    net.pour_at(replace(net.basis, pour_h=now_h - 4.0, first_h=now_h - 4.0))
    assert vibrate.nobody
    net.pour_at(replace(net.basis, pour_h=now_h + 4.0, first_h=now_h + 4.0))
    assert (vibrate.need.hands_h, vibrate.nobody) == (0.25, False)
