"""What people in the trade repeat about such a piece, and what the shipped profiles make of it: common practice, no
source, every one of them. Through the command line, at a steady 20 °C.

The piece: a slab of 6 ft x 3.5 ft x 1.5 in, bagged mix, cast face-down in an afternoon.
"""

from datetime import datetime, timedelta
from math import ceil
from typing import Any

import pytest

from tests.cases.person import Person, near, steady

H = timedelta(hours=1)
SIZE = "6ftx3.5ftx1.5in"
LB_kg = 0.45359237  # international pound, exact
FT_m = 0.3048  # international foot, exact
VOLUME_m3 = 6.0 * FT_m * 3.5 * FT_m * 1.5 / 12.0 * FT_m


@pytest.fixture
def table(maker: Person) -> Person:
    """Poured on Sat 9 May 2026 at 15:00, at 20 °C and 50 %."""
    pour = maker.local("2026-05-09 15:00")
    maker.at(pour).log(steady(pour, 0, 20.0), humidity=50)
    maker.pours("table", "bagged-tabletop", SIZE)
    return maker


def steps(maker: Person) -> dict[str, dict[str, Any]]:
    """The sheet's steps by their id."""
    return {step["step"]: step for step in maker.sheet("table")["steps"]}


def when(step: dict[str, Any], key: str = "plan_at") -> datetime:
    """A time of a step."""
    return datetime.fromisoformat(step[key])


# --- quantities and hands --------------------------------------------------------------------------------------------


def test_it_weighs_350_to_370_lb_and_takes_four_and_a_half_bags(maker: Person) -> None:
    """By density 2240 kg/m3; a bag of 80 lb yields 0.6 ft3 (read on the bag)."""
    taken = maker.ok("takeoff", "--size", SIZE, "--json").json
    assert taken["volume_m3"] == pytest.approx(VOLUME_m3, rel=1e-4)
    assert 350.0 <= taken["mass_kg"] / LB_kg <= 370.0
    assert taken["mass_kg"] == pytest.approx(VOLUME_m3 * 2240.0, rel=1e-4)
    assert 4.2 <= taken["bags"] <= 4.8
    assert taken["bags"] == pytest.approx(VOLUME_m3 / (0.6 * FT_m**3), rel=1e-3)
    assert taken["bags_to_buy"] == 5


def test_two_people_at_the_very_least_four_by_the_rule_and_four_to_carry(maker: Person) -> None:
    """Flip max(2, ceil(mass / 2 / 25 kg)), carry max(2, ceil(mass / 45 kg)), at 2350 kg/m3."""
    mass_kg = VOLUME_m3 * 2350.0
    taken = maker.ok("takeoff", "--size", SIZE, "--json").json
    assert taken["crew"] == {"flip": max(2, ceil(mass_kg / 2 / 25)), "carry": max(2, ceil(mass_kg / 45))}
    assert taken["crew"] == {"flip": 4, "carry": 4}
    assert taken["aid"] is True
    small = maker.ok("takeoff", "--size", "600x300x40mm", "--json").json
    assert small["crew"] == {"flip": 2, "carry": 2}


def test_the_sheet_and_the_ticks_ask_for_these_hands(table: Person) -> None:
    found = steps(table)
    assert (found["flip"]["crew"], found["carry"]["crew"], found["set-on-base"]["crew"]) == (4, 4, 4)
    told = table.ok("sheet", "table").text
    assert "Roll it over the long edge, 4 people" in told
    assert "Wheels, slides" in table.warning("table", "lift")["text"]


# --- before and at the pour ------------------------------------------------------------------------------------------


