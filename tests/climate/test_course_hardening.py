"""Equivalent hours along a course, and the moment they are reached, against an independent integral and hand sums."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from curetrack.climate.course import build_course
from curetrack.climate.curve import Curve
from curetrack.concrete.laws import RateLaw
from curetrack.concrete.maturity import Arrhenius, ColdSide, NurseSaul
from curetrack.facts import Reading
from curetrack.instants import from_h, to_h
from tests.climate.course_histories import LAWS, START_H, integral_h, readings_of, stairs, wave

NIGHT = [(4.0, 12.0), (4.0, 8.0), (1.0, 3.0), (6.0, -3.0), (3.0, 2.0), (60.0, 10.0)]  # acceptance case C2, from 16:00
HISTORIES = {
    "steady": [(0.0, 8.0), (1.5, 8.0), (3.5, 8.0), (5.5, 8.0)],
    "stairs": stairs(NIGHT),
    "mild wave": wave(96.0, 1.0, 14.0, 6.0),
    "wave through frost and heat": wave(96.0, 1.0, 12.0, 22.0),
    "wave read every 5 minutes": wave(30.0, 1.0 / 12.0, 10.0, 12.0),
    "sensor in steps of half a degree": [(k / 6.0, 0.5 * ((k * 7) % 5 - 2)) for k in range(200)],
    "steep": [(0.0, -8.0), (2.0, 36.0), (4.0, -5.0), (5.0, 0.0), (6.0, 0.0), (7.0, 21.0)],
}


@pytest.mark.parametrize("law", LAWS, ids=repr)
@pytest.mark.parametrize("name", HISTORIES)
def test_equivalent_hours_are_the_integral_of_the_rate(name: str, law: RateLaw) -> None:
    # 0.05 % is the accuracy that the course promises; scipy's own is far below it
    nodes = HISTORIES[name]
    course = build_course(readings_of(nodes), None, UTC)
    last_h = nodes[-1][0]
    for from_h_, to_h_ in ((0.0, last_h), (0.1 * last_h, 0.77 * last_h), (0.501 * last_h, 0.502 * last_h)):
        expected = integral_h(law, nodes, from_h_, to_h_)
        assert course.gained_h(law, START_H + from_h_, START_H + to_h_) == pytest.approx(expected, rel=5e-4, abs=1e-7)


def test_case_c1_steady_8_degC_takes_40_to_60_hours_for_24_equivalent_ones() -> None:
    # acceptance case C1, by hand: Nurse-Saul relative to 20 degC, 24 / ((8 + 10) / 30) = 40 h and 24 / (8 / 20) = 60 h
    course = build_course([Reading(START_H + hour, temp_degC=8.0, id=hour) for hour in range(97)], None, UTC)
    assert course.reach(NurseSaul(-10.0), START_H, 24.0) == pytest.approx(START_H + 40.0, abs=1e-6)
    assert course.reach(NurseSaul(0.0), START_H, 24.0) == pytest.approx(START_H + 60.0, abs=1e-6)
    assert course.gained_h(NurseSaul(-10.0), START_H, START_H + 24.0) == pytest.approx(14.4)  # C1: 9.6-14.4 eq h
    assert course.gained_h(NurseSaul(0.0), START_H, START_H + 24.0) == pytest.approx(9.6)


def test_case_c2_a_night_of_frost_credits_nothing_and_moves_the_strip() -> None:
    # acceptance case C2: 4.2-5.8 eq h when freezing began; strip (24 eq h) Mon 11:30 to Tue 01:10; its four laws
    pour_h = to_h(datetime(2026, 1, 10, 16, tzinfo=UTC))
    course = build_course(
        [Reading(pour_h + at_h, temp_degC=temp, id=k) for k, (at_h, temp) in enumerate(stairs(NIGHT))], None, UTC
    )
    froze_h = course.first_below("slab", 0.0, pour_h, pour_h + 48.0)
    assert froze_h == pytest.approx(pour_h + 9.0, abs=1.0 / 3600.0)  # 01:00, the edge is a second wide
    laws = [NurseSaul(0.0), NurseSaul(-10.0), Arrhenius(33_500.0 / 8.314462618), Arrhenius(40_000.0 / 8.314462618)]
    young = [course.gained_h(law, pour_h, froze_h) for law in laws]
    # by hand 4 x 12/20 + 4 x 8/20 + 3/20 = 4.15 and 4 x 22/30 + 4 x 18/30 + 13/30 = 5.77
    assert (min(young), max(young)) == pytest.approx((4.15, 5.77), abs=0.01)
    assert [course.gained_h(law, froze_h + 0.01, pour_h + 14.99) for law in laws] == [0.0] * 4
    moments = [course.reach(law, pour_h, 24.0) for law in laws]
    half_hour = 0.5  # the tolerance the acceptance cases state
    assert min(moments) == pytest.approx(to_h(datetime(2026, 1, 12, 11, 30, tzinfo=UTC)), abs=half_hour)
    assert max(moments) == pytest.approx(to_h(datetime(2026, 1, 13, 1, 10, tzinfo=UTC)), abs=half_hour)


def test_a_crossing_of_0_degC_within_a_piece_is_cut_exactly() -> None:
    # by hand: from -4 to 4 degC in 2 h, datum 0: the second hour counts, 2/20 on average
    course = build_course(readings_of([(0.0, -4.0), (2.0, 4.0)]), None, UTC)
    assert course.gained_h(NurseSaul(0.0), START_H, START_H + 2.0) == pytest.approx(0.1, rel=1e-9)
    assert course.gained_h(NurseSaul(0.0), START_H, START_H + 1.0) == 0.0
    assert course.reach(NurseSaul(0.0), START_H, 0.025) == pytest.approx(START_H + 1.5, abs=1e-6)
    # a law that jumps at 0 degC is not smeared over the crossing: scipy on the warm hour alone
    expected = integral_h(ColdSide(), [(1.0, 0.0), (2.0, 4.0)], 1.0, 2.0)
    assert course.gained_h(ColdSide(), START_H, START_H + 2.0) == pytest.approx(expected, rel=5e-4)


def test_a_part_beside_a_kink_is_integrated_to_the_fourth_order() -> None:
    # a piece of 8 K, not cut as a course would: Gauss's two points are off by h^4 / 4320 of the law's fourth
    # derivative, about 3e-5 of the whole here
    curve = Curve([0.0, 2.0], [-4.0, 4.0])
    expected = integral_h(ColdSide(), [(1.0, 0.0), (2.0, 4.0)], 1.0, 2.0)
    assert curve.gained_to(ColdSide(), 2.0) == pytest.approx(expected, rel=1e-4)


def test_a_sensor_that_rests_on_0_degC_earns_nothing_there() -> None:
    course = build_course(readings_of([(0.0, 1.0), (1.0, 0.0), (2.0, 0.0), (3.0, 1.0)]), None, UTC)
    for law in LAWS:
        assert course.gained_h(law, START_H + 1.0, START_H + 2.0) == 0.0


def test_an_amount_that_is_reached_as_the_frost_begins_is_not_put_off_until_it_ends() -> None:
    course = build_course(readings_of([(0.0, 10.0), (1.0, 10.0), (2.0, -5.0), (4.0, -5.0), (5.0, 10.0)]), None, UTC)
    thaw_to_frost_h = START_H + 1.0 + 2.0 / 3.0  # by hand: from 10 to -5 degC in an hour, 0 after 10/15 of it
    for law in LAWS:
        amount = course.gained_h(law, START_H + 0.3, START_H + 3.0)
        reached = course.reach(law, START_H + 0.3, amount)
        assert reached is not None
        assert START_H + 1.6 < reached <= thaw_to_frost_h + 1e-9


def test_a_late_reading_bends_the_line_that_stood_before_it() -> None:
    # from 10 to 20 degC in 2 h, then 4 degC turns up at 1 h; datum 0 by hand: 1 h at 7, 1 h at 12
    course = build_course(readings_of([(0.0, 10.0), (2.0, 20.0)]), None, UTC)
    assert course.gained_h(NurseSaul(0.0), START_H, START_H + 2.0) == pytest.approx(1.5)
    bent = course.with_reading(Reading(START_H + 1.0, temp_degC=4.0, id=9))
    assert bent.temp_degC(START_H + 0.1) == pytest.approx(9.4)
    assert bent.gained_h(NurseSaul(0.0), START_H, START_H + 2.0) == pytest.approx((7.0 + 12.0) / 20.0)
    corrected = bent.with_reading(Reading(START_H + 1.0, temp_degC=16.0, id=10))
    assert corrected.gained_h(NurseSaul(0.0), START_H, START_H + 2.0) == pytest.approx((13.0 + 18.0) / 20.0)
    assert course.gained_h(NurseSaul(0.0), START_H, START_H + 2.0) == pytest.approx(1.5)  # the old course is untouched


def test_after_the_last_reading_its_temperature_holds_for_ever() -> None:
    course = build_course(readings_of([(0.0, 4.0), (1.0, 10.0)]), None, UTC)
    assert course.reach(NurseSaul(0.0), START_H + 1.0, 5000.0) == pytest.approx(START_H + 1.0 + 10_000.0)
    assert course.gained_h(NurseSaul(0.0), START_H + 101.0, START_H + 201.0) == pytest.approx(50.0)


def test_frost_for_ever_never_reaches_anything() -> None:
    course = build_course(readings_of([(0.0, 4.0), (1.0, -6.0)]), None, UTC)
    assert course.reach(NurseSaul(0.0), START_H, 1.0) is None
    assert course.reach(NurseSaul(0.0), START_H, 0.0) == START_H
    assert course.reach(NurseSaul(0.0), START_H, 1.0, "warm") is None  # -6 + 5 K at most


def test_time_that_runs_backwards_gains_nothing() -> None:
    course = build_course(readings_of([(0.0, 8.0), (1.0, 8.0)]), None, UTC)
    assert course.gained_h(NurseSaul(0.0), START_H + 1.0, START_H) == 0.0


@pytest.mark.parametrize(
    ("zone", "pour", "expected"),
    [  # acceptance case W3, 24 eq h at 20 degC: elapsed time, so the clock on the wall moves
        ("Europe/Berlin", (2026, 3, 28, 20), "2026-03-29T21:00:00+02:00"),
        ("Europe/Berlin", (2026, 10, 24, 20), "2026-10-25T19:00:00+01:00"),
        ("America/New_York", (2026, 3, 7, 20), "2026-03-08T21:00:00-04:00"),
        ("America/New_York", (2026, 10, 31, 20), "2026-11-01T19:00:00-05:00"),
    ],
)
def test_a_clock_change_alters_no_duration(zone: str, pour: tuple[int, int, int, int], expected: str) -> None:
    local = ZoneInfo(zone)
    pour_h = to_h(datetime(*pour, tzinfo=local))
    readings = [Reading(pour_h + hour, temp_degC=20.0, id=hour) for hour in range(48)]
    reached = {
        build_course(readings, None, where).reach(NurseSaul(-10.0), pour_h, 24.0) for where in (local, UTC)
    }  # fmt: skip
    assert len(reached) == 1
    assert from_h(reached.pop() or 0.0).astimezone(local).isoformat() == expected


def test_a_course_without_any_temperature_says_so() -> None:
    course = build_course([Reading(START_H, humidity_pct=60.0)], None, UTC)
    assert not course.has_temperature
    assert course.measured_until_h is None
    with pytest.raises(ValueError, match="has_temperature"):
        course.temp_degC(START_H)
