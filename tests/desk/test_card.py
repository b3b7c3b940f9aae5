"""The card: what, when, why, careful, in every size; what gives way, and what never does."""

from datetime import timedelta
from typing import Any

import pytest
from rich.text import Text

from curetrack.cli.views.parts import remark_rows
from curetrack.desk.card import card_rows, countdown, nothing_rows
from curetrack.desk.font import big
from curetrack.desk.head import title_lines
from curetrack.desk.palette import STYLES
from curetrack.desk.rows import in_ascii
from curetrack.timeline.types import Line, Note, Reason
from curetrack.words.cautions import caution_name
from tests.desk.looks import next_lines, voice_at
from tests.words.making import after, line_with, voice

SIZES = [(80, 8), (80, 15), (120, 21), (160, 22), (60, 8), (40, 10), (24, 8)]


def text_of(rows: list[Text]) -> str:
    return "\n".join(row.plain for row in rows)


def drawn(line: Line, width: int = 80, height: int = 15, **more: Any) -> str:
    return text_of(card_rows(line, voice(), width, height, **more))


# --- the countdown ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "said", "style"),
    [
        ({"plan_at": after(1 + 25 / 60)}, "in 1 h 25", "title"),
        ({"plan_at": after(40 / 60)}, "in 40 min", "title"),
        ({"plan_at": after(76)}, "in 3 d 4 h", "title"),
        ({"state": "ready", "plan_at": after(-2)}, "> now", "now"),
        ({"state": "ready", "plan_at": after(3)}, "in 3 h", "title"),  # put off
        ({"state": "late", "plan_at": after(-3), "late_at": after(-40 / 60)}, "late 40 min", "alarm"),
        ({"plan_at": after(4), "hold": True, "check_from": after(-1)}, "> check first", "now"),
        ({"plan_at": after(4), "hold": True, "check_from": after(1)}, "in 4 h", "title"),
        ({}, "not yet", "title"),
        ({"plan_at": after(-1), "open_to_do": False}, "next", "title"),
    ],
)
def test_the_countdown(changes: dict[str, Any], said: str, style: str) -> None:
    assert countdown(line_with(**changes), voice()) == (said, style)


def test_a_window_says_what_is_left_of_it_and_only_its_last_hour_blinks() -> None:
    """An hour and ten hours: common practice, no source."""
    shut = {"state": "ready", "plan_at": after(-1), "closes": "window"}
    assert countdown(line_with(late_at=after(0.5), **shut), voice()) == ("> now, 30 min left", "alarm")
    assert countdown(line_with(late_at=after(2), **shut), voice()) == ("> now, 2 h left", "now")
    assert countdown(line_with(late_at=after(30), **shut), voice()) == ("> now", "now")
    for hours, closes, blinks in ((0.5, "window", True), (2, "window", False), (0.5, "row", False)):
        line = line_with(**{**shut, "late_at": after(hours), "closes": closes})
        lit, unlit = (card_rows(line, voice(), 80, 15, lit=half) for half in (True, False))
        assert (lit != unlit) is blinks
        assert text_of(lit) == text_of(unlit)  # the words stand, only their light changes


def test_a_late_step_does_not_blink() -> None:
    line = line_with(state="late", late_at=after(-1), closes="window")
    assert card_rows(line, voice(), 80, 15, lit=True) == card_rows(line, voice(), 80, 15, lit=False)


@pytest.mark.parametrize(("rule", "style"), [("visit", "calm"), ("waits", "alarm")])
def test_what_only_says_why_is_no_alarm(rule: str, style: str) -> None:
    """On the card and at the command line; what asks for something is one."""
    line = line_with(notes=(Note(rule, "Mist it", 2.0, "h"),))
    said = next(row for row in card_rows(line, voice(), 80, 24) if "2 h" in row.plain)
    assert (STYLES["alarm"] in {str(said.style), *(str(span.style) for span in said.spans)}) is (style == "alarm")
    assert [span.style for row in remark_rows(line, voice()) for span in row.body] == [style.replace("calm", "dim")]


# --- fits everywhere -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_step_of_every_shipped_profile_fits(width: int, height: int, ascii_only: bool) -> None:
    for timeline, line in next_lines():
        speaking = voice_at(timeline)
        rows = card_rows(line, speaking, width, height, ascii_only=ascii_only)
        assert len(rows) <= height
        assert max(len(row.plain) for row in rows) <= width
        shown = text_of([in_ascii(row) for row in rows] if ascii_only else rows)
        assert shown.isascii() or not ascii_only
        said = countdown(line, speaking)[0]
        parts = [said, *said.split(", "), said.removesuffix(" first")]
        large = [big(part, width, twice=twice, ascii_only=ascii_only) for part in parts for twice in (False, True)]
        ways = [found[0] for found in large if found is not None]
        assert ways or width <= 40, said
        assert any(way in shown for way in ways or [said.upper()[: width - 3]]), (line.title, said)


