"""Our side on a real Shop: what is wanted, and what the phone said, told once however often it is said."""

from datetime import timedelta
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.phone.caldav.side import SOURCE, ShopSide
from curetrack.phone.caldav.types import Fact, Wanted
from curetrack.phone.finished import FRESH
from curetrack.shop import View
from tests.phone.caldav.making import HELD, NEXT, OPEN, SHAPE, T0, Maker


@pytest.fixture
def maker(tmp_path: Path) -> Maker:
    made = Maker(tmp_path)
    made.clock.wait(minutes=5)
    return made


def side(maker: Maker) -> ShopSide:
    return ShopSide(maker.shop, maker.clock.now)


def wanted(maker: Maker, step: str) -> Wanted:
    return side(maker).wanted()[maker.uid(step)]


def fact(maker: Maker, what: str, step: str = OPEN, **more: object) -> Fact:
    values = {"at": maker.clock.now, **more}
    return Fact(what, maker.uid(step), "bench", step, **values)  # type: ignore[arg-type]  # by name


def test_the_next_steps_are_coming_and_all_are_known(maker: Maker) -> None:
    found = {want.step: want for want in side(maker).wanted().values()}
    assert found["pour"].done_at == T0
    assert found[OPEN].coming
    assert not found["seal-top-4"].coming  # a week ahead
    assert "form" not in found  # skipped by the pour
    assert "wax" not in found  # optional
    assert [step for step, want in found.items() if want.due is None and want.done_at is None] == []
    for want in found.values():
        assert all(at.microsecond == 0 for at in (want.due, want.done_at, *want.alarms) if at is not None)
        assert "Done:" not in want.texts.summary


def test_a_tick_is_recorded_once_at_the_phones_time(maker: Maker) -> None:
    said = fact(maker, "done", at=T0 + timedelta(minutes=3))
    assert side(maker).say(said) == ""
    (event,) = maker.events("done")
    assert (event.step, event.at, event.source) == (OPEN, T0 + timedelta(minutes=3), SOURCE)
    assert side(maker).say(said) == ""
    assert maker.events("done") == [event]
    assert wanted(maker, OPEN).done_at == T0 + timedelta(minutes=3)


def test_a_hold_ticked_too_early_is_refused_with_the_reason_and_nothing_is_written(maker: Maker) -> None:
    for step in (OPEN, NEXT, "cover-1", "trowel-back", "free", "cover-2"):
        maker.shop.done("bench", step, now=maker.clock.wait(hours=1))
    before = maker.shop.newest()
    text = side(maker).say(fact(maker, "done", HELD))
    assert text.startswith("Not taken: bench, strip: ")
    assert "too soon" in text or "not without its check" in text
    assert "MPa" in text  # what it waits for, in numbers
    assert maker.shop.newest() == before


def test_a_step_out_of_turn_is_refused(maker: Maker) -> None:
    assert "waits for" in side(maker).say(fact(maker, "done", "cover-2"))
    assert maker.events("done") == []


def test_a_tick_a_little_before_what_it_follows_counts_from_now(maker: Maker) -> None:
    """A phone that knows minutes only, or whose clock is behind."""
    maker.shop.done("bench", OPEN, at=maker.clock.now, now=maker.clock.now)
    now = maker.clock.wait(seconds=20)
    assert side(maker).say(fact(maker, "done", NEXT, at=now - timedelta(seconds=40))) == ""
    assert maker.events("done")[-1].at == now


def test_reopening_takes_the_tick_back_once(maker: Maker) -> None:
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    maker.clock.wait(minutes=1)
    for _ in range(2):
        assert side(maker).say(fact(maker, "reopen")) == ""
    assert maker.events("done") == []
    assert wanted(maker, OPEN).done_at is None
    before = maker.shop.newest()
    side(maker).say(fact(maker, "reopen"))
    assert maker.shop.newest() == before


