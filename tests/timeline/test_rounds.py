"""Rounds: `again`, planned rounds, checks that make one needless, and tests whose pass has expired."""

import pytest

from curetrack.facts import Event
from tests.timeline.making import (
    again,
    done,
    line,
    passed,
    poured,
    ready,
    skipped,
    solved,
    state,
    steady,
    step,
)

FILL = step("fill", kind="fill", after="sand-120")
SAND = step(
    "sand-220", 'not_before = { hardening = { time = "24 h", of = "slurry", since = "fill" } }', after="cover",
    kind="grind",
)  # fmt: skip
ENDS = step("seal", after="look", kind="coat") + step("dust-off", after="sand-220", kind="dry")


def row(look: str = "") -> str:
    """sand-120, fill, cover, sand-220, look (again from fill), then seal."""
    looking = step("look", f'again = "fill"\ncheck = "No pinhole."\n{look}', after="sand-220", kind="dry")
    return step("sand-120", kind="grind") + FILL + step("cover", after="fill", kind="cover") + SAND + looking + ENDS


def ids(timeline) -> list[str]:
    return [one.step for one in timeline.lines]


def at_20(now: float, *facts: Event, look: str = ""):
    return solved(row(look), steady(20.0, 50.0), now, poured(), *facts)


ROUND_1 = tuple(done(name, 100.0 + k) for k, name in enumerate(("sand-120", "fill", "cover", "sand-220")))
ROUND_2 = tuple(done(name, 210.0 + k) for k, name in enumerate(("fill.2", "cover.2", "sand-220.2")))


# --- asked for -------------------------------------------------------------------------------------------------------


def test_no_further_round_is_there_until_it_is_asked_for() -> None:
    assert ids(at_20(120.0, *ROUND_1)) == ["sand-120", "fill", "cover", "sand-220", "look", "seal", "dust-off"]


def test_again_clones_the_steps_from_there_to_here() -> None:
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0), again("look", 106.0))
    assert {one for one in ids(timeline) if one.endswith(".2")} == {"fill.2", "cover.2", "sand-220.2", "look.2"}
    assert {one.step: one.round for one in timeline.lines if one.round == 2} == {
        "fill.2": 2, "cover.2": 2, "sand-220.2": 2, "look.2": 2,
    }  # fmt: skip


def test_a_further_round_begins_after_the_round_before() -> None:
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0), again("look", 106.0))
    assert "look" in line(timeline, "fill.2").after
    assert state(timeline, "fill.2") == "ready"
    assert line(timeline, "cover.2").after == ("fill.2",)


def test_later_steps_follow_the_last_round() -> None:
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0), again("look", 106.0))
    assert (line(timeline, "seal").after, state(timeline, "seal")) == (("look.2",), "waiting")
    assert line(timeline, "dust-off").after == ("sand-220.2",)


def test_hardening_in_a_further_round_counts_from_that_rounds_fill() -> None:
    facts = done("look", 105.0), again("look", 106.0), done("fill.2", 210.0), done("cover.2", 211.0)
    assert ready(line(at_20(212.0, *ROUND_1, *facts), "sand-220.2")) == pytest.approx(234.0, abs=0.001)


def test_when_the_further_round_is_done_the_later_steps_go_on() -> None:
    facts = done("look", 105.0), again("look", 106.0), *ROUND_2, done("look.2", 213.0)
    assert state(at_20(220.0, *ROUND_1, *facts), "seal") == "ready"


def test_a_third_round_may_be_asked_for_after_the_second() -> None:
    facts = done("look", 105.0), again("look", 106.0), *ROUND_2, done("look.2", 213.0), again("look.2", 214.0)
    timeline = at_20(220.0, *ROUND_1, *facts)
    assert "look.2" in line(timeline, "fill.3").after
    assert line(timeline, "seal").after == ("look.3",)


def test_a_round_asked_for_twice_before_it_is_done_is_one_round() -> None:
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0), again("look", 106.0), again("look", 107.0))
    assert "fill.2" in ids(timeline)
    assert "fill.3" not in ids(timeline)


def test_a_step_may_be_its_own_round() -> None:
    steps = step("test", 'again = "test"', kind="rest") + step("wax", after="test", kind="coat")
    timeline = solved(steps, steady(20.0), 20.0, poured(), done("test", 10.0), again("test", 11.0))
    assert "test" in line(timeline, "test.2").after
    assert line(timeline, "wax").after == ("test.2",)


# --- planned ---------------------------------------------------------------------------------------------------------


def test_planned_rounds_stand_there_from_the_start() -> None:
    timeline = at_20(1.0, look="rounds = 2")
    assert {"fill.2", "cover.2", "sand-220.2", "look.2"} <= set(ids(timeline))
    assert line(timeline, "seal").after == ("look.2",)