def test_80x24_says_what_when_why_check_and_careful_of_every_hold() -> None:
    """Fifteen rows are what the card has there."""
    holds = [(timeline, line) for timeline, line in next_lines() if line.hold and line.open_to_do]
    assert holds
    for timeline, line in holds:
        shown = text_of(card_rows(line, voice_at(timeline), 80, 15))
        assert f"{line.title} · {line.piece}" in shown
        assert "Check: " in shown
        assert ("Careful: " in shown) is bool(line.cautions)


def test_cautions_are_never_cut_at_80x24() -> None:
    for timeline, line in next_lines():
        shown = " ".join(text_of(card_rows(line, voice_at(timeline), 80, 15)).split())
        full = shown.partition("Careful: ")[2]
        assert not full.endswith("...")
        if line.cautions and "Labels and local rules" in full:
            assert all(caution_name(key) in full for key in line.cautions)


def test_small_things_give_way_first() -> None:
    line = line_with(
        Reason("strength", 3.5, 2.1, "MPa", after(4)),
        plan_at=after(4), ready_at=after(4), band=(after(3), after(6)), hold=True, check="A coin leaves no mark.",
        cautions=("dust", "eyes"),
    )  # fmt: skip
    there = {
        height: [word for word in ("Ready", "3.5 MPa", "Careful:", "Check:") if word in drawn(line, height=height)]
        for height in (8, 9, 10, 15)
    }
    assert there[8] == ["Ready", "3.5 MPa"]  # when and why
    assert there[15] == ["Ready", "3.5 MPa", "Careful:", "Check:"]
    assert there[9][:2] == there[10][:2] == ["Ready", "3.5 MPa"]
    assert "bench" in drawn(line, width=40, height=8)  # not in large letters there, so it is said in small ones


def test_a_time_is_never_without_its_band() -> None:
    line = line_with(plan_at=after(4), ready_at=after(4), band=(after(3), after(6)))
    assert "Ready Sat 14:00 (13:00 to 16:00)." in drawn(line)


def test_what_is_cut_shows_it() -> None:
    line = line_with(state="ready", plan_at=after(-1), say="word " * 100)
    assert drawn(line).rstrip().endswith("word ...")


def test_a_remedy_is_said_in_alarm() -> None:
    line = line_with(state="late", late_at=after(-1), notes=(Note("missed", "Sand it and begin again"),))
    rows = card_rows(line, voice(), 80, 15)
    row = next(row for row in rows if "Sand it and begin again." in row.plain)
    assert str(row.spans[-1].style) == STYLES["alarm"]


# --- the title -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("title", "width", "most", "lines"),
    [
        ("Strip the side forms", 80, 1, ["Strip the side forms"]),
        ("Strip the side forms", 70, 1, ["Strip side forms"]),  # articles go first
        ("Fog it and cover again", 80, 2, ["Fog it", "and cover again"]),  # halves, and no "and" at the end of one
        ("Cut the hangers, back the screws half out", 80, 1, ["Cut the hangers"]),  # to the comma
        ("Keep both faces under one tent", 80, 1, ["Keep both faces"]),  # whole phrases
        ("Seal top and sides (coat 2 of 4)", 120, 1, ["Seal top and sides"]),
        ("Отделка", 80, 2, None),
    ],
)
def test_a_title_as_large_as_it_fits(title: str, width: int, most: int, lines: list[str] | None) -> None:
    assert title_lines(title, width, most) == lines


def test_the_piece_stands_large_beside_the_countdown_if_it_fits() -> None:
    line = line_with(plan_at=after(2), piece="sill")
    name = big("sill", 80)
    assert name is not None
    assert all(part in drawn(line) for part in name)
    assert name[0] not in drawn(line, width=30)


def test_a_piece_that_no_letters_exist_for() -> None:
    line = line_with(plan_at=after(2), piece="кухня", title="Отделка")
    assert "кухня" in drawn(line)
    assert "ОТДЕЛКА" in drawn(line)


def test_nothing_to_do_says_so() -> None:
    assert "curetrack pour bench" in text_of(nothing_rows(80, any_piece=False))
    assert nothing_rows(80, any_piece=True)[0].plain == (big("nothing to do", 80) or [""])[0]


def test_the_last_minute_is_now() -> None:
    """Half a minute is rounding, not waiting."""
    line = line_with(state="ready", plan_at=after(0) + timedelta(seconds=40))
    assert countdown(line, voice())[0] == "> now"
