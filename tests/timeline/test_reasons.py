"""Reasons of a line (`why`): the binding rule first, what it needs, what there is, when it is met."""

import pytest

from tests.timeline.making import (
    course,
    done,
    hourly,
    hours,
    levels,
    line,
    piece,
    poured,
    profile,
    ready,
    solved,
    steady,
    step,
)
from tests.timeline.oracle import OWN, drying_rate, hyperbola_h, set_h, steady_h

SECOND = 1.0 / 1800.0


def strength_MPa(age_h: float) -> float:
    """The mix's hyperbola, by hand: 27 MPa at 28 d, 0.25 /day from 7 h on."""
    grown, full = 0.25 * (age_h - 7.0) / 24.0, 0.25 * (672.0 - 7.0) / 24.0
    return 27.0 * (grown / (1.0 + grown)) / (full / (1.0 + full))


def first(rule: str, weather, now: float, *facts, after: str = "pour"):
    steps = step("cover") + step("go", f"not_before = {{ {rule} }}", after=after)
    return line(solved(steps, weather, now, *(facts or (poured(),))), "go").reasons[0]


def test_strength_says_need_have_unit_moment_and_temperature() -> None:
    # the design: "needs 3.5 MPa; 2.1 MPa now at 11 °C; reaches it Sat 14:10"
    found = first('strength = "3.5 MPa"', steady(11.0), 24.0)
    assert (found.rule, found.need, found.unit, found.temp_degC) == ("strength", 3.5, "MPa", 11.0)
    assert found.have == pytest.approx(strength_MPa(24.0 * OWN(11.0)), rel=1e-6)
    assert hours(found.at) == pytest.approx(steady_h(OWN, 11.0, hyperbola_h(3.5)), abs=SECOND)


def test_maturity_says_equivalent_hours() -> None:
    found = first('maturity = "72 h"', steady(8.0), 48.0)
    assert (found.rule, found.need, found.unit) == ("maturity", 72.0, "h")
    assert found.have == pytest.approx(48.0 * OWN(8.0), rel=1e-6)


def test_a_set_names_its_point() -> None:
    found = first('set = "final"', steady(10.0), 3.0)
    assert (found.rule, found.subject, found.need) == ("set", "final", 7.0)
    assert found.have == pytest.approx(7.0 * 3.0 / set_h(10.0, 7.0), rel=1e-6)


def test_handling_names_the_grip() -> None:
    found = first('handling = "flat-ends"', steady(20.0), 30.0)
    assert (found.rule, found.subject, found.unit) == ("handling", "flat-ends", "MPa")
    assert found.have == pytest.approx(strength_MPa(30.0), rel=1e-6)


def test_hardening_names_the_material_and_counts_since_its_step() -> None:
    found = first('hardening = { time = "24 h", of = "slurry" }', steady(12.0), 60.0, poured(), done("cover", 50.0),
                  after="cover")  # fmt: skip
    assert (found.rule, found.subject, found.need) == ("hardening", "slurry", 24.0)
    assert found.have == pytest.approx(10.0 * 22.0 / 30.0, rel=1e-6)  # Nurse-Saul with datum -10


@pytest.mark.parametrize(("rule", "have"), [('wait = "20 h"', 6.0), ('age = "70 h"', 56.0)])
def test_clock_rules_say_clock_hours(rule: str, have: float) -> None:
    found = first(rule, steady(12.0), 56.0, poured(), done("cover", 50.0), after="cover")
    assert (found.need, found.have, found.unit) == (
        float(rule.split('"')[1].split(maxsplit=1)[0]),
        pytest.approx(have),
        "h",
    )


def test_drying_says_drying_hours() -> None:
    found = first('drying = "72 h"', steady(15.0, 70.0), 40.0)
    assert (found.rule, found.need) == ("drying", 72.0)
    assert found.have == pytest.approx(40.0 * drying_rate(15.0, 70.0), rel=1e-3)


def test_air_says_the_bound_that_is_missed() -> None:
    cold, hot = (first('air = { from = "10 degC", to = "32 degC" }', steady(t), 5.0) for t in (6.0, 35.0))
    assert (cold.need, cold.have, cold.unit) == (10.0, 6.0, "degC")
    assert (hot.need, hot.have) == (32.0, 35.0)


def test_cool_gap_and_dew_margin_say_kelvin() -> None:
    weather = course([*hourly(24.0), *hourly(10.0, place="air", humidity_pct=50.0)])
    gap, dew = first('cool_gap = "11 K"', weather, 5.0), first('dew_margin = { least = "30 K" }', weather, 5.0)
    assert (gap.need, gap.have, gap.unit) == (11.0, 14.0, "K")
    assert (dew.need, dew.unit) == (30.0, "K")
    assert dew.have == pytest.approx(24.0 - 0.05, abs=0.06)  # the published relations: 10 degC at 50 % is 0.05 degC


# --- which comes first -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("temp_degC", "binding"), [(20.0, "maturity"), (5.0, "maturity"), (20.0, "age")])
def test_the_rule_that_holds_last_leads(temp_degC: float, binding: str) -> None:
    rule = 'strength = "3.5 MPa", maturity = "30 h", age = "20 h"' if binding == "maturity" else (
        'strength = "3.5 MPa", maturity = "18 h", age = "40 h"'
    )  # fmt: skip
    found = line(solved(step("go", f"not_before = {{ {rule} }}"), steady(temp_degC), 1.0), "go")
    assert found.reasons[0].rule == binding
    assert hours(found.reasons[0].at) == ready(found)
    assert {reason.rule for reason in found.reasons} == {"strength", "maturity", "age"}


