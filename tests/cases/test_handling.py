"""Acceptance cases H1, H2 and H4: the lift, the block in the basin, the curled top. Through the command line.

H1 and H2 run on the case profile (its rules: common practice, no source); H2 and H4 also on the profile that ships,
since there the words are the tool's own. Forces and masses are computed here by hand.

Left to later versions: booking the crew and their evening before (crew calendars), the nudges that escalate the block
of H2 (its state and warning, from which they will be made, are tested).
"""

from datetime import timedelta
from math import ceil

import pytest

from tests.cases.person import Person, near, steady
from tests.cases.rates import hyperbola_MPa, rupture_MPa

H = timedelta(hours=1)
G = 9.80665  # m/s2, standard gravity


# --- H1, two people, 1.8 m, carried flat -----------------------------------------------------------------------------

MASS_kg = 1.8 * 0.6 * 0.04 * 2350.0


@pytest.fixture
def slab(maker: Person) -> Person:
    """1.8 x 0.6 x 0.04 m, 30 MPa mix, 48 h at 20 °C, stripped."""
    maker.at("2026-05-09 10:00").log(steady(maker.now, 0, 20.0))
    maker.pours("slab", "profile", "1.8x0.6x0.04m")
    maker.ok("done", "slab", "cover")
    maker.at("2026-05-11 10:00").log(steady(maker.local("2026-05-09 10:00"), 48, 20.0))
    maker.ok("done", "slab", "strip")
    return maker


def test_h1_the_mass_and_the_hands(slab: Person) -> None:
    """About 102 kg (94 to 96 kg/m2). Flip max(2, ceil(mass / 2 / 25 kg)), carry max(2, ceil(mass / 45 kg)): common
    practice, no source. Team factors 2/3 and 1/2 of the sum of 25 kg each: published guidance."""
    assert MASS_kg == pytest.approx(101.5, abs=0.1)
    assert 94.0 <= MASS_kg / (1.8 * 0.6) <= 96.0
    taken = slab.ok("takeoff", "--size", "1.8x0.6x0.04m", "--json").json
    assert taken["mass_lift_kg"] == pytest.approx(MASS_kg, rel=1e-3)
    assert taken["crew"] == {"flip": max(2, ceil(MASS_kg / 2 / 25)), "carry": max(2, ceil(MASS_kg / 45))}
    assert taken["crew"] == {"flip": 3, "carry": 3}
    assert taken["aid"] is (MASS_kg > 3 * 25.0 / 2)
    assert taken["aid"] is True
    assert slab.step("slab", "flip")["crew"] == 3
    assert "102 kg to lift" in slab.ok("sheet", "slab").text
    warned = slab.warning("slab", "lift")
    assert (warned["grade"], warned["step"]) == ("warn", "flip")
    assert (warned["value"], warned["need"]) == pytest.approx((MASS_kg / 2, 3 * 25.0 / 2), rel=1e-3)
    for word in ("Wheels, slides", "tilting frame"):
        assert word in warned["text"]


def test_h1_two_people_and_flat_by_the_ends_are_refused_with_the_numbers(slab: Person) -> None:
    """Flat by the ends 0.75 rho g L2 / t (statics), doubled for a jolt, x 1.5 on cracking, against 0.62 sqrt(fc)
    (ACI 318-19 eq. 19.2.3.1) of the growth law, and of a mix that is 25 % off (common practice)."""
    stress = 0.75 * 2350.0 * G * 1.8**2 / 0.04 / 1e6
    needed = 1.5 * 2.0 * stress
    strength = hyperbola_MPa(48.0, s28_MPa=30.0)
    has, low, high = (rupture_MPa(strength * factor) for factor in (1.0, 0.75, 1.25))
    assert (stress, needed, has) == pytest.approx((1.40, 4.2, 2.0), abs=0.05)
    assert (low, high) == pytest.approx((1.7, 2.2), abs=0.05)
    said = slab.no("done", "slab", "flip", "--crew", "2", "--grip", "flat-ends")
    assert "3 people are needed and 2 named" in said
    assert "wheels, slides or a tilting frame" in said
    for number in (f"{stress:.1f} MPa", f"{needed:.1f} MPa", f"{has:.0f} MPa", f"({low:.1f} to {high:.1f} MPa)"):
        assert number in said
    assert "held flat by the ends" in said
    assert "on the long edge over foam" in said
    assert "carry it on edge" in said


def test_h1_each_hold_stands_by_itself(slab: Person) -> None:
    """When the flip is ready (72 eq h) and the test bar has passed, two are still too few, and flat is too much."""
    slab.at("2026-05-12 11:00").log(steady(slab.local("2026-05-09 10:00"), 73, 20.0))
    passed = ("done", "slab", "flip", "--check", "pass")
    assert "3 people are needed" in slab.no(*passed, "--crew", "2", "--grip", "long-edge")
    assert "held flat by the ends" in slab.no(*passed, "--crew", "3", "--grip", "flat-ends")
    assert slab.step("slab", "flip")["done_at"] is None
    slab.ok(*passed, "--crew", "3", "--grip", "long-edge")