def test_only_the_last_tick_of_just_that_step_is_taken_back(maker: Maker) -> None:
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    maker.shop.done("bench", NEXT, now=maker.clock.wait(minutes=9))
    side(maker).say(fact(maker, "reopen", OPEN))
    assert [event.step for event in maker.events("done")] == [NEXT]


def test_later_is_recorded_once(maker: Maker) -> None:
    until = maker.clock.now + timedelta(hours=2)
    said = fact(maker, "later", until=until)
    for _ in range(2):
        assert side(maker).say(said) == ""
        maker.clock.wait(minutes=1)  # the sync that was killed comes again a minute later
    (event,) = maker.events("later")
    assert (event.step, event.until) == (OPEN, until)
    assert wanted(maker, OPEN).due == until


def test_done_beats_later(maker: Maker) -> None:
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    assert side(maker).say(fact(maker, "later", until=maker.clock.now + timedelta(hours=2))) == ""
    assert maker.events("later") == []


def test_later_by_more_than_can_be_is_refused(maker: Maker) -> None:
    assert "60 days" in side(maker).say(fact(maker, "later", until=maker.clock.now + timedelta(days=99)))


def test_words_become_a_note_once_whatever_letters_they_hold(maker: Maker) -> None:
    text = "edge crumbles \x1b[31m\u202eleft\ncorner " + "x" * 3000
    for _ in range(2):
        assert side(maker).say(fact(maker, "note", text=text)) == ""
        maker.clock.wait(minutes=1)  # said again, of a to-do that does not tell when it was changed
    (event,) = maker.events("note")
    assert event.text.startswith(f"{OPEN}: edge crumbles [31mleft corner x")
    assert event.text.isprintable()
    assert len(event.text) <= 2000


def test_a_pour_can_be_ticked_and_is_taken_back_while_nothing_hangs_on_it(maker: Maker) -> None:
    now = maker.clock.now
    maker.shop.plan("top", profile="bagged-tabletop", shape=SHAPE, at=now + timedelta(minutes=2), now=now)
    (want,) = (one for one in side(maker).wanted().values() if (one.piece, one.step) == ("top", "pour"))
    maker.clock.wait(minutes=3)
    assert side(maker).say(Fact("done", want.uid, "top", "pour", maker.clock.now)) == ""
    view = View(maker.clock.now)
    assert maker.shop.timeline("top", view).poured_at == maker.clock.now
    assert side(maker).say(Fact("reopen", want.uid, "top", "pour", maker.clock.now)) == ""
    assert maker.shop.timeline("top", view).poured_at is None
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    assert "are ticked" in side(maker).say(fact(maker, "reopen", "pour"))


def test_ticks_of_a_finished_piece_can_be_taken_back_for_a_while(maker: Maker) -> None:
    maker.shop.done("bench", OPEN, now=maker.clock.now)
    ends = "uncover"  # what ends the repeats has to be done, the rest may be skipped
    for line in maker.shop.timeline("bench", View(maker.clock.now)).lines:
        if line.state not in ("done", "skipped") and line.step != ends:
            maker.shop.skip("bench", line.step, now=maker.clock.now)
    for line in maker.shop.timeline("bench", View(maker.clock.wait(days=3))).lines:
        if line.state not in ("done", "skipped"):
            maker.shop.done("bench", line.step, override="a test", now=maker.clock.now)
    assert maker.shop.timelines(View(maker.clock.now)) == []
    assert {"pour", OPEN, ends} <= {want.step for want in side(maker).wanted().values()}
    maker.clock.wait(days=FRESH.days + 1)
    assert side(maker).wanted() == {}


def test_a_piece_that_was_dropped_wants_nothing(maker: Maker) -> None:
    maker.shop.drop("bench", "broke", now=maker.clock.now)
    assert side(maker).wanted() == {}


def test_a_fault_of_the_store_is_no_refusal(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is raised, so that the next sync says the tick again."""

    def full(*_: object, **__: object) -> None:
        raise StoreTrouble("the disk is full")

    monkeypatch.setattr(maker.shop, "done", full)
    with pytest.raises(StoreTrouble):
        side(maker).say(fact(maker, "done"))
