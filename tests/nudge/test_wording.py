"""What nudges say: next, when, why, careful; short enough for a notification, and every time with its words.

Expected texts follow the project's rules for its voice, not a source outside.
"""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from curetrack.facts import Shape
from curetrack.nudge.conditions import conditions_of
from curetrack.nudge.moments import moments_of
from curetrack.nudge.replies import answer_of, confirm_of, put_off_of, refusal_of
from curetrack.nudge.types import Moment, Nudge, Parcel, Rung
from curetrack.nudge.wording import message_of
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find, shipped
from curetrack.profile.types import Profile
from curetrack.rehearsal import Frame, Rehearsal
from curetrack.shop.steps_of import later_for
from curetrack.timeline.solve import solve
from curetrack.timeline.types import Alert, Line, Note, Reason
from curetrack.words.alerts import ALERTS
from curetrack.words.voice import Voice
from tests.words.making import BERLIN, NOW, after, line_with, timeline_with, voice

LINES, LETTERS = 6, 240


def told(line: Line, rung: Rung, at_h: float = 0.0, **changes: Any) -> Nudge:
    """A nudge of this line, due so many hours from the moment of speaking."""
    kinds = {"evening": "coming", "soon": "coming", "late": "late", "closing": "closing"}
    group = f"{line.piece}/{line.step}"
    values: dict[str, Any] = {
        "key": f"{group}/{rung}", "group": group, "kind": kinds.get(rung, "ready"), "rung": rung, "grade": "step",
        "at": after(at_h), "piece": line.piece, "step": line.step, "hold": line.hold, "line": line,
    }  # fmt: skip
    missed = changes.pop("missed", False)
    moment = Moment(**{**values, **changes})
    return Nudge(moment, moment.at, missed=missed)


def said(*nudges: Nudge) -> tuple[str, list[str], list[tuple[str, str]], str]:
    """Title, body, buttons and urgency of their parcel."""
    first = nudges[0].moment
    key, group = (first.key, first.group) if len(nudges) == 1 else ("digest/x", "digest")
    made = message_of(Parcel(key, group, nudges), voice())
    assert (made.key, made.group) == (key, group)
    return made.title, list(made.body), [(each.id, each.label) for each in made.buttons], made.urgency


def of_condition(rule: str, *, pieces: tuple[str, ...] = ("bench",), grade: str = "step", **alert: Any) -> Nudge:
    made = Alert("warn", rule, **alert)
    key = f"{rule}/2026-01-10"
    moment = Moment(key, key, "conditions", "known", grade, NOW, pieces[0], alert=made, pieces=pieces)  # type: ignore[arg-type]
    return Nudge(moment, NOW)


STRIP = line_with(
    Reason("strength", 3.5, 2.1, "MPa", at=after(5.2), temp_degC=11.0),
    hold=True, check="A coin leaves no mark.", ready_at=after(5.2), band=(after(3.5), after(7)),
    check_from=after(-0.5), opens_at=after(7), cautions=("eyes", "dust"),
)  # fmt: skip

# --- one nudge: time first, then the reason, then what to mind -------------------------------------------------------


def test_a_step_that_is_ready() -> None:
    line = line_with(Reason("predecessor", subject="cover"), state="ready", cautions=("vapour",))
    title, body, buttons, urgency = said(told(line, "ready"))
    assert title == "Strip the side forms · bench"
    assert body == ["Ready now.", "Follows cover.", "Careful: vapour."]
    assert buttons == [("done", "Done"), ("later", "Later, 1 h")]
    assert urgency == "normal"


def test_ready_since_it_was_missed() -> None:
    line = line_with(Reason("predecessor", subject="cover"), state="ready")
    assert said(told(line, "ready", -2.5, missed=True))[1][0] == "Ready since 07:30."
    assert said(told(line, "ready", -26, missed=True))[1][0] == "Ready since Fri 08:00."


def test_a_check_that_counts() -> None:
    _, body, buttons, _ = said(told(STRIP, "check"))
    assert body == [
        "The check counts from now on; it should be ready Sat 15:20 (13:30 to 17:00).",
        "Check: A coin leaves no mark.",
        "Careful: eyes, silica dust.",
    ]
    assert buttons == [("passed", "Check passed"), ("later", "Later, 1 h")]
    assert said(told(STRIP, "check", -0.5))[1][0].startswith("The check counts since 09:30; ")


