"""How it looks: layout, widths, colours, ASCII. The two golden texts are regressions: what our own code printed."""

import io
import re
import sys
from pathlib import Path

import pytest
from rich.cells import cell_len

from curetrack.cli.layout import Span, cells, laid_out, plain_text, row, table
from curetrack.cli.screen import Screen
from tests.cli.conftest import DAY_ONE, Maker

GOLDEN = Path(__file__).with_name("golden")


# --- layout ------------------------------------------------------------------------------------------------------


def _text(*rows: object, width: int = 40) -> list[str]:
    return plain_text(laid_out(rows, width)).splitlines()  # type: ignore[arg-type]  # rows of this test


def test_a_body_wraps_under_itself() -> None:
    lines = _text(row("one two three four five six seven eight", gutter="now"))
    assert lines == ["now  one two three four five six seven", "     eight"]


def test_a_word_at_the_right_edge_ends_there() -> None:
    (line,) = _text(row("Strip", gutter="now", right="strip"))
    assert line == "now  Strip                         strip"
    assert len(line) == 40


def test_flat_rows_know_no_gutter() -> None:
    assert _text(row("heading", flat=True), row("body", gutter="in 3 h")) == ["heading", "in 3 h  body"]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_its_screen(width: int) -> None:
    words = " ".join(["needs 3.5 MPa; 2.1 MPa now at 11 °C; reaches it Sat 14:10 (12:30 to 16:00)"] * 4)
    lines = laid_out([row(words, gutter="in 1 h 25 min", right="strip", indent=2, hang=3)], width)
    assert all(sum(cells(span.text) for span in line) <= width for line in lines)


def test_a_number_stays_with_its_unit() -> None:
    for width in range(24, 60):
        text = _text(row("needs 3.5 MPa now at 11 °C, in 25 min, on 24 Jan"), width=width)
        assert not any(re.search(r"\d$", line) for line in text), text


@pytest.mark.parametrize("text", ["plain", "Küche", "石の板", "e\u0301", "▲ lift", "☼"])
def test_cells_are_counted_as_rich_counts_them(text: str) -> None:
    assert cells(text) == cell_len(text)


def test_columns_stand_under_each_other_and_numbers_to_the_right() -> None:
    rows = table(("id", "place", "temp"), [("1", "slab", "9 °C"), ("12", "outside", "-3 °C")], 40)
    assert _text(*rows) == ["id  place    temp", " 1  slab     9 °C", "12  outside  -3 °C"]
    assert table(("a",), [], 40) == []


def test_styles_are_names_and_leave_no_trace_in_plain_text() -> None:
    assert plain_text([[Span("now", "now"), Span(" x", "dim")]]) == "now x\n"


# --- screens -----------------------------------------------------------------------------------------------------


class Fake(io.StringIO):
    """A standard output of some kind."""

    def __init__(self, *, terminal: bool, encoding: str = "utf-8") -> None:
        super().__init__()
        self._terminal, self._encoding = terminal, encoding

    @property
    def encoding(self) -> str:  # type: ignore[override]  # StringIO has none
        """What it can write."""
        return self._encoding

    def isatty(self) -> bool:
        """Whether somebody looks."""
        return self._terminal


def _terminal(monkeypatch: pytest.MonkeyPatch, columns: str = "100") -> Fake:
    """A colour terminal as standard output, from here to the end of the test."""
    fake = Fake(terminal=True)
    monkeypatch.setattr(sys, "stdout", fake)
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    return fake


ROWS = [row(Span("late", "alarm"), " and ", Span("now", "now"))]


