"""A to-do's text: written by the letter of RFC 5545, read by a second library, and a phone's own lines kept."""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar
from msgspec.structs import replace

from curetrack.phone.caldav.lines import as_text, content_lines, folded, from_text
from curetrack.phone.caldav.todo import read_todo, todo_text
from curetrack.phone.caldav.types import Put, Texts, Theirs, Wanted

BERLIN = ZoneInfo("Europe/Berlin")
T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
DUE = T0 + timedelta(hours=20)
WANTED = Wanted(
    "strip@test", "bench", "strip", Texts("Strip · bench", "Wait for it; then, pull.\nCareful"), DUE, (DUE,)
)


def put(wanted: Wanted = WANTED, over: Theirs | None = None, mark: int = 1) -> Put:
    return Put(wanted.uid, "strip.ics", wanted, over, mark)


def read(raw: str) -> Theirs:
    found = read_todo(raw, "strip.ics", '"1"', BERLIN)
    assert found is not None
    return found


def todo_of(raw: str) -> Any:
    """As a library sees it that is not ours."""
    (todo,) = Calendar.from_ical(raw).walk("VTODO")
    return todo


def on_server(*lines: str, without: tuple[str, ...] = (), of: str | None = None) -> Theirs:
    """Ours as a phone has changed it: lines taken out by name, others put in before the alarms."""
    raw = todo_text(put(), T0) if of is None else of
    kept = [line for line in raw.split("\r\n") if not line.startswith(without)] if without else raw.split("\r\n")
    place = kept.index("BEGIN:VALARM") if "BEGIN:VALARM" in kept else kept.index("END:VTODO")
    return read("\r\n".join([*kept[:place], *lines, *kept[place:]]))


def test_a_new_one_is_read_by_another_library() -> None:
    todo = todo_of(todo_text(put(), T0))
    assert (str(todo["UID"]), str(todo["STATUS"]), todo["SEQUENCE"]) == ("strip@test", "NEEDS-ACTION", 0)
    assert (str(todo["SUMMARY"]), str(todo["DESCRIPTION"])) == (WANTED.texts.summary, WANTED.texts.description)
    assert todo["DUE"].dt == DUE
    (alarm,) = todo.walk("VALARM")
    assert alarm["TRIGGER"].dt == DUE
    assert str(alarm["ACTION"]) == "DISPLAY"
    assert "COMPLETED" not in todo
    assert "PERCENT-COMPLETE" not in todo


def test_what_goes_out_comes_back_the_same() -> None:
    there = read(todo_text(put(mark=7), T0))
    assert (there.uid, there.texts, there.due) == (WANTED.uid, WANTED.texts, DUE)
    assert (there.done, there.done_at, there.mark, there.sequence) == (False, None, 7, 0)
    assert there.changed_at is None  # that was us


def test_an_alarm_that_lies_behind_is_not_sent_as_phones_would_ring_at_once() -> None:
    wanted = replace(WANTED, alarms=(T0 - timedelta(hours=1), T0 + timedelta(hours=1)))
    (alarm,) = todo_of(todo_text(put(wanted), T0)).walk("VALARM")
    assert alarm["TRIGGER"].dt == T0 + timedelta(hours=1)


def test_done_is_status_percent_and_time_together_and_reopening_clears_the_three() -> None:
    open_one = read(todo_text(put(), T0))
    done = todo_text(put(replace(WANTED, done_at=T0), open_one, 2), T0)
    todo = todo_of(done)
    assert (str(todo["STATUS"]), todo["COMPLETED"].dt, todo["PERCENT-COMPLETE"]) == ("COMPLETED", T0, 100)
    assert not todo.walk("VALARM")
    again = todo_of(todo_text(put(WANTED, read(done), 3), T0))
    assert str(again["STATUS"]) == "NEEDS-ACTION"
    assert "COMPLETED" not in again
    assert "PERCENT-COMPLETE" not in again
    assert again["SEQUENCE"] == 2
    assert len(again.walk("VALARM")) == 1