def test_h1_on_edge_it_bends_fifteen_times_less(slab: Person) -> None:
    """The width takes the thickness's place, 600 for 40 mm: 0.09 MPa, 0.28 needed."""
    on_edge = 0.75 * 2350.0 * G * 1.8**2 / 0.6 / 1e6
    assert (on_edge, 3.0 * on_edge) == pytest.approx((0.09, 0.28), abs=0.005)
    said = slab.no("done", "slab", "flip", "--crew", "3", "--grip", "on-edge")
    assert "too soon" in said  # 48 of 72 eq h
    assert "bends" not in said
    assert "people are needed" not in said


# --- H2, the basin block still in on day 6 ---------------------------------------------------------------------------

VANITY = ("900x500x40mm", "--cutout", "400x300mm@250,60mm")  # a front rail of 60 mm


def vanity(maker: Person, profile: str) -> Person:
    """Stripped at 30 h; the block is not ticked."""
    pour = maker.local("2026-05-09 10:00")
    maker.at(pour).log(steady(pour, 0, 20.0), humidity=50)
    maker.pours("vanity", profile, *VANITY)
    if profile == "profile":
        maker.ok("done", "vanity", "cover")
    else:
        maker.at(pour + 0.4 * H).ok("done", "vanity", "cover-1", "--earlier")
        maker.at(pour + 5 * H).log(steady(pour, 5, 20.0), humidity=50)
        maker.ok("done", "vanity", "cover-2", "--earlier")
    maker.at(pour + 30 * H).log(steady(pour, 30, 20.0), humidity=50)
    maker.ok("done", "vanity", "strip", "--check", "pass")
    if profile != "profile":
        maker.ok("done", "vanity", "re-cover", "--earlier")
    return maker


BOTH = pytest.mark.parametrize("profile", ["profile", "bagged-tabletop"])


@BOTH
def test_h2_the_block_is_due_with_the_strip_and_escalates_on_day_two(profile: str, maker: Person) -> None:
    """24 to 48 eq h, at 20 °C hours; common practice, no source."""
    pour = vanity(maker, profile).local("2026-05-09 10:00")
    first = maker.step("vanity", "unblock")
    assert first["state"] == "ready"
    assert near(first["plan_at"], pour + 30 * H)
    assert "Take the" in maker.ok("today").text
    for hours, state in ((47.5, "ready"), (48.5, "late"), (144, "late")):
        maker.at(pour + hours * H).log(steady(pour, hours, 20.0), humidity=50)
        step = maker.step("vanity", "unblock")
        assert step["state"] == state, hours
        assert near(step["late_at"], pour + 48 * H)
        assert len(maker.warnings("vanity", "past_limit")) == (state == "late")


@BOTH
def test_h2_on_day_six_it_says_how_to_get_it_out(profile: str, maker: Person) -> None:
    pour = vanity(maker, profile).local("2026-05-09 10:00")
    maker.at(pour + 144 * H).log(steady(pour, 144, 20.0), humidity=50)
    warned = maker.warning("vanity", "past_limit")
    assert (warned["grade"], warned["step"]) == ("warn", "unblock")
    for word in ("grips", "no hammer", "screws", "relief slots", "from the middle"):
        assert word in warned["text"]
    assert warned["text"] in " ".join(maker.ok("sheet", "vanity").text.split())


@BOTH
def test_h2_flip_and_sealing_are_held_until_it_is_out(profile: str, maker: Person) -> None:
    pour = vanity(maker, profile).local("2026-05-09 10:00")
    maker.at(pour + 144 * H).log(steady(pour, 144, 20.0), humidity=50)
    assert "waits for unblock" in maker.no("done", "vanity", "flip", "--check", "pass", "--crew", "2")
    seal = "seal" if profile == "profile" else "seal-under-1"
    for more in ((), ("--earlier",)):
        said = maker.no("done", "vanity", seal, "--check", "pass", *more)
        assert "unblock" in said
        assert "--earlier" not in said  # nothing is offered that would be refused: there are holds in between
    maker.ok("done", "vanity", "unblock")
    flip = maker.step("vanity", "flip")
    assert flip["hold"] is True
    assert "unblock" not in flip["why"]


def test_h2_the_shipped_profile_speaks_of_the_rail(maker: Person) -> None:
    """A rail under 100 mm: braced with a board for any move, plain mix of 40 mm around a basin is risky (one maker's
    pieces of 38 mm broke; common practice, no source). Why the block must come out: shrinkage and swelling."""
    pour = vanity(maker, "bagged-tabletop").local("2026-05-09 10:00")
    maker.at(pour + 144 * H).log(steady(pour, 144, 20.0), humidity=50)
    assert "brace the rail" in maker.warning("vanity", "past_limit")["text"]
    timeline = maker.shop().timeline("vanity", maker.view())
    flip, block = timeline.line("flip"), timeline.line("unblock")
    assert flip is not None
    assert block is not None
    assert "Brace the narrow rail with a board" in flip.say
    assert "plain mix around a basin is risky" in flip.say
    assert "Concrete shrinks onto a block and wood swells" in block.say


