"""Bands: over the rate laws and the spread (method), and over gaps and the forecast (weather)."""

import pytest

from curetrack.facts import Forecast, ForecastPoint
from tests.timeline.making import (
    POUR_H,
    SAUL,
    LONG_h,
    band,
    band_method,
    course,
    done,
    hourly,
    hours,
    levels,
    line,
    poured,
    profile,
    reading,
    ready,
    solved,
    steady,
    step,
)
from tests.timeline.oracle import BAND, CENTRE, OWN, band_of, en1992_h, hyperbola_h, reach_h, saul, set_h, steady_h

SECOND = 1.0 / 1800.0  # instants are shown to the second
COURSE = 5e-4  # what the course promises of its integrals, relative


def over(laws: tuple, temp_degC: float, early_h: float, late_h: float) -> tuple[float, float]:
    """First and last moment at a steady temperature, by hand: need over rate."""
    return min(steady_h(law, temp_degC, early_h) for law in laws), max(steady_h(law, temp_degC, late_h) for law in laws)


def found_for(rule: str, weather, **more: object):
    made = profile(step("go", f"not_before = {{ {rule} }}"), **more)
    return line(solved(made, weather, 1.0), "go")


# --- method ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("temp_degC", [2.0, 8.0, 15.0, 20.0, 28.0, 35.0])
def test_maturity_spans_the_rate_laws(temp_degC: float) -> None:
    found = found_for('maturity = "24 h"', steady(temp_degC))
    assert band(found) == pytest.approx(over(BAND, temp_degC, 24.0, 24.0), abs=SECOND)


def test_case_c1_the_band_at_8_degC_is_40_to_60_hours() -> None:
    # acceptance case C1: strip at 24 eq h, poured Sat 10:00: band Mon 02:00 to Mon 22:00
    found = found_for('maturity = "24 h"', steady(8.0), maturity=SAUL)
    assert band(found) == pytest.approx((40.0, 60.0), abs=SECOND)


def test_on_measured_temperatures_the_weather_part_is_nil() -> None:
    found = found_for('strength = "3.5 MPa"', course(levels((-30.0, 12.0), (8.0, 4.0), (20.0, 16.0))))
    assert found.band == found.band_method


def test_maturity_through_stairs_spans_the_integrals_of_all_laws() -> None:
    readings = levels((-30.0, 12.0), (8.0, 3.0), (13.0, -4.0), (20.0, 16.0), (40.0, 27.0))
    nodes = [(one.at_h - POUR_H, one.temp_degC) for one in readings]
    moments = [reach_h(law, nodes, 0.0, 30.0) for law in BAND]
    found = found_for('maturity = "30 h"', course(readings))
    assert band(found) == pytest.approx((min(moments), max(moments)), rel=COURSE)
    assert ready(found) == pytest.approx(reach_h(CENTRE, nodes, 0.0, 30.0), rel=COURSE)


@pytest.mark.parametrize("temp_degC", [6.0, 20.0, 30.0])
def test_strength_spans_the_mixs_spread_as_well(temp_degC: float) -> None:
    # fastest: the mix is 25 % stronger than said and the fastest law is right; slowest: 25 % weaker, slowest law
    found = found_for('strength = "3.5 MPa"', steady(temp_degC))
    expected = over(BAND, temp_degC, hyperbola_h(3.5 / 1.25), hyperbola_h(3.5 / 0.75))
    assert band_method(found) == pytest.approx(expected, abs=SECOND)


@pytest.mark.parametrize(("need_MPa", "early_h", "late_h"), [(3.5, 17.0, 24.0), (9.0, 36.0, 68.0)])
def test_the_strip_and_flip_bands_at_20_degC_are_those_of_the_profiles_page(
    need_MPa: float, early_h: float, late_h: float
) -> None:
    # common practice, Mixes: with the strength uncertainty 3.5 MPa at 17 to 24 eq h, 9 MPa at 36 to 68 (rounded there)
    assert band(found_for(f'strength = "{need_MPa} MPa"', steady(20.0))) == pytest.approx((early_h, late_h), abs=0.6)


