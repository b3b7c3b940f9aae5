"""A piece's life as a whole: planned, poured, changed, noted, dropped (the design, life of a pour)."""

from datetime import timedelta
from pathlib import Path

import pytest

from curetrack.errors import BadInput, Faults, UnknownName
from curetrack.facts import Cutout, Shape
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from tests.shop.conftest import SHAPE, T0, Bench, hours


def edit(profile: Path, old: str, new: str) -> None:
    text = profile.read_text()
    assert old in text
    profile.write_text(text.replace(old, new))


def strip_need(bench: Bench) -> float | None:
    step = bench.shop.profile_of("top", View(hours(1))).step("strip")
    assert step is not None
    return step.not_before.maturity_h


# --- planned and poured ----------------------------------------------------------------------------------------------


def test_a_planned_piece_becomes_poured_by_its_name(bench: Bench) -> None:
    piece = bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(2), need_by=hours(400), now=T0)
    assert (piece.planned_pour_at, piece.need_by) == (hours(2), hours(400))
    receipt = bench.shop.pour("top", at=hours(3), now=hours(3))
    assert (receipt.written, receipt.lines) == (True, ())
    timeline = bench.shop.timeline("top", View(hours(4)))
    assert timeline.poured_at == hours(3)
    assert bench.shop.piece("top", View(hours(4))).need_by == hours(400)


def test_a_changed_profile_is_taken_anew_at_the_pour_and_said(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(2), now=T0)
    edit(bench.profile, 'maturity = "24 h" }\nhold', 'maturity = "30 h" }\nhold')
    receipt = bench.shop.pour("top", now=hours(2))
    assert receipt.text_key == "profile_changed"
    assert "changed since it was planned" in receipt.lines[0]
    assert strip_need(bench) == 30


def test_later_edits_do_not_move_a_piece_in_progress(bench: Bench) -> None:
    bench.pour()
    edit(bench.profile, 'maturity = "24 h" }\nhold', 'maturity = "30 h" }\nhold')
    assert strip_need(bench) == 24
    bench.profile.unlink()
    assert strip_need(bench) == 24


def test_set_values_of_the_plan_stay_with_it(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, sets=[("strip.not_before.maturity", "26 h")], now=T0)
    receipt = bench.shop.pour("top", sets=[("ease.not_before.wait", "2 h")], now=hours(1))
    assert receipt.lines == ()
    assert strip_need(bench) == 26


def test_a_planned_profile_that_is_gone_is_taken_as_planned(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, now=T0)
    bench.profile.unlink()
    receipt = bench.shop.pour("top", now=hours(1))
    assert "as planned, it cannot be read anew" in receipt.lines[0]
    assert strip_need(bench) == 24


def test_a_plan_said_anew_replaces_the_plan(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(2), now=T0)
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(2), now=T0)
    assert bench.said() == ["plan"]
    piece = bench.shop.plan("top", shape=Shape(1.2, 0.6, 0.04), now=T0)
    assert (piece.shape.length_m, piece.planned_pour_at) == (1.2, hours(2))
    assert len(bench.shop.pieces(View(T0))) == 1


def test_a_second_pour_is_refused_and_the_very_same_changes_nothing(bench: Bench) -> None:
    first = bench.pour()
    with pytest.raises(BadInput, match=r"top was poured 2026-03-02 09:00 already.*another name"):
        bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, now=hours(1))
    with pytest.raises(BadInput, match="already"):
        bench.shop.pour("top", profile=str(bench.profile), shape=Shape(1.2, 0.6, 0.04), at=T0, now=hours(1))
    again = bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, now=hours(1))
    assert (again.written, again.event) == (False, first)
    assert bench.said() == ["pour"]


def test_batches_are_kept_in_order_and_the_last_is_the_pour(bench: Bench) -> None:
    receipt = bench.shop.pour(
        "top", profile=str(bench.profile), shape=SHAPE, at=hours(1), batches=[hours(2), T0], now=hours(3)
    )
    assert receipt.event is not None
    assert receipt.event.batches == (T0, hours(1), hours(2))
    assert receipt.event.at == hours(2)