def test_a_hold_that_should_be_ready() -> None:
    line = line_with(hold=True, check="A coin.", ready_at=after(0), check_from=after(-3), opens_at=after(4))
    assert said(told(line, "due"))[1][0] == "Should be ready now; opens Sat 14:00, or after a passed check."


def test_late_says_how_late_and_since_when() -> None:
    line = line_with(state="late", late_at=after(-5 / 3), say="No pools.")
    assert said(told(line, "late", -5 / 3))[1] == ["Late: it was due 1 h 40 min ago, Sat 08:20.", "No pools."]
    line = line_with(state="late", late_at=NOW)
    assert said(told(line, "late"))[1][0] == "Late from now on: its latest moment was Sat 10:00."


def test_a_window_that_closes() -> None:
    line = line_with(state="ready", late_at=after(0.5), closes="window", kind="coat")
    _, body, buttons, urgency = said(told(line, "closing", grade="ruin"))
    assert body[0] == "Its window closes in 30 min, Sat 10:30."
    assert buttons == [("done", "Done"), ("later", "Later, 15 min")]
    assert urgency == "critical"


def test_a_window_that_has_closed_says_the_remedy() -> None:
    text = "Abrade evenly, wipe, let dry."
    line = line_with(state="late", late_at=after(-1), closes="window", check=text, notes=(Note("missed", text),))
    _, body, buttons, _ = said(told(line, "late", -1, grade="ruin"))
    assert body == ["Late: it was due 1 h ago, Sat 09:00.", text]
    assert buttons[0] == ("passed", "That is done")


def test_the_crew_hears_the_evening_before() -> None:
    line = line_with(kind="lift", crew=3, plan_at=after(20), band=(after(18), after(20)), say="Foam and battens.")
    _, body, buttons, urgency = said(told(line, "evening", grade="info"))
    assert body == ["Get ready: in 20 h, Sun 06:00. 3 people are needed: call them now.", "Foam and battens."]
    assert buttons == [("seen", "Understood"), ("later", "Later, 1 h")]
    assert urgency == "low"
    assert said(told(line, "soon", grade="info"))[1][0] == "Get ready: in 20 h, Sun 06:00, 3 people."


def test_a_short_look() -> None:
    line = line_with(kind="place", look_from=NOW, look_every_h=0.5, check="A finger leaves 5 mm.", hold=True)
    _, body, buttons, _ = said(told(line, "look", grade="info"))
    assert body == ["Look at the face; again in 30 min.", "Check: A finger leaves 5 mm."]
    assert buttons == [("seen", "Understood")]


def test_a_lift_names_its_people_on_the_button() -> None:
    line = line_with(kind="lift", crew=3, state="ready", hold=True, check="A bar carries 50 kg.")
    assert said(told(line, "ready"))[2][0] == ("done", "Done, 3 people")


def test_the_pour_is_not_ticked_by_a_tap() -> None:
    assert said(told(line_with(step="pour", state="ready"), "ready"))[2] == [("seen", "Understood")]


def test_fresh_concrete_does_not_wait_an_hour() -> None:
    assert later_for(line_with(kind="place")) == timedelta(minutes=15)
    assert later_for(line_with(closes="window")) == timedelta(minutes=15)
    assert later_for(line_with(kind="wet", closes="row")) == later_for(None) == timedelta(hours=1)


# --- conditions ------------------------------------------------------------------------------------------------------


def test_a_frost_keeps_its_remedy() -> None:
    nudge = of_condition("frost", grade="ruin", value=-3.0, unit="degC", at=after(16))
    title, body, buttons, urgency = said(nudge)
    assert title == "Frost ahead · bench"
    assert body[0].startswith("Frost is ahead: 0 °C or less from Sun 02:00, down to -3 °C")
    assert any("Cover and warm it" in line for line in body)
    assert buttons == [("seen", "Understood")]
    assert urgency == "critical"


def test_many_pieces_fit_a_title() -> None:
    title = said(of_condition("stale", pieces=("a", "b", "c", "d", "e"), value=13.0))[0]
    assert title == "The last reading is old · a, b, c and 2 more"


@pytest.mark.parametrize("rule", sorted(ALERTS))
def test_every_warning_fits(rule: str) -> None:
    _, body, _, _ = said(of_condition(rule, value=1.5, need=1.0, unit="degC", at=after(3), until=after(9), step="coat"))
    _fits(body)