def test_handling_spans_the_mixs_spread_as_well() -> None:
    need_MPa = (1.5 * 2.0 * 0.75 * 2350.0 * 9.80665 * 1.2**2 / 0.04 * 1e-6 / 0.62) ** 2
    found = found_for('handling = "flat-ends"', steady(20.0))
    expected = hyperbola_h(need_MPa / 1.25), hyperbola_h(need_MPa / 0.75)
    assert band(found) == pytest.approx(expected, abs=SECOND)


def test_a_narrower_spread_narrows_strength_and_leaves_maturity_alone() -> None:
    rules = 'strength = "3.5 MPa"', 'maturity = "24 h"'
    wide, narrow = (
        [band(found_for(rule, steady(9.0), spread=spread)) for rule in rules] for spread in ("40 %", "10 %")
    )
    assert narrow[0] == pytest.approx(over(BAND, 9.0, hyperbola_h(3.5 / 1.1), hyperbola_h(3.5 / 0.9)), abs=SECOND)
    assert wide[0][0] < narrow[0][0] < narrow[0][1] < wide[0][1]
    assert wide[1] == narrow[1]


@pytest.mark.parametrize("temp_degC", [8.0, 29.0])
def test_a_set_spans_the_tables_law_besides(temp_degC: float) -> None:
    found = found_for('set = "final"', steady(temp_degC))
    moments = [set_h(temp_degC, 7.0), *(steady_h(law, temp_degC, 7.0) for law in BAND)]
    assert ready(found) == pytest.approx(moments[0], abs=SECOND)
    assert band(found) == pytest.approx((min(moments), max(moments)), abs=SECOND)


def test_the_capped_law_belongs_to_the_band_and_so_does_the_own_one() -> None:
    # own Nurse-Saul, datum 0: at 30 degC it credits 30/20, the cap (datum -10) 40/30; the fastest is Arrhenius, 40 kJ
    laws = band_of(saul(0.0))
    found = found_for('maturity = "24 h"', steady(30.0), maturity=SAUL.replace("-10", "0"))
    assert ready(found) == pytest.approx(24.0 / (40.0 / 30.0), abs=SECOND)
    assert band(found) == pytest.approx(over(laws, 30.0, 24.0, 24.0), abs=SECOND)
    assert band(found)[1] == ready(found)


@pytest.mark.parametrize("growth", [
    'growth = { law = "en1992", s = 0.25 }', 'growth = { law = "aci209", a = 4.0, b = 0.85 }',
])  # fmt: skip
def test_growth_without_a_dormant_time_meets_nothing_before_24_equivalent_hours(growth: str) -> None:
    # the design. EN 1992-1-1 alone would give 27 x 0.34 = 9.2 MPa at one day: 1 MPa is there "at once"
    found = found_for('strength = "1 MPa"', steady(20.0), growth=growth)
    assert band(found) == pytest.approx((24.0, 24.0), abs=SECOND)
    cold = found_for('strength = "1 MPa"', steady(8.0), growth=growth)
    assert band(cold) == pytest.approx(over(BAND, 8.0, 24.0, 24.0), abs=SECOND)


def test_en1992_growth_beyond_a_day_follows_equation_3_2() -> None:
    found = found_for('strength = "15 MPa"', steady(20.0), growth='growth = { law = "en1992", s = 0.25 }')
    expected = [en1992_h(15.0 / factor, s28=27.0, s=0.25) for factor in (1.25, 1.0, 0.75)]
    assert (band(found)[0], ready(found), band(found)[1]) == pytest.approx(tuple(expected), abs=SECOND)


def test_hardening_spans_the_laws_from_the_done_time_of_the_predecessor() -> None:
    made = profile(step("fill") + step("sand", 'not_before = { hardening = "24 h" }', after="fill"))
    found = line(solved(made, steady(12.0), 60.0, poured(), done("fill", 50.0)), "sand")
    first, last = over(BAND, 12.0, 24.0, 24.0)
    assert band(found) == pytest.approx((50.0 + first, 50.0 + last), abs=SECOND)


def test_case_g1_the_slurry_of_saturday_evening() -> None:
    # acceptance case G1: fill Sat 20:00 at 12 degC, 24 eq h: Mon 04:45 to 12:00 (32.75 to 40 h later)
    made = profile(step("fill") + step(
        "sand", 'not_before = { hardening = { time = "24 h", of = "slurry" } }', after="fill",
    ))  # fmt: skip
    found = line(solved(made, steady(12.0), 1.0, poured(), done("fill", 0.5)), "sand")
    assert band(found) == pytest.approx((0.5 + 24.0 * 30.0 / 22.0, 0.5 + 40.0), abs=SECOND)