def test_an_input_that_is_not_known_leads() -> None:
    found = first('age = "900 h", drying = "24 h"', steady(20.0), 5.0)
    assert (found.rule, found.subject, found.source, found.need, found.at) == (
        "unknown", "humidity", "drying", 24.0, None,
    )  # fmt: skip


def test_a_rule_that_is_never_met_leads() -> None:
    weather = course(levels((-30.0, 20.0), (30.0, 5.0)))
    found = line(solved(step("go", 'not_before = { age = "40 h", air = { from = "10 degC" } }'), weather, 35.0), "go")
    assert (found.reasons[0].rule, found.reasons[0].at) == ("air", None)


def test_a_step_before_it_leads_when_it_is_the_later_one() -> None:
    steps = step("cover", 'not_before = { age = "50 h" }') + step("go", 'not_before = { age = "12 h" }', after="cover")
    found = line(solved(steps, steady(20.0), 5.0), "go").reasons
    assert (found[0].rule, found[0].subject, hours(found[0].at)) == ("predecessor", "cover", 50.0)


def test_and_follows_the_rules_when_they_are() -> None:
    steps = step("cover") + step("go", 'not_before = { age = "80 h" }', after="cover")
    found = [reason.rule for reason in line(solved(steps, steady(20.0), 5.0), "go").reasons]
    assert found == ["age", "predecessor"]


def test_before_the_pour_the_plan_is_a_reason() -> None:
    timeline = solved(step("go", 'not_before = { age = "12 h" }'), steady(20.0), -9.0, done("x", -9.0),
                      of=piece(planned=2.0))  # fmt: skip
    found = {reason.rule: hours(reason.at) for reason in line(timeline, "go").reasons}
    assert found == {"age": 14.0, "planned": 2.0}


# --- the piece itself ------------------------------------------------------------------------------------------------


def test_age_equivalent_age_and_strength_now() -> None:
    timeline = solved(step("go"), steady(11.0), 24.0, poured(-1.0, 0.0))
    assert (timeline.age_h, timeline.slab_degC) == (24.0, 11.0)
    assert timeline.equivalent_age_h == pytest.approx(24.0 * OWN(11.0), rel=1e-6)
    assert timeline.strength_MPa == pytest.approx(strength_MPa(24.0 * OWN(11.0)), rel=1e-6)


def test_the_strengths_band_takes_the_slowest_and_fastest_law_and_the_spread() -> None:
    from tests.timeline.oracle import BAND

    timeline = solved(step("go"), steady(11.0), 40.0)
    low, high = (pick(law(11.0) for law in BAND) for pick in (min, max))
    expected = 0.75 * strength_MPa(40.0 * low), 1.25 * strength_MPa(40.0 * high)
    assert timeline.strength_band_MPa == pytest.approx(expected, rel=1e-6)
    assert timeline.equivalent_age_band_h == pytest.approx((40.0 * low, 40.0 * high), rel=1e-6)


def test_before_the_pour_there_is_no_age() -> None:
    timeline = solved(step("go"), steady(11.0), -5.0, done("x", -9.0), of=piece(planned=0.0))
    assert (timeline.age_h, timeline.equivalent_age_h, timeline.strength_MPa, timeline.poured_at) == (None,) * 4
    assert hours(timeline.planned_pour_at) == 0.0


def test_the_mass_is_the_lifting_one() -> None:
    assert solved(step("go"), steady(11.0), 1.0).mass_lift_kg == pytest.approx(1.2 * 0.6 * 0.04 * 2350.0)


@pytest.mark.parametrize(("crew", "people"), [("2", 2), ('"flip"', 2), ('"carry"', 2)])
def test_the_crew_of_a_line(crew: str, people: int) -> None:
    assert line(solved(step("go", f"crew = {crew}", kind="lift"), steady(20.0), 1.0), "go").crew == people


def test_the_crew_for_175_kg_is_four() -> None:
    # common practice, Lifting: 1.83 x 1.07 x 0.038 m, 4 for the flip and 4 for the carry
    from curetrack.facts import Shape

    steps = step("flip", 'crew = "flip"', kind="lift") + step("carry", 'crew = "carry"', kind="lift")
    timeline = solved(steps, steady(20.0), 1.0, of=piece(Shape(1.83, 1.07, 0.038)))
    assert [one.crew for one in timeline.lines] == [4, 4]


def test_short_looks_begin_so_long_before_the_bands_earliest_set() -> None:
    from tests.timeline.oracle import BAND

    body = 'not_before = { set = "initial" }\ncheckin = { every = "15 min", from = { set = "initial", minus = "1 h" } }'
    found = line(solved(profile(step("go", body)), steady(12.0), 0.5), "go")
    earliest = min(set_h(12.0, 4.0), *(steady_h(law, 12.0, 4.0) for law in BAND))
    assert (hours(found.look_from), found.look_every_h) == (pytest.approx(earliest - 1.0, abs=SECOND), 0.25)
