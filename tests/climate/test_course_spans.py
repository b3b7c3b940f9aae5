"""When a quantity lies between two values, its extremes, and the signals of several tracks."""

from datetime import UTC
from math import cos, inf, pi, sin

import psychrolib
import pytest
from scipy.integrate import quad

from curetrack.climate.course import Course, build_course
from curetrack.facts import DayRange, Forecast, Reading
from tests.climate.course_histories import START_H, readings_of

S = START_H
ZIGZAG = [(0.0, 8.0), (2.0, 12.0), (4.0, 8.0), (6.0, 16.0), (7.0, 16.0)]


def zigzag() -> Course:
    return build_course(readings_of(ZIGZAG), None, UTC)


def since_start(spans: list[tuple[float, float]]) -> list[float]:
    return [at_h - S for span in spans for at_h in span]


@pytest.mark.parametrize(
    ("low", "high", "from_h", "expected"),
    [  # by hand on straight lines of 2 K/h up, 2 K/h down, 4 K/h up, level
        (10.0, None, 0.0, [(1.0, 3.0), (4.5, inf)]),
        (None, 10.0, 0.0, [(0.0, 1.0), (3.0, 4.5)]),
        (10.0, 14.0, 0.0, [(1.0, 3.0), (4.5, 5.5)]),
        (10.0, 11.0, 0.0, [(1.0, 1.5), (2.5, 3.0), (4.5, 4.75)]),
        (10.0, 14.0, 2.0, [(2.0, 3.0), (4.5, 5.5)]),
        (10.0, None, 3.5, [(4.5, inf)]),
        (None, None, 1.0, [(1.0, inf)]),
        (8.0, 16.0, 1.0, [(1.0, inf)]),
        (16.0, 16.0, 0.0, [(6.0, inf)]),
        (12.0, None, 0.0, [(5.0, inf)]),  # the peak at 2 h touches 12 for an instant only
        (20.0, None, 0.0, []),
        (None, 7.0, 0.0, []),
        (16.0, None, 900.0, [(900.0, inf)]),
    ],
)
def test_spans_are_cut_where_the_lines_cross(
    low: float | None, high: float | None, from_h: float, expected: list[tuple[float, float]]
) -> None:
    found = zigzag().spans("slab", low, high, S + from_h)
    assert since_start(found) == pytest.approx([at_h for span in expected for at_h in span])


def test_spans_asked_from_earlier_and_later_agree() -> None:
    asked_late_first = zigzag()
    late = asked_late_first.spans("slab", 10.0, 14.0, S + 5.0)
    assert asked_late_first.spans("slab", 10.0, 14.0, S) == zigzag().spans("slab", 10.0, 14.0, S)
    assert asked_late_first.spans("slab", 10.0, 14.0, S + 5.0) == late


def test_the_sides_of_a_forecast_open_later_and_earlier() -> None:
    # 16 degC at the last reading; cold falls from 14 by 1 K a day to 11, warm rises from 18 to 21: somebody's word
    course = build_course(readings_of(ZIGZAG), Forecast("steady", S, temp_degC=16.0), UTC)
    (one,) = course.spans("slab", None, 20.0, S + 7.0, "warm")
    assert (one[0] - S, one[1] - S) == pytest.approx((7.0, 7.0 + 48.0))
    (two,) = course.spans("slab", None, 12.0, S + 8.0, "cold")
    assert (two[0] - S, two[1]) == pytest.approx((7.0 + 48.0, inf))


def test_a_gap_breaks_a_span_on_its_sides() -> None:
    course = build_course(readings_of([(0.0, 12.0), (1.0, 12.0), (7.0, 12.0), (8.0, 12.0)]), None, UTC)
    assert course.spans("slab", 10.0, None, S) == [(S, inf)]
    cold = course.spans("slab", 10.0, None, S, "cold")  # 12 - 3 K in the gap; 12 - 2 and falling after the last
    assert since_start(cold) == pytest.approx([0.0, 1.0, 7.0, 8.0])


