"""What must hold for any shop and any maker. Found examples are the same on every run (derandomize)."""

from datetime import UTC, timedelta
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Forecast, Reading
from curetrack.profile.shelf import shipped
from curetrack.timeline.solve import solve
from curetrack.timeline.types import Line, Timeline
from tests.profile.docs import SLAB, WITH_BASIN, loaded
from tests.timeline.lives import LIFE, forecasts, lives, waves, weathers
from tests.timeline.making import POUR_H, at, band, done, hours, numbered, piece, poured, profile, solved, step

SOME = settings(derandomize=True, deadline=None, max_examples=40, database=None)
FEW = settings(SOME, max_examples=20)
SECOND = timedelta(seconds=1)
SHIPPED = tuple(name for name, _ in shipped())

HEATED = [
    'maturity = "46 h"', 'strength = "3.5 MPa"', 'strength = "12 MPa"', 'set = "initial"', 'set = "final"',
    'handling = "flat-ends"', 'hardening = "24 h"', 'hardening = { time = "24 h", of = "slurry" }',
]  # fmt: skip
BOUNDED = [*HEATED, 'air = { from = "10 degC", for = "6 h" }', 'slab = { from = "9 degC" }']


def asked(rule: str, course: Course, now: float = 0.0) -> Line:
    """The line of a step with that rule, after a step done 12 h after the pour."""
    steps = step("fill") + step("go", f'not_before = {{ {rule} }}\nhold = true\ncheck = "Look."', after="fill")
    found = solve(piece(), profile(steps), numbered([poured(), done("fill", 12.0)]), course, at(now)).line("go")
    assert found is not None
    return found


def moments(line: Line) -> tuple[float, float, float]:
    """Band's start, ready_at, band's end; inf: not in sight. A band whose end is not in sight is not shown; then it is
    the start of the hand check that tells."""
    ready = hours(line.ready_at)
    first, last = band(line) if line.band is not None else (hours(line.check_from), inf)
    return inf if first is None else first, inf if ready is None else ready, last


# --- heat ------------------------------------------------------------------------------------------------------------


@SOME
@given(
    readings=waves(), more=st.lists(st.floats(0.0, 9.0), min_size=4, max_size=30), rule=st.sampled_from(HEATED),
    ahead=st.floats(1.0, 30.0),
)  # fmt: skip
def test_more_heat_never_makes_a_step_later(
    readings: list[Reading], more: list[float], rule: str, ahead: float
) -> None:
    warmer = [
        replace(one, temp_degC=(one.temp_degC or 0.0) + more[k % len(more)]) for k, one in enumerate(readings)
    ]  # fmt: skip
    cold, warm = (
        moments(asked(rule, build_course(some, Forecast("steady", POUR_H + 120.0, ahead + extra), UTC)))
        for some, extra in ((readings, 0.0), (warmer, more[0]))
    )
    # the course promises its integrals to 0.05 %
    assert all(later <= sooner + 1e-3 + 5e-4 * sooner for later, sooner in zip(warm, cold, strict=True))


@FEW
@given(rule=st.sampled_from(HEATED), temps=st.tuples(st.floats(0.5, 40.0), st.floats(0.0, 10.0)))
def test_nor_does_a_steadily_warmer_shop(rule: str, temps: tuple[float, float]) -> None:
    cold, warm = (
        moments(asked(rule, build_course([Reading(POUR_H + k, temp) for k in range(-3, 900)], None, UTC)))
        for temp in (temps[0], temps[0] + temps[1])
    )
    assert all(later <= sooner + 2.0 / 3600.0 for later, sooner in zip(warm, cold, strict=True))


# --- gaps ------------------------------------------------------------------------------------------------------------


@SOME
@given(data=st.data(), rule=st.sampled_from(BOUNDED))
def test_a_gap_in_the_readings_never_narrows_a_band(data: st.DataObject, rule: str) -> None:
    readings = data.draw(waves())
    first = data.draw(st.integers(20, len(readings) - 6))
    last = data.draw(st.integers(first + 2, min(first + 60, len(readings) - 2)))
    kept = readings[:first] + readings[last:]
    from_h, to_h = kept[first - 1].at_h, kept[first].at_h
    around = [one.temp_degC or 0.0 for one in kept if from_h - 24.0 <= one.at_h <= to_h + 24.0]
    beyond = min(5.0, 2.0 + (to_h - from_h - 2.0) / 4.0)  # the design and its plausible range: ours, common practice
    low, high = min(around) - beyond, max(around) + beyond
    lost = [replace(one, temp_degC=min(max(one.temp_degC or 0.0, low), high)) for one in readings[first:last]]
    known, gap = (moments(asked(rule, build_course(some, None, UTC))) for some in ([*kept, *lost], kept))
    slack = 1e-3 + 5e-4 * known[0]
    if rule in HEATED or gap[2] < inf:  # of air and slab only a whole band tells where it starts
        assert gap[0] <= known[0] + slack
    assert gap[2] >= known[2] - slack or gap[2] == known[2]


# --- any life --------------------------------------------------------------------------------------------------------


def any_life(data: st.DataObject) -> tuple[list[Event], float, Course]:
    facts, now = data.draw(lives())
    return facts, now, data.draw(weathers(min(now, 400.0)))


