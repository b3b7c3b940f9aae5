"""`done`: what is ticked, what is refused, and by what was known at the time."""

from datetime import datetime
from typing import Any

import pytest

from curetrack.errors import BadInput, Refused, UnknownName
from curetrack.shop import Shop, View
from curetrack.shop.desk import Known
from curetrack.shop.refusals import (
    BadGrip,
    FailedCheck,
    HeldStep,
    MissedWindow,
    OpenPredecessor,
    TooFewHands,
)
from curetrack.timeline.types import Timeline
from tests.shop.conftest import SHAPE, T0, Bench, hours


@pytest.fixture
def cool(bench: Bench) -> Bench:
    """At 12 °C, where the rate laws differ and the bands are wide; covered."""
    bench.warm(12.0).pour()
    bench.done("cover", 1)
    return bench


def after_pour(at: datetime | None) -> float:
    assert at is not None
    return (at - T0).total_seconds() / 3600


# --- holds --------------------------------------------------------------------------------------------------


def test_a_hold_done_too_soon_is_refused_with_reason_band_and_check(warm: Bench) -> None:
    warm.done("cover", 1)
    with pytest.raises(HeldStep) as caught:
        warm.done("strip", 12)
    said = str(caught.value)
    assert said.startswith("top, strip: held, too soon; maturity needs 24 h, has 12; ready 2026-03-03 09:00")
    assert "a passed check from 2026-03-03" in said
    assert "opens by itself 2026-03-03" in said
    assert (caught.value.exit_code, caught.value.rule, caught.value.line.step) == (1, "maturity", "strip")
    assert "done strip" not in warm.said()


def test_an_override_ticks_it_and_is_shown_ever_after(warm: Bench) -> None:
    warm.done("cover", 1)
    assert warm.done("strip", 12, override="the form was needed").override == "the form was needed"
    assert [note.text for note in warm.line("strip", 500).notes if note.rule == "override"] == ["the form was needed"]


def test_an_override_that_was_not_needed_is_not_recorded_but_said(warm: Bench) -> None:
    receipt = warm.shop.done("top", "cover", override="just so", now=hours(1))
    assert receipt.event is not None
    assert (receipt.event.override, receipt.text_key) == (None, "no_override")


def test_a_passed_check_with_the_tick_opens_it_from_the_bands_start(cool: Bench) -> None:
    from_h = after_pour(cool.line("strip", 30).check_from)
    with pytest.raises(HeldStep):
        cool.done("strip", from_h - 0.5, check="pass")
    assert cool.done("strip", from_h + 0.5, check="pass").check == "pass"


def test_without_a_check_a_hold_opens_at_the_bands_end(cool: Bench) -> None:
    opens_h = after_pour(cool.line("strip", 45).opens_at)
    with pytest.raises(HeldStep):
        cool.done("strip", opens_h - 0.5)
    assert cool.done("strip", opens_h + 0.5)


def test_a_failed_check_is_recorded_and_the_step_is_not_ticked(cool: Bench) -> None:
    with pytest.raises(FailedCheck, match=r"the check failed, so it is not ticked; Cover again and look in six hours"):
        cool.done("strip", 34, check="fail")
    assert cool.said() == ["pour", "done cover", "check strip"]
    assert cool.line("strip", 34.1).state == "waiting"
    assert cool.done("strip", 40, check="pass")


def test_a_step_that_is_no_hold_may_be_done_early(warm: Bench) -> None:
    warm.through("strip")
    assert warm.line("ease", 40).ready_at == hours(41)
    assert warm.done("ease", 40.2)


# --- crew and grip (acceptance case H1 works the numbers) -------------------------------------------------------------


def test_too_few_hands_are_refused(warm: Bench) -> None:
    warm.through("ease")
    with pytest.raises(TooFewHands, match="needs 3 people, 2 are named") as caught:
        warm.done("flip", 130, crew=2)
    assert (caught.value.crew, caught.value.need) == (2, 3)
    assert warm.done("flip", 130, crew=3).crew == 3


def test_a_grip_that_bends_it_too_far_is_refused_with_the_numbers(warm: Bench) -> None:
    """1.8 m long, 40 mm, 2350 kg/m3, flat by the ends: 0.75 rho g L^2 / t = 1.40 MPa (the design), doubled for
    a jolt and 1.5 on cracking: 4.2 MPa needed."""
    warm.through("ease")
    with pytest.raises(BadGrip) as caught:
        warm.done("flip", 130, crew=4, grip="flat-ends")
    stress = 0.75 * 2350 * 9.80665 * 1.8**2 / 0.04 / 1e6
    assert caught.value.answer.stress_MPa == pytest.approx(stress, rel=1e-6)
    assert caught.value.answer.needed_MPa == pytest.approx(3 * stress, rel=1e-6)
    assert warm.done("flip", 130, crew=4, grip="long-edge").grip == "long-edge"