def test_the_pours_temperature_is_a_reading_of_this_piece(bench: Bench) -> None:
    receipt = bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, temp_degC=18.0, now=hours(1))
    assert receipt.reading is not None
    (reading,) = bench.shop.readings()
    assert (reading.at, reading.temp_degC, reading.place, reading.piece) == (T0, 18.0, "slab", "top")


def test_steps_before_the_pour_are_skipped_by_it(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(2), now=T0)
    assert bench.line("seal-joints", 0).state == "ready"
    bench.shop.pour("top", at=hours(2), now=hours(2))
    line = bench.line("seal-joints", 2)
    assert line.state == "skipped"
    assert [note.rule for note in line.notes] == ["unrecorded"]


# --- a mistyped pour -------------------------------------------------------------------------------------------------


def test_an_undone_pour_takes_its_temperature_with_it_and_brings_it_back(bench: Bench) -> None:
    bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, temp_degC=28.0, now=hours(1))
    undo = bench.shop.undo("top", now=hours(2)).event
    assert undo is not None
    assert (bench.shop.pieces(View(hours(2))), bench.shop.readings()) == ([], [])
    bench.shop.pour("top", profile=str(bench.profile), shape=Shape(1.2, 0.6, 0.04), at=T0, temp_degC=18.0, now=hours(2))
    assert [reading.temp_degC for reading in bench.shop.readings()] == [18.0]
    assert bench.shop.piece("top", View(hours(2))).shape.length_m == 1.2


def test_undoing_the_undo_of_a_pour_brings_its_temperature_back(bench: Bench) -> None:
    bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, temp_degC=28.0, now=hours(1))
    before = bench.shop.timeline("top", View(hours(2)))
    undo = bench.shop.undo("top", now=hours(2)).event
    assert undo is not None
    bench.shop.undo("top", event_id=undo.id, now=hours(3))
    assert bench.shop.timeline("top", View(hours(2))) == before


def test_a_pour_cannot_lie_after_steps_that_stay_ticked(warm: Bench) -> None:
    pour = warm.shop.events("top", View(hours(1)))[0]
    warm.done("cover", 1)
    warm.shop.undo("top", event_id=pour.id, now=hours(2))
    with pytest.raises(BadInput, match=r"cover is recorded as done .*, before this pour.*undo that first \(event 2\)"):
        warm.shop.pour("top", profile=str(warm.profile), shape=SHAPE, at=hours(1.5), now=hours(2))
    warm.shop.pour("top", profile=str(warm.profile), shape=SHAPE, at=hours(0.5), now=hours(2))
    assert warm.line("cover", 3).state == "done"


# --- change, note, drop ----------------------------------------------------------------------------------------------


def test_change_sets_a_value_of_a_piece_in_progress(warm: Bench) -> None:
    receipt = warm.shop.change("top", sets=[("strip.not_before.maturity", "30 h")], now=hours(2))
    assert receipt.written
    assert strip_need(warm) == 30
    assert warm.shop.change("top", sets=[("strip.not_before.maturity", "30 h")], now=hours(3)).written is False
    warm.shop.undo("top", now=hours(4))
    assert strip_need(warm) == 24


def test_another_profile_starts_from_its_own_values_and_says_what_is_lost(warm: Bench) -> None:
    warm.done("cover", 1)
    warm.shop.change("top", sets=[("strip.not_before.maturity", "30 h")], now=hours(2))
    other = warm.profile.with_name("other.toml")
    text = warm.profile.read_text().replace('id = "cover"', 'id = "wrap"').replace('"cover"', '"wrap"')
    other.write_text(text.replace('kind = "wrap"', 'kind = "cover"'))
    receipt = warm.shop.change("top", profile=str(other), now=hours(3))
    assert receipt.lines == (
        "the new profile has no step for what was done: cover",
        "earlier values are not carried over: strip.not_before.maturity=30 h",
    )
    assert warm.shop.piece("top", View(hours(3))).profile_id == "other"


def test_nothing_to_change_is_said(warm: Bench) -> None:
    with pytest.raises(BadInput, match="nothing to change"):
        warm.shop.change("top", now=hours(1))