def test_the_clock_in_its_own_words() -> None:
    title, body, _, _ = said(of_condition("clock", pieces=("",), subject="The clock says 1970. Set it."))
    assert (title, body) == ("The clock looks wrong", ["The clock says 1970.", "Set it."])


# --- digests ---------------------------------------------------------------------------------------------------------


def test_a_digest_after_a_night() -> None:
    """The words of case W1: how late, since when, one line each, the most urgent first."""
    mist = line_with(step="mist", title="Mist and re-cover", kind="wet", state="late", late_at=after(-5 / 3))
    strip = line_with(state="ready", hold=True, check="A coin.")
    look = line_with(step="look", title="Check the cover", state="ready")
    title, body, buttons, _ = said(
        told(mist, "late", -5 / 3, missed=True), told(strip, "ready", -2 / 3, missed=True),
        told(look, "ready", -11.5, missed=True),
    )  # fmt: skip
    assert title == "3 things waited"
    assert body == [
        "Mist and re-cover · bench: 1 h 40 min late",
        "Strip the side forms · bench: ready since 09:20",
        "Check the cover · bench: ready since 22:30",
    ]
    assert buttons == [
        ("done", "Mist and re-cover: Done"), ("later", "Mist and re-cover: Later, 1 h"), ("seen", "Understood"),
    ]  # fmt: skip


def test_several_at_once_did_not_wait() -> None:
    line = line_with(state="ready")
    assert said(told(line, "ready"), told(line, "ready"), told(line, "ready"))[0] == "3 things now"
    assert said(told(line, "ready"), told(line, "ready", -1, missed=True))[0] == "2 things waited"


@pytest.mark.parametrize("count", [2, 6, 7, 40])
def test_a_digest_names_what_fits_and_counts_the_rest(count: int) -> None:
    nudges = [told(line_with(step=f"s{k}", title=f"Step {k}", state="ready"), "ready") for k in range(count)]
    title, body, _, _ = said(*nudges)
    assert title == f"{count} things now"
    named = [line for line in body if line.startswith("Step")]
    more = re.search(r"and (\d+) more", body[-1])
    assert len(named) + (int(more[1]) if more else 0) == count  # nothing vanishes
    assert len(body) <= LINES


@pytest.mark.parametrize(
    ("rung", "text"),
    [("check", "its check counts now"), ("due", "ready now"), ("closing", "its window closes in 30 min, Sat 10:30"),
     ("evening", "get ready, in 20 h, Sun 06:00, 3 people"), ("look", "look at the face"),
     ("late", "late from now on")],
)  # fmt: skip
def test_each_rung_in_a_digest(rung: Rung, text: str) -> None:
    line = line_with(late_at=NOW if rung == "late" else after(0.5), plan_at=after(20), crew=3)
    assert said(told(line, rung), told(line, rung))[1][0] == f"Strip the side forms · bench: {text}"


def test_a_condition_in_a_digest() -> None:
    body = said(of_condition("frost", at=after(16)), of_condition("stale"))[1]
    assert body == ["Frost ahead · bench: in 16 h, Sun 02:00", "The last reading is old · bench: see the sheet"]


def test_urgency_of_a_digest_is_that_of_its_gravest() -> None:
    line = line_with(state="ready", plan_at=after(1))
    assert said(told(line, "soon", grade="info"), told(line, "ready", grade="ruin"))[3] == "critical"
    assert said(told(line, "soon", grade="info"), told(line, "soon", grade="info"))[3] == "low"
    assert said(told(line, "soon", grade="info"), told(line, "ready"))[3] == "normal"


# --- replies ---------------------------------------------------------------------------------------------------------


def test_a_question_repeats_the_check() -> None:
    lift = line_with(kind="lift", crew=4, hold=True, check="A bar carries 50 kg.", title="Flip")
    asked = confirm_of("key", "group", lift)
    assert (asked.key, asked.group, asked.title) == ("key", "group", "Flip · bench: passed?")
    assert asked.body == ("A bar carries 50 kg.", "A hold: too soon ruins it.", "Ticked as done it says: 4 people.")


