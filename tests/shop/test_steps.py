"""Looked at, put off, skipped, once more, and undone."""

from datetime import timedelta

import pytest

from curetrack.errors import BadInput, UnknownName
from curetrack.shop import View
from tests.shop.conftest import SHAPE, T0, Bench, hours

# --- check -----------------------------------------------------------------------------------------------------------


def test_a_passed_check_opens_the_hold(warm: Bench) -> None:
    warm.done("cover", 1)
    receipt = warm.shop.check("top", "strip", "pass", now=hours(24.5))
    assert (receipt.written, receipt.lines) == (True, ())
    assert warm.line("strip", 24.6).state == "ready"
    assert warm.done("strip", 24.7)


def test_a_check_before_the_bands_start_is_kept_and_said_to_be_early(warm: Bench) -> None:
    warm.done("cover", 1)
    receipt = warm.shop.check("top", "strip", "pass", now=hours(10))
    assert receipt.text_key == "check_early"
    assert "it counts from 2026-03-03" in receipt.lines[0]
    assert warm.line("strip", 10.1).state == "waiting"


def test_a_failed_check_says_what_to_do(warm: Bench) -> None:
    warm.done("cover", 1)
    receipt = warm.shop.check("top", "strip", "fail", now=hours(25))
    assert (receipt.text_key, receipt.lines) == ("check_failed", ("Cover again and look in six hours.",))


def test_the_hardness_check_is_of_the_piece(warm: Bench) -> None:
    receipt = warm.shop.check("top", "Hardness", "pass", now=hours(60))
    assert receipt.event is not None
    assert receipt.event.step == "hardness"
    with pytest.raises(BadInput, match="was not poured then"):
        warm.shop.check("top", "hardness", "pass", at=hours(-1), now=hours(60))


@pytest.mark.parametrize(
    ("step", "answer", "said"),
    [
        ("ease", "pass", "ease has no hand check"),
        ("cover", "pass", "cover was done"),
        ("strip", "well", "pass or fail"),
    ],
)
def test_checks_that_cannot_be(warm: Bench, step: str, answer: str, said: str) -> None:
    warm.done("cover", 1)
    with pytest.raises(BadInput, match=said):
        warm.shop.check("top", step, answer, now=hours(30))  # type: ignore[arg-type]  # wrong on purpose
    assert warm.said() == ["pour", "done cover"]


# --- later, skip -----------------------------------------------------------------------------------------------------


def test_later_moves_the_plan(warm: Bench) -> None:
    warm.shop.later("top", "cover", hours(3), now=hours(1))
    assert warm.line("cover", 1).plan_at == hours(3)
    assert warm.shop.later("top", "cover", hours(3), now=hours(1)).written is False


def test_later_than_its_latest_moment_is_said(warm: Bench) -> None:
    warm.through("coat-1")
    receipt = warm.shop.later("top", "coat", hours(185), now=hours(172))
    assert receipt.lines == ("that is after its latest moment, 2026-03-09 20:00",)


@pytest.mark.parametrize("until_h", [1.0, 0.5, 24 * 61.0])
def test_put_off_to_a_time_that_cannot_be(warm: Bench, until_h: float) -> None:
    with pytest.raises(BadInput, match="put off to a time ahead, at most 60 days"):
        warm.shop.later("top", "cover", hours(until_h), now=hours(1))


def test_skip_leaves_a_step_out_a_hold_too(warm: Bench) -> None:
    warm.shop.skip("top", "cover", now=hours(1))
    assert warm.shop.skip("top", "cover", now=hours(2)).written is False
    warm.shop.skip("top", "strip", now=hours(3))
    assert [warm.line(step, 4).state for step in ("cover", "strip", "ease")] == ["skipped", "skipped", "ready"]
    assert warm.said() == ["pour", "skip cover", "skip strip"]


def test_what_is_done_is_not_skipped_nor_put_off(warm: Bench) -> None:
    warm.done("cover", 1)
    with pytest.raises(BadInput, match=r"cover was done 2026-03-02 10:00; undo that first"):
        warm.shop.skip("top", "cover", now=hours(2))
    with pytest.raises(BadInput, match="cover was done"):
        warm.shop.later("top", "cover", hours(9), now=hours(2))


def test_a_skipped_step_may_be_done_after_all(warm: Bench) -> None:
    warm.shop.skip("top", "cover", now=hours(1))
    warm.done("cover", 2)
    assert warm.line("cover", 3).state == "done"