def test_the_joints_are_sealed_a_day_before_the_form_is_wiped(maker: Person) -> None:
    """A bead cures 24 h before it is wiped or cast on: common practice, no source; its label overrules it."""
    maker.at("2026-05-07 08:00").ok("temp", "20C")
    maker.ok("pour", "table", "--planned", "--at", "Sat 15:00", "--profile", "bagged-tabletop", "--size", SIZE)
    pour = maker.local("2026-05-09 15:00")
    step = steps(maker)["seal-joints"]
    clean = steps(maker)["clean"]
    assert pour - 30 * H <= when(step, "late_at") <= pour - 25 * H
    assert when(step) <= when(step, "late_at")
    assert when(step) + 24 * H <= when(clean)
    line = maker.shop().timeline("table", maker.view()).line("seal-joints")
    assert line is not None
    assert "24 h" in line.say
    assert "label" in line.say


def test_hard_trowelling_comes_a_few_hours_after_the_pour(table: Person) -> None:
    step = steps(table)["trowel-back"]
    pour = table.local("2026-05-09 15:00")
    assert pour + 3 * H <= when(step, "ready_at") <= pour + 6 * H
    assert when(step, "late_at") <= pour + 8 * H
    assert "hard" in step["title"]


# --- the days after --------------------------------------------------------------------------------------------------


def test_the_forms_come_off_the_next_morning_and_the_edges_are_eased_then(table: Person) -> None:
    found = steps(table)
    strip, ease = found["strip"], found["ease-back"]
    assert table.local("2026-05-10 06:00") <= when(strip, "ready_at") <= table.local("2026-05-10 12:00")
    assert when(strip) <= when(ease) <= when(strip) + 2 * H


def test_the_flip_follows_a_day_later_two_days_after_the_pour(table: Person) -> None:
    found = steps(table)
    pour, strip, flip = table.local("2026-05-09 15:00"), when(found["strip"]), when(found["flip"])
    assert 42 * H <= flip - pour <= 54 * H
    assert 18 * H <= flip - strip <= 30 * H


def test_misting_about_daily_or_covered(table: Person) -> None:
    pour = table.local("2026-05-09 15:00")
    for hours, step in ((0.5, "cover-1"), (5.5, "cover-2")):
        table.at(pour + hours * H).log(steady(pour, hours, 20.0), humidity=50)
        table.ok("done", "table", step, "--earlier")
    found = steps(table)
    assert found["cover-2"]["kind"] == "cover"
    first = when(found["mist"], "ready_at")
    assert first <= pour + 12 * H
    table.at(pour + 16 * H).log(steady(pour, 16, 20.0), humidity=50)
    table.ok("done", "table", "mist")
    assert near(steps(table)["mist.2"]["late_at"], pour + 40 * H)


def test_sand_120_fill_sand_220_once_it_has_set(table: Person) -> None:
    found = steps(table)
    order = [when(found[step]) for step in ("flip", "sand-120", "slurry", "sand-220")]
    assert order == sorted(order)
    assert "120" in found["sand-120"]["title"]
    assert "slurry" in found["slurry"]["title"]
    assert "220" in found["sand-220"]["title"]
    assert found["sand-220"]["hold"] is True
    assert "slurry hardening" in found["sand-220"]["why"]
    assert when(found["sand-220"]) - when(found["slurry"]) >= 18 * H


def test_the_underside_gets_two_coats_the_top_is_damped_and_gets_four_to_five_thin_ones(table: Person) -> None:
    found = steps(table)
    under = [step for step in found if step.startswith("seal-under-")]
    top = [step for step in found if step.startswith("seal-top-")]
    damp = [step for step in found if step.startswith("damp-")]
    assert (len(under), len(top)) == (2, 4)
    assert [when(found[step]) for step in (*under, *top)] == sorted(when(found[step]) for step in (*under, *top))
    assert "Seal the underside" in found[under[0]]["title"]
    assert "top and sides" in found[top[0]]["title"]
    assert len(damp) == len(top)
    for mist, coat in zip(damp, top, strict=True):
        assert "Mist top and sides" in found[mist]["title"]
        assert timedelta() <= when(found[coat]) - when(found[mist], "late_at") <= 0.5 * H
    line = table.shop().timeline("table", table.view()).line(top[0])
    assert line is not None
    assert "Very thin" in line.say
    assert "a fifth if it still drinks" in line.say