def checked(timeline: Timeline, now: float) -> None:
    for line in timeline.lines:
        assert line.state in ("waiting", "ready", "late", "done", "skipped")
        if line.band is not None:
            assert line.band_method is not None
            assert line.ready_at is not None
            assert line.band[0] <= line.band_method[0] <= line.ready_at <= line.band_method[1] <= line.band[1]
        if line.ready_at is None:
            assert line.band is None
        assert (line.state == "done") == (line.done_at is not None)
        is_open = line.state not in ("done", "skipped")
        assert line.open_to_do == (is_open and not line.waits_for)
        if line.state in ("ready", "late"):
            assert line.open_to_do
        if is_open and line.plan_at is not None:
            assert line.plan_at >= at(now) - SECOND
            if line.ready_at is not None and line.check_passed_at is None:
                assert line.plan_at >= line.ready_at - SECOND
        if line.state == "waiting" and line.open_to_do and not line.hold and line.ready_at is not None:
            assert line.ready_at > at(now)
        if line.hold and line.state == "ready" and line.check_passed_at is None and line.late_at is None:
            assert line.opens_at is not None
            assert line.opens_at <= at(now) + SECOND


@SOME
@given(data=st.data())
def test_bands_states_and_plans_are_in_order_for_any_life(data: st.DataObject) -> None:
    facts, now, course = any_life(data)
    checked(solve(piece(), LIFE, facts, course, at(now)), now)


@FEW
@given(data=st.data(), profile_id=st.sampled_from(SHIPPED), shape=st.sampled_from([SLAB, WITH_BASIN]))
def test_so_they_are_for_the_profiles_that_ship(data: st.DataObject, profile_id: str, shape) -> None:
    made = loaded(profile_id)
    order = [one.step for one in solved(made, build_course([], None, UTC), 0.0, of=piece(shape)).lines]
    facts, hour = [poured()], 0.5
    for name in order[: data.draw(st.integers(0, len(order)))]:
        hour += data.draw(st.sampled_from([0.2, 2.0, 9.0, 26.0]))
        facts.append(done(name, hour))
    checked(
        solve(piece(shape), made, numbered(facts), data.draw(weathers(min(hour, 300.0))), at(hour + 1.0)), hour + 1.0
    )


@FEW
@given(data=st.data())
def test_the_order_in_which_facts_are_recorded_changes_nothing(data: st.DataObject) -> None:
    facts, now, course = any_life(data)
    told = data.draw(st.permutations(facts))
    renumbered = numbered(told)  # recorded in that order
    expected = solve(piece(), LIFE, facts, course, at(now))
    assert solve(piece(), LIFE, told, course, at(now)) == expected
    assert solve(piece(), LIFE, renumbered, course, at(now)) == expected


@FEW
@given(data=st.data(), name=st.sampled_from(["strip", "flip", "look", "seal-1", "mist", "wax"]))
def test_a_fact_that_is_withdrawn_leaves_no_trace(data: st.DataObject, name: str) -> None:
    facts, now, course = any_life(data)
    before = solve(piece(), LIFE, facts, course, at(now))
    extra = replace(done(name, now - 0.03), id=999)
    solve(piece(), LIFE, [*facts, extra], course, at(now))
    solve(piece(), LIFE, facts, course.with_reading(Reading(POUR_H + now - 0.2, 3.0)), at(now))
    assert solve(piece(), LIFE, facts, course, at(now)) == before


@SOME
@given(data=st.data())
def test_what_is_next_is_the_same_in_the_short_and_the_full_solve(data: st.DataObject) -> None:
    facts, now, course = any_life(data)
    full = solve(piece(), LIFE, facts, course, at(now))
    short = solve(piece(), LIFE, facts, course, at(now), only_next=True)
    soon = at(now + 24.0)
    expected = [
        line for line in full.lines
        if line.state not in ("done", "skipped") and (line.open_to_do or (line.plan_at and line.plan_at <= soon))
    ]  # fmt: skip
    assert list(short.lines) == expected


@FEW
@given(data=st.data(), now=st.floats(-60.0, -0.5), done_so_far=st.integers(0, 2), describes=st.booleans())
def test_so_it_is_before_a_planned_pour(data: st.DataObject, now: float, done_so_far: int, describes: bool) -> None:
    made = LIFE if describes else replace(LIFE, steps=tuple(s for s in LIFE.steps if s.id != "pour"))
    facts = numbered([done(name, now - 3.0 + k) for k, name in enumerate(("form", "joints")[:done_so_far])])
    course = build_course(
        [r for r in data.draw(waves(until=1.0)) if r.at_h <= POUR_H + now], data.draw(forecasts(now)), UTC
    )
    full, short = (solve(piece(planned=0.0), made, facts, course, at(now), only_next=only) for only in (False, True))
    checked(full, now)
    soon = at(now + 24.0)
    assert list(short.lines) == [
        line for line in full.lines
        if line.state not in ("done", "skipped") and (line.open_to_do or (line.plan_at and line.plan_at <= soon))
    ]  # fmt: skip


@pytest.mark.parametrize("profile_id", SHIPPED)
def test_what_is_next_is_the_same_all_through_the_life_of_a_shipped_piece(profile_id: str) -> None:
    made, course = (
        loaded(profile_id),
        build_course([Reading(POUR_H + k, 17.0, 55.0) for k in range(-30, 900)], None, UTC),
    )
    facts, now = [poured()], 0.5
    for _ in range(12):
        full, short = (
            solve(piece(SLAB), made, numbered(facts), course, at(now), only_next=only) for only in (False, True)
        )
        soon = at(now + 24.0)
        expected = [
            line for line in full.lines
            if line.state not in ("done", "skipped") and (line.open_to_do or (line.plan_at and line.plan_at <= soon))
        ]  # fmt: skip
        assert list(short.lines) == expected
        facts += [done(line.step, now) for line in full.lines if line.open_to_do]
        now += 17.0
