"""The closed lists: kinds, states, cautions, notes; amounts; and text that must not steer a terminal."""

from typing import get_args

import pytest
from rich.cells import cell_len

from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import shipped
from curetrack.profile.types import KINDS, Kind
from curetrack.timeline.types import Note, State
from curetrack.words.amounts import amount, difference, hours_of, mass, size
from curetrack.words.cautions import CAUTIONS, caution_name, caution_text, caution_texts
from curetrack.words.clean import clean
from curetrack.words.kinds import SHAPES, STATES, shape
from curetrack.words.notes import NOTES, note_text, notes_said
from tests.words.making import after, documented, line_with, voice

# common practice, Cautions: the keys of its table
CAUTION_KEYS = {
    "dust",
    "alkali",
    "eyes",
    "shock",
    "lift",
    "noise",
    "hav",
    "fumes",
    "fire",
    "vapour",
    "hot",
    "acid",
    "slip",
}


def test_every_kind_has_a_shape_of_its_own_and_a_twin_of_its_own() -> None:
    assert set(SHAPES) == set(KINDS) == set(get_args(Kind))
    assert len({each.glyph for each in SHAPES.values()}) == len(KINDS)
    assert len({each.ascii for each in SHAPES.values()}) == len(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_shape_takes_one_cell_and_its_twin_is_printable_ascii(kind: Kind) -> None:
    assert cell_len(shape(kind)) == len(shape(kind)) == 1
    twin = shape(kind, ascii_only=True)
    assert len(twin) == 1
    assert twin.isascii()
    assert twin.isprintable()
    assert not twin.isspace()


def test_states_are_the_five_of_the_design_and_are_called_so() -> None:
    assert set(STATES) == set(get_args(State)) == {"waiting", "ready", "late", "done", "skipped"}
    assert all(STATES[state] == state for state in STATES)


def test_cautions_are_those_of_the_profiles_table() -> None:
    assert set(CAUTIONS) == CAUTION_KEYS


def test_every_caution_of_a_shipped_profile_has_its_text() -> None:
    used = {
        key
        for profile_id, path in shipped()
        for step in compile_profile(load_document(path), profile_id, path.name).steps
        for key in step.cautions
    }
    assert used
    assert used <= set(CAUTIONS)


@pytest.mark.parametrize("key", sorted(CAUTIONS))
def test_a_caution_is_short_plain_and_promises_nothing(key: str) -> None:
    text = caution_text(key)
    assert text.endswith(".")
    assert len(text) < 260
    assert "safe" not in text.lower()
    assert 0 < len(caution_name(key).split()) <= 3


@pytest.mark.parametrize(
    ("key", "fact"),
    [
        ("shock", "30 mA"),
        ("fumes", "carbon monoxide kills"),
        ("dust", "P100 or FFP3"),
        ("acid", "Acid into water, never"),
        ("vapour", "asthma"),
        ("fire", "light themselves"),
        ("alkali", "without pain"),
    ],
)
def test_a_caution_keeps_the_fact_that_matters(key: str, fact: str) -> None:
    """The facts are those of common practice, Cautions."""
    assert fact in caution_text(key)


@pytest.mark.parametrize("key", ["shock", "dust", "fire", "vapour", "hot", "acid"])
def test_the_label_or_local_rules_are_named_where_they_decide(key: str) -> None:
    assert "label" in caution_text(key) or "local rules" in caution_text(key)


def test_a_caution_that_is_not_listed_is_shown_not_lost() -> None:
    assert caution_texts(("dust", "mind the cat"))[1] == "mind the cat"


def test_every_documented_note_has_words() -> None:
    documented_notes = {name.removeprefix("rule is ") for name in documented(Note, "rule is ")}
    assert documented_notes <= set(NOTES)


@pytest.mark.parametrize("rule", NOTES)
def test_a_note_is_words_and_keeps_its_text(rule: str) -> None:
    text = note_text(Note(rule, "Scuff evenly.", 3.0, at=after(-2)), voice())
    assert text != rule
    assert "_" not in text
    if rule in ("override", "missed", "failed", "expired"):
        assert "Scuff evenly." in text


def test_what_waits_for_a_visit_says_for_which() -> None:
    line = line_with(notes=(Note("visit", "Mist it (shelf)", 1.5, "h"),))
    assert notes_said(line, voice()) == ("with Mist it (shelf), one visit: it may wait 1 h 30 min",)


def test_an_override_is_shown_with_its_reason() -> None:
    line = line_with(state="done", done_at=after(-1), notes=(Note("override", "form was needed", at=after(-1)),))
    assert notes_said(line, voice()) == ('done against the hold, with the note "form was needed"',)


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        # conversions by exact definitions: 1 psi = 6.894757 kPa, °F = 9/5 °C + 32, 1 lb = 0.45359237 kg
        (3.5, "MPa", "3.5 MPa", "510 psi"),
        (11.0, "degC", "11 °C", "52 °F"),
        (-3.0, "degC", "-3 °C", "27 °F"),
        (3.0, "K", "3 °C", "5.4 °F"),
        (0.68, "kg/m2/h", "0.68 kg/m²/h", "0.14 lb/ft²/h"),
        (7.0, "h", "7 h", "7 h"),
        (2.0, "furlong", "2 furlong", "2 furlong"),
    ],
)
def test_amounts_in_both_systems(value: float, unit: str, metric: str, us: str) -> None:
    assert amount(value, unit, "metric") == metric
    assert amount(value, unit, "us") == us


def test_a_difference_of_temperatures_is_not_shifted_by_32() -> None:
    assert difference(10.0, "us") == "18 °F"


def test_hours_of_a_clock_go_over_to_days_late() -> None:
    assert [hours_of(h) for h in (0.5, 6.8, 46.0, 168.0, 244.0)] == ["30 min", "6.8 h", "46 h", "7 d", "10 d"]


def test_a_mass_to_lift_keeps_three_digits() -> None:
    assert mass(174.7, "metric") == "175 kg"


def test_sizes() -> None:
    assert size((1.8, 1.05, 0.038), "metric") == "1800 × 1050 × 38 mm"
    assert size((1.8288, 1.0668, 0.0381), "us") == "6 × 3.5 ft × 1.5 in"


@pytest.mark.parametrize(
    ("dirty", "shown"),
    [
        ("plain", "plain"),
        ("two\nlines\tand  more", "two lines and more"),
        ("\x1b]0;title\x07bell", "]0;titlebell"),
        ("left\u202eright\u200b", "leftright"),
        ("schön 石", "schön 石"),
        ("\udcff", ""),
    ],
)
def test_text_of_others_is_shown_never_obeyed(dirty: str, shown: str) -> None:
    assert clean(dirty) == shown
