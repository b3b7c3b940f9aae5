"""Each rule: the instant at which it holds, by an independent route; what is not known never passes."""

from math import sqrt

import pytest

from curetrack.facts import Forecast, ForecastPoint
from tests.timeline.making import (
    POUR_H,
    band,
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
    state,
    steady,
    step,
    unknown,
)
from tests.timeline.oracle import (
    CENTRE,
    OWN,
    dew_point_degC,
    drying_rate,
    hyperbola_h,
    reach_h,
    saul,
    set_h,
    steady_h,
)

SECOND = 1.0 / 1800.0  # instants are shown to the second
COURSE = 5e-4  # what the course promises of its integrals, relative

SAUL_0 = 'maturity = { law = "nurse-saul", datum = "0 degC", reference = "20 degC" }'
NIGHT = ((-30.0, 14.0), (6.0, 5.0), (16.0, -2.0), (19.0, 9.0), (40.0, 17.0))  # stairs with frost


def nodes_of(readings: list) -> list[tuple[float, float]]:
    return [(one.at_h - POUR_H, one.temp_degC) for one in readings]


def only(body: str, **more: object):
    """One step after a cover that comes after the pour."""
    return profile(step("cover", kind="cover") + step("go", body, after="cover"), **more)


# --- clock time ------------------------------------------------------------------------------------------------------


def test_wait_counts_clock_hours_from_the_predecessors_done_time() -> None:
    found = line(solved(only('not_before = { wait = "5 h" }'), steady(8.0), 4.0, poured(), done("cover", 3.0)), "go")
    assert (ready(found), band(found)) == (8.0, (8.0, 8.0))


def test_wait_counts_from_the_latest_of_several_predecessors() -> None:
    made = profile(step("a") + step("b") + step("go", 'after = ["a", "b"]\nnot_before = { wait = "1 h" }', after=""))
    found = line(solved(made, steady(8.0), 9.0, poured(), done("a", 7.0), done("b", 2.0)), "go")
    assert ready(found) == 8.0


def test_wait_counts_from_the_plan_of_a_predecessor_that_is_still_open() -> None:
    timeline = solved(only('not_before = { wait = "5 h" }'), steady(8.0), 4.0)
    assert hours(line(timeline, "cover").plan_at) == 4.0
    assert ready(line(timeline, "go")) == 9.0


def test_age_counts_clock_hours_from_the_last_batch() -> None:
    found = line(solved(only('not_before = { age = "12 h" }'), steady(8.0), 3.0, poured(0.0, 1.0, 2.5)), "go")
    assert (ready(found), band(found)) == (14.5, (14.5, 14.5))


# --- hardening of the piece ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("temp_degC", [3.0, 8.0, 11.0, 20.0])
def test_maturity_at_a_steady_temperature_is_the_need_over_the_laws_rate(temp_degC: float) -> None:
    found = line(solved(only('not_before = { maturity = "18 h" }'), steady(temp_degC), 1.0), "go")
    assert ready(found) == pytest.approx(steady_h(OWN, temp_degC, 18.0), abs=SECOND)


def test_maturity_through_a_night_of_frost_is_the_integral_of_the_law() -> None:
    readings = levels(*NIGHT)
    found = line(solved(only('not_before = { maturity = "18 h" }'), course(readings), 1.0), "go")
    assert ready(found) == pytest.approx(reach_h(CENTRE, nodes_of(readings), 0.0, 18.0), rel=COURSE)


def test_maturity_counts_from_the_last_batch() -> None:
    found = line(solved(only('not_before = { maturity = "18 h" }'), steady(20.0), 3.0, poured(0.0, 2.0)), "go")
    assert ready(found) == pytest.approx(20.0, abs=SECOND)


def test_at_and_below_zero_no_hour_counts() -> None:
    # the design; -9 degC would still gain by Nurse-Saul with datum -10, 0 degC by every law
    weather = course(levels((-30.0, 20.0), (6.0, 0.0), (30.0, -9.0), (54.0, 20.0)))
    found = line(solved(only('not_before = { maturity = "18 h" }'), weather, 1.0), "go")
    assert band(found) == pytest.approx((66.0, 66.0), abs=0.01)  # 6 h before, 12 h after; the edges are a second wide


def test_a_piece_that_stays_frozen_is_never_mature() -> None:
    found = line(solved(only('not_before = { maturity = "18 h" }'), steady(-3.0), 1.0), "go")
    assert (found.ready_at, found.band, found.plan_at) == (None, None, None)