def test_days_open_and_close_a_span_each_day() -> None:
    forecast = Forecast("days", S, days=(DayRange(0, 4.0, 16.0),))
    course = build_course([], forecast, UTC)
    spans = course.spans("slab", 10.0, None, S + 24.0)
    whole = [b - a for a, b in spans[1:20]]
    # 12 h by hand: 10 is half-way up a rise of 9 h and half-way down a fall of 15 h
    assert whole == pytest.approx([12.0] * len(whole), abs=0.02)


def test_extremes_and_when_they_are_first_there() -> None:
    course = zigzag()
    assert course.minimum("slab", S + 1.0, S + 5.0) == (8.0, S + 4.0)
    assert course.maximum("slab", S + 1.0, S + 5.0) == (12.0, S + 2.0)
    assert course.minimum("slab", S + 0.5, S + 1.5) == (9.0, S + 0.5)
    assert course.maximum("slab", S, inf) == (16.0, S + 6.0)
    assert course.minimum("slab", S + 3.0, S + 3.0) == (10.0, S + 3.0)
    low, at_h = course.minimum("slab", S, S + 500.0, "cold")
    assert (low, at_h) == (8.0, S)
    assert course.minimum("slab", S + 5.0, inf, "cold") == (11.0, S + 7.0 + 72.0)


@pytest.mark.parametrize(
    ("threshold", "from_h", "to_h", "expected"),
    [
        (10.0, 0.0, 9.0, 0.0),
        (10.0, 1.0, 9.0, 3.0),  # equal is not below
        (9.0, 2.0, 9.0, 3.5),
        (9.0, 2.0, 3.4, None),
        (8.0, 0.0, inf, None),
        (10.0, 4.2, inf, 4.2),
        (12.0, 4.9, 4.95, 4.9),
        (10.0, 5.0, inf, None),
    ],
)
def test_the_first_instant_below(threshold: float, from_h: float, to_h: float, expected: float | None) -> None:
    found = zigzag().first_below("slab", threshold, S + from_h, S + to_h)
    assert found == (None if expected is None else pytest.approx(S + expected))


def test_frost_ahead_on_the_cold_side() -> None:
    # last reading 3 degC: 1 at once, 0 a day later (2 K + 1 K/day), below 0 after that
    course = build_course(readings_of([(0.0, 3.0)]), Forecast("steady", S, temp_degC=3.0), UTC)
    assert course.first_below("slab", 0.0, S, S + 500.0) is None
    assert course.first_below("slab", 0.0, S, S + 500.0, "cold") == pytest.approx(S + 24.0)


# --- several tracks at once ------------------------------------------------------------------------------------------


def room(air: float, humidity: float, slab: float | None = None, wind: float | None = None) -> Course:
    readings = [Reading(S + hour, temp_degC=air, humidity_pct=humidity, wind_m_s=wind, place="air") for hour in (0, 1)]
    if slab is not None:
        readings += [Reading(S + hour, temp_degC=slab) for hour in (0, 1)]
    return build_course(readings, None, UTC)