def test_all_that_stands_against_it_is_said_at_once(warm: Bench) -> None:
    warm.through("ease")
    with pytest.raises(HeldStep) as caught:
        warm.done("flip", 50, crew=1, grip="flat-ends")
    assert [type(refused) for refused in caught.value.also] == [TooFewHands, BadGrip]
    assert "held, too soon" in str(caught.value)
    assert "; also needs 3 people" in str(caught.value)
    assert "; also held flat-ends it bends" in str(caught.value)
    assert "\n" not in str(caught.value)
    event = warm.done("flip", 50, crew=1, grip="flat-ends", override="a crane")
    assert (event.crew, event.grip, event.override) == (1, "flat-ends", "a crane")


def test_a_grip_for_a_step_that_is_no_lift_is_bad_input(warm: Bench) -> None:
    with pytest.raises(BadInput, match="cover is no lift"):
        warm.done("cover", 1, grip="on-edge")


# --- predecessors -------------------------------------------------------------------------------------------


def test_an_open_predecessor_is_named(warm: Bench) -> None:
    with pytest.raises(OpenPredecessor, match=r"top, strip: waits for cover; .*--earlier") as caught:
        warm.done("strip", 40)
    assert caught.value.blockers == ("cover",)


def test_earlier_ticks_the_open_ones_at_the_same_time(warm: Bench) -> None:
    receipt = warm.shop.done("top", "strip", check="pass", earlier=True, now=hours(40))
    assert [(event.step, event.at) for event in receipt.events] == [("cover", hours(40)), ("strip", hours(40))]
    assert warm.said() == ["pour", "done cover", "done strip"]


def test_earlier_never_ticks_a_hold(warm: Bench) -> None:
    with pytest.raises(OpenPredecessor, match="--earlier never ticks a hold: do strip first") as caught:
        warm.done("ease", 60, earlier=True)
    assert caught.value.held == ("strip",)
    assert warm.said() == ["pour"]


def test_an_override_does_not_pass_an_open_predecessor(warm: Bench) -> None:
    with pytest.raises(OpenPredecessor):
        warm.done("strip", 40, override="because")


def test_an_optional_step_is_never_waited_for(warm: Bench) -> None:
    warm.through("flip")
    assert warm.line("slurry", 131).waits_for == ()
    assert warm.done("slurry", 131)


def test_before_the_pour_only_steps_before_it_may_be_done(bench: Bench) -> None:
    bench.shop.plan("top", str(bench.profile), SHAPE, at=hours(5), now=T0)
    with pytest.raises(OpenPredecessor, match="waits for pour; the pour comes first"):
        bench.done("cover", 1, earlier=True)
    assert bench.done("seal-joints", 1)


def test_a_step_before_the_pour_may_be_told_after_it(warm: Bench) -> None:
    with pytest.raises(BadInput, match=r"it comes before the pour \(2026-03-02 09:00\).*with --at"):
        warm.done("seal-joints", 3)
    warm.done("seal-joints", 3, at=hours(-1))
    line = warm.line("seal-joints", 4)
    assert (line.state, line.done_at) == ("done", hours(-1))


# --- times --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_h", "said"),
    [(41.1, "lies in the future"), (-0.5, "before the pour"), (0.5, "before cover was done")],
)
def test_times_that_cannot_be(warm: Bench, at_h: float, said: str) -> None:
    warm.done("cover", 1)
    with pytest.raises(BadInput, match=said):
        warm.done("strip", 41, at=hours(at_h), check="pass")
    assert warm.said() == ["pour", "done cover"]


def test_a_clock_that_is_a_little_ahead_is_forgiven(warm: Bench) -> None:
    assert warm.done("cover", 1, at=hours(1 + 30 / 3600))


def test_two_ticks_may_follow_each_other_within_a_second(warm: Bench) -> None:
    """A timeline says moments to the second: 0.6 s rounds up, past the next tick at 0.7 s."""
    warm.done("cover", 40 + 0.6 / 3600)
    assert warm.done("strip", 40 + 0.7 / 3600, check="pass").kind == "done"


def test_it_is_judged_by_what_was_so_at_the_time(warm: Bench) -> None:
    """Told on Friday that it was done on Tuesday noon: too soon then, whatever is true by Friday."""
    warm.done("cover", 1)
    with pytest.raises(HeldStep):
        warm.done("strip", 100, at=hours(12))
    assert warm.done("strip", 100, at=hours(40), check="pass")


def test_what_happened_later_does_not_count(warm: Bench) -> None:
    """Covering was left out at 41 h; at 30 h it was still to do."""
    warm.shop.skip("top", "cover", now=hours(41))
    with pytest.raises(OpenPredecessor):
        warm.done("strip", 42, at=hours(30), check="pass")
    assert warm.done("strip", 42, check="pass")