def test_a_dropped_piece_takes_no_more_words_but_keeps_its_record(warm: Bench) -> None:
    warm.shop.drop("top", "it cracked", now=hours(30))
    assert warm.shop.drop("top", "it cracked", now=hours(31)).written is False
    assert warm.shop.pieces(View(hours(31))) == []
    assert warm.shop.timelines(View(hours(31))) == []
    assert [piece.name for piece in warm.shop.pieces(View(hours(31)), dropped=True)] == ["top"]
    assert warm.shop.timeline("top", View(hours(31))).dropped
    assert len(warm.shop.timelines(View(hours(29), as_of=True))) == 1
    with pytest.raises(BadInput, match=r"top was dropped .*it cracked.*undo that"):
        warm.done("cover", 32)
    with pytest.raises(BadInput, match="take another name"):
        warm.shop.plan("top", str(warm.profile), SHAPE, now=hours(32))
    warm.shop.undo("top", now=hours(33))
    assert warm.done("cover", 34)


def test_notes_are_kept_each_once(warm: Bench) -> None:
    assert warm.shop.note("top", "  a corner\n is soft ", now=hours(2)).written
    assert not warm.shop.note("top", "a corner is soft", now=hours(2)).written
    assert warm.shop.note("top", "a corner is soft", now=hours(3)).written
    assert [event.text for event in warm.shop.events("top", View(hours(4)))][1:] == ["a corner is soft"] * 2


# --- what cannot be --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("", "1 to 60 characters"), ("   ", "1 to 60 characters"), ("x" * 61, "1 to 60 characters"),
        ("a\nb", "printable"), ("a\x1b[31m", "printable"), ("a\u202eb", "printable"), ("a\x00", "printable"),
    ],
)  # fmt: skip
def test_names_that_cannot_be(bench: Bench, name: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        bench.shop.pour(name, profile=str(bench.profile), shape=SHAPE, at=T0, now=T0)
    assert not bench.home.exists()


def test_names_are_trimmed_and_composed(bench: Bench) -> None:
    bench.shop.pour("  Cafe\u0301 table  ", profile=str(bench.profile), shape=SHAPE, at=T0, now=T0)
    assert [piece.name for piece in bench.shop.pieces(View(T0))] == ["Caf\u00e9 table"]
    assert bench.done("cover", 1, name=" Cafe\u0301 table").piece == "Caf\u00e9 table"
    bench.shop.add_reading(temp_degC=20.0, piece="Cafe\u0301 table", now=T0)
    assert bench.shop.readings()[0].piece == "Caf\u00e9 table"
    assert bench.shop.undo("Cafe\u0301 table", now=hours(2)).written


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (Shape(0.04, 0.6, 1.8), "length"), (Shape(1.8, 0.6, 0.6), "thickness"), (Shape(1.8, 0.6, 0.0038), "thickness"),
        (Shape(18.0, 0.6, 0.04), "length"), (Shape(float("nan"), 0.6, 0.04), "length"),
        (Shape(1e9, 0.6, 0.04), "length"), (Shape(1.8, 0.06, 0.08), "thickness is more than a side"),
    ],
)  # fmt: skip
def test_sizes_that_cannot_be(bench: Bench, shape: Shape, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        bench.shop.pour("top", profile=str(bench.profile), shape=shape, at=T0, now=T0)
    assert not bench.home.exists()


def test_a_cutout_outside_the_slab_is_refused(bench: Bench) -> None:
    shape = Shape(1.8, 0.6, 0.04, (Cutout(0.4, 0.3, 1.6, 0.1),))
    with pytest.raises(BadInput):
        bench.shop.pour("top", profile=str(bench.profile), shape=shape, at=T0, now=T0)
    assert not bench.home.exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"at": T0 + timedelta(minutes=5)}, "lies in the future.*it is 2026-03-02 09:00"),
        ({"batches": [T0 - timedelta(hours=30), T0]}, "batches of one piece lie within a day"),
        ({"need_by": T0 - timedelta(hours=1)}, "needed before it is poured"),
        ({"profile": None}, "top has no profile.*--profile"),
        ({"shape": None}, "top has no size.*--size"),
        ({"temp_degC": 95.0}, "slab temperature out of range"),
        ({"sets": [("strip.nonsense", "1 h")]}, "nonsense"),
        ({"profile": "no-such-profile"}, "no profile is named"),
        ({"override": " "}, "the reason of an override is empty"),
        ({"source": "the cat; DROP TABLE"}, "a source is one short word"),
    ],
)  # fmt: skip
def test_pours_that_cannot_be_write_nothing(bench: Bench, words: dict[str, object], said: str) -> None:
    usual: dict[str, object] = {"profile": str(bench.profile), "shape": SHAPE, "at": T0, "now": T0}
    with pytest.raises(BadInput, match=said):
        bench.shop.pour("top", **{**usual, **words})  # type: ignore[arg-type]  # wrong on purpose
    assert not bench.home.exists()


