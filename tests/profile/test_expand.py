"""One piece's steps: cases, coats, grits, timed tests, neighbours."""

import pytest
from msgspec.structs import replace

from curetrack.facts import Cutout, Shape
from curetrack.profile.expand import expand
from curetrack.profile.load import apply_overrides, compile_profile
from curetrack.profile.types import Handling, HandsOn, Rules, Step
from tests.profile.docs import SLAB, SMALL, WITH_BASIN, compiled, document, loaded

LAST = 'id = "use"'


def steps_of(text: str, shape: Shape = SLAB, air: float | None = None) -> dict[str, Step]:
    return {step.id: step for step in expand(compiled(text), shape, pour_air_degC=air)}


def test_coats_become_a_chain_of_steps() -> None:
    steps = steps_of(SMALL)
    first, second = steps["seal-1"], steps["seal-2"]
    assert "seal" not in steps
    assert (first.title, second.title) == ("Seal it (coat 1 of 2)", "Seal it (coat 2 of 2)")
    assert (first.after, second.after) == (("sand",), ("seal-1",))
    assert first.recoat is None
    assert second.recoat is not None
    assert second.recoat.to_h == 4
    assert steps["use"].after == ("seal-2",)


def test_drying_gates_the_first_coat_only_air_each_one() -> None:
    text = SMALL.replace("not_before = { air", 'not_before = { drying = "24 h", maturity = "168 h", air')
    steps = steps_of(text)
    assert (steps["seal-1"].not_before.drying_h, steps["seal-1"].not_before.maturity_h) == (24, 168)
    assert steps["seal-2"].not_before == Rules(air=steps["seal-1"].not_before.air)


def test_one_coat_still_gets_its_number() -> None:
    steps = steps_of(SMALL.replace("coats = 2", "coats = 1"))
    assert steps["seal-1"].title == "Seal it"
    assert steps["use"].after == ("seal-1",)


def test_grits_likewise_each_with_its_own() -> None:
    steps = steps_of(SMALL.replace("grit = 120", "grits = [120, 220]\nwets = true"))
    assert [(steps[f"sand-{n}"].grit, steps[f"sand-{n}"].title) for n in (1, 2)] == [
        (120, "Sand it (grit 120)"), (220, "Sand it (grit 220)"),
    ]  # fmt: skip
    assert steps["sand-1"].not_before.hardening is not None
    assert steps["sand-2"].not_before == Rules()
    assert steps["sand-2"].with_check is None
    assert steps["seal-1"].after == ("sand-2",)


def test_takes_becomes_a_start_and_a_reading_with_the_check() -> None:
    text = SMALL.replace(
        'title = "Fill it"',
        'title = "Fill it"\ntakes = "16 h"\nhold = "check"\ncheck = "Dry."\nfail = "Again."\n'
        'expires = { after_wet = true, wait = "7 d" }\nhands_on = "10 min"',
    )
    steps = steps_of(text)
    start, read = steps["slurry"], steps["slurry-read"]
    assert (start.hold, start.check, start.expires, start.after) == ("no", "", None, ("strip",))
    assert (read.hold, read.check, read.fail, read.after) == ("check", "Dry.", "Again.", ("slurry",))
    assert read.not_before == Rules(wait_h=16)
    assert read.expires is not None
    assert (start.hands_on, read.hands_on) == (HandsOn(10 / 60), HandsOn())
    assert steps["sand"].after == ("slurry-read",)
    assert steps["sand"].not_before.hardening is not None
    assert steps["sand"].not_before.hardening.since == "slurry-read"


def test_each_before_every_coat() -> None:
    damp = '[[step]]\nid = "damp"\ntitle = "Damp it"\nafter = "sand"\nbefore = "seal"\nlead = "5 min"\neach = true\n\n'
    steps = steps_of(SMALL.replace('[[step]]\nid = "seal"', damp + '[[step]]\nid = "seal"'))
    assert list(steps)[-5:] == ["damp-1", "seal-1", "damp-2", "seal-2", "use"]
    assert (steps["damp-1"].after, steps["damp-1"].before) == (("sand",), ("seal-1",))
    assert (steps["damp-2"].after, steps["damp-2"].before) == (("seal-1",), ("seal-2",))
    assert steps["damp-2"].title == "Damp it (coat 2 of 2)"
    assert steps["damp-2"].lead_h == pytest.approx(5 / 60)
    assert steps["seal-2"].after == ("seal-1",)  # the recoat window counts from the coat