def test_a_hair_above_zero_is_not_within_sight_either() -> None:
    # Nurse-Saul with datum 0 would take 18 / (1e-9 / 20) h, forty million years
    found = line(solved(only('not_before = { maturity = "18 h" }', maturity=SAUL_0), steady(1e-9), 1.0), "go")
    assert (found.ready_at, found.band, found.plan_at) == (None, None, None)


def test_above_the_reference_the_own_law_credits_no_more_than_the_slowest() -> None:
    # at 30 degC Nurse-Saul with datum -10 is the slowest: (30 + 10)/30; the own Arrhenius law alone would credit 1.75
    found = line(solved(only('not_before = { maturity = "24 h" }'), steady(30.0), 1.0), "go")
    assert ready(found) == pytest.approx(24.0 / (40.0 / 30.0), abs=SECOND)


@pytest.mark.parametrize("temp_degC", [2.0, 10.0, 20.0, 30.0])
@pytest.mark.parametrize(("point", "at_20_degC_h"), [("initial", 4.0), ("final", 7.0)])
def test_a_set_follows_the_published_table(temp_degC: float, point: str, at_20_degC_h: float) -> None:
    found = line(solved(only(f'not_before = {{ set = "{point}" }}'), steady(temp_degC), 1.0), "go")
    assert ready(found) == pytest.approx(set_h(temp_degC, at_20_degC_h), abs=SECOND)


@pytest.mark.parametrize("plus_h", [2.0, -1.0])
def test_the_margin_after_a_set_is_clock_time(plus_h: float) -> None:
    body = f'not_before = {{ set = {{ point = "final", plus = "{plus_h} h" }} }}'
    found = line(solved(only(body), steady(10.0), 1.0), "go")
    assert ready(found) == pytest.approx(set_h(10.0, 7.0) + plus_h, abs=SECOND)


@pytest.mark.parametrize("temp_degC", [5.0, 11.0, 20.0])
def test_strength_is_reached_at_the_age_of_the_hyperbola(temp_degC: float) -> None:
    # common practice, M1: 4.6 MPa at 24 eq h, 9.2 at 48; 3.5 MPa lies at 19
    found = line(solved(only('not_before = { strength = "3.5 MPa" }'), steady(temp_degC), 1.0), "go")
    assert ready(found) == pytest.approx(steady_h(OWN, temp_degC, hyperbola_h(3.5)), abs=SECOND)


def test_strength_through_a_night_of_frost_is_the_integral_of_the_law() -> None:
    readings = levels(*NIGHT)
    found = line(solved(only('not_before = { strength = "9 MPa" }'), course(readings), 1.0), "go")
    assert ready(found) == pytest.approx(reach_h(CENTRE, nodes_of(readings), 0.0, hyperbola_h(9.0)), rel=COURSE)


def test_a_strength_that_the_mix_never_has_is_never_ready() -> None:
    found = line(solved(only('not_before = { strength = "60 MPa" }'), steady(20.0), 700.0), "go")
    assert (found.ready_at, found.band, found.state) == (None, None, "waiting")


@pytest.mark.parametrize(("breaks_free", "factor"), [("false", 1.0), ("true", 1.4)])
@pytest.mark.parametrize(("grip", "k", "span_m", "depth_m"), [
    ("flat-ends", 0.75, 1.2, 0.04), ("flat-quarter", 0.1875, 1.2, 0.04), ("long-edge", 0.75, 0.6, 0.04),
    ("on-edge", 0.75, 1.2, 0.6),
])  # fmt: skip
def test_handling_needs_the_strength_of_design_section_4(
    grip: str, k: float, span_m: float, depth_m: float, breaks_free: str, factor: float
) -> None:
    # stress k rho g L^2 / t; 0.62 sqrt(fc) >= 1.5 x 2 x stress, x 1.4 where it breaks free; 1.2 x 0.6 x 0.04
    stress_MPa = k * 2350.0 * 9.80665 * span_m**2 / depth_m * 1e-6
    need_MPa = (1.5 * 2.0 * stress_MPa * factor / 0.62) ** 2
    body = f'not_before = {{ handling = {{ grip = "{grip}", breaks_free = {breaks_free} }} }}'
    found = line(solved(only(body), steady(20.0), 1.0), "go")
    assert ready(found) == pytest.approx(hyperbola_h(need_MPa), abs=SECOND)
    assert found.reasons[0].need == pytest.approx(need_MPa, rel=1e-4)
    assert 0.62 * sqrt(need_MPa) == pytest.approx(3.0 * stress_MPa * factor)


