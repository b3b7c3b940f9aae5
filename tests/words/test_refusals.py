"""Answers that are no: one line with what stands against it and what would open it."""

import pytest

from curetrack.errors import BadInput, CuretrackError, Refused
from curetrack.shop import refusals
from curetrack.shop.refusals import (
    BadGrip,
    FailedCheck,
    HeldPour,
    HeldStep,
    MissedWindow,
    OpenPredecessor,
    TooFewHands,
)
from curetrack.timeline.crew import GripAnswer
from curetrack.timeline.types import Alert, Reason
from curetrack.words.refusals import refusal_text, tapped
from tests.words.making import after, line_with, voice

HELD = line_with(
    Reason("strength", 3.5, 2.1, "MPa", after(16), temp_degC=8.0), hold=True, ready_at=after(16),
    band=(after(11), after(26)), opens_at=after(26), check_from=after(11), check="A coin leaves no mark.",
)  # fmt: skip
GRIP = GripAnswer("flat-ends", 1.40, 4.2, 2.0, 1.7, 2.2)  # acceptance case H1
EVERY: list[Refused] = [
    HeldStep(HELD),
    OpenPredecessor(HELD, ["cover-2"]),
    TooFewHands(HELD, 2, 3),
    BadGrip(HELD, GRIP),
    MissedWindow(line_with(late_at=after(-1)), "Scuff evenly, wipe, let dry."),
    FailedCheck(line_with(fail="Wait twelve hours.")),
    HeldPour("bench", [Alert("hold", "frost", -4.0, 0.0, "degC", after(10))]),
]


def test_every_refusal_of_the_shop_is_tried_here() -> None:
    there = {each for each in vars(refusals).values() if isinstance(each, type) and issubclass(each, Refused)}
    assert {type(each) for each in EVERY} == {each for each in there if not each.__subclasses__()}


@pytest.mark.parametrize("error", EVERY, ids=lambda e: type(e).__name__)
def test_a_refusal_is_one_line_that_names_the_piece(error: Refused) -> None:
    text = refusal_text(error, voice())
    assert text.startswith("bench")
    assert "\n" not in text
    assert text.endswith(".")
    assert "None" not in text


MORE = [
    OpenPredecessor(HELD, ["strip"], ["strip"]), OpenPredecessor(HELD, ["pour"]),
    BadInput("that is after what follows", where="bench", remedy="see --at, or undo that one first"),
]  # fmt: skip


@pytest.mark.parametrize(
    "error", [each for each in EVERY + MORE if not isinstance(each, HeldPour)], ids=lambda e: type(e).__name__
)
def test_who_taps_is_told_no_options_of_the_command_line(error: CuretrackError) -> None:
    """All but the pour's, which is said at the bench only."""
    text = tapped(error, voice())
    assert "--" not in text
    assert text.startswith("bench")


def test_a_hold_says_need_have_time_and_check() -> None:
    text = refusal_text(EVERY[0], voice())
    assert text == (
        "bench, strip: too soon: needs 3.5 MPa; 2.1 MPa now at 8 °C. Ready Sun 02:00 (Sat 21:00 to Sun 12:00). "
        "Opens Sun 12:00, or after a passed check from Sat 21:00. Check: A coin leaves no mark."
    )


@pytest.mark.parametrize(
    ("number", "parts"),
    [
        (1, ["waits for cover-2", "--earlier"]),
        (2, ["3 people are needed and 2 named", "wheels"]),
        (3, ["held flat by the ends", "1.4 MPa", "4.2 MPa", "2 MPa (1.7 to 2.2 MPa)", "long edge", "on edge"]),
        (4, ["Sat 09:00", "Scuff evenly", "--check pass"]),
        (5, ["check failed", "Wait twelve hours."]),
        (6, ["-4 °C", "--override"]),
    ],
)
def test_a_refusal_says_what_would_be_right(number: int, parts: list[str]) -> None:
    text = refusal_text(EVERY[number], voice())
    assert [part for part in parts if part not in text] == []


def test_us_shops_read_their_own_units() -> None:
    """3.5 MPa is 510 psi to two digits (1 psi = 6.894757 kPa)."""
    assert "needs 510 psi" in refusal_text(EVERY[0], voice("us"))


def test_a_hold_among_the_earlier_steps_is_named() -> None:
    assert "do strip first" in refusal_text(OpenPredecessor(HELD, ["ease", "strip"], ["strip"]), voice())


def test_several_objections_are_said_together() -> None:
    error = TooFewHands(HELD, 2, 3)
    error.also = (BadGrip(HELD, GRIP),)
    assert "Also: held flat by the ends" in refusal_text(error, voice())


def test_another_error_says_itself() -> None:
    error: CuretrackError = BadInput("odd", found="x")
    assert refusal_text(error, voice()) == "odd, found 'x'"
