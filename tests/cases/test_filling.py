"""Acceptance cases G1 and G3: sanding a fill too soon, filling right after wet grinding. Through the command line.

G1 on the case profile (Portland slurry 24 eq h: common practice, no source), its times computed here from the rate
laws; G3 on the case profile and on the wet polished one that ships. Nothing of the two is left to later versions.
"""

from datetime import timedelta

import pytest

from tests.cases.person import Person, near, steady
from tests.cases.rates import OWN, band_h, drying_rate, gained_band_h, gained_h

H = timedelta(hours=1)
FOR_EVER = float("inf")
TOP = "1.2x0.6x0.04m"


# --- G1, slurry at 20:00, sanding at 07:00, 12 °C --------------------------------------------------------------------


def log_g1(maker: Person) -> None:
    maker.log(steady(maker.local("2026-01-31 10:00"), 24 * 20, 12.0), humidity=60)


@pytest.fixture
def filled(maker: Person) -> Person:
    """A piece a week old, filled on Sat 7 Feb 2026 at 20:00; now Sun 07:00, and the maker wants to sand."""
    maker.at("2026-01-31 10:00")
    log_g1(maker)
    maker.pours("top", "profile", TOP)
    maker.ok("done", "top", "cover")
    maker.at("2026-02-07 18:00")
    log_g1(maker)
    maker.ok("done", "top", "strip", "--check", "pass")
    maker.ok("done", "top", "flip", "--check", "pass", "--crew", "2")
    maker.ok("done", "top", "sand")
    maker.ok("done", "top", "clean-holes", "--check", "pass")
    maker.at("2026-02-07 20:00").ok("done", "top", "slurry")
    maker.at("2026-02-08 07:00")
    log_g1(maker)
    return maker


def test_g1_on_sunday_morning_the_fill_is_soft(filled: Person) -> None:
    """11 h at 12 °C are 6.6 to 8.1 eq h."""
    low_h, high_h = gained_band_h([(11.0, 12.0)], 11.0)
    assert (low_h, high_h) == pytest.approx((6.6, 8.1), abs=0.05)
    own_h = gained_h(OWN, [(11.0, 12.0)])
    assert low_h <= own_h <= high_h
    for more in ((), ("--check", "pass")):
        said = filled.no("done", "top", "sand-fill", *more)
        assert "too soon" in said
        assert f"needs 24 h of slurry hardening since slurry; {own_h:.1f} h now at 12 °C" in said
        assert "nail" in said
    assert filled.step("top", "sand-fill")["state"] == "waiting"
    assert "soft fill sands out" in filled.ok("check", "top", "sand-fill", "fail").text


def test_g1_the_band_is_monday(filled: Person) -> None:
    """24 eq h at 12 °C: Mon 04:45 to 12:00."""
    slurry = filled.local("2026-02-07 20:00")
    early_h, late_h = band_h([(FOR_EVER, 12.0)], 24.0)
    assert near((slurry + early_h * H).isoformat(), "2026-02-09T04:45:00+01:00")
    assert near((slurry + late_h * H).isoformat(), "2026-02-09T12:00:00+01:00")
    step = filled.step("top", "sand-fill")
    early, late = step["band_method"]
    assert near(early, slurry + early_h * H)
    assert near(late, slurry + late_h * H)
    assert near(step["ready_at"], slurry + 24.0 / OWN(12.0) * H)


@pytest.mark.parametrize(
    ("when", "check", "opens"),
    [
        ("2026-02-09 04:10", "pass", False),
        ("2026-02-09 05:20", "pass", True),  # the nail test, once the early bound is past
        ("2026-02-09 05:20", None, False),
        ("2026-02-09 12:30", None, True),
    ],
)
def test_g1_a_nail_test_or_the_late_bound_opens_it(when: str, check: str | None, opens: bool, filled: Person) -> None:
    filled.at(when)
    log_g1(filled)
    said = filled.says("done", "top", "sand-fill", *(["--check", check] if check else []))
    assert said.code == (0 if opens else 1)


def test_g1_the_slab_s_age_does_not_help(filled: Person) -> None:
    """The slab has 4.7 eq d; the fill its own clock, which began with the slurry."""
    slab_h = gained_h(OWN, [(189.0, 12.0)])
    assert filled.sheet("top")["equivalent_age_h"] == pytest.approx(slab_h, rel=0.01)
    assert slab_h > 100.0
    line = filled.shop().timeline("top", filled.view()).line("sand-fill")
    assert line is not None
    reason = line.reasons[0]
    assert (reason.rule, reason.subject) == ("hardening", "slurry")
    assert reason.have == pytest.approx(gained_h(OWN, [(11.0, 12.0)]), rel=0.01)


def test_g1_rapid_paste_has_another_clock(filled: Person) -> None:
    """1 to 3 h at 20 °C (judgement, no source): at 12 °C by Sun 01:00 at the latest, and sanding at 07:00 is fine."""
    filled.ok("change", "top", "--set", "sand-fill.not_before.hardening.time=3h")
    _, late_h = band_h([(FOR_EVER, 12.0)], 3.0)
    assert late_h == pytest.approx(5.0, abs=0.1)
    early, late = filled.step("top", "sand-fill")["band"]
    assert early <= late <= "2026-02-08T01:30"
    filled.ok("done", "top", "sand-fill")


# --- G3, filling straight after wet grinding -------------------------------------------------------------------------