# --- hardening of something else -------------------------------------------------------------------------------------


def test_hardening_of_a_material_goes_by_its_own_clock_from_the_predecessor() -> None:
    # acceptance case G1: slurry at 12 degC, Nurse-Saul with datum -10: 22/30 eq h an hour; 24 eq h take 32.7 h
    made = profile(step("fill", kind="fill") + step(
        "sand", 'not_before = { hardening = { time = "24 h", of = "slurry" } }', after="fill", kind="grind"
    ))  # fmt: skip
    found = line(solved(made, steady(12.0), 60.0, poured(), done("fill", 58.0)), "sand")
    assert ready(found) == pytest.approx(58.0 + 24.0 / (22.0 / 30.0), abs=SECOND)


def test_hardening_of_nothing_named_goes_by_the_mixs_law() -> None:
    made = only('not_before = { hardening = "10 h" }')
    found = line(solved(made, steady(12.0), 60.0, poured(), done("cover", 58.0)), "go")
    assert ready(found) == pytest.approx(58.0 + steady_h(OWN, 12.0, 10.0), abs=SECOND)


def test_hardening_since_a_named_step_does_not_wait_for_the_one_between() -> None:
    made = profile(step("fill", kind="fill") + step("cover", after="fill", kind="cover") + step(
        "sand", 'not_before = { hardening = { time = "24 h", of = "slurry", since = "fill" } }', after="cover",
    ))  # fmt: skip
    found = line(solved(made, steady(20.0), 30.0, poured(), done("fill", 20.0), done("cover", 29.0)), "sand")
    assert ready(found) == pytest.approx(44.0, abs=SECOND)


def test_hardening_counts_only_the_temperatures_since_the_fill() -> None:
    weather = course(levels((-30.0, 25.0), (50.0, 5.0)))
    made = only('not_before = { hardening = "10 h" }')
    found = line(solved(made, weather, 61.0, poured(), done("cover", 60.0)), "go")
    assert ready(found) == pytest.approx(60.0 + steady_h(OWN, 5.0, 10.0), abs=SECOND)


# --- drying (the faces have a module of their own) -------------------------------------------------------------------


def test_drying_counts_the_vapour_pressure_deficit() -> None:
    # acceptance case S1: rate 0.44 at 15 degC and 70 %
    rate = drying_rate(15.0, 70.0)
    assert rate == pytest.approx(0.44, abs=0.005)
    found = line(solved(step("go", 'not_before = { drying = "10 h" }'), steady(15.0, 70.0), 1.0), "go")
    assert ready(found) == pytest.approx(10.0 / rate, rel=1e-3)


# --- rules that open and close ---------------------------------------------------------------------------------------


def test_air_opens_when_it_is_warm_enough() -> None:
    weather = course(hourly(lambda h: 4.0 + 0.5 * max(0.0, h - 6.0), until=60.0))
    found = line(solved(step("go", 'not_before = { air = { from = "10 degC" } }'), weather, 1.0), "go")
    assert ready(found) == pytest.approx(18.0, abs=SECOND)  # 4 + 0.5 (h - 6) = 10


def test_air_closes_when_it_is_too_hot() -> None:
    weather = course(levels((-30.0, 35.0), (8.0, 25.0), (20.0, 36.0)))
    steps = step("go", 'not_before = { air = { from = "10 degC", to = "32 degC" } }')
    assert ready(line(solved(steps, weather, 1.0), "go")) == pytest.approx(8.0, abs=0.01)
    assert [state(solved(steps, weather, now), "go") for now in (7.0, 10.0, 30.0)] == ["waiting", "ready", "waiting"]


def test_for_looks_ahead_and_leaves_out_a_warm_spell_that_is_too_short() -> None:
    # warm from 5 to 14 h (too short for 12 h), then from 20 h on
    weather = course(levels((-30.0, 5.0), (5.0, 15.0), (14.0, 5.0), (20.0, 15.0)))
    steps = step("go", 'not_before = { air = { from = "10 degC", for = "12 h" } }')
    assert ready(line(solved(steps, weather, 1.0), "go")) == pytest.approx(20.0, abs=0.01)
    assert state(solved(steps, weather, 10.0), "go") == "waiting"