def test_each_after_every_grit() -> None:
    rinse = '[[step]]\nid = "rinse"\ntitle = "Rinse"\nafter = "sand"\neach = true\n\n'
    text = SMALL.replace("grit = 120", "grits = [120, 220]").replace(
        '[[step]]\nid = "seal"', rinse + '[[step]]\nid = "seal"'
    )
    steps = steps_of(text.replace('title = "Seal it"\nafter = "sand"', 'title = "Seal it"\nafter = "rinse"'))
    assert list(steps)[4:9] == ["sand-1", "rinse-1", "sand-2", "rinse-2", "seal-1"]
    assert steps["sand-2"].after == ("sand-1", "rinse-1")  # the grit before comes first
    assert steps["rinse-2"].title == "Rinse (grit 220)"
    assert steps["seal-1"].after == ("rinse-2",)


def test_names_lead_to_the_last_behind_and_the_first_ahead() -> None:
    text = SMALL.replace(LAST, LAST + '\nbefore = "seal"').replace(
        'title = "Use it"\nafter = "seal"', 'title = "Use it"\nafter = "sand"'
    )
    assert steps_of(text)["use"].before == ("seal-1",)
    again = SMALL.replace(LAST, LAST + '\nagain = "seal"\ncheck = "Good."')
    assert steps_of(again)["use"].again == "seal-1"
    during = SMALL.replace(LAST, LAST + '\nduring = ["seal", "wax"]\nevery = "1 h"').replace(
        'title = "Use it"\nafter = "seal"', 'title = "Use it"'
    ) + '\n[[step]]\nid = "wax"\nkind = "coat"\ntitle = "Wax it"\nafter = "seal"\ncoats = 3\n'  # fmt: skip
    assert steps_of(during)["use"].during == ("seal-2", "wax-1")


def test_what_needs_no_expansion_stays_as_it_is() -> None:
    profile = replace(compiled(SMALL.replace("coats = 2\n", "")), name="x")
    assert expand(profile, SLAB) == profile.steps


# --- cases -------------------------------------------------------------------------------------------------------

CASES = """
[[step.if]]
cutout = true
not_before = { strength = "17 MPa" }
[[step.if]]
length_over = "2.4 m"
not_before = { maturity = "72 h" }
crew = 4
[[step.if]]
rail_under = "100 mm"
say = "Brace the rail."
[[step.if]]
air_over = "27 degC"
no_later = { maturity = "24 h" }
"""
WITH_CASES = SMALL.replace('check = "A coin leaves no mark."\n', 'check = "A coin leaves no mark."\n' + CASES)
LONG = Shape(2.6, 0.65, 0.04)


def test_a_case_replaces_the_named_rule_and_keeps_the_others() -> None:
    plain, basin = steps_of(WITH_CASES)["strip"], steps_of(WITH_CASES, WITH_BASIN)["strip"]
    assert (plain.not_before.strength_MPa, plain.not_before.maturity_h) == (3.5, 18)
    assert (basin.not_before.strength_MPa, basin.not_before.maturity_h) == (17, 18)
    assert plain.ifs == basin.ifs == ()


def test_two_cases_hold_together() -> None:
    wide = Shape(2.6, 0.65, 0.04, (Cutout(0.4, 0.3, 1.0, 0.2),))
    strip = steps_of(WITH_CASES, wide)["strip"]
    assert (strip.not_before.strength_MPa, strip.not_before.maturity_h, strip.crew) == (17, 72, 4)


@pytest.mark.parametrize(("length_m", "crew"), [(2.4, 1), (2.401, 4)])
def test_longer_than_means_longer(length_m: float, crew: int) -> None:
    assert steps_of(WITH_CASES, Shape(length_m, 0.6, 0.04))["strip"].crew == crew


