"""Which line a typed step name means, and which steps come before the pour. Pure: no ledger."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack.errors import UnknownName
from curetrack.profile.load import compile_profile, load_document
from curetrack.shop.refusals import OpenPredecessor, blockers_of, held, missed_text, too_few
from curetrack.shop.steps_of import before_pour, follows_pour, line_named, round_of, step_behind
from curetrack.timeline.types import Line, Note, State, Timeline

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
PROFILE = compile_profile(load_document(Path(__file__).with_name("bench.toml")), "bench")


def line(step: str, state: State = "waiting", *, waits_for: tuple[str, ...] = (), **more: object) -> Line:
    made = Line(
        piece="top", step=step, title=step, kind="form", state=state, hold=False, check=None, round=1, ready_at=None,
        plan_at=None, late_at=None, done_at=None, band=None, band_method=None, check_from=None, opens_at=None,
        reasons=(), cautions=(), crew=1, hands_on_h=0.0, waits_for=waits_for,
        open_to_do=state in ("ready", "late", "waiting") and not waits_for,
    )  # fmt: skip
    return replace(made, **more)


def timeline(*lines: Line) -> Timeline:
    return Timeline(
        piece="top", profile_id="bench", now=NOW, poured_at=NOW, planned_pour_at=None, age_h=0.0, equivalent_age_h=None,
        strength_MPa=None, strength_band_MPa=None, slab_degC=None, last_reading_at=None, mass_lift_kg=1.0, lines=lines,
        alerts=(),
    )  # fmt: skip


MIXED = timeline(
    line("cover", "done"), line("mist", "done"), line("mist.2", "done"), line("mist.3", "ready"),
    line("slurry", "done"), line("slurry.2", "waiting", waits_for=("clean.2",)), line("clean", "done"),
    line("clean.2", "ready"), line("coat-1", "done"), line("coat-2", "ready"), line("coat-3", waits_for=("coat-2",)),
    line("sheet", "done"), line("sheet-read", "waiting"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "step"),
    [
        ("cover", "cover"), (" Cover ", "cover"), ("mist", "mist.3"), ("mist.2", "mist.2"), ("slurry", "slurry.2"),
        ("coat", "coat-2"), ("coat-1", "coat-1"), ("coat-3", "coat-3"), ("sheet", "sheet"),
        ("sheet-read", "sheet-read"), ("clean", "clean.2"),
    ],
)  # fmt: skip
def test_the_line_that_is_meant(typed: str, step: str) -> None:
    assert line_named(MIXED, typed).step == step


@pytest.mark.parametrize("typed", ["", "coat-4", "coa", "mist.9", "sheet-rea", "mi.t", ".*"])
def test_a_name_that_means_nothing(typed: str) -> None:
    with pytest.raises(UnknownName):
        line_named(MIXED, typed)


def test_when_all_coats_are_done_the_last_is_meant() -> None:
    assert line_named(timeline(line("coat-1", "done"), line("coat-2", "done")), "coat").step == "coat-2"


def test_steps_before_the_pour_and_what_leads_to_them() -> None:
    assert before_pour(PROFILE) == {"seal-joints"}
    shaped = replace(PROFILE, steps=(*PROFILE.steps, replace(PROFILE.steps[0], id="dust", before=("seal-joints",))))
    assert before_pour(shaped) == {"seal-joints", "dust"}
    assert all(follows_pour(PROFILE, step) for step in ("cover", "mist.2", "coat-1"))
    assert not any(follows_pour(PROFILE, step) for step in ("seal-joints", "no-such", "pour"))


def test_the_profiles_step_behind_a_line() -> None:
    found = [step_behind(PROFILE, step) for step in ("strip", "mist.4", "coat-2", "sand.2", "coat-2.2", "nothing")]
    assert [step.id if step else None for step in found] == ["strip", "mist", "coat", "sand", "coat", None]


def test_rounds_by_either_end() -> None:
    rounds = timeline(line("slurry", "done"), line("sand", "done", again="slurry"), line("sand.2", again="slurry"))
    assert [found.step for found in round_of(rounds, "slurry")] == ["sand", "sand.2"]
    assert [found.step for found in round_of(rounds, "SAND.2")] == ["sand", "sand.2"]
    assert round_of(rounds, "strip") == []


def test_all_that_is_open_before_a_step_the_farthest_first() -> None:
    chain = timeline(line("a", "ready"), line("b", waits_for=("a",)), line("c", waits_for=("b", "a")))
    assert blockers_of(chain, chain.lines[2]) == ["a", "b"]
    assert blockers_of(chain, line("x", waits_for=("pour",))) == ["pour"]


def test_held_is_a_hold_with_nothing_else_before_it() -> None:
    assert held(line("strip", "waiting", hold=True))
    assert not held(line("strip", "waiting", hold=True, waits_for=("cover",)))
    assert not held(line("strip", "ready", hold=True))
    assert not held(line("strip", "late", hold=True))
    assert not held(line("ease", "waiting"))


def test_a_missed_window_is_one_whose_remedy_has_become_the_check() -> None:
    note = Note("missed", "Abrade evenly.")
    assert missed_text(line("coat-2", "late", check="Abrade evenly.", notes=(note,))) == "Abrade evenly."
    assert missed_text(line("mist", "late", check="Look.", notes=(note,))) == ""
    assert missed_text(line("coat-2", "ready", check="Abrade evenly.", notes=(note,))) == ""


def test_too_few_counts_only_who_was_counted() -> None:
    assert not too_few(line("flip", kind="lift", crew=4), None)
    assert not too_few(line("flip", kind="lift", crew=4), 4)
    assert too_few(line("flip", kind="lift", crew=4), 3)


def test_the_pour_as_a_predecessor_has_no_earlier() -> None:
    assert "the pour comes first" in str(OpenPredecessor(line("cover"), ["pour"]))