def test_what_was_learnt_later_counts_if_it_happened_before(bench: Bench) -> None:
    """No temperature was known at the time; the logger is read in afterwards."""
    bench.pour()
    bench.done("cover", 1)
    with pytest.raises(HeldStep, match="cannot be judged"):
        bench.done("strip", 60)
    bench.warm()
    assert bench.done("strip", 100, at=hours(60))


# --- twice --------------------------------------------------------------------------------------------------


def test_done_twice_changes_nothing(warm: Bench) -> None:
    first = warm.done("cover", 1)
    again = warm.shop.done("top", "cover", now=hours(9))
    assert (again.written, again.event, again.text_key) == (False, first, "twice")
    assert warm.said() == ["pour", "done cover"]


def test_a_repeat_ticked_again_at_once_is_the_same_tick(warm: Bench) -> None:
    warm.done("cover", 1)
    assert warm.done("mist", 18).step == "mist"
    assert warm.shop.done("top", "mist", now=hours(18.1)).written is False
    assert warm.done("mist", 40).step == "mist.2"
    assert warm.done("mist.3", 40.1).step == "mist.3"  # named, it is meant
    assert warm.said() == ["pour", "done cover", "done mist", "done mist.2", "done mist.3"]


# --- which step is meant ------------------------------------------------------------------------------------


def test_a_coat_is_named_by_its_step(warm: Bench) -> None:
    warm.through("sand")
    assert warm.done("coat", 171, check="pass").step == "coat-1"
    assert warm.done("COAT", 176, check="pass").step == "coat-2"


def test_a_step_that_is_not_there_names_those_that_are(warm: Bench) -> None:
    with pytest.raises(UnknownName, match="no step is named 'stripp'; known: seal-joints, cover"):
        warm.done("stripp", 1)
    with pytest.raises(UnknownName, match="no step is named 'co'"):
        warm.done("co", 1)


def test_the_pour_is_told_by_its_own_word(bench: Bench) -> None:
    text = bench.profile.read_text()
    bench.profile.write_text(text + '\n[[step]]\nid = "pour"\nkind = "place"\ntitle = "Pour"\nafter = "seal-joints"\n')
    bench.pour()
    with pytest.raises(BadInput, match="the pour is told by `pour`"):
        bench.done("pour", 1)
    with pytest.raises(BadInput, match="the pour is told by `pour`"):
        bench.shop.skip("top", "pour", now=hours(1))


# --- a window that has closed (acceptance case S3) --------------------------------------------------------------------


def test_a_missed_window_wants_its_remedy_confirmed(warm: Bench) -> None:
    """Recoat 4 to 8 h: coat 1 at 171 h, the window is 175 to 179 h."""
    warm.through("coat-1")
    assert warm.line("coat-2", 172).late_at == hours(179)
    with pytest.raises(HeldStep):
        warm.done("coat-2", 173)
    with pytest.raises(MissedWindow, match=r"its window closed 2026-03-09 20:00; Abrade evenly, wipe, let dry, then"):
        warm.done("coat-2", 186)
    assert warm.done("coat-2", 187, check="pass")


# --- bad words ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"crew": 0}, "use 1 to 50"), ({"crew": 51}, "use 1 to 50"), ({"grip": "by-the-hair"}, "no such grip"),
        ({"check": "maybe"}, "pass or fail"), ({"override": ""}, "override is empty"),
        ({"source": ""}, "one short word"),
    ],
)  # fmt: skip
def test_words_that_cannot_be(warm: Bench, words: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        warm.done("cover", 1, **words)
    assert warm.said() == ["pour"]


def test_a_refusal_on_an_empty_home_creates_nothing(bench: Bench) -> None:
    with pytest.raises(UnknownName, match="none yet"):
        bench.done("strip", 1)
    assert bench.shop.timelines(View(T0)) == []
    assert not bench.home.exists()


@pytest.mark.parametrize("refusal", [HeldStep, OpenPredecessor, TooFewHands, BadGrip, MissedWindow, FailedCheck])
def test_refusals_are_answers_no(refusal: type[Refused]) -> None:
    assert issubclass(refusal, Refused)
    assert refusal.exit_code == 1


def test_a_step_that_is_judged_as_of_now_is_solved_once(warm: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """The timeline that found the step is the one that judges it; of another moment, or left out before, another."""
    solved, times = Shop.solved, list[datetime]()

    def counted(shop: Shop, known: Known, view: View, **more: Any) -> Timeline:
        times.append(view.now)
        return solved(shop, known, view, **more)

    monkeypatch.setattr(Shop, "solved", counted)
    warm.shop.done("top", "cover", now=hours(1))
    assert times == [hours(1)]
    warm.shop.undo("top", now=hours(1))
    times.clear()
    warm.shop.done("top", "cover", at=hours(0.9), now=hours(1))
    assert times == [hours(1), hours(0.9)]
    warm.shop.undo("top", now=hours(1))
    warm.shop.skip("top", "cover", now=hours(1))
    times.clear()
    warm.shop.done("top", "cover", now=hours(1))
    assert times == [hours(1), hours(1)]
