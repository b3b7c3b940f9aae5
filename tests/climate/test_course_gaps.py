"""Gaps: the plausible range, its sides, and what holds before the first reading."""

from datetime import UTC
from math import inf

import pytest

from curetrack.climate.course import Course, Gap, build_course
from curetrack.concrete.maturity import NurseSaul
from curetrack.facts import Forecast, Reading
from tests.climate.course_histories import LAWS, START_H, readings_of


def course_of(nodes: list[tuple[float, float]], forecast: Forecast | None = None) -> Course:
    return build_course(readings_of(nodes), forecast, UTC)


@pytest.mark.parametrize(
    ("hours", "beyond_K"),
    [(2.1, 2.025), (6.0, 3.0), (10.0, 4.0), (14.0, 5.0), (40.0, 5.0)],  # 2 K over 2 h, 1 K per 4 h, 5 K at most
)
def test_a_gap_spans_the_readings_around_it_and_more_the_longer_it_is(hours: float, beyond_K: float) -> None:
    course = course_of([(0.0, 9.0), (1.0, 12.0), (1.0 + hours, 11.0), (2.0 + hours, 14.0)])
    (gap,) = course.gaps
    assert (gap.from_h, gap.to_h) == (START_H + 1.0, START_H + 1.0 + hours)
    assert (gap.cold_degC, gap.warm_degC) == pytest.approx((9.0 - beyond_K, 14.0 + beyond_K))


def test_two_hours_are_no_gap() -> None:
    assert course_of([(0.0, 9.0), (2.0, 12.0), (4.0, 11.0)]).gaps == ()


@pytest.mark.parametrize(("away_h", "counts"), [(24.0, True), (23.0, True), (24.5, False)])
def test_only_readings_within_a_day_of_a_gap_count_for_its_range(away_h: float, counts: bool) -> None:
    # 10 degC but for one cold reading before the gap of 6 h and one warm one after it; 3 K beyond
    before = {float(hour): 10.0 for hour in range(-40, 1)} | {-away_h: 0.0}
    after = {float(hour): 10.0 for hour in range(6, 46)} | {6.0 + away_h: 20.0}
    (gap,) = course_of(sorted((before | after).items())).gaps
    assert (gap.cold_degC, gap.warm_degC) == pytest.approx((-3.0, 23.0) if counts else (7.0, 13.0))


def test_the_sides_stand_at_the_ends_of_the_range_all_through_a_gap_and_nowhere_else() -> None:
    course = course_of([(0.0, 10.0), (1.0, 12.0), (7.0, 6.0), (8.0, 8.0)])
    for at_h, expected in ((0.5, (11.0,) * 3), (1.0, (12.0,) * 3), (1.01, (3.0, 11.99, 15.0)), (4.0, (3.0, 9.0, 15.0)),
                           (6.99, (3.0, 6.01, 15.0)), (7.0, (6.0,) * 3), (7.5, (7.0,) * 3)):  # fmt: skip
        sides = [course.temp_degC(START_H + at_h, side=side) for side in ("cold", "centre", "warm")]
        assert sides == pytest.approx(expected), at_h


def test_the_hours_gained_in_a_gap_are_those_of_its_ends() -> None:
    # by hand, datum 0 relative to 20 degC: 1 h at 11, 6 h at 9 (centre), 3 or 15, 1 h at 7
    course = course_of([(0.0, 10.0), (1.0, 12.0), (7.0, 6.0), (8.0, 8.0)])
    for side, in_gap in (("cold", 3.0), ("centre", 9.0), ("warm", 15.0)):
        gained = course.gained_h(NurseSaul(0.0), START_H, START_H + 8.0, side)
        assert gained == pytest.approx((11.0 + 6.0 * in_gap + 7.0) / 20.0)
        half_way = course.reach(NurseSaul(0.0), START_H, (11.0 + 3.0 * in_gap) / 20.0, side)
        if side != "centre":
            assert half_way == pytest.approx(START_H + 4.0)