@pytest.mark.parametrize("answer", [
    (done("look", 105.0, check="pass"),),
    (passed("look", 105.0), done("look", 105.0, check="pass")),  # as the shop writes it
    (passed("look", 104.5), done("look", 105.0)),  # said in two commands
])  # fmt: skip
def test_a_passed_check_makes_the_planned_round_needless(answer: tuple[Event, ...]) -> None:
    timeline = at_20(120.0, *ROUND_1, *answer, look="rounds = 2")
    assert {state(timeline, name) for name in ("fill.2", "cover.2", "sand-220.2", "look.2")} == {"skipped"}
    assert state(timeline, "seal") == "ready"


def test_a_needless_round_is_not_called_unrecorded() -> None:
    # the design: "not recorded" is said of what was open before the pour
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0, check="pass"), look="rounds = 2")
    assert "unrecorded" not in [note.rule for note in line(timeline, "fill.2").notes]


def test_a_look_without_an_answer_leaves_the_planned_round() -> None:
    timeline = at_20(120.0, *ROUND_1, done("look", 105.0), look="rounds = 2")
    assert (state(timeline, "fill.2"), state(timeline, "seal")) == ("ready", "waiting")


def test_a_failed_look_leaves_the_planned_round() -> None:
    facts = passed("look", 104.0), done("look", 105.0, check="fail")
    assert state(at_20(120.0, *ROUND_1, *facts, look="rounds = 2"), "fill.2") == "ready"


def test_after_a_needless_round_one_may_still_be_asked_for() -> None:
    facts = done("look", 105.0, check="pass"), again("look", 110.0)
    timeline = at_20(120.0, *ROUND_1, *facts, look="rounds = 2")
    assert (state(timeline, "fill.2"), state(timeline, "seal")) == ("ready", "waiting")


def test_a_needless_round_does_not_hold_up_what_counts_from_it() -> None:
    steps = row("rounds = 2").replace('[[step]]\nid = "seal"', '[[step]]\nnot_before = { wait = "10 h" }\nid = "seal"')
    facts = poured(), *ROUND_1, done("look", 105.0, check="pass")
    assert ready(line(solved(steps, steady(20.0, 50.0), 106.0, *facts), "seal")) == 115.0


# --- expiry ----------------------------------------------------------------------------------------------------------

TEST = step("test", 'takes = "16 h"\ncheck = "Dry."\nexpires = { after_wet = true, wait = "7 d" }', kind="dry")
FILM = TEST + step("wash", "optional = true", kind="wet") + step("film", after="test", kind="coat")
READ = done("test", 100.0), done("test-read", 116.0, check="pass")


def film_at(now: float, *facts: Event):
    return solved(FILM, steady(20.0, 50.0), now, poured(), *facts)


def test_a_test_that_takes_its_time_is_read_so_many_hours_later() -> None:
    timeline = film_at(110.0, READ[0])
    assert (state(timeline, "test-read"), ready(line(timeline, "test-read"))) == ("waiting", 116.0)
    assert (line(timeline, "test").check, line(timeline, "test-read").check) == (None, "Dry.")


def test_a_valid_pass_lets_the_film_go() -> None:
    timeline = film_at(120.0, *READ)
    assert state(timeline, "film") == "ready"
    assert "test.2" not in ids(timeline)


def test_a_wet_step_after_the_pass_reopens_the_test() -> None:
    timeline = film_at(130.0, *READ, done("wash", 125.0))
    assert (state(timeline, "test.2"), state(timeline, "test-read.2")) == ("ready", "waiting")
    assert (state(timeline, "film"), line(timeline, "film").after) == ("waiting", ("test-read.2",))


def test_a_wet_step_before_the_pass_does_not() -> None:
    assert "test.2" not in ids(film_at(130.0, *READ, done("wash", 90.0)))


def test_a_wet_step_after_the_follower_has_started_does_not() -> None:
    assert "test.2" not in ids(film_at(130.0, *READ, done("film", 120.0), done("wash", 125.0)))


def test_a_pass_that_is_too_old_reopens_the_test() -> None:
    # read at 116 h, worth something for 7 days: until 284 h
    assert "test.2" not in ids(film_at(283.9, *READ))
    timeline = film_at(284.1, *READ)
    assert (state(timeline, "test.2"), state(timeline, "film")) == ("ready", "waiting")


def test_a_follower_that_started_in_time_keeps_the_pass() -> None:
    assert "test.2" not in ids(film_at(500.0, *READ, done("film", 200.0)))


def test_the_second_pass_counts_and_may_expire_in_its_turn() -> None:
    facts = *READ, done("wash", 125.0), done("test.2", 130.0), done("test-read.2", 146.0, check="pass")
    assert state(film_at(150.0, *facts), "film") == "ready"
    assert state(film_at(315.0, *facts), "test.3") == "ready"


def test_a_test_that_was_skipped_does_not_expire() -> None:
    assert "test.2" not in ids(film_at(500.0, skipped("test", 100.0), skipped("test-read", 116.0)))


def test_expiry_by_water_alone_does_not_look_at_the_clock() -> None:
    steps = FILM.replace(', wait = "7 d"', "")
    assert "test.2" not in ids(solved(steps, steady(20.0, 50.0), 900.0, poured(), *READ))