@pytest.mark.parametrize(("air", "humidity", "slab"), [(20.0, 50.0, 18.0), (8.0, 85.0, 6.0), (25.0, 54.0, 14.0)])
def test_the_dew_margin_is_slab_less_dew_point(air: float, humidity: float, slab: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = slab - psychrolib.GetTDewPointFromRelHum(air, humidity / 100.0)
    course = room(air, humidity, slab)
    assert course.dew_margin_K(S + 0.5) == pytest.approx(expected, abs=0.05)  # 0.05 K between formulas
    found = course.spans("dew_margin", 3.0, None, S)
    assert found == ([(S, inf)] if expected >= 3.0 else [])


def test_the_dew_margin_closes_as_the_slab_cools() -> None:
    # slab falls from 20 to 10 in 2 h in air of 20 degC and 50 %, dew point 9.26: less than 3 K below 12.26 degC
    readings = [Reading(S + hour, temp_degC=20.0, humidity_pct=50.0, place="air") for hour in range(3)]
    course = build_course([*readings, *readings_of([(0.0, 20.0), (2.0, 10.0)])], None, UTC)
    psychrolib.SetUnitSystem(psychrolib.SI)
    dew = psychrolib.GetTDewPointFromRelHum(20.0, 0.5)
    (span,) = course.spans("dew_margin", 3.0, None, S)
    assert span[1] - S == pytest.approx((20.0 - dew - 3.0) / 5.0, abs=0.02)
    assert course.minimum("dew_margin", S, S + 2.0)[1] == pytest.approx(S + 2.0)


def test_both_sides_of_the_forecast_move_slab_and_air_together() -> None:
    course = room(20.0, 50.0, 18.0)
    for side in ("cold", "warm"):
        moved = course.temp_degC(S + 73.0, "slab", side)
        air = course.temp_degC(S + 73.0, "air", side)
        assert (moved - 18.0, air - 20.0) == pytest.approx((-5.0, -5.0) if side == "cold" else (5.0, 5.0))
        psychrolib.SetUnitSystem(psychrolib.SI)
        expected = moved - psychrolib.GetTDewPointFromRelHum(air, 0.5)
        assert course.dew_margin_K(S + 73.0, side) == pytest.approx(expected, abs=0.05)


def test_the_cool_gap_is_slab_less_air() -> None:
    readings = [Reading(S, temp_degC=10.0, place="air"), Reading(S + 2.0, temp_degC=12.0, place="air")]
    course = build_course([*readings, *readings_of([(0.0, 30.0), (2.0, 12.0)])], None, UTC)
    # 20 K falling by 10 K/h: 11 K after 0.9 h
    (span,) = course.spans("cool_gap", None, 11.0, S)
    assert (span[0] - S, span[1]) == pytest.approx((0.9, inf))


def test_without_humidity_nothing_is_said_of_dew_or_drying() -> None:
    course = zigzag()
    assert not course.has_humidity
    assert course.spans("dew_margin", 3.0, None, S) == []
    assert course.dew_margin_K(S) is None
    assert course.evaporation_kg_m2_h(S) is None
    assert (course.dried_h(S, S + 5.0), course.dry_reach(S, 5.0), course.evaporated(S, 0.1)) == (None, None, None)
    with pytest.raises(ValueError, match="has_humidity"):
        course.minimum("dew_margin", S, S + 1.0)


def test_drying_hours_are_hours_at_20_degC_and_50_percent() -> None:
    course = room(20.0, 50.0)
    assert course.dried_h(S, S + 24.0) == pytest.approx(24.0)
    assert course.dry_reach(S + 3.0, 24.0) == pytest.approx(S + 27.0)


def test_case_s1_72_drying_hours_at_15_degC_and_70_percent_take_about_165() -> None:
    # acceptance case S1: rate 0.44; independently, the deficit by psychrolib: (1 - 0.7) ps(15) / (0.5 ps(20))
    psychrolib.SetUnitSystem(psychrolib.SI)
    rate = 0.3 * psychrolib.GetSatVapPres(15.0) / (0.5 * psychrolib.GetSatVapPres(20.0))
    reached = room(15.0, 70.0).dry_reach(S, 72.0)
    assert reached == pytest.approx(S + 72.0 / rate, rel=0.002)
    assert reached == pytest.approx(S + 165.0, abs=1.5)


def test_warm_dry_air_is_credited_half_as_much_again_at_most() -> None:
    assert room(32.0, 20.0).dried_h(S, S + 10.0) == pytest.approx(15.0)
    assert room(20.0, 100.0).dry_reach(S, 1.0) is None


def test_dry_hours_follow_humidity_that_changes() -> None:
    # humidity rising straight to 100 % in 2 h at 20 degC: the rate goes 1 to 0, an hour's worth
    readings = [Reading(S, temp_degC=20.0, humidity_pct=50.0), Reading(S + 2.0, temp_degC=20.0, humidity_pct=100.0)]
    course = build_course(readings, None, UTC)
    assert course.dried_h(S, S + 2.0) == pytest.approx(1.0)
    assert course.dry_reach(S, 0.75) == pytest.approx(S + 1.0)  # x - x^2/4 = 0.75


def test_a_cold_forecast_dries_more_slowly() -> None:
    course = room(12.0, 60.0)
    moments = [course.dry_reach(S, 100.0, side) or inf for side in ("warm", "centre", "cold")]
    assert moments == sorted(moments)
    assert moments[0] < moments[1] < moments[2]


@pytest.mark.parametrize(("wind_m_s", "expected"), [(10.0 / 3.6, 0.68), (15.0 / 3.6, 0.93)])  # acceptance case C4
def test_case_c4_evaporation_on_a_hot_breezy_day(wind_m_s: float, expected: float) -> None:
    course = room(32.0, 35.0, slab=30.0, wind=wind_m_s)
    assert course.evaporation_kg_m2_h(S) == pytest.approx(expected, abs=0.005)
    assert course.evaporated(S, 0.5 * expected) == pytest.approx(S + 0.5, abs=0.005)


def test_still_air_is_taken_where_no_wind_is_known() -> None:
    assert room(20.0, 50.0, 20.0).evaporated(S, 0.1) == room(20.0, 50.0, 20.0, wind=0.0).evaporated(S, 0.1)


def test_a_sensor_under_a_lamp_does_not_stop_the_clock() -> None:
    course = room(75.0, 0.0, slab=66.0)
    assert course.dried_h(S, S + 2.0) == pytest.approx(3.0)
    assert course.dew_margin_K(S) is not None
    assert course.spans("dew_margin", 3.0, None, S)


def by_the_minute(hours: int) -> Course:
    instants = [(k + 0.2) / 60.0 for k in range(60 * hours + 1)]  # not on the minute, nor on any round hour
    waves = [(at_h, 14.0 + 6.0 * sin(pi * at_h / 12.0), 60.0 + 20.0 * cos(pi * at_h / 5.0)) for at_h in instants]
    return build_course([Reading(S + at_h, temp_degC=temp, humidity_pct=pct) for at_h, temp, pct in waves], None, UTC)


def test_drying_by_the_minute_is_the_integral_of_its_rate() -> None:
    # scipy over the smooth curves, with psychrolib's pressures: the formulas differ by 0.1 %, and straight lines
    # between one node in 10 minutes cost less than that
    psychrolib.SetUnitSystem(psychrolib.SI)
    unit = 0.5 * psychrolib.GetSatVapPres(20.0)

    def rate(at_h: float) -> float:
        share = 0.6 + 0.2 * cos(pi * at_h / 5.0)
        return min(1.5, (1.0 - share) * psychrolib.GetSatVapPres(14.0 + 6.0 * sin(pi * at_h / 12.0)) / unit)

    expected = quad(rate, 3.3, 40.0, limit=400)[0]
    assert by_the_minute(48).dried_h(S + 3.3, S + 40.0) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("from_h", [50.3, 56.0, 56.01])  # 56 h after the start is a midnight UTC
def test_drying_does_not_depend_on_what_was_asked_before(from_h: float) -> None:
    late_first, early_first = by_the_minute(72), by_the_minute(72)
    late = late_first.dried_h(S + from_h, S + 60.0)
    early = early_first.dried_h(S + 2.2, S + 60.0)
    assert early_first.dried_h(S + from_h, S + 60.0) == pytest.approx(late, abs=1e-11)
    assert late_first.dried_h(S + 2.2, S + 60.0) == pytest.approx(early, abs=1e-11)


def test_drying_on_the_sides_of_a_gap_stands_at_its_ends() -> None:
    # from 20 degC through a gap of 6 h, 17 to 23 degC: the rate there is that of the side all through
    readings = [Reading(S + hour, temp_degC=20.0, humidity_pct=60.0) for hour in (0.0, 1.0, 7.0, 8.0)]
    course = build_course(readings, None, UTC)
    psychrolib.SetUnitSystem(psychrolib.SI)
    for side, temp in (("cold", 17.0), ("centre", 20.0), ("warm", 23.0)):
        rate = 0.4 * psychrolib.GetSatVapPres(temp) / (0.5 * psychrolib.GetSatVapPres(20.0))
        assert course.dried_h(S + 1.0, S + 7.0, side) == pytest.approx(6.0 * rate, rel=0.002)