def test_several_gaps_add_up() -> None:
    # every step of 3 h is a gap; cold: lowest within a day (5) less 2.25 K for 3 h; warm: 8 + 2.25
    nodes = [(3.0 * k, 5.0 + (k % 4)) for k in range(30)]
    course = course_of(nodes)
    assert len(course.gaps) == 29
    gained = course.gained_h(NurseSaul(0.0), START_H + 1.0, START_H + 61.0, "cold")
    assert gained == pytest.approx(60.0 * 2.75 / 20.0)
    assert course.gained_h(NurseSaul(0.0), START_H + 1.0, START_H + 61.0, "warm") == pytest.approx(60.0 * 10.25 / 20.0)


def test_a_reading_in_a_gap_closes_it() -> None:
    course = course_of([(0.0, 10.0), (3.5, 10.0)])
    assert course.gaps
    assert course.with_reading(Reading(START_H + 1.7, temp_degC=10.0, id=9)).gaps == ()


def test_a_reading_soon_after_a_gap_widens_its_range() -> None:
    course = course_of([(0.0, 10.0), (6.0, 10.0)])
    course.gained_h(NurseSaul(0.0), START_H, START_H + 10.0, "cold")
    later = course.with_reading(Reading(START_H + 7.0, temp_degC=2.0, id=9))
    assert later.gaps == (Gap(START_H, START_H + 6.0, -1.0, 13.0),)
    assert later.gained_h(NurseSaul(0.0), START_H, START_H + 6.0, "cold") == 0.0


def test_the_first_reading_holds_backwards_for_two_hours() -> None:
    course = course_of([(0.0, 10.0), (1.0, 12.0)])
    for side in ("cold", "centre", "warm"):
        assert course.temp_degC(START_H - 1.9, side=side) == 10.0
    assert course.gained_h(NurseSaul(0.0), START_H - 2.0, START_H, "cold") == pytest.approx(1.0)


def test_earlier_than_that_is_a_gap_that_widens_backwards() -> None:
    # the range of the first day, 10 to 12, and as for a gap of that length: 3 K at 6 h, 5 K from 14 h on
    course = course_of([(0.0, 10.0), (1.0, 12.0)])
    for back_h, beyond_K in ((6.0, 3.0), (14.0, 5.0), (100.0, 5.0)):
        assert course.temp_degC(START_H - back_h, side="cold") == pytest.approx(10.0 - beyond_K)
        assert course.temp_degC(START_H - back_h, side="centre") == 10.0
        assert course.temp_degC(START_H - back_h, side="warm") == pytest.approx(12.0 + beyond_K)


def test_gaps_within_a_stretch_tell_of_the_time_before_the_first_reading() -> None:
    course = course_of([(0.0, 10.0), (1.0, 12.0), (7.0, 11.0), (8.0, 11.0)])
    head, gap = course.gaps_within(START_H - 6.0, START_H + 3.0)
    assert (head.from_h, head.to_h) == (START_H - 6.0, START_H - 2.0)
    assert (head.cold_degC, head.warm_degC) == pytest.approx((7.0, 15.0))
    assert gap == course.gaps[0]
    assert course.gaps_within(START_H - 1.5, START_H + 1.0) == ()


@pytest.mark.parametrize("law", LAWS, ids=repr)
def test_sides_are_one_where_everything_is_measured(law: object) -> None:
    course = course_of([(float(hour), 4.0 + hour % 7) for hour in range(30)])
    gained = {course.gained_h(law, START_H, START_H + 29.0, side) for side in ("cold", "centre", "warm")}  # type: ignore[arg-type]
    assert len(gained) == 1


def test_frost_in_a_gap_shows_on_the_cold_side_only() -> None:
    course = course_of([(0.0, 3.0), (1.0, 3.0), (12.0, 2.0), (13.0, 4.0)])
    assert course.first_below("slab", 0.0, START_H, START_H + 13.0) is None
    assert course.first_below("slab", 0.0, START_H, START_H + 13.0, "cold") == START_H + 1.0
    assert course.minimum("slab", START_H, START_H + 13.0, "cold")[0] == pytest.approx(2.0 - 2.0 - 9.0 / 4.0)
    assert course.minimum("slab", START_H, inf)[0] == 2.0
