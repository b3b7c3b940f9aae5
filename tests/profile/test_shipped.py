"""The profiles that ship: sound, complete, and the first four with the trade's values (the others: test_practice.py).

The values are common practice, no source, where nothing else is said beside them; they were agreed for the project
step by step before the profiles were written. Those with a published basis say so.
"""

import pytest

from curetrack.concrete.strength import Hyperbola
from curetrack.ledger.snapshots import body_of, sha_of
from curetrack.profile.check import sense
from curetrack.profile.kinds import CAUTIONS
from curetrack.profile.shelf import shipped
from curetrack.profile.types import Expiry, Handling, Hardening, SetRule, Span, Step
from tests.profile.docs import document, loaded, step_of

A, B, C, D = "bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop"
ALL = (A, B, C, D)


EVERY = tuple(profile_id for profile_id, _ in shipped())


def test_these_ship() -> None:
    assert set(ALL) < set(EVERY)
    assert len(EVERY) >= 10


# SHA-256 of what the four say, put together from their parts (a regression: no part changes them unseen)
SAID = {
    A: "077ef242aca4666ee7af6d47880ee5b135e2e3ec13aa9052e663d5356aa29361",
    B: "70629806d54baa4471290202e9d10ae525d015c842daeae33b8c62e06cdd70f1",
    C: "a12944b00272bbb1514ea173a6f8c3ba1972bce844535ab7a583644e58f1b8a8",
    D: "b3d486a58945d82b7f7e628a31cfea9566bb9f37a7761ca31dfb4fe6ec3d71cd",
}


@pytest.mark.parametrize("profile_id", ALL)
def test_made_of_parts_they_say_what_they_said(profile_id: str) -> None:
    assert sha_of(body_of(document(profile_id))) == SAID[profile_id]


@pytest.mark.parametrize("profile_id", EVERY)
def test_no_faults_and_no_warnings(profile_id: str) -> None:
    assert sense(loaded(profile_id)) == ()


# --- mixes -------------------------------------------------------------------------------------------------------

M1 = {24: 4.6, 48: 9.2, 72: 12.5, 120: 16.7, 168: 19.4, 240: 21.9}  # eq h: MPa, hyperbola worked out by hand
M2 = {24: 9.6, 48: 16.4, 72: 20.4, 120: 25.1, 168: 27.7, 240: 29.9}


@pytest.mark.parametrize(("profile_id", "table"), [(A, M1), (B, M1), (C, M1), (D, M2)])
def test_strength_grows_as_the_agreed_table_says(profile_id: str, table: dict[int, float]) -> None:
    growth = loaded(profile_id).mix.growth
    assert isinstance(growth, Hyperbola)
    for age_h, strength_MPa in table.items():
        assert growth.strength_MPa(age_h) == pytest.approx(strength_MPa, abs=0.06)  # the table has one decimal


@pytest.mark.parametrize(("profile_id", "mean", "sets", "frost_h"), [(A, 27, (4, 7), 24), (D, 34, (3, 5), 18)])
def test_the_mixes(profile_id: str, mean: float, sets: tuple[float, float], frost_h: float) -> None:
    mix = loaded(profile_id).mix
    assert (mix.strength_28d_MPa, (mix.initial_set_h, mix.final_set_h)) == (mean, sets)
    assert (mix.frost_strength_MPa, mix.frost_maturity_h) == (3.5, frost_h)  # 3.5 MPa: ACI 306R, from memory
    assert (mix.spread, mix.density_kg_m3, mix.density_lift_kg_m3) == (0.25, 2240, 2350)


# --- gates -------------------------------------------------------------------------------------------------------

