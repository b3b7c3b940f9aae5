"""The axis of all pieces, and the curve on the same scale. Columns are counted by hand from the scale: at 80 columns 24
are words and 56 the axis; a quarter of it, 14 columns, lies behind now; in a span of 56 h each column is one hour."""

from datetime import timedelta
from typing import Any

import pytest
from rich.text import Text

from curetrack.desk.axis import SPANS, axis_rows
from curetrack.desk.palette import STYLES
from curetrack.desk.rows import in_ascii
from curetrack.desk.scale import scale_of
from curetrack.timeline.types import Line, Timeline
from tests.desk.looks import PROFILES, lives, voice_at
from tests.words.making import BERLIN, NOW, after, line_with, timeline_with, voice

LEFT, NOW_AT = 24, 24 + 14
BY_HOUR = timedelta(hours=56)
NIGHT = "░"


def drawn(*lines: Line, height: int = 3, ascii_only: bool = False, **more: Any) -> list[str]:
    """The rows of one piece, an hour to a column: the days, the piece, the words of its marks."""
    rows = axis_rows(
        [timeline_with(*lines, **more)], 0, voice(), 80, height, span=BY_HOUR, ascii_only=ascii_only
    )  # fmt: skip
    return [row.plain for row in rows]


def style_at(row: Text, column: int) -> str:
    """Text without a style of its own has no span."""
    return next((str(span.style) for span in row.spans if span.start <= column < span.end), "")


# --- where things stand ----------------------------------------------------------------------------------------------


def test_now_is_one_line_through_all_rows() -> None:
    timelines = [timeline_with(line_with(plan_at=after(n)), piece=f"p{n}") for n in range(5)]
    rows = axis_rows(timelines, 2, voice(), 80, 7, span=BY_HOUR)
    assert [row.plain[NOW_AT] for row in rows] == ["▼", *"││││││"]


def test_a_planned_step_stands_at_its_hour_with_its_word_below() -> None:
    _, row, words = drawn(line_with(title="Strip the side forms", plan_at=after(9)))
    assert row[NOW_AT + 9] == "□"  # form: an open box
    assert words[NOW_AT + 9 :].startswith("strip")


def test_what_was_done_stands_on_a_solid_line_from_the_pour_to_now() -> None:
    done = line_with(state="done", done_at=after(-4), kind="wet", title="Mist it")
    _, row, _ = drawn(done, poured_at=after(-8))
    assert row[LEFT : NOW_AT + 1] == "  ░░░░━━━━≈━━━│"  # the night to 06:00 is before it


def test_nights_are_shaded_from_22_to_6() -> None:
    """It is Saturday 10:00; 22:00 is twelve columns on and 06:00 eight more (22 to 6: common practice, no source)."""
    _, row, _ = drawn()
    shade = [at - NOW_AT for at, sign in enumerate(row) if sign == NIGHT and at > NOW_AT]
    assert shade == [*range(12, 20), *range(36, 42)]


def test_the_days_are_named_at_their_midnights() -> None:
    """Midnight is fourteen hours after Saturday 10:00, noon of Sunday twelve more."""
    days = drawn()[0]
    assert days[NOW_AT + 14 :].startswith("Sun 11")
    assert days[NOW_AT + 26 :].startswith("12")


def test_a_band_rises_from_its_first_hour_to_its_last() -> None:
    _, row, _ = drawn(line_with(plan_at=after(30), ready_at=after(6), band=(after(3), after(10))))
    slope = row[NOW_AT + 3 : NOW_AT + 11]
    assert set(slope) <= set("▁▂▃▄▅▆▇")
    assert list(slope) == sorted(slope)
    assert row[NOW_AT + 2] == " " == row[NOW_AT + 11]


def test_a_window_opens_and_closes() -> None:
    window = line_with(plan_at=after(6), ready_at=after(4), late_at=after(8), closes="window", kind="coat")
    _, row, _ = drawn(window)
    assert row[NOW_AT + 4 : NOW_AT + 9] == "( ═ )"
    _, row, _ = drawn(line_with(plan_at=after(6), ready_at=after(4), late_at=after(8), closes="follower"))
    assert not set(row) & set("()")


def test_late_is_a_sign_beside_now_and_its_shape_where_it_was_due() -> None:
    rows = axis_rows(
        [timeline_with(line_with(state="late", late_at=after(-3), kind="wet"))], 0, voice(), 80, 3, span=BY_HOUR
    )
    assert rows[1].plain[NOW_AT + 1] == "!"
    assert rows[1].plain[NOW_AT - 3] == "≈"
    assert style_at(rows[1], NOW_AT + 1) == style_at(rows[1], NOW_AT - 3) == STYLES["alarm"]
    assert "late 3 h" in rows[1].plain


def test_what_can_be_done_now_stands_beside_the_line_not_on_it() -> None:
    rows = axis_rows(
        [timeline_with(line_with(state="ready", plan_at=after(0), kind="cover"))], 0, voice(), 80, 3, span=BY_HOUR
    )
    assert rows[1].plain[NOW_AT : NOW_AT + 2] == "│∩"
    assert style_at(rows[1], NOW_AT + 1) == STYLES["now"]