def test_several_rules_take_the_latest_end_of_each() -> None:
    found = found_for('strength = "3.5 MPa", age = "20 h"', steady(20.0))
    assert band(found) == pytest.approx((20.0, hyperbola_h(3.5 / 0.75)), abs=SECOND)
    assert hyperbola_h(3.5 / 1.25) < 20.0


# --- weather ---------------------------------------------------------------------------------------------------------


def test_a_forecast_widens_the_band_by_2_K_growing_to_5_K_in_three_days() -> None:
    # the design: the warm side 13 degC at once and 16 degC from 72 h on, the cold side 9 and 6
    weather = course(hourly(11.0, until=0.0), Forecast("steady", POUR_H, 11.0))
    found = found_for('maturity = "60 h"', weather)
    warm, cold = ([(0.0, 11.0 + 2.0 * s), (72.0, 11.0 + 5.0 * s), (900.0, 11.0 + 5.0 * s)] for s in (1.0, -1.0))
    first = min(reach_h(law, warm, 0.0, 60.0) for law in BAND)
    last = max(reach_h(law, cold, 0.0, 60.0) for law in BAND)
    assert band(found) == pytest.approx((first, last), rel=COURSE)
    assert band_method(found) == pytest.approx(over(BAND, 11.0, 60.0, 60.0), abs=SECOND)


def test_weather_and_spread_add_up_in_a_strength() -> None:
    weather = course(hourly(11.0, until=0.0), Forecast("steady", POUR_H, 11.0))
    found = found_for('strength = "3.5 MPa"', weather)
    warm, cold = ([(0.0, 11.0 + 2.0 * s), (72.0, 11.0 + 5.0 * s), (900.0, 11.0 + 5.0 * s)] for s in (1.0, -1.0))
    first = min(reach_h(law, warm, 0.0, hyperbola_h(3.5 / 1.25)) for law in BAND)
    last = max(reach_h(law, cold, 0.0, hyperbola_h(3.5 / 0.75)) for law in BAND)
    assert band(found) == pytest.approx((first, last), rel=COURSE)


def test_the_weather_alone_is_the_own_law_on_the_warm_and_the_cold_course() -> None:
    # at 11 degC the centre is the own law, so that the two sides are asked by it alone, with the need as it is
    weather = course(hourly(11.0, until=0.0), Forecast("steady", POUR_H, 11.0))
    for rule, need_h in (('maturity = "60 h"', 60.0), ('strength = "3.5 MPa"', hyperbola_h(3.5))):
        found = found_for(rule, weather)
        warm, cold = ([(0.0, 11.0 + 2.0 * s), (72.0, 11.0 + 5.0 * s), (900.0, 11.0 + 5.0 * s)] for s in (1.0, -1.0))
        assert found.band_weather is not None
        first, last = (hours(end) for end in found.band_weather)
        assert first == pytest.approx(reach_h(OWN, warm, 0.0, need_h), rel=COURSE)
        assert last == pytest.approx(reach_h(OWN, cold, 0.0, need_h), rel=COURSE)


def test_measured_the_weather_alone_is_one_moment() -> None:
    found = found_for('strength = "3.5 MPa"', steady(12.0))
    assert found.band_weather == (found.ready_at, found.ready_at)


def test_an_opening_rule_keeps_its_weather_part() -> None:
    points = tuple(ForecastPoint(POUR_H + k, min(5.0 + k, 20.0)) for k in range(40))
    found = found_for(
        'air = { from = "10 degC" }', course(hourly(5.0, until=0.0), Forecast("points", POUR_H, points=points))
    )
    assert found.band_weather == found.band


