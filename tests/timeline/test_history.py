"""Facts sorted for the solver: which counts where there can be only one, and that their order never matters."""

from curetrack.timeline.history import read_history
from tests.timeline.making import POUR_H, again, done, event, failed, later, numbered, passed, poured, skipped


def read(*facts):
    return read_history(numbered(facts))


def test_no_facts_mean_no_pour() -> None:
    found = read()
    assert (found.first_batch_h, found.last_batch_h, found.dropped) == (None, None, False)


def test_a_pour_without_batches_is_one_batch() -> None:
    found = read(poured())
    assert (found.first_batch_h, found.last_batch_h) == (POUR_H, POUR_H)


def test_several_batches_have_a_first_and_a_last_in_any_order() -> None:
    found = read(poured(1.5, 0.0, 0.5))
    assert (found.first_batch_h, found.last_batch_h) == (POUR_H, POUR_H + 1.5)


def test_the_newest_tick_of_a_step_counts_whatever_was_recorded_first() -> None:
    one, other = done("strip", 20.0), done("strip", 25.0)
    assert read(one, other).closed_h("strip") == read(other, one).closed_h("strip") == POUR_H + 25.0


def test_done_and_skipped_close_a_step_and_nothing_else_does() -> None:
    found = read(done("a", 1.0), skipped("b", 2.0), passed("c", 3.0), later("d", 4.0, 9.0))
    assert [found.closed_h(name) for name in "abcd"] == [POUR_H + 1.0, POUR_H + 2.0, None, None]


def test_answers_come_in_the_order_in_which_they_were_given() -> None:
    found = read(passed("strip", 9.0), failed("strip", 7.0), passed("flip", 8.0))
    assert [(answer.at_h - POUR_H, answer.passed) for answer in found.answers["strip"]] == [(7.0, False), (9.0, True)]


def test_answers_of_one_minute_come_in_the_order_of_their_recording() -> None:
    found = read(passed("strip", 9.0), failed("strip", 9.0))
    assert [answer.passed for answer in found.answers["strip"]] == [True, False]


def test_a_tick_may_bring_its_answer_along() -> None:
    assert [answer.passed for answer in read(done("strip", 9.0, check="pass")).answers["strip"]] == [True]


def test_the_newest_putting_off_counts() -> None:
    assert read(later("a", 3.0, 30.0), later("a", 2.0, 50.0)).later_h == {"a": POUR_H + 30.0}


def test_each_further_round_asked_for_is_kept() -> None:
    assert [step for _, step in read(again("look", 9.0), again("look", 5.0)).again] == ["look", "look"]


def test_a_dropped_piece_is_dropped_and_a_note_is_nothing() -> None:
    assert read(event("drop", 3.0, text="broke")).dropped
    assert not read(event("note", 3.0, text="fine")).dropped