# --- again -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["sand", "slurry"])
def test_another_round_by_its_last_or_its_first_step(warm: Bench, word: str) -> None:
    warm.through("sand")
    receipt = warm.shop.again("top", word, now=hours(170.5))
    assert receipt.event is not None
    assert receipt.event.step == "sand"
    lines = warm.shop.timeline("top", View(hours(171))).lines
    assert {line.step for line in lines if line.round == 2} == {"slurry.2", "sand.2"}
    assert warm.line("coat-1", 171).waits_for == ("sand.2",)
    assert warm.shop.again("top", word, now=hours(171)).text_key == "round_open"
    assert warm.done("slurry", 171).step == "slurry.2"  # the open one is meant


def test_another_round_of_what_has_none(warm: Bench) -> None:
    with pytest.raises(BadInput, match=r"no further round is offered for strip; offered for: sand"):
        warm.shop.again("top", "strip", now=hours(1))
    with pytest.raises(UnknownName, match="no step is named 'polish'"):
        warm.shop.again("top", "polish", now=hours(1))
    assert warm.shop.again("top", "sand", now=hours(1)).written is False  # the first is still to do


# --- undo ------------------------------------------------------------------------------------------------------------


def test_undo_withdraws_the_last_said_and_so_on_backwards(warm: Bench) -> None:
    before = [warm.shop.timeline("top", View(hours(50)))]
    for step, at_h in (("cover", 1), ("mist", 18)):
        warm.done(step, at_h)
        before.append(warm.shop.timeline("top", View(hours(50))))
    for number in (1, 0):
        receipt = warm.shop.undo("top", now=hours(51))
        assert receipt.withdrawn is not None
        assert warm.shop.timeline("top", View(hours(50))) == before[number]
    warm.shop.undo("top", now=hours(52))
    with pytest.raises(BadInput, match="top has nothing left to undo"):
        warm.shop.undo("top", now=hours(53))


def test_undo_of_a_chosen_event_and_of_that_undo(warm: Bench) -> None:
    cover = warm.done("cover", 1)
    warm.done("mist", 18)
    before = warm.shop.timeline("top", View(hours(50)))
    undo = warm.shop.undo("top", event_id=cover.id, now=hours(20)).event
    assert undo is not None
    assert warm.line("cover", 21).state == "ready"
    assert warm.shop.undo("top", event_id=cover.id, now=hours(21)).written is False
    receipt = warm.shop.undo("top", event_id=undo.id, now=hours(22))
    assert (receipt.withdrawn, receipt.lines) == (cover, ("brought back: done cover",))
    assert warm.shop.timeline("top", View(hours(50))) == before


def test_undo_of_a_plan_and_of_a_skip(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(5), now=T0)
    bench.shop.skip("top", "seal-joints", now=hours(1))
    bench.shop.undo("top", now=hours(1))
    assert bench.line("seal-joints", 2).state == "ready"
    bench.shop.undo("top", now=hours(1))
    assert bench.shop.pieces(View(hours(2))) == []
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(5), now=hours(2))  # the name is free again
    assert len(bench.shop.pieces(View(hours(2)))) == 1


def test_undo_of_what_is_not_there(warm: Bench) -> None:
    with pytest.raises(UnknownName, match="no event is named '99'; known: 1"):
        warm.shop.undo("top", event_id=99, now=hours(1))
    with pytest.raises(UnknownName, match="no piece is named 'tpo'"):
        warm.shop.undo("tpo", now=hours(1))


def test_an_event_of_another_piece_is_not_undone(warm: Bench) -> None:
    warm.pour("bench")
    with pytest.raises(UnknownName, match="no event is named '1'"):
        warm.shop.undo("bench", event_id=1, now=hours(1))


def test_undo_keeps_the_record(warm: Bench) -> None:
    warm.done("cover", 1)
    warm.shop.undo("top", now=hours(2))
    then = View(hours(1.5), known_at=hours(1.5), as_of=True)
    line = warm.shop.timeline("top", then).line("cover")
    assert line is not None
    assert line.state == "done"  # what one knew then
    assert warm.line("cover", 1.5).state == "ready"  # what is known to be true of then
    assert T0 + timedelta(hours=1) in {entry.event.at for entry in warm.shop.ledger.entries() if entry.event}