def test_the_narrowest_rail_counts() -> None:
    """Front rail 60 mm in WITH_BASIN; all rails 150 mm or more in the other."""
    wide = Shape(0.9, 0.7, 0.04, (Cutout(0.4, 0.3, 0.25, 0.2),))
    assert steps_of(WITH_CASES, WITH_BASIN)["strip"].say == "Brace the rail."
    assert steps_of(WITH_CASES, wide)["strip"].say == ""
    assert steps_of(WITH_CASES, SLAB)["strip"].say == ""


def test_warm_air_at_the_pour() -> None:
    limits = [steps_of(WITH_CASES, SLAB, air)["strip"].no_later for air in (None, 27.0, 32.0)]
    assert [limit and limit.maturity_h for limit in limits] == [48, 48, 24]
    assert limits[2] is not None
    assert limits[2].missed == "Take care."


def test_a_short_rule_in_a_case_keeps_what_the_long_one_says() -> None:
    text = SMALL.replace("grit = 120", 'grit = 120\n[[step.if]]\ncutout = true\nnot_before = { hardening = "36 h" }')
    rule = steps_of(text, WITH_BASIN)["sand"].not_before.hardening
    assert rule is not None
    assert (rule.time_h, rule.of, rule.since) == (36, "slurry", "slurry")


# --- the shipped ones --------------------------------------------------------------------------------------------


def test_the_counter_stays_damp_longer_when_long_or_warm() -> None:
    """48 eq h, 72 over 2.4 m or over 27 degC: common practice, no source (case C4)."""
    counter = loaded("counter-in-place")

    def until(shape: Shape, air: float | None) -> float | None:
        mist = next(step for step in expand(counter, shape, pour_air_degC=air) if step.id == "mist")
        return mist.until.maturity_h if mist.until else None

    assert until(SLAB, 20) == 48
    assert until(LONG, 20) == until(SLAB, 32) == until(LONG, 32) == 72


@pytest.mark.parametrize("profile_id", ["bagged-tabletop", "bagged-polished", "fast-tabletop"])
def test_knock_outs_must_come_out_where_there_are_any(profile_id: str) -> None:
    """Case H2: flip and sealing wait for the block, and without a cut-out nobody is asked."""
    for shape, asked in ((SLAB, False), (WITH_BASIN, True)):
        steps = {step.id: step for step in expand(loaded(profile_id), shape)}
        assert steps["unblock"].optional is not asked
        assert steps["knock-outs"].optional is not asked
        assert "unblock" in steps["flip"].after
        assert "unblock" in steps["seal-under-1"].after


def test_the_flip_of_a_basin_is_held_longer() -> None:
    flip = next(step for step in expand(loaded("bagged-tabletop"), WITH_BASIN) if step.id == "flip")
    assert (flip.not_before.strength_MPa, flip.not_before.maturity_h) == (17, 46)
    assert flip.not_before.handling == Handling("long-edge")
    assert flip.say.startswith("Brace the narrow rail")


def test_the_tabletop_has_four_coats_and_more_if_the_label_says_so() -> None:
    doc = apply_overrides(document("bagged-tabletop"), [("seal-top.coats", "5")])
    ids = [step.id for step in expand(compile_profile(doc, "x"), SLAB)]
    assert [step_id for step_id in ids if step_id.startswith("seal-top")] == [f"seal-top-{n}" for n in range(1, 6)]
    assert [step_id for step_id in ids if step_id.startswith("damp")] == [f"damp-{n}" for n in range(1, 6)]


@pytest.mark.parametrize("profile_id", ["bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop"])
@pytest.mark.parametrize("shape", [SLAB, WITH_BASIN, LONG])
def test_every_name_in_the_result_is_there(profile_id: str, shape: Shape) -> None:
    steps = expand(loaded(profile_id), shape, pour_air_degC=30)
    ids = [step.id for step in steps]
    assert len(set(ids)) == len(ids)
    for step in steps:
        assert {*step.after, *step.before, *step.during} <= {*ids, "pour"}
        assert step.again in {*ids, ""}
        assert [step.grits, step.each, step.takes_h, step.ifs] == [(), False, None, ()]