GATES: list[tuple[str, str, dict[str, object]]] = [
    (A, "weather", {"slab": Span(13, 29, 72)}),  # 13 degC for thin sections: ACI 306R, from memory
    (A, "trowel-back", {"set": SetRule("initial")}),
    (A, "mist", {"set": SetRule("final", 2), "air": Span(2, None, 12)}),
    (A, "strip", {"strength_MPa": 3.5, "maturity_h": 18}),
    (A, "flip", {"strength_MPa": 9, "maturity_h": 46, "handling": Handling("long-edge")}),
    (A, "sand-120", {"strength_MPa": 12, "drying_h": 12}),
    (A, "slurry", {"air": Span(10, 30, 12)}),
    (A, "sand-220", {"hardening": Hardening(24, "slurry", "slurry")}),
    (A, "dry-out", {"drying_h": 24}),
    (A, "seal-under", {"maturity_h": 168, "drying_h": 24, "air": Span(10, 32, 12)}),
    (A, "turn", {"wait_h": 24}),
    (A, "seal-top", {"air": Span(10, 32, 12)}),
    (A, "cure-seal", {"wait_h": 48}),
    (A, "carry", {"maturity_h": 168}),
    (A, "in-service", {"wait_h": 168}),
    (B, "grind-50", {"strength_MPa": 19}),
    (B, "dry-holes", {"drying_h": 12}),
    (B, "regrind-200", {"hardening": Hardening(36, "slurry", "slurry")}),
    (B, "dry-2", {"drying_h": 24}),
    (B, "react", {"wait_h": 24}),
    (B, "gloss", {"strength_MPa": 22}),
    (B, "dry-out", {"drying_h": 48}),
    (B, "seal-under", {"maturity_h": 168, "drying_h": 48}),
    (C, "float", {"wait_h": 0.5}),
    (C, "trowel-1", {"set": SetRule("initial"), "wait_h": 1}),
    (C, "trowel-2", {"wait_h": 0.5}),
    (C, "strip", {"strength_MPa": 3.5, "maturity_h": 18}),
    (C, "sand-220", {"strength_MPa": 12, "hardening": Hardening(24, "slurry", "slurry")}),
    (C, "dry-out", {"drying_h": 72}),
    (C, "seal-top", {"maturity_h": 168, "drying_h": 72, "air": Span(10, 32, 12)}),
    (C, "fit", {"maturity_h": 168}),
    (D, "weather", {"slab": Span(15, 29, 24)}),
    (D, "mist", {"set": SetRule("final", 1)}),
    (D, "strip", {"strength_MPa": 7, "maturity_h": 18}),
    (D, "flip", {"strength_MPa": 15, "maturity_h": 42, "handling": Handling("long-edge")}),
    (D, "sand-120", {"strength_MPa": 18, "drying_h": 12}),
    (D, "sand-220", {"hardening": Hardening(18, "slurry", "slurry")}),
    (D, "seal-under", {"maturity_h": 96, "drying_h": 24}),
    (D, "carry", {"maturity_h": 120}),
]  # fmt: skip


@pytest.mark.parametrize(("profile_id", "step_id", "rules"), GATES)
def test_not_before(profile_id: str, step_id: str, rules: dict[str, object]) -> None:
    found = step_of(loaded(profile_id), step_id).not_before
    assert {name: getattr(found, name) for name in rules} == rules


LIMITS: list[tuple[str, str, str, object]] = [
    (A, "vibrate", "wait_h", 0.5),
    (A, "screed", "wait_h", 0.5),
    (A, "cover-1", "wait_h", 1),
    (A, "trowel-back", "set", SetRule("final")),
    (A, "cover-2", "wait_h", 1),
    (A, "unblock", "maturity_h", 48),
    (A, "re-cover", "wait_h", 1),
    (A, "block-up", "wait_h", 0.5),
    (A, "cover-slurry", "wait_h", 0.5),
    (A, "seal-top", "wait_h", 48),
    (C, "vibrate", "wait_h", 1 / 3),
    (C, "trowel-2", "set", SetRule("final")),
    (C, "cover", "wait_h", 1),
    (D, "vibrate", "wait_h", 1 / 3),
    (D, "cover-1", "wait_h", 0.5),
    (D, "unblock", "maturity_h", 36),
]