def test_g3_the_fill_is_held_until_the_holes_are_dry(maker: Person) -> None:
    """On the case profile: "vacuumed, dry inside" must be ticked with its check."""
    maker.at("2026-01-31 10:00")
    log_g1(maker)
    maker.pours("top", "profile", TOP)
    maker.ok("done", "top", "cover")
    maker.at("2026-02-07 19:30")
    log_g1(maker)
    maker.ok("done", "top", "strip", "--check", "pass")
    maker.ok("done", "top", "flip", "--check", "pass", "--crew", "2")
    maker.ok("done", "top", "sand")
    maker.at("2026-02-07 19:45")
    for more in ((), ("--earlier",)):
        said = maker.no("done", "top", "slurry", *more)
        assert "waits for clean-holes" in said
        assert "A hold is never ticked along" in said
    assert "dry inside" in maker.no("done", "top", "clean-holes")
    assert "paste bridges over a wet hole" in maker.no("done", "top", "clean-holes", "--check", "fail")
    assert "waits for clean-holes" in maker.no("done", "top", "slurry")
    maker.ok("done", "top", "clean-holes", "--check", "pass")
    maker.ok("done", "top", "slurry")


GROUND = (  # hours after the pour, step, more
    (0.3, "cover-1", ("--earlier",)),
    (5.0, "cover-2", ("--earlier",)),
    (30.0, "strip", ("--check", "pass")),
    (30.6, "re-cover", ("--earlier",)),
    (31.0, "prepare-lift", ()),
    (60.0, "flip", ("--check", "pass", "--crew", "2")),
    (60.5, "base-off", ()),
    (60.7, "block-up", ("--check", "pass")),
    (61.0, "ease-face", ()),
    (150.0, "colour-tile", ()),
    (198.0, "grind-50", ("--check", "pass", "--earlier")),
    (201.5, "grits-1", ("--earlier",)),
)


@pytest.fixture
def ground(maker: Person) -> Person:
    """The wet polished profile that ships, at 20 °C and 50 %: wet 100 ended on Mon 9 Feb at 19:30; now 19:45."""
    pour = maker.local("2026-02-01 10:00")
    maker.at(pour).log(steady(pour, 0, 20.0), humidity=50)
    maker.pours("top", "bagged-polished", TOP)
    for hours, step, more in GROUND:
        maker.at(pour + hours * H).log(steady(pour, hours, 20.0), humidity=50)
        maker.ok("done", "top", step, *more)
    maker.at("2026-02-09 19:45").log(steady(pour, 202, 20.0), humidity=50)
    return maker


def test_g3_what_ships_holds_the_fill_and_wants_the_200_first(ground: Person) -> None:
    for more in ((), ("--earlier",)):
        said = ground.no("done", "top", "slurry", *more)
        assert "waits for dry-holes" in said
        assert "A hold is never ticked along: do dry-holes first" in said
    timeline = ground.shop().timeline("top", ground.view())
    grit, holes = timeline.line("grits-2"), timeline.line("dry-holes")
    assert grit is not None
    assert holes is not None
    assert "(grit 200)" in grit.title
    assert "marks of a 100 pad show once they are filled" in grit.say
    assert holes.hold is True
    assert "dry" in (holes.check or "")
    assert "Paste bridges over a wet hole" in holes.say
    order = [line.step for line in sorted(timeline.lines, key=lambda line: line.plan_at or timeline.now)]
    assert order.index("grits-2") < order.index("dry-holes") < order.index("slurry")


def test_g3_the_holes_dry_for_twelve_drying_hours_after_the_last_water(ground: Person) -> None:
    """At 20 °C and 50 % a drying hour is an hour (by definition of the clock); counted from the last rinse."""
    assert drying_rate(20.0, 50.0) == pytest.approx(1.0)
    pour = ground.local("2026-02-01 10:00")
    ground.at("2026-02-09 20:30").log(steady(pour, 203, 20.0), humidity=50)
    ground.ok("done", "top", "rinse-2", "--earlier")
    step = ground.step("top", "dry-holes")
    assert near(step["ready_at"], "2026-02-10T08:30:00+01:00")
    assert "too soon" in ground.no("done", "top", "dry-holes", "--check", "pass")
    ground.at("2026-02-10 09:00").log(steady(pour, 216, 20.0), humidity=50)
    ground.ok("done", "top", "dry-holes", "--check", "pass")
    ground.ok("done", "top", "slurry")


def test_g3_two_fills_are_planned_from_the_holes_on_and_only_the_200_again(ground: Person) -> None:
    timeline = ground.shop().timeline("top", ground.view())
    steps = {line.step: line for line in timeline.lines}
    for step in ("dry-holes.2", "slurry.2", "regrind-200.2", "look.2"):
        assert step in steps, step  # two fills by default
    regrind = steps["regrind-200"]
    assert "200 only" in regrind.title
    assert "Not back to 50" in regrind.say
    assert regrind.after == ("cover-slurry",)
    assert not any(step.startswith(("grind-50.", "grits-")) and step.endswith(".2") for step in steps)
    assert "dry-holes" in steps["look.2"].again


def test_g3_it_is_looked_at_in_raking_light_before_any_sealer(ground: Person) -> None:
    timeline = ground.shop().timeline("top", ground.view())
    look = timeline.line("look.2")
    assert look is not None
    assert "raking light" in look.title
    assert "wipe damp" in look.title
    assert look.plan_at is not None
    sealers = [line for line in timeline.lines if line.kind == "coat" and not line.step.startswith("try-")]
    assert sealers
    assert all(line.plan_at is not None and line.plan_at > look.plan_at for line in sealers)
    assert "look.2" in ground.no("done", "top", "dry-2")
