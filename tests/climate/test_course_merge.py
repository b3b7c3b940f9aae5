"""Readings of several places, owners and instants become one track."""

from datetime import UTC
from itertools import permutations

import pytest

from curetrack.climate.course import Course, build_course
from curetrack.facts import Place, Reading
from tests.climate.course_histories import START_H


def at(
    hours: float, temp: float, place: Place = "slab", piece: str = "", number: int = 0, said: float = 0.0
) -> Reading:
    return Reading(START_H + hours, temp_degC=temp, place=place, piece=piece, id=number, recorded_h=said)


def temps(course: Course, hours: list[float], channel: str = "slab") -> list[float]:
    return [course.temp_degC(START_H + hour, channel) for hour in hours]  # type: ignore[arg-type]


def test_air_does_not_count_where_the_slab_is_read_at_least_every_two_hours() -> None:
    course = build_course([at(0, 20), at(1, 5, "air"), at(2, 22)], None, UTC)
    assert temps(course, [0, 1, 2]) == [20.0, 21.0, 22.0]
    assert course.gaps == ()


def test_air_fills_in_where_the_slab_is_not_read_and_outside_where_neither_is() -> None:
    readings = [at(0, 20), at(8, 20), at(2, 10, "air"), at(4, 10, "air"), at(3, 0, "outside"), at(6, 0, "outside")]
    course = build_course(readings, None, UTC)
    assert temps(course, [0, 1, 2, 3, 4, 5, 6, 7, 8]) == [20.0, 15.0, 10.0, 10.0, 10.0, 5.0, 0.0, 10.0, 20.0]
    assert course.gaps == ()


def test_the_air_channel_turns_it_round() -> None:
    readings = [at(0, 10, "air"), at(8, 10, "air"), at(2, 20), at(4, 20), at(3, 0, "outside"), at(6, 0, "outside")]
    course = build_course(readings, None, UTC)
    assert temps(course, [0, 1, 2, 3, 4, 5, 6, 7, 8], "air") == [10.0, 15.0, 20.0, 20.0, 20.0, 10.0, 0.0, 5.0, 10.0]
    assert temps(course, [2, 3, 4]) == [20.0, 20.0, 20.0]


def test_one_place_serves_both_channels_and_water_none() -> None:
    for place in ("slab", "air", "outside"):
        course = build_course([at(0, 12, place)], None, UTC)  # type: ignore[arg-type]
        assert (course.temp_degC(START_H), course.temp_degC(START_H, "air")) == (12.0, 12.0)
        assert (course.slab_source, course.air_source) == (place, place)
    assert not build_course([at(0, 12, "water")], None, UTC).has_temperature


def test_the_source_is_the_place_of_the_last_reading_that_counts() -> None:
    course = build_course([at(0, 10, "air"), at(0, 20), at(1, 21), at(9, 22)], None, UTC)
    assert (course.slab_source, course.air_source) == ("slab", "slab")
    assert course.with_reading(at(10, 11, "air")).air_source == "air"


def test_own_readings_come_before_shared_ones_of_the_same_place_and_these_before_another_place() -> None:
    readings = [
        at(0, 15, piece="top"),
        at(2, 15, piece="top"),
        at(1, 30),
        at(4, 30),
        at(4, 5, "air", "top"),
        at(5, 5, "air"),
    ]
    course = build_course(readings, None, UTC)
    assert temps(course, [0, 1, 2, 3, 4, 5]) == [15.0, 15.0, 15.0, 22.5, 30.0, 30.0]


def test_after_the_last_slab_reading_air_counts_once_it_is_more_than_two_hours_on() -> None:
    course = build_course([at(0, 18), at(0.5, 8, "air"), at(1.9, 8, "air")], None, UTC)
    assert temps(course, [0, 1, 1.9]) == [18.0, 18.0, 18.0]
    assert course.measured_until_h == START_H
    later = course.with_reading(at(2.5, 7, "air"))
    assert temps(later, [0, 0.5, 1.9, 2.5]) == [18.0, 8.0, 8.0, 7.0]
    assert (later.measured_until_h, later.gaps) == (START_H + 2.5, ())


def test_before_the_first_slab_reading_air_counts_from_two_hours_back() -> None:
    assert build_course([at(0, 8, "air"), at(1.9, 18)], None, UTC).first_h == START_H + 1.9
    assert build_course([at(0, 8, "air"), at(2.1, 18)], None, UTC).first_h == START_H


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_at_one_instant_the_reading_recorded_last_wins(order: tuple[int, ...]) -> None:
    readings = [at(0, 10, number=3, said=1.0), at(0, 11, number=1, said=2.0), at(0, 12, number=2, said=2.0)]
    assert build_course([readings[k] for k in order], None, UTC).temp_degC(START_H) == 12.0
    course = build_course([], None, UTC)
    for k in order:
        course = course.with_reading(readings[k])
    assert course.temp_degC(START_H) == 12.0


def test_at_one_instant_the_higher_rank_wins() -> None:
    readings = [at(0, 10, "air"), at(0, 11), at(0, 12, piece="top"), at(0, 13, "outside")]
    course = build_course(readings, None, UTC)
    assert (course.temp_degC(START_H), course.temp_degC(START_H, "air")) == (12.0, 10.0)


def test_a_reading_without_a_temperature_does_not_hide_one_that_has() -> None:
    damp = Reading(START_H, humidity_pct=60.0, wind_m_s=2.0, id=9, recorded_h=9.0)
    course = build_course([at(0, 10), damp], None, UTC)
    assert (course.temp_degC(START_H), course.humidity_pct(START_H), course.wind_m_s(START_H)) == (10.0, 60.0, 2.0)
    assert build_course([at(0, 10)], None, UTC).humidity_pct(START_H) is None
    assert build_course([at(0, 10)], None, UTC).wind_m_s(START_H) is None


def test_humidity_is_straight_between_readings_however_far_apart() -> None:
    readings = [Reading(START_H + hour, humidity_pct=pct) for hour, pct in ((0.0, 40.0), (10.0, 60.0))]
    course = build_course(readings, None, UTC)
    assert [course.humidity_pct(START_H + hour) for hour in (-3.0, 0.0, 5.0, 99.0)] == [40.0, 40.0, 50.0, 60.0]
    assert course.humidity_until_h == START_H + 10.0