def test_what_comes_next() -> None:
    done = line_with(step="cover", title="Cover", state="done", open_to_do=False)
    later = line_with(step="ease", title="Ease the edges", plan_at=after(9))
    sooner = line_with(step="mist", title="Mist", plan_at=after(2))
    fan = line_with(step="fan", title="A fan", plan_at=after(1), optional=True)
    assert answer_of(done, timeline_with(done, later, sooner, fan), voice()).body == (
        "Next: Mist, in 2 h, Sat 12:00.",
    )  # fmt: skip
    ready = line_with(step="ease", title="Ease the edges", state="ready", plan_at=NOW)
    assert answer_of(done, timeline_with(done, ready), voice(), ["A remark."]).body == (
        "A remark.", "Next: Ease the edges, ready now.",
    )  # fmt: skip
    assert answer_of(done, timeline_with(done), voice()).body == ("Nothing is left to do on this piece.",)


def test_put_off() -> None:
    made = put_off_of(line_with(), after(1), voice(), ["That is after its latest moment."])
    assert made.body == ("Until 11:00.", "That is after its latest moment.")
    assert made.group != "bench/strip"  # the nudge's own place is cleared: it was put off


def test_a_long_refusal_is_cut_between_words() -> None:
    made = refusal_of("k", "g", "too soon " * 200)
    assert len(made.body[0]) <= 2 * LETTERS
    assert made.body[0].endswith("soon ...")


# --- all of it -------------------------------------------------------------------------------------------------------


def _fits(body: list[str]) -> None:
    assert 1 <= len(body) <= LINES
    for line in body:
        assert line.strip()
        assert len(line) <= LETTERS
        assert not re.search(r"\bNone\b(?! (on|with) )", line)  # the profiles say "None with frost ahead"
        assert "  " not in line
        assert ".." not in line.replace(" ...", "")


@pytest.mark.parametrize("profile_id", [name for name, _ in shipped()])
def test_every_nudge_of_every_shipped_profile(profile_id: str) -> None:
    """A whole rehearsed piece: each moment as it would be told then, and three hours late."""
    name, document = find(profile_id)
    profile = compile_profile(document, name, name)
    rehearsal = Rehearsal(profile, Shape(1.8, 0.6, 0.04), datetime(2026, 1, 10, 14, tzinfo=BERLIN), BERLIN)
    frames = list(rehearsal.frames())
    for late_h in (0.0, 3.0):
        kinds = _told(rehearsal, profile, frames[:: max(1, len(frames) // 20)], late_h)
        assert {"ready", "late", "check"} <= kinds


def _told(rehearsal: Rehearsal, profile: Profile, frames: Sequence[Frame], late_h: float) -> set[str]:
    """Tells each moment of these frames; the rungs that were met."""
    kinds: set[str] = set()
    for frame in frames:
        at = frame.timeline.now + timedelta(hours=late_h)
        events = [event for event in rehearsal.events if event.at <= frame.timeline.now]
        timeline = solve(rehearsal.piece, profile, events, rehearsal.course, at)
        speaker = Voice(at, BERLIN)
        for moment in [*moments_of(timeline, BERLIN), *conditions_of([timeline], BERLIN)]:
            one = Parcel(moment.key, moment.group, (Nudge(moment, moment.at),))
            made = message_of(one, speaker)
            _fits(list(made.body))
            assert made.title.endswith(" · rehearsal")
            assert 1 <= len(made.buttons) <= 2
            assert "safe" not in " ".join(made.body).lower()
            kinds.add(moment.rung)
    return kinds


def test_the_same_for_programs() -> None:
    line = line_with(state="ready", hold=True)
    nudge = told(line, "ready", -1.0, grade="ruin", missed=True)
    data = message_of(Parcel("bench/strip/ready", "bench/strip", (nudge,)), voice()).data
    assert data == {
        "format": 1, "key": "bench/strip/ready", "sent_at": "2026-01-10T10:00:00+01:00",
        "nudges": [{
            "key": "bench/strip/ready", "kind": "ready", "piece": "bench", "step": "strip", "hold": True,
            "urgent": True, "due_at": "2026-01-10T09:00:00+01:00", "missed": True,
        }],
    }  # fmt: skip


def test_untrusted_text_stays_on_its_line() -> None:
    """A name or a title from a file cannot steer a terminal."""
    line = line_with(title="Strip\x1b[2J\nnow", piece="be\u202ench", state="ready", say="a\rb")
    made = said(told(line, "ready"))
    assert made[0] == "Strip[2J now · bench"
    assert all(text.isprintable() for text in made[1])
    assert datetime(2026, 1, 10, 9, tzinfo=UTC) == NOW