def test_plans_that_cannot_be(bench: Bench) -> None:
    plan = bench.shop.plan
    with pytest.raises(BadInput, match="a planned pour lies ahead"):
        plan("top", str(bench.profile), SHAPE, at=hours(-1), now=T0)
    with pytest.raises(BadInput, match="needed before it is poured"):
        plan("top", str(bench.profile), SHAPE, at=hours(5), need_by=hours(4), now=T0)
    assert not bench.home.exists()
    bench.pour()
    with pytest.raises(BadInput, match=r"top was poured .*another name"):
        plan("top", str(bench.profile), SHAPE, at=hours(5), now=hours(1))


def test_every_fault_of_a_profile_is_listed(bench: Bench) -> None:
    edit(bench.profile, 'kind = "wet"', 'kind = "soggy"')
    edit(bench.profile, 'every = "24 h"', 'every = "24 apples"')
    with pytest.raises(Faults) as caught:
        bench.pour()
    assert len(caught.value.faults) == 2
    assert not bench.home.exists()


def test_a_piece_that_is_not_there_names_those_that_are(warm: Bench) -> None:
    with pytest.raises(UnknownName, match="no piece is named 'tpo'; known: top"):
        warm.shop.timeline("tpo", View(T0))


# --- profiles that build on others -----------------------------------------------------------------------------------


def built_on_bench(bench: Bench) -> Path:
    own = bench.profile.with_name("own.toml")
    own.write_text(
        f'format = 1\nname = "Own"\nbuild_on = "{bench.profile.name}"\n'
        '[change.strip]\nnot_before = { maturity = "26 h" }\n'
    )
    return own


def test_a_poured_piece_keeps_the_whole_profile_whatever_becomes_of_what_it_was_built_on(bench: Bench) -> None:
    bench.profile = built_on_bench(bench)
    base = bench.profile.with_name("bench.toml")
    assert base.exists()
    bench.pour()
    assert strip_need(bench) == 26
    kept = bench.shop.timeline("top", View(hours(1)))
    base.write_text("nothing = true\n")
    bench.profile.unlink()
    with Shop(bench.home, settings=Settings(timezone="UTC")) as again:
        assert [line.ready_at for line in again.timeline("top", View(hours(1))).lines] == [
            line.ready_at for line in kept.lines
        ]
        document = again.ledger.document(again.ledger.sheets()[1].profile_sha)
    assert not {"build_on", "leave_out", "change"} & document.keys()


def test_a_plan_takes_a_change_of_its_base_at_the_pour_and_says_so(bench: Bench) -> None:
    own = built_on_bench(bench)
    bench.shop.plan("top", str(own), SHAPE, at=hours(2), now=T0)
    edit(bench.profile, 'maturity = "24 h" }\nhold', 'maturity = "24 h", age = "30 h" }\nhold')
    receipt = bench.shop.pour("top", at=hours(2), now=hours(2))
    assert receipt.text_key == "profile_changed"
    assert bench.shop.profile_of("top", View(hours(3))).step("strip").not_before.age_h == 30  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "wrong", ['build_on = "own.toml"', 'build_on = "nowhere"', 'build_on = "bench.toml"\nleave_out = "x"']
)
def test_a_profile_that_is_wrongly_built_is_refused_and_nothing_is_written(wrong: str, bench: Bench) -> None:
    own = bench.profile.with_name("own.toml")
    own.write_text(f'format = 1\nname = "Own"\n{wrong}\n')
    with pytest.raises(Faults, match=r"own\.toml: line"):
        bench.shop.pour("top", profile=str(own), shape=SHAPE, at=T0, now=T0)
    assert bench.shop.ledger.entries() == []