@pytest.mark.parametrize(
    ("lines", "done"),
    [
        (("STATUS:COMPLETED", "COMPLETED:20260302T100000Z", "PERCENT-COMPLETE:100"), True),
        (("STATUS:COMPLETED", "COMPLETED;VALUE=DATE-TIME:20260302T100000Z"), True),  # as a desktop client wrote it
        (("COMPLETED:20260302T100000Z",), True),
        (("STATUS:COMPLETED",), True),
        (("STATUS:NEEDS-ACTION", "PERCENT-COMPLETE:100"), False),
        (("STATUS:IN-PROCESS", "PERCENT-COMPLETE:50"), False),
        (("STATUS:CANCELLED",), False),
        ((), False),
    ],
)
def test_done_is_read_from_status_or_time_never_from_percent(lines: tuple[str, ...], done: bool) -> None:
    there = on_server(*lines, without=("STATUS",))
    assert there.done is done
    has_time = any(line.startswith("COMPLETED") for line in lines)
    assert there.done_at == (T0 + timedelta(hours=1) if has_time else None)


def test_a_reopening_that_left_the_time_is_torn_and_a_begun_one_is_not() -> None:
    assert on_server("COMPLETED:20260302T100000Z").torn
    assert on_server("PERCENT-COMPLETE:100").torn
    assert not on_server("STATUS:IN-PROCESS", "PERCENT-COMPLETE:50", without=("STATUS",)).torn
    mended = todo_of(todo_text(put(over=on_server("COMPLETED:20260302T100000Z", "PERCENT-COMPLETE:100")), T0))
    assert "COMPLETED" not in mended
    assert "PERCENT-COMPLETE" not in mended


PHONES_OWN = (
    "CATEGORIES:Work\\, heavy", "PRIORITY:5", "X-PHONE-SORT-ORDER:7001", "URL:https://example.org/a", "RELATED-TO:list",
)  # fmt: skip
PHONES_ALARM = (
    "BEGIN:VALARM",
    "ACTION:DISPLAY",
    "DESCRIPTION:mine",
    "TRIGGER:-PT15M",
    "X-PHONE-SNOOZE:1",
    "END:VALARM",
)


def test_all_that_is_the_phones_stays_to_the_letter() -> None:
    there = on_server(*PHONES_OWN, *PHONES_ALARM)
    later = replace(WANTED, texts=Texts("Strip", "Other words"), due=DUE + timedelta(hours=3), alarms=(DUE,) * 2)
    for wanted in (later, replace(WANTED, done_at=T0), replace(WANTED, refusal="Too soon.")):
        lines = todo_text(put(wanted, there, 2), T0).split("\r\n")
        assert set(PHONES_OWN) <= set(lines)
        start = lines.index(PHONES_ALARM[2]) - 2
        assert tuple(lines[start : start + len(PHONES_ALARM)]) == PHONES_ALARM


def test_a_line_that_still_says_the_same_keeps_its_parameters() -> None:
    raw = todo_text(put(), T0).replace("SUMMARY:", "SUMMARY;LANGUAGE=en:")
    assert "SUMMARY;LANGUAGE=en:Strip" in todo_text(put(replace(WANTED, due=T0), read(raw), 2), T0)


def test_alarms_are_left_alone_until_ours_move() -> None:
    there = read(todo_text(put(), T0).replace("ACTION:DISPLAY", "ACTION:DISPLAY\r\nACKNOWLEDGED:20260302T091500Z"))
    same = todo_text(put(replace(WANTED, texts=Texts("x")), there, 2), T0)
    assert "ACKNOWLEDGED:20260302T091500Z" in same
    moved = todo_of(todo_text(put(replace(WANTED, alarms=(DUE + timedelta(hours=1),)), there, 2), T0))
    (alarm,) = moved.walk("VALARM")
    assert alarm["TRIGGER"].dt == DUE + timedelta(hours=1)
    assert "ACKNOWLEDGED" not in alarm


@pytest.mark.parametrize(
    ("line", "due"),
    [
        ("DUE:20260303T050000Z", DUE),
        ("DUE;TZID=Europe/Berlin:20260303T060000", DUE),
        ("DUE;TZID=/somewhere/20070129_1/America/New_York:20260303T000000", DUE),
        ("DUE;TZID=Mars:20260303T060000", DUE),  # unknown: the shop's
        ("DUE:20260303T060000", DUE),  # floating: the shop's
        ("DUE;VALUE=DATE:20260303", DUE),  # the day kept, the time lost: ours
        ("DUE;VALUE=DATE:20260304", datetime(2026, 3, 4, 7, tzinfo=UTC)),  # 8:00 in Berlin
        ("DUE:tomorrow", None),
        ("DUE:20260229T000000Z", None),
    ],
)
def test_due_times_as_phones_write_them(line: str, due: datetime | None) -> None:
    assert on_server(line, without=("DUE",)).due == due


