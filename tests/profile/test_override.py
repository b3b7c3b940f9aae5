"""`--set`: a label's value for one piece."""

import pytest

from curetrack.errors import Faults
from curetrack.profile.load import apply_overrides, compile_profile
from curetrack.profile.types import Handling, Hardening
from tests.profile.docs import document, small, step_of


def test_a_labels_window_replaces_the_default() -> None:
    doc = document("bagged-tabletop")
    profile = compile_profile(
        apply_overrides(doc, [("seal-top.recoat.from", "2h"), ("seal-top.recoat.to", "6 h")]), "x"
    )
    recoat = step_of(profile, "seal-top").recoat
    assert recoat is not None
    assert (recoat.from_h, recoat.to_h) == (2, 6)
    assert recoat.missed.startswith("Do the drop test")


def test_the_document_given_is_left_alone() -> None:
    doc = small()
    changed = apply_overrides(doc, [("seal.recoat.from", "2h"), ("mix.strength_28d", "30 MPa")])
    assert doc == small()
    assert changed["mix"]["strength_28d"] == "30 MPa"


@pytest.mark.parametrize(
    ("key", "value", "where", "expected"),
    [
        ("mix.strength_28d", "4000 psi", ("mix", "strength_28d_MPa"), pytest.approx(27.58, abs=0.01)),  # 4000 psi, NIST
        ("mix.spread", "15 %", ("mix", "spread"), 0.15),
        ("name", "My own", ("name",), "My own"),
        ("strip.hold", "false", ("strip", "hold"), "no"),
        ("seal.coats", "3", ("seal", "coats"), 3),
        ("seal.coverage", "8 m2/L", ("seal", "coverage_m2_per_L"), 8.0),
        ("sand.cautions", '["dust", "eyes"]', ("sand", "cautions"), ("dust", "eyes")),
        ("strip.not_before.handling", "long-edge", ("strip", "not_before", "handling"), Handling("long-edge")),
        ("sand.not_before.hardening", "30 h", ("sand", "not_before", "hardening"), Hardening(30, "slurry", "slurry")),
        ("sand.not_before.hardening.time", "30 h", ("sand", "not_before", "hardening", "time_h"), 30),
        ("strip.no_later.wait", "3 d", ("strip", "no_later", "wait_h"), 72),
        ("seal.not_before.air.from", "5 degC", ("seal", "not_before", "air", "from_degC"), 5),
        ("use.check", "A drop leaves no spot", ("use", "check"), "A drop leaves no spot"),
    ],
)
def test_any_value_can_be_set(key: str, value: str, where: tuple[str, ...], expected: object) -> None:
    profile = compile_profile(apply_overrides(small(), [(key, value)]), "x")
    found: object = profile
    for name in where:
        found = step_of(profile, name) if profile.step(name) else getattr(found, name)
    assert found == expected


def test_a_materials_own_clock() -> None:
    doc = apply_overrides(small(), [("material.slurry.maturity.datum", "0 degC")])
    assert compile_profile(doc, "x").materials["slurry"].rate(10) == pytest.approx(0.5)  # (10 - 0) / (20 - 0)


def test_a_short_rule_becomes_a_table_when_a_key_below_it_is_set() -> None:
    doc = apply_overrides(small(), [("strip.not_before.set", "final"), ("strip.not_before.set.plus", "2 h")])
    rule = step_of(compile_profile(doc, "x"), "strip").not_before.set
    assert rule is not None
    assert (rule.point, rule.plus_h) == ("final", 2)


def test_a_step_named_mix_and_the_mix_do_not_collide() -> None:
    doc = apply_overrides(document("bagged-tabletop"), [("mix.hands_on", "8 min/bag"), ("mix.initial_set", "5 h")])
    profile = compile_profile(doc, "x")
    assert step_of(profile, "mix").hands_on.per_bag_h == pytest.approx(8 / 60)
    assert profile.mix.initial_set_h == 5


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("seel.coats", "3", "seel.coats: no such step, found 'seel'; did you mean seal?"),
        ("seal.recaot.from", "2h", "seal.recaot.from: unknown key, found 'recaot'; did you mean recoat?"),
        ("seal.recoat.form", "2h", "seal.recoat.form: unknown key below recoat, found 'form'; did you mean from?"),
        ("recoat.from", "2h", "recoat.from: a key of a step, without the step; put the step's id before it, like"
                       " seal.recoat.from"),
        ("seal", "2h", "seal: a step, without a key; add one of its keys, like seal.hands_on"),
        ("seal.recoat", "2h", "seal.recoat: a table, not a value; name one of its keys: from, to, else"),
        ("seal.coats.more", "2", "seal.coats.more: coats is a value, nothing lies below it, found 'more'; write"
                          " coats=..."),
        ("mix.strenght_28d", "2 MPa", "mix.strenght_28d: unknown key below mix, found 'strenght_28d'; did you mean"
                               " strength_28d?"),
        ("mix.growth.rat", "1 /day", "mix.growth.rat: unknown key below mix.growth, found 'rat'; did you mean rate?"),
        ("material.slury.maturity.datum", "0 degC", "material.slury.maturity.datum: unknown key below material, found"
                                             " 'slury'; did you mean slurry?"),
        ("seal.id", "x", "seal.id: unknown key, found 'id'; did you mean hold?"),
        ("sand.cautions", '["dust"', "sand.cautions: not a list, table or text as TOML writes it, found"
                              " '[\"dust\"'; write it like [\"a\", \"b\"]"),
        ("", "x", ": no such step, found ''; known: form, cover, strip, slurry, sand, seal, use"),
    ],
)  # fmt: skip
def test_what_cannot_be_set_is_said(key: str, value: str, expected: str) -> None:
    with pytest.raises(Faults) as caught:
        apply_overrides(small(), [(key, value)])
    if key == "seal.id":  # which key is nearest is of no weight
        assert caught.value.faults[0].startswith("--set seal.id: unknown key, found 'id'; ")
    else:
        assert caught.value.faults == (f"--set {expected}",)


def test_a_wrong_value_is_said_by_the_profile() -> None:
    with pytest.raises(Faults, match=r"step seal: recoat.from: a time is wanted, not a mass"):
        compile_profile(apply_overrides(small(), [("seal.recoat.from", "2 kg")]), "x")


def test_all_wrong_keys_at_once() -> None:
    with pytest.raises(Faults) as caught:
        apply_overrides(small(), [("a.b", "1"), ("seal.coats", "3"), ("c.d", "1")], "piece top")
    assert [line.split(":")[0:2] for line in caught.value.faults] == [
        ["piece top", " --set a.b"],
        ["piece top", " --set c.d"],
    ]


@pytest.mark.parametrize("text", ["[" * 5000, "{" * 5000, "x" * 5000, '"' * 3])
def test_values_without_end_are_refused(text: str) -> None:
    with pytest.raises(Faults):
        compile_profile(apply_overrides(small(), [("seal.say", text)]), "x")