def test_a_terminal_gets_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = _terminal(monkeypatch)
    Screen().show(ROWS)
    assert "\x1b[" in terminal.getvalue()
    assert "late" in terminal.getvalue()


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_no_colour_where_none_is_wanted(name: str, value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = _terminal(monkeypatch)
    monkeypatch.setenv(name, value)
    Screen().show(ROWS)
    assert terminal.getvalue() == "late and now\n"


def test_an_empty_no_color_asks_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The convention counts it only when it is not empty."""
    terminal = _terminal(monkeypatch)
    monkeypatch.setenv("NO_COLOR", "")
    Screen().show(ROWS)
    assert "\x1b[" in terminal.getvalue()


def test_a_pipe_gets_plain_text(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = Fake(terminal=False)
    monkeypatch.setattr(sys, "stdout", pipe)
    Screen().show(ROWS)
    assert pipe.getvalue() == "late and now\n"


def test_markup_in_a_name_is_text(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = _terminal(monkeypatch)
    Screen().show([row("[bold]x[/bold] :smile:")])
    assert "[bold]x[/bold] :smile:" in terminal.getvalue()


def test_ascii_where_nothing_else_can_be_written(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = Fake(terminal=False, encoding="ascii")
    monkeypatch.setattr(sys, "stdout", pipe)
    Screen().show([row("▲ flip at 11 °C · 1.8 × 0.6 · 石")])
    assert pipe.getvalue() == "^ flip at 11 C - 1.8 x 0.6 - ?\n"


def test_json_is_ascii_where_nothing_else_can_be_written(monkeypatch: pytest.MonkeyPatch) -> None:
    import msgspec

    pipe = Fake(terminal=False, encoding="ascii")
    monkeypatch.setattr(sys, "stdout", pipe)
    Screen(as_json=True).json({"name": "Küche 石 𝄞"})
    assert pipe.getvalue().isascii()
    assert msgspec.json.decode(pipe.getvalue()) == {"name": "Küche 石 𝄞"}


@pytest.mark.parametrize(("columns", "width"), [("80", 80), ("120", 120), ("300", 120), ("20", 60), ("no", 80)])
def test_width_follows_the_terminal_within_reason(columns: str, width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    _terminal(monkeypatch, columns)
    assert Screen().width == width


# --- whole screens -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", ["80", "120"])
def test_today_and_sheet_fit_the_width(width: str, maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    maker.warm(30).pours("a piece with quite a long name, for a kitchen")
    monkeypatch.setenv("COLUMNS", width)
    for argv in (("today",), ("sheet", "a piece with quite a long name, for a kitchen")):
        lines = maker.at(26).ok(*argv).out.splitlines()
        assert [line for line in lines if cell_len(line) > int(width)] == []


def test_today_says_next_when_why_careful_in_this_order(maker: Maker) -> None:
    """the look."""
    maker.warm(30).pours().does(*DAY_ONE[:3])
    out = maker.at(2).ok("today").out
    order = ["Trowel the back hard", "ready Sat ", "needs the initial set", "Careful:"]
    assert [out.index(part) for part in order] == sorted(out.index(part) for part in order)


def test_both_ways_of_saying_when_agree(maker: Maker) -> None:
    """the look: relative and absolute together; here 12:00 and what is added must make the hour below."""
    maker.warm(30).pours().does(*DAY_ONE[:3])
    lines = maker.at(2).ok("today").out.splitlines()
    pairs = [
        (re.match(r"in (?:(\d+) h ?)?(?:(\d+) min)?  ", line), re.match(r"Sat (\d\d):(\d\d) ", lines[number + 1]))
        for number, line in enumerate(lines[:-1])
        if line.startswith("in ")
    ]
    checked = [(ahead, then) for ahead, then in pairs if ahead and then and ahead[2]]
    assert checked
    for ahead, then in checked:
        minutes = int(ahead[1] or 0) * 60 + int(ahead[2])
        assert 12 * 60 + minutes == int(then[1]) * 60 + int(then[2])


def test_a_sheet_has_its_heading_warnings_days_and_folds_what_is_done(cured: Maker) -> None:
    out = cured.at(22).ok("sheet", "bench").out
    head = out[: out.index("WARNING")]
    for part in ("bench · Tabletop", "1800 × 600 × 40 mm", "102 kg to lift", "poured Sat 10 Jan 2026 10:00, 22 h ago",
                 "equivalent age 22 h", "strength looks like", "slab 20 °C"):  # fmt: skip
        assert part in head.replace("\n", " ")
    assert out.index("Now") < out.index("Tomorrow") if "Tomorrow" in out else True
    assert "Done: pour Sat 10:00" in out
    assert "Trowel the back hard" not in out
    assert "Trowel the back hard" in cured.ok("sheet", "bench", "--all").out


def test_no_ready_time_is_naked_on_a_sheet(cured: Maker) -> None:
    """the look: every time at which a step is ready has its band, or the word that it has none."""
    out = re.sub(r"\s+", " ", cured.at(22).ok("sheet", "bench").out)
    found = re.findall(r"ready \w{3}(?: \d+ \w{3})? \d\d:\d\d (\S+)", out)
    assert found
    assert all(after.startswith("(") for after in found)


def test_the_printed_sheet_has_boxes_blanks_and_lines_for_notes(cured: Maker) -> None:
    out = cured.at(22).ok("sheet", "bench", "--print").out
    boxes = [line for line in out.splitlines() if line.startswith("[ ]")]
    steps = cured.ok("sheet", "bench", "--json").json["steps"]
    assert len(boxes) == len([step for step in steps if step["state"] not in ("done", "skipped")])
    assert all(line.endswith("________") for line in boxes)
    assert out.splitlines()[-1] == "_" * 78
    assert "\x1b" not in out
    assert max(cell_len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize(("name", "argv"), [("today", ("today",)), ("sheet", ("sheet", "bench"))])
def test_a_small_piece_looks_as_it_did(name: str, argv: tuple[str, ...], maker: Maker) -> None:
    """Regression: what our own code printed for the two-step profile of these tests. Look at it before changing it."""
    maker.warm(3)
    profile = GOLDEN / "two-steps.toml"
    maker.at(0).ok("pour", "bench", "--profile", str(profile), "--size", "600x400x40mm")
    assert maker.at(3).ok(*argv).out == (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")


def test_a_sheet_says_how_it_may_be_held_while_a_lift_lies_ahead(cured: Maker) -> None:
    """24 h at 20 °C of 27 MPa, 0.25 /day from 7 h: 4.65 MPa, 0.62 sqrt(fc) is 1.34 MPa (1.16 to 1.49, a quarter off).
    1800 x 600 x 40 mm at 2350 kg/m3 bends to 0.75 rho g L2/t: 1.40 MPa by the ends, 0.156 MPa over the long edge; three
    times that asks for 46 and 0.57 MPa."""
    out = cured.ok("sheet", "bench").out
    assert re.search(r"Holding it, at 4\.[67] MPa now\n", out)
    assert re.search(r"flat by the ends +1\.4 MPa +46 MPa +never +1\.0 \(0\.8 to 1\.1\), no\n", out)
    assert re.search(r"rolled over the long edge +0\.16 MPa +0\.57 MPa +[\d.]+ h +8\.6 \(7\.4 to 9\.6\)\n", out)
    told = {grip["grip"]: grip for grip in cured.ok("sheet", "bench", "--json").json["handling"]}
    assert told["flat-ends"]["stress_MPa"] == pytest.approx(0.75 * 2350.0 * 9.80665 * 1.8**2 / 0.04 / 1e6, abs=0.001)
    assert told["flat-ends"]["factor_needed"] == 3.0
    assert told["flat-ends"]["equivalent_age_needed_h"] is None
    assert "safe" not in out