def test_for_ends_so_long_before_the_cold_comes() -> None:
    weather = course(levels((-30.0, 15.0), (40.0, 5.0), (60.0, 15.0)))
    steps = step("go", 'not_before = { air = { from = "10 degC", for = "12 h" } }')
    assert [state(solved(steps, weather, now), "go") for now in (27.9, 28.1, 50.0, 60.1)] == [
        "ready", "waiting", "waiting", "ready",
    ]  # fmt: skip


def test_for_looks_into_the_forecast() -> None:
    cold_ahead = Forecast("points", POUR_H, points=tuple(
        ForecastPoint(POUR_H + hour, temp) for hour, temp in ((12.0, 15.0), (13.0, 4.0), (30.0, 4.0), (31.0, 15.0))
    ))  # fmt: skip
    weather = course(hourly(15.0, until=10.0), cold_ahead)
    found = line(solved(step("go", 'not_before = { air = { from = "10 degC", for = "12 h" } }'), weather, 10.0), "go")
    assert ready(found) == pytest.approx(30.0 + 6.0 / 11.0, abs=SECOND)  # 4 to 15 degC in an hour


def test_air_takes_air_readings_before_the_slabs_and_says_so() -> None:
    weather = course([*hourly(15.0), *hourly(5.0, place="air")])
    found = line(solved(step("go", 'not_before = { air = { from = "10 degC" } }'), weather, 1.0), "go")
    assert (found.ready_at, found.reasons[0].have, found.reasons[0].source) == (None, 5.0, "air")


@pytest.mark.parametrize("place", ["slab", "outside"])
def test_air_falls_back_on_slab_then_outside_and_says_so(place: str) -> None:
    weather = course(hourly(15.0, place=place))
    found = line(solved(step("go", 'not_before = { air = { from = "10 degC" } }'), weather, 1.0), "go")
    assert (found.state, found.reasons[0].source) == ("ready", place)


def test_slab_takes_the_slabs_temperature() -> None:
    weather = course([*levels((-30.0, 5.0), (9.0, 15.0)), *hourly(5.0, place="air")])
    found = line(solved(step("go", 'not_before = { slab = { from = "10 degC" } }'), weather, 1.0), "go")
    assert ready(found) == pytest.approx(9.0, abs=0.01)


def test_dew_margin_is_slab_less_the_dew_point_of_the_air() -> None:
    # air 20 degC at 70 %: dew point 14.4 degC; the slab warms by 1 K an hour from 10 degC and passes it by 3 K
    readings = [*hourly(lambda h: 10.0 + max(0.0, h), until=12.0), *hourly(20.0, place="air", humidity_pct=70.0)]
    found = line(solved(step("go", 'not_before = { dew_margin = { least = "3 K" } }'), course(readings), 1.0), "go")
    assert ready(found) == pytest.approx(
        dew_point_degC(20.0, 70.0) + 3.0 - 10.0, abs=0.05
    )  # the published relations: to 0.05 degC


def test_dew_margin_must_last_through_the_night() -> None:
    # humidity 40 % by day, 95 % from 12 h to 24 h: the margin at 95 % is 0.8 K
    readings = hourly(20.0, until=90.0)
    readings += [reading(h, humidity_pct=95.0 if 12 < h < 24 else 40.0, place="air") for h in range(-30, 91)]
    steps = step("go", 'not_before = { dew_margin = { least = "3 K", for = "12 h" } }')
    assert [state(solved(steps, course(readings), now), "go") for now in (-0.0 + 5.0, 18.0, 24.5)] == [
        "waiting", "waiting", "ready",
    ]  # fmt: skip


def test_cool_gap_holds_once_the_slab_is_no_warmer_than_the_air_by_more() -> None:
    # heated slab 30 degC, cooling by 1 K an hour from 10 h; air 10 degC: 11 K above it at 19 h
    readings = [*hourly(lambda h: 30.0 - max(0.0, h - 10.0), until=24.0), *hourly(10.0, place="air", until=24.0)]
    found = line(solved(step("go", 'not_before = { cool_gap = "11 K" }'), course(readings), 1.0), "go")
    assert ready(found) == pytest.approx(19.0, abs=SECOND)


# --- together --------------------------------------------------------------------------------------------------------


def test_all_rules_must_hold_and_the_latest_decides() -> None:
    made = only('not_before = { strength = "3.5 MPa", age = "12 h", maturity = "40 h" }')
    found = line(solved(made, steady(20.0), 1.0), "go")
    assert ready(found) == pytest.approx(40.0, abs=SECOND)