def test_only_the_part_of_the_wait_that_lies_ahead_is_uncertain() -> None:
    # measured to 40 h; at 11 degC 24 eq h take 36 to 44 h by the slowest law
    weather = course(hourly(11.0, until=40.0), Forecast("steady", POUR_H, 11.0))
    found = line(solved(profile(step("go", 'not_before = { maturity = "24 h" }')), weather, 40.0), "go")
    first, last = over(BAND, 11.0, 24.0, 24.0)
    assert first < 40.0 < last
    assert band(found)[0] == pytest.approx(first, abs=SECOND)
    cold = [(0.0, 11.0), (40.0, 11.0), (40.0, 9.0), (112.0, 6.0), (900.0, 6.0)]
    assert band(found)[1] == pytest.approx(max(reach_h(law, cold, 0.0, 24.0) for law in BAND), rel=COURSE)


def test_a_gap_takes_the_coldest_and_warmest_plausible_temperature() -> None:
    # readings 12 degC, none from 6 h to 16 h: plausible 12 - 4 to 12 + 4 (2 K, and 1 K for each 4 h beyond 2 h)
    readings = [one for one in hourly(12.0) if not 6.0 < one.at_h - POUR_H < 16.0]
    found = found_for('maturity = "24 h"', course(readings))
    warm, cold = ([(0.0, 12.0), (6.0, 12.0), (6.0, 12.0 + 4.0 * s), (16.0, 12.0 + 4.0 * s), (16.0, 12.0),
                   (LONG_h, 12.0)] for s in (1.0, -1.0))  # fmt: skip
    first = min(reach_h(law, warm, 0.0, 24.0) for law in BAND)
    last = max(reach_h(law, cold, 0.0, 24.0) for law in BAND)
    assert band(found) == pytest.approx((first, last), rel=COURSE)
    assert ready(found) == pytest.approx(steady_h(OWN, 12.0, 24.0), abs=SECOND)
    assert band_method(found) == pytest.approx(over(BAND, 12.0, 24.0, 24.0), abs=SECOND)


def test_readings_two_hours_apart_are_no_gap() -> None:
    readings = [reading(2.0 * k, 12.0) for k in range(-15, 400)]
    found = found_for('maturity = "24 h"', course(readings))
    assert found.band == found.band_method


def test_readings_that_begin_after_the_pour_leave_the_time_before_open() -> None:
    found = found_for('maturity = "24 h"', course(hourly(12.0, since=8.0)))
    known = found_for('maturity = "24 h"', steady(12.0))
    assert band(found)[0] < band(known)[0] < band(known)[1] < band(found)[1]


def test_the_weather_moves_an_opening_rule_too() -> None:
    # the air rises from 5 degC by 1 K an hour from 0 h on; over 10 degC after 5 h by the centre
    points = tuple(ForecastPoint(POUR_H + k, min(5.0 + k, 20.0)) for k in range(40))
    weather = course(hourly(5.0, until=0.0), Forecast("points", POUR_H, points=points))
    found = found_for('air = { from = "10 degC" }', weather)
    # u = 2 + t/24: warm side 5 + t + 2 + t/24 = 10 at 2.88 h, cold side 5 + t - 2 - t/24 = 10 at 7.304 h
    assert ready(found) == pytest.approx(5.0, abs=SECOND)
    assert band(found) == pytest.approx((3.0 / (1.0 + 1.0 / 24.0), 7.0 / (1.0 - 1.0 / 24.0)), abs=SECOND)
    assert band_method(found) == pytest.approx((5.0, 5.0), abs=SECOND)


# --- the order of things ---------------------------------------------------------------------------------------------


def test_a_band_is_not_clipped_to_now_or_to_the_order_of_steps() -> None:
    made = profile(step("cover") + step("go", 'not_before = { strength = "3.5 MPa" }', after="cover"))
    early, late = (line(solved(made, steady(20.0), now), "go") for now in (1.0, 300.0))
    covered = line(solved(made, steady(20.0), 300.0, poured(), done("cover", 290.0)), "go")
    assert early.band == late.band == covered.band
    assert early.ready_at == late.ready_at == covered.ready_at


def test_ready_at_lies_inside_and_band_method_too() -> None:
    weather = course(hourly(9.0, until=5.0), Forecast("steady", POUR_H, 14.0))
    for rule in ('strength = "9 MPa"', 'maturity = "46 h"', 'set = "initial"', 'handling = "flat-ends"'):
        found = found_for(rule, weather)
        outer, inner, moment = band(found), band_method(found), hours(found.ready_at)
        assert moment is not None
        assert outer[0] <= inner[0] <= moment <= inner[1] <= outer[1]