def test_a_due_time_stands_with_no_duration_and_no_later_start() -> None:
    there = on_server("DTSTART:20260304T000000Z", "DURATION:PT1H", without=("DUE",))
    todo = todo_of(todo_text(put(over=there), T0))
    assert todo["DUE"].dt == DUE
    assert "DTSTART" not in todo
    assert "DURATION" not in todo
    kept = on_server("DTSTART:20260302T000000Z")
    assert "DTSTART" in todo_of(todo_text(put(replace(WANTED, due=DUE + timedelta(hours=1)), kept), T0))


def test_the_phones_moment_is_known_from_ours() -> None:
    raw = todo_text(put(), T0)
    later = raw.replace("LAST-MODIFIED:20260302T090000Z", "LAST-MODIFIED:20260302T093000Z")
    assert read(later).changed_at == T0 + timedelta(minutes=30)
    assert read(raw).changed_at is None


@pytest.mark.parametrize(
    "raw",
    [
        "", "garbage", "BEGIN:VTODO", "BEGIN:VCALENDAR\nBEGIN:VEVENT\nUID:a\nEND:VEVENT\nEND:VCALENDAR",
        "BEGIN:VTODO\nSUMMARY:no uid\nEND:VTODO", "END:VTODO", "BEGIN:VTODO\nUID:a\nEND:VEVENT", "\x00" * 10,
        "BEGIN:VTODO\nUID:a\nRECURRENCE-ID:20260302T090000Z\nEND:VTODO", " folded first",
    ],
)  # fmt: skip
def test_what_is_no_to_do_is_none(raw: str) -> None:
    found = read_todo(raw, "a.ics", "1", BERLIN)
    assert found is None or raw.endswith("END:VEVENT")  # a wrong END still ends


def test_bare_line_feeds_and_any_case_are_read() -> None:
    there = read("begin:vcalendar\nBegin:VTODO\nuid:a\nSummary:One\n two\nstatus:completed\nEND:VTODO\nEND:VCALENDAR\n")
    assert (there.uid, there.texts.summary, there.done) == ("a", "Onetwo", True)


def test_a_single_occurrence_of_a_repeated_one_is_passed_over() -> None:
    one = "BEGIN:VTODO\nUID:a\nRECURRENCE-ID:20260302T090000Z\nSUMMARY:once\nEND:VTODO\n"
    there = read(f"BEGIN:VCALENDAR\n{one}BEGIN:VTODO\nUID:a\nSUMMARY:all\nEND:VTODO\nEND:VCALENDAR\n")
    assert there.texts.summary == "all"
    assert "SUMMARY:once" in todo_text(put(replace(WANTED, uid="a"), there), T0)


@given(st.text())
def test_nothing_in_a_text_can_become_a_line(text: str) -> None:
    """Injection: a name with line breaks and colons stays one value."""
    wanted = replace(WANTED, texts=Texts(f"a\r\nSTATUS:COMPLETED\r\n{text}"[:300], text))
    raw = todo_text(put(wanted), T0)
    assert [line.name for line in content_lines(raw) if line.name in ("STATUS", "BEGIN")] == [
        "BEGIN", "BEGIN", "STATUS", "BEGIN",
    ]  # fmt: skip
    assert not read(raw).done


@given(st.text())
def test_texts_are_escaped_and_back(text: str) -> None:
    assert from_text(as_text(text)) == text


@given(st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=400))
def test_lines_are_folded_at_75_octets_without_cutting_a_letter(text: str) -> None:
    pieces = folded(f"SUMMARY:{text}").split("\r\n")
    assert all(len(piece.encode()) <= 75 for piece in pieces)
    (line,) = content_lines("\r\n".join(pieces))
    assert line.value == text


@given(st.text())
def test_anything_is_read_without_a_fault(text: str) -> None:
    read_todo(text, "a", "1", BERLIN)
    read_todo(f"BEGIN:VTODO\nUID:a\n{text}\nDUE:{text}\nEND:VTODO", "a", "1", BERLIN)