def test_h2_the_rail_moves_the_shipped_flip_to_seventeen_megapascal(maker: Person) -> None:
    """9 MPa for a plain outline, 17 with a basin (common practice, no source); hyperbola 0.25 /day from 7 h, 27 MPa."""
    pour = vanity(maker, "bagged-tabletop").local("2026-05-09 10:00")
    ready = maker.step("vanity", "flip")["ready_at"]
    age_h = next(n / 10 for n in range(70, 5000) if hyperbola_MPa(n / 10, s28_MPa=27.0) >= 17.0)
    assert 120 <= age_h <= 130
    assert near(ready, pour + age_h * H)


# --- H4, laid flat on plastic after the flip -------------------------------------------------------------------------


@pytest.fixture
def thin(maker: Person) -> Person:
    """Fibre mix, 22 mm, 1.4 x 0.7 m, flipped at 18 h; humidity 30 %."""
    maker.at("2026-05-08 20:00").log(steady(maker.now, 0, 20.0), humidity=30)
    maker.pours("top", "fibre", "1.4x0.7x0.022m")
    maker.ok("done", "top", "cover")
    maker.at("2026-05-09 14:00").log(steady(maker.local("2026-05-08 20:00"), 18, 20.0), humidity=30)
    maker.ok("done", "top", "flip", "--check", "pass", "--crew", "2")
    return maker


def test_h4_the_tick_is_held_until_both_faces_have_air(thin: Person) -> None:
    step = thin.step("top", "stand")
    assert (step["state"], step["hold"], step["opens_at"]) == ("waiting", True, None)
    said = thin.no("done", "top", "stand")
    assert "Opens only after a passed check" in said
    assert "On battens, air on both sides, no fan on one face" in said
    assert "On battens, air on both sides" in thin.ok("today").text
    failed = thin.no("done", "top", "stand", "--check", "fail")
    assert "stop the fan" in failed
    assert thin.step("top", "stand")["done_at"] is None
    assert "waits for stand" in thin.no("done", "top", "look-flat", "--check", "pass")
    thin.ok("done", "top", "stand", "--check", "pass")


def test_h4_a_lifted_corner_is_explained_and_keeps_the_sealer_away(thin: Person) -> None:
    """Monday: the corners have lifted 4 mm. Damp the hollow face, never clamp; wait until flat and evenly pale."""
    thin.ok("done", "top", "stand", "--check", "pass")
    thin.at("2026-05-11 09:00").log(steady(thin.local("2026-05-08 20:00"), 61, 20.0), humidity=30)
    told = thin.ok("check", "top", "look-flat", "fail").text
    for word in ("shrank faster", "Damp the hollow face", "both faces alike", "on battens", "do not clamp or force"):
        assert word in told
    assert "do not clamp" in thin.ok("sheet", "top").text  # it stays on the sheet
    for more in ((), ("--earlier",)):
        assert "look-flat" in thin.no("done", "top", "seal-1", "--check", "pass", *more)
    thin.at("2026-05-12 09:00").ok("done", "top", "look-flat", "--check", "pass")
    assert "Seal both faces" in thin.step("top", "seal-1")["title"]
    thin.ok("done", "top", "seal-1")


@pytest.mark.parametrize("profile", ["bagged-tabletop", "bagged-polished", "fast-tabletop"])
def test_h4_the_profiles_that_ship_ask_and_advise_the_same(profile: str, maker: Person) -> None:
    maker.at("2026-05-08 10:00").log(steady(maker.now, 0, 20.0), humidity=30)
    maker.pours("top", profile, "1.4x0.7x0.04m")
    timeline = maker.shop().timeline("top", maker.view())
    stand, dry = timeline.line("block-up"), timeline.line("dry-out")
    assert stand is not None
    assert dry is not None
    assert stand.hold is True
    for word in ("hand fits under it", "nothing rocks", "no fan blows on one face"):
        assert word in (stand.check or "")
    assert (dry.check or "").startswith("Flat, evenly pale, the same on both faces")
    for word in ("shrinks first", "damp the hollow face", "dry both alike on battens", "Do not clamp"):
        assert word in dry.fail
    seals = [line for line in timeline.lines if line.kind == "coat" and line.step.startswith("seal-")]
    assert {line.step.rpartition("-")[0] for line in seals} == {"seal-under", "seal-top"}  # both faces
    assert dry.plan_at is not None
    assert all(line.plan_at is not None and line.plan_at >= dry.plan_at for line in seals)
