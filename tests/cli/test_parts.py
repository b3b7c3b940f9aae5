"""Small parts: progress, moves, arguments, remarks."""

import io
import sys
from typing import Any

import pytest

from curetrack.cli.moves import moves_json, moves_of
from curetrack.cli.parser import MINUS, pair, protect_minus, text, whole
from curetrack.cli.progress import Bar
from curetrack.cli.screen import Screen, say_error
from curetrack.errors import BadInput
from curetrack.timeline.types import Line, Timeline
from tests.cli.conftest import Maker
from tests.words.making import after, line_with, timeline_with, voice


class Terminal(io.StringIO):
    """A standard error that somebody looks at."""

    def isatty(self) -> bool:
        """Yes."""
        return True


def _bar(monkeypatch: pytest.MonkeyPatch, seconds: float, *, terminal: bool) -> str:
    stream = Terminal() if terminal else io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    times = iter([0.0, *([seconds] * 10)])
    with Bar(clock=lambda: next(times)) as bar:
        tell = bar.part("reading")
        for done in (1000, 2000, 3000):
            tell(done, 3000)
    return stream.getvalue()


def test_a_bar_shows_itself_only_when_it_lasts_and_somebody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "reading" in _bar(monkeypatch, 0.6, terminal=True)
    assert _bar(monkeypatch, 0.4, terminal=True) == ""
    assert _bar(monkeypatch, 9.0, terminal=False) == ""


@pytest.mark.parametrize("argument", ["-3C", "-3", "-.5C", "-12 °F"])
def test_a_negative_number_is_no_option(argument: str) -> None:
    (kept,) = protect_minus([argument])
    assert kept.startswith(MINUS)
    assert text(kept) == argument


@pytest.mark.parametrize("argument", ["--at", "-h", "-", "x-3", "--3"])
def test_other_arguments_stay_as_they_are(argument: str) -> None:
    assert protect_minus([argument]) == [argument]


def test_a_note_may_begin_with_a_negative_number(maker: Maker) -> None:
    maker.warm(8).pours()
    maker.at(1).ok("note", "bench", "-3 °C outside tonight")


@pytest.mark.parametrize(("argument", "number"), [("4", 4), ("0", 0)])
def test_whole_numbers(argument: str, number: int) -> None:
    assert whole(argument) == number


@pytest.mark.parametrize("argument", ["", "4.0", "٤", "-4", "1e3", "9" * 20])
def test_what_is_no_whole_number(argument: str) -> None:
    with pytest.raises(BadInput):
        whole(argument)


def test_pairs() -> None:
    assert pair("a.b = 2h ") == ("a.b", "2h")
    assert pair("quiet_hours=") == ("quiet_hours", "")
    with pytest.raises(BadInput):
        pair("=2h")


# --- moves -------------------------------------------------------------------------------------------------------


def _line(ready_h: float | None, **changes: Any) -> Line:
    ready = None if ready_h is None else after(ready_h)
    band = None if ready_h is None else (after(ready_h - 1), after(ready_h + 2))
    return line_with(**{"ready_at": ready, "plan_at": ready, "band": band, "hold": True, **changes})


def _pair(before: Line, now: Line) -> tuple[list[Timeline], list[Timeline]]:
    return [timeline_with(before)], [timeline_with(now)]


@pytest.mark.parametrize(
    ("before", "now", "moved"),
    [
        (_line(5), _line(9), True),
        (_line(5), _line(5.2), False),  # less than a quarter of an hour
        (_line(5), _line(None), True),
        (_line(None), _line(5), True),
        (_line(5), _line(9, state="done"), False),
        (_line(5), _line(9, optional=True), False),
        (_line(5, band=(after(5), after(5))), _line(9), False),  # it followed another step by the clock
    ],
)
def test_which_steps_count_as_moved(before: Line, now: Line, moved: bool) -> None:
    assert bool(moves_of(*_pair(before, now))) is moved


def test_holds_are_told_before_others() -> None:
    old = timeline_with(_line(5, step="a", hold=False), _line(6, step="b"))
    new = timeline_with(_line(9, step="a", hold=False), _line(10, step="b"))
    assert [move.after.step for move in moves_of([old], [new])] == ["b"]


def test_a_move_in_json() -> None:
    (told,) = moves_json(moves_of(*_pair(_line(5), _line(9))), voice())
    assert list(told) == ["piece", "step", "ready_before", "ready_at", "why"]
    assert (told["ready_before"], told["ready_at"]) == ("2026-01-10T15:00:00+01:00", "2026-01-10T19:00:00+01:00")


# --- stderr ------------------------------------------------------------------------------------------------------


def test_a_remark_is_no_part_of_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    Screen().remark("temp 14 is taken as 14 °C")
    shown = capsys.readouterr()
    assert (shown.out, shown.err) == ("", "curetrack: note: temp 14 is taken as 14 °C\n")


def test_each_fault_has_its_line(capsys: pytest.CaptureFixture[str]) -> None:
    say_error("one\ntwo")
    assert capsys.readouterr().err == "curetrack: one\ncuretrack: two\n"


@pytest.mark.parametrize("broken", [None, io.StringIO()])
def test_no_stderr_is_no_trouble(broken: io.StringIO | None, monkeypatch: pytest.MonkeyPatch) -> None:
    if broken is not None:
        broken.close()
    monkeypatch.setattr(sys, "stderr", broken)
    say_error("nobody hears")