def test_the_moment_is_the_first_at_which_all_opening_rules_are_open_at_once() -> None:
    # air warm enough 10-20 h and from 30 h; slab cool enough until 15 h and from 35 h; age 16 h
    air = levels((-30.0, 5.0), (10.0, 15.0), (20.0, 5.0), (30.0, 15.0))
    readings = [*levels((-30.0, 20.0), (15.0, 30.0), (35.0, 20.0))]
    readings += [reading(one.at_h - POUR_H, one.temp_degC, place="air") for one in air]
    body = 'not_before = { age = "16 h", air = { from = "10 degC" }, slab = { to = "25 degC" } }'
    assert ready(line(solved(step("go", body), course(readings), 1.0), "go")) == pytest.approx(35.0, abs=0.01)


def test_an_opening_rule_is_asked_from_the_moment_the_others_hold() -> None:
    weather = course(levels((-30.0, 15.0), (8.0, 5.0), (30.0, 15.0)))
    body = 'not_before = { age = "10 h", air = { from = "10 degC" } }'
    assert ready(line(solved(step("go", body), weather, 1.0), "go")) == pytest.approx(30.0, abs=0.01)


def test_a_warm_hour_before_the_predecessors_are_done_helps_nobody() -> None:
    weather = course(levels((-30.0, 15.0), (8.0, 5.0), (30.0, 15.0)))
    made = only('not_before = { air = { from = "10 degC" } }')
    found = line(solved(made, weather, 12.0, poured(), done("cover", 10.0)), "go")
    assert (found.state, ready(found)) == ("waiting", pytest.approx(30.0, abs=0.01))


def test_the_moment_of_an_opening_rule_stays_where_it_was_while_it_is_open() -> None:
    # the design: never clipped to now. Open since 9 h; an hour later it is still 9 h
    weather = course(levels((-30.0, 5.0), (9.0, 15.0)))
    steps = step("go", 'not_before = { air = { from = "10 degC" } }')
    moments = [ready(line(solved(steps, weather, now), "go")) for now in (1.0, 9.5, 30.0)]
    assert moments == pytest.approx([9.0] * 3, abs=0.01)


# --- not known -------------------------------------------------------------------------------------------------------

TEMPERATURE = [
    'maturity = "18 h"', 'set = "initial"', 'strength = "3.5 MPa"', 'handling = "long-edge"', 'hardening = "10 h"',
    'air = { from = "10 degC" }', 'slab = { to = "29 degC" }', 'cool_gap = "11 K"',
]  # fmt: skip
HUMIDITY = ['drying = "24 h"', 'dew_margin = { least = "3 K" }']


@pytest.mark.parametrize("rule", [*TEMPERATURE, *HUMIDITY])
@pytest.mark.parametrize("hold", ["true", "false"])
def test_without_any_reading_a_rule_never_passes_by_itself(rule: str, hold: str) -> None:
    steps = step("go", f'not_before = {{ {rule} }}\nhold = {hold}\ncheck = "Look."')
    found = line(solved(steps, unknown(), 20_000.0), "go")
    assert (found.ready_at, found.band, found.band_method, found.state) == (None, None, None, "waiting")
    assert found.reasons[0].rule == "unknown"
    assert found.reasons[0].source == rule.partition(" ")[0]


@pytest.mark.parametrize("rule", HUMIDITY)
def test_temperature_alone_does_not_answer_a_rule_of_humidity(rule: str) -> None:
    found = line(solved(step("go", f"not_before = {{ {rule} }}"), steady(20.0), 2000.0), "go")
    assert (found.ready_at, found.band, found.state) == (None, None, "waiting")
    assert (found.reasons[0].rule, found.reasons[0].subject) == ("unknown", "humidity")


def test_one_unknown_rule_leaves_the_whole_moment_unknown() -> None:
    found = line(solved(step("go", 'not_before = { age = "12 h", drying = "24 h" }'), steady(20.0), 2000.0), "go")
    assert (found.ready_at, found.band, found.state) == (None, None, "waiting")


@pytest.mark.parametrize("rule", ['wait = "1 h"', 'age = "1 h"'])
def test_clock_rules_need_no_reading(rule: str) -> None:
    found = line(solved(step("go", f"not_before = {{ {rule} }}"), unknown(), 2.0), "go")
    assert (ready(found), found.state) == (1.0, "ready")


def test_the_slurrys_law_is_not_the_mixs() -> None:
    # guards the two tests above: at 12 degC the laws differ by more than a tenth
    assert saul(-10.0)(12.0) / OWN(12.0) > 1.1