def test_what_was_done_just_now_stands_on_the_near_side() -> None:
    _, row, _ = drawn(line_with(state="done", done_at=after(-0.1), kind="cover"))
    assert row[NOW_AT - 1 : NOW_AT + 2] == "∩│ "


def test_two_at_the_same_hour_stand_side_by_side() -> None:
    _, row, _ = drawn(
        line_with(plan_at=after(9), kind="form"), line_with(plan_at=after(9.2), kind="cover", step="cover")
    )
    assert row[NOW_AT + 9 : NOW_AT + 11] == "□∩"


def test_marks_fade_with_distance() -> None:
    lines = [line_with(plan_at=after(hours), step=f"s{hours}") for hours in (4, 18, 38)]
    row = axis_rows([timeline_with(*lines)], 0, voice(), 80, 3, span=BY_HOUR)[1]
    assert [style_at(row, NOW_AT + hours) for hours in (4, 18, 38)] == [STYLES["title"], "", STYLES["dim"]]


def test_skipped_and_optional_steps_leave_no_mark() -> None:
    _, row, words = drawn(
        line_with(plan_at=after(9), state="skipped"), line_with(plan_at=after(5), optional=True, kind="cover")
    )
    assert not set(row[NOW_AT + 1 :]) & set("□∩")
    assert words.strip() == "│"


# --- many pieces -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("height", [2, 3, 4, 8, 20, 60])
def test_the_chosen_piece_is_always_among_them(height: int) -> None:
    timelines = [timeline_with(line_with(plan_at=after(n)), piece=f"piece{n}") for n in range(50)]
    for chosen in range(50):
        rows = [row.plain for row in axis_rows(timelines, chosen, voice(), 80, height)]
        assert len(rows) == min(height, 52)
        assert any(row.startswith(f"▸piece{chosen} ") for row in rows)
        assert (f"{chosen + 1} of 50" in rows[0]) is (height < 52)


def test_the_words_of_the_next_step_stand_beside_the_name() -> None:
    timelines = [
        timeline_with(line_with(plan_at=after(2)), piece="bench"),
        timeline_with(line_with(plan_at=after(4), hold=True, check_from=after(-1)), piece="sill"),
    ]
    rows = [row.plain for row in axis_rows(timelines, 0, voice(), 80, 4)]
    assert rows[1].startswith("▸bench      in 2 h")
    assert rows[3].startswith(" sill       check ")


def test_nothing_is_drawn_without_pieces_or_room() -> None:
    assert axis_rows([], 0, voice(), 80, 5) == []
    assert axis_rows([timeline_with()], 0, voice(), 80, 1) == []


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("span", SPANS)
def test_whole_lives_fit_and_have_an_ascii_twin(profile: str, span: timedelta) -> None:
    for timeline in lives(profile)[::7]:
        for width in (40, 80, 160):
            for ascii_only in (False, True):
                rows = axis_rows([timeline], 0, voice_at(timeline), width, 3, span=span, ascii_only=ascii_only)
                assert [len(row.plain) for row in rows] == [width] * 3
                if ascii_only:
                    assert all(in_ascii(row).plain.isascii() for row in rows)
                    assert all(row.plain.isascii() for row in rows)


def test_what_colour_says_is_said_without_it() -> None:
    """Ready, planned, late and done differ by sign, word or place, not by style alone."""
    states: list[Timeline] = [
        timeline_with(line_with(state="ready", plan_at=after(0), kind="cover")),
        timeline_with(line_with(plan_at=after(1), kind="cover")),
        timeline_with(line_with(state="late", late_at=after(-1), kind="cover")),
        timeline_with(line_with(state="done", done_at=after(-1), kind="cover")),
    ]
    plain = [axis_rows([one], 0, voice(), 80, 3, span=BY_HOUR)[1].plain for one in states]
    assert len(set(plain)) == len(plain)


def test_the_hour_that_comes_twice_is_two_columns() -> None:
    """Sunday 25 October 2026, clocks go back at 03:00 in Berlin: from Saturday noon to Sunday noon are 25 hours (the
    tz database), so 25 columns."""
    from datetime import UTC, datetime

    from curetrack.words.voice import Voice

    now = datetime(2026, 10, 24, 10, tzinfo=UTC)  # Saturday 12:00
    scale = scale_of(Voice(now, BERLIN, "metric"), 80, BY_HOUR)
    noon = datetime(2026, 10, 25, 11, tzinfo=UTC)  # Sunday 12:00
    assert (scale.cell(noon) or 0) - scale.now_cell == 25
    nights = scale.night[scale.now_cell : scale.now_cell + 25]
    assert nights.count(True) == 9  # 22 to 6 are nine hours that night


def test_the_scale_has_now_in_the_middle_of_its_column() -> None:
    for width in (40, 80, 120, 200):
        for span in SPANS:
            scale = scale_of(voice(), width, span)
            assert abs(scale.moment(scale.now_cell) - NOW) < timedelta(milliseconds=1)
            assert scale.left + scale.width == max(width, scale.left + 10)