@pytest.mark.parametrize(("profile_id", "step_id", "name", "value"), LIMITS)
def test_no_later_and_what_then(profile_id: str, step_id: str, name: str, value: object) -> None:
    limit = step_of(loaded(profile_id), step_id).no_later
    assert limit is not None
    assert (
        getattr(limit, name) == value if not isinstance(value, float) else getattr(limit, name) == pytest.approx(value)
    )
    assert limit.missed


def test_a_passed_nail_test_opens_a_fill_sooner() -> None:
    for profile_id, step_id, hours in (
        (A, "sand-220", 18),
        (B, "regrind-200", 24),
        (C, "sand-220", 18),
        (D, "sand-220", 14),
    ):
        rules = step_of(loaded(profile_id), step_id).with_check
        assert rules is not None
        assert rules.hardening == Hardening(hours, "slurry", "slurry")


@pytest.mark.parametrize(
    ("profile_id", "step_id", "lead_h"),
    [(A, "weather", 24), (A, "form", 24), (A, "knock-outs", 24), (A, "seal-joints", 1), (A, "reinforce", 1),
     (A, "lay-out", 1), (A, "prepare-lift", 24), (A, "colour-tile", 24), (A, "try-sealer", 48), (B, "wet-place", 1),
     (C, "carcass", 48), (C, "base", 24), (C, "edge-form", 24)],
)  # fmt: skip
def test_leads(profile_id: str, step_id: str, lead_h: float) -> None:
    assert step_of(loaded(profile_id), step_id).lead_h == lead_h


HOLDS = {
    A: {"strip", "flip", "sand-220", "seal-under", "turn", "seal-top"},
    B: {"strip", "flip", "grind-50", "dry-holes", "regrind-200", "seal-under", "turn", "seal-top"},
    C: {"strip", "sand-220", "seal-top"},
    D: {"strip", "flip", "sand-220", "seal-under", "turn", "seal-top"},
}
CHECKED = {A: {"block-up"}, B: {"block-up"}, C: {"sheet-test"}, D: {"block-up"}}


@pytest.mark.parametrize("profile_id", ALL)
def test_holds(profile_id: str) -> None:
    steps = loaded(profile_id).steps
    assert {step.id for step in steps if step.hold == "yes"} == HOLDS[profile_id]
    assert {step.id for step in steps if step.hold == "check"} == CHECKED[profile_id]
    assert all(step.check for step in steps if step.hold != "no")


def test_coats_and_windows() -> None:
    top, under = step_of(loaded(A), "seal-top"), step_of(loaded(A), "seal-under")
    assert (top.coats, under.coats) == (4, 2)
    assert top.recoat is not None
    assert under.recoat is not None
    assert (top.recoat.from_h, top.recoat.to_h, under.recoat.to_h) == (1, 24, 4)
    wet_on_wet = step_of(loaded(B), "seal-top").recoat
    assert wet_on_wet is not None
    assert wet_on_wet.from_h == pytest.approx(5 / 60)
    assert wet_on_wet.to_h == 0.5
    assert step_of(loaded(C), "seal-top").coats == 4


def test_repeats_end_as_agreed() -> None:
    mist, cure = step_of(loaded(A), "mist"), step_of(loaded(A), "cure-both")
    assert (mist.during, mist.every and mist.every.most_h) == (("cover-2", "flip"), 24)
    assert cure.until is not None
    assert (cure.until.maturity_h, cure.every and cure.every.most_h) == (72, 24)
    fast = step_of(loaded(D), "mist")
    assert fast.every is not None
    assert fast.every.most_h == 12
    fast_cure = step_of(loaded(D), "cure-both")
    assert fast_cure.until is not None
    assert fast_cure.until.maturity_h == 48  # the least; 72 is full
    damp = step_of(loaded(C), "mist")
    assert damp.until is not None
    assert (damp.until.maturity_h, damp.every and damp.every.most_h) == (48, 4)


def test_a_basin_asks_for_more() -> None:
    """Flip 17 (22) MPa, carry 336 (240) eq h: what a narrow rail carries, and common practice."""
    for profile_id, strength_MPa, carry_h in ((A, 17, 336), (B, 17, 336), (D, 22, 240)):
        flip, carry = step_of(loaded(profile_id), "flip"), step_of(loaded(profile_id), "carry")
        case = next(case for case in flip.ifs if case.cutout)
        changed = dict(case.changes)["not_before"]
        assert changed.strength_MPa == strength_MPa
        assert changed.handling == Handling("long-edge")
        assert dict(carry.ifs[0].changes)["not_before"].maturity_h == carry_h


def test_fills_are_planned_twice_and_end_with_a_look() -> None:
    assert (step_of(loaded(A), "look").again, step_of(loaded(A), "look").rounds) == ("clean-holes", 2)
    assert (step_of(loaded(B), "look").again, step_of(loaded(B), "look").rounds) == ("dry-holes", 2)
    assert step_of(loaded(C), "look").again == "slurry"


def test_the_sheet_test_of_the_counter() -> None:
    """Sheet 16 h: ASTM D4263, from memory (a floor's method)."""
    test = step_of(loaded(C), "sheet-test")
    assert test.takes_h == 16
    assert test.expires == Expiry(True, 168)


def test_crews() -> None:
    for profile_id in (A, B, D):
        profile = loaded(profile_id)
        assert step_of(profile, "flip").crew == "flip"
        assert step_of(profile, "carry").crew == step_of(profile, "set-on-base").crew == "carry"
        assert step_of(profile, "base-off").crew == step_of(profile, "block-up").crew == 2
    assert step_of(loaded(C), "pour").crew == 3


def test_only_wet_work_restarts_drying() -> None:
    wets = {step.id for step in loaded(A).steps if step.wets}
    assert wets == {"mist", "cure-both", "slurry"}  # damp does not, nor does dusting off
    assert {"grind-50", "grits", "rinse", "regrind-200", "gloss", "wash"} <= {s.id for s in loaded(B).steps if s.wets}


def test_optional_steps_are_never_waited_for() -> None:
    assert {step.id for step in loaded(A).steps if step.optional} == {"turn", "damp", "wax"}
    assert {step.id for step in loaded(B).steps if step.optional} == {"turn", "damp", "wax", "densify-2"}
    assert {step.id for step in loaded(C).steps if step.optional} == {"wax"}


BASES = {"common practice", "label", "published guidance", "calculation"}


def _cautious(step: Step) -> bool:
    need = {"lift": step.crew in ("flip", "carry"), "fire": step.family in ("penetrating", "wax", "film")}
    return all(caution in step.cautions for caution, needed in need.items() if needed)


@pytest.mark.parametrize("profile_id", EVERY)
def test_every_step_says_where_its_figures_come_from(profile_id: str) -> None:
    for step in loaded(profile_id).steps:
        assert set(step.basis.split(", ")) <= BASES, step.id
        assert set(step.cautions) <= set(CAUTIONS)
        assert _cautious(step), step.id


def test_powered_grinding_says_dust_and_wet_work_says_shock() -> None:
    for profile_id in EVERY:
        for step in loaded(profile_id).steps:
            if step.kind == "grind":
                assert "dust" in step.cautions
                assert not step.wets or "shock" in step.cautions
                assert step.loud == (step.grit is not None or bool(step.grits) or step.id == "clean-holes")


def test_the_three_face_down_profiles_share_their_first_steps() -> None:
    """Up to the tent the polished tabletop is the bagged one, to the letter."""
    shared = [step.id for step in loaded(A).steps]
    shared = shared[: shared.index("uncover")]
    assert [step.id for step in loaded(B).steps][: len(shared)] == shared
    for step_id in shared:
        assert step_of(loaded(A), step_id) == step_of(loaded(B), step_id)
    assert [step.id for step in loaded(D).steps] == [step.id for step in loaded(A).steps]


@pytest.mark.parametrize("profile_id", EVERY)
def test_from_the_form_to_service(profile_id: str) -> None:
    steps = loaded(profile_id).steps
    assert steps[0].before == ("pour",)
    assert steps[-1].id == "in-service"
    assert step_of(loaded(profile_id), "pour").kind == "place"
