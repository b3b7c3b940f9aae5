"""The dashboard where things go less smoothly: gloves, questions left open, what others write, faults, odd screens."""

import logging
import math
import re
import sqlite3
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest

from curetrack.desk import app as desk_app
from curetrack.desk import keys
from curetrack.desk.app import Dashboard
from curetrack.desk.keys import Taps
from curetrack.desk.ports import News
from curetrack.facts import Forecast, Shape
from curetrack.shop import View
from tests.desk.beside import LARGE, PROFILE, SMALL, T0, Alone, hours, kinds, press, screen, type_in


def flowing(app: Dashboard) -> str:
    """The same without its line breaks."""
    return " ".join(screen(app).split())


def stripped(beside: Alone) -> None:
    """Covered, and the form off a day later."""
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(25))
    beside.shop.done("bench", "strip", check="pass", now=beside.at)
    beside.comes_to(hours(26))


# --- gloves ----------------------------------------------------------------------------------------------------------


async def test_a_key_that_is_held_or_hit_twice_counts_once(beside: Alone) -> None:
    """Else the next steps would be ticked along."""
    stripped(beside)
    beside.shop.done("bench", "flip", crew=4, now=beside.at)
    beside.comes_to(hours(27))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d", "d", "d", "d")
        assert kinds(beside)[-1] == ("done", "sand")
        assert ("done", "seal-1") not in kinds(beside)


async def test_the_same_key_later_counts(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keys, "BOUNCE_s", 0.0)
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "l")
        beside.at = hours(0.5)
        await press(pilot, "l")
        assert kinds(beside) == [("later", "cover"), ("later", "cover")]


async def test_what_came_into_hand_by_itself_is_not_ticked_at_once(tmp_path: Path) -> None:
    """The hand meant what stood there a moment ago."""
    beside = Alone(tmp_path / "home", "bench", "hearth")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        assert "Cover it · bench" in screen(app)
        beside.shop.done("bench", "cover", now=T0)
        beside.comes_to(hours(0.1))
        await press(pilot, "d")
        assert "came into hand just now" in screen(app)
        assert kinds(beside, "hearth") == []
        app._came_at, app._taps = -math.inf, Taps()  # a moment later
        await press(pilot, "d")
        assert kinds(beside, "hearth") == [("done", "cover")]


async def test_the_step_in_hand_stays_in_hand(tmp_path: Path) -> None:
    """By its name: another process ticks the one before it."""
    beside = Alone(tmp_path / "home")
    beside.shop.pour("vanity", profile="bagged-tabletop", shape=Shape(0.9, 0.5, 0.04), at=T0, now=T0)
    beside.comes_to(hours(0.1))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "right", "right")
        first, chosen = app._board.steps[0], app._board.line
        assert chosen is not None
        assert chosen.step != first.step
        beside.shop.done("vanity", first.step, now=beside.at)
        beside.comes_to(hours(0.11))
        assert app._board.line is not None
        assert app._board.line.step == chosen.step


async def test_after_a_deed_the_most_pressing_piece_comes_soon(tmp_path: Path) -> None:
    beside = Alone(tmp_path / "home", "bench", "hearth")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert "Strip the sides · bench" in screen(app)
        beside.comes_to(T0 + timedelta(seconds=10))
        assert "Strip the sides · bench" in screen(app)
        beside.comes_to(T0 + timedelta(seconds=25))
        assert "Cover it · hearth" in screen(app)


# --- questions -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 14), (60, 20)])
async def test_a_question_shows_its_keys_on_every_screen(beside: Alone, size: tuple[int, int]) -> None:
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(25))
    app = Dashboard(beside)
    async with app.run_test(size=size) as pilot:
        await press(pilot, "d")
        assert "A coin leaves no mark." in flowing(app)
        assert "y yes n no" in flowing(app)


async def test_a_question_that_nobody_answers_goes(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "s")
        assert "y yes" in screen(app)
        monkeypatch.setattr(desk_app, "ASKED_s", -1.0)
        app._tick()
        assert "y yes" not in screen(app)
        await press(pilot, "y")
        assert kinds(beside) == []


async def test_what_was_said_gives_way_to_the_keys(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert "Done: Cover it" in screen(app)
        monkeypatch.setattr(desk_app, "SAID_s", -1.0)
        app._tick()
        assert "d done  l later" in screen(app)


async def test_what_is_asked_about_stays_in_hand(tmp_path: Path) -> None:
    """The answer belongs to the question, whatever has changed meanwhile."""
    beside = Alone(tmp_path / "home", "bench", "hearth")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "s")
        assert "leave out" not in screen(app)  # in large letters
        beside.shop.done("hearth", "cover", now=T0)
        beside.comes_to(hours(1))
        await press(pilot, "y")
        assert kinds(beside) == [("skip", "cover")]


async def test_undo_takes_back_what_it_named(beside: Alone) -> None:
    """Another process says something between the question and the answer."""
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(1))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "u")
        assert "Done: Cover it, Mon 09:00." in screen(app)
        beside.shop.note("bench", "warm to the hand", now=beside.at)
        await press(pilot, "y")
        assert kinds(beside) == [("note", "")]


async def test_undo_names_a_pour(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "u")
        assert "The pour, and with it every time, Mon 09:00." in screen(app)
        await press(pilot, "n")
        assert len(beside.shop.events("bench", View(beside.at))) == 1
        await press(pilot, "u", "y")  # the piece was never planned, so nothing is left of it
        assert beside.timelines == []
        assert "curetrack pour bench" in screen(app)


async def test_a_planned_piece_is_poured(tmp_path: Path) -> None:
    beside = Alone(tmp_path / "home")
    beside.shop.plan("bench", profile=str(PROFILE), shape=Shape(1.2, 0.6, 0.04), at=hours(1), now=T0)
    beside.comes_to(hours(1.5))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert "Every later step is timed from this moment." in screen(app)
        await press(pilot, "y")
    pour = beside.shop.events("bench", View(beside.at))[-1]
    assert (pour.kind, pour.at, pour.source) == ("pour", hours(1.5), "desk")


async def test_a_round_more_is_of_what_was_ended_last(beside: Alone) -> None:
    stripped(beside)
    beside.shop.done("bench", "flip", crew=4, now=beside.at)
    beside.shop.done("bench", "sand", now=beside.at)
    beside.comes_to(hours(26.5))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "a", "y")
        assert kinds(beside)[-1] == ("again", "sand")
        assert "Sand it" in screen(app)


async def test_a_piece_that_froze_young_is_checked_for_hardness(tmp_path: Path) -> None:
    beside = Alone(tmp_path / "home", "bench")
    for hour, temp in ((2, 4.0), (4, -3.0), (8, -3.0), (10, 3.0), (12, 15.0), (30, 15.0), (60, 15.0)):
        beside.shop.add_reading(temp_degC=temp, at=hours(hour), now=hours(60))
    beside.shop.done("bench", "cover", now=hours(60))
    beside.comes_to(hours(60))
    piece = beside.timelines[0]
    assert piece.suspect
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        assert "! Looks like it froze young" in screen(app)
        beside.shop.done("bench", "strip", override="looked sound", now=beside.at)
        beside.comes_to(hours(60.1))
        app._came_at = -math.inf
        await press(pilot, "p")
        assert "a nail leaves no scratch" in flowing(app)
        await press(pilot, "y")
        assert kinds(beside)[-1] == ("check", "hardness")


async def test_a_closed_window_asks_for_its_remedy(beside: Alone) -> None:
    stripped(beside)
    for step in ("flip", "sand", "seal-1"):
        beside.shop.done("bench", step, now=beside.at)
    beside.comes_to(hours(40))  # the second coat had to follow within six hours
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert "Its window has closed. Wipe it and begin again." in flowing(app)
        await press(pilot, "n")
        assert kinds(beside)[-1] == ("done", "seal-1")
        await press(pilot, "d", "y")
        assert kinds(beside)[-1] == ("done", "seal-2")


# --- words -----------------------------------------------------------------------------------------------------------


async def test_a_refusal_is_said_in_full_and_without_options_of_the_command_line(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=(60, 24)) as pilot:
        beside.shop.done("bench", "cover", now=T0)
        beside.comes_to(hours(25))
        app._came_at = -math.inf
        await press(pilot, "right", "left", "l")
        beside.shop.done("bench", "strip", check="pass", now=beside.at)
        beside.comes_to(hours(26))
        app._came_at = -math.inf
        await press(pilot, "d")
        await type_in(pilot, app, "2")
        assert "4 people are needed and 2 named. Call more, or let wheels, slides or a tilting frame" in flowing(app)
        assert "take the weight." in flowing(app)
        assert "--" not in flowing(app)


async def test_news_say_how_many_more_and_how_they_are_read(beside: Alone) -> None:
    beside.news = tuple(
        News(f"bench/{n}", f"News {n} · bench", ("Ready now, " + "and so on " * 20,), n == 0) for n in range(5)
    )
    app = Dashboard(beside)
    async with app.run_test(size=SMALL):
        row = next(row for row in screen(app).split("\n") if row.startswith("! News 0"))
        assert row.endswith("(and 4 more)  n read")
        assert len(row) <= 80


# --- faults ----------------------------------------------------------------------------------------------------------


class Faulty(Alone):
    """Its troubles cannot be asked for, now and then."""

    broken = False

    @property
    def troubles(self) -> Sequence[str]:
        if self.broken:
            raise ValueError("no such row")
        return ()

    @troubles.setter
    def troubles(self, _found: Sequence[str]) -> None:
        """Of no account here."""


async def test_a_fault_of_the_screen_ends_nothing(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    beside = Faulty(tmp_path / "home", "bench")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        beside.broken = True
        with caplog.at_level(logging.ERROR):
            app.paint()
        assert "stumbled" in screen(app)
        assert "Nudges go on" in screen(app)
        assert "ValueError: no such row" in caplog.text
        await press(pilot, "d")
        assert kinds(beside) == [("done", "cover")]
        beside.broken = False
        app.paint()
        assert "Strip the sides" in screen(app)


async def test_a_fault_behind_a_key_ends_nothing(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("the disk has gone")

    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        monkeypatch.setattr(beside.shop, "done", fails)
        await press(pilot, "d")
        assert "stumbled (RuntimeError('the disk has gone'))" in flowing(app)
        assert app.is_running


async def test_a_ledger_that_cannot_be_written_is_said(beside: Alone) -> None:
    """Its file has gone, and something else is in its place."""
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        ledger = Path(beside.shop.home) / "ledger.sqlite"
        beside.shop.ledger.close()
        ledger.rename(ledger.with_suffix(".away"))
        ledger.mkdir()
        await press(pilot, "d")
        assert app.is_running
        assert "Done:" not in screen(app)
        ledger.rmdir()
        ledger.with_suffix(".away").rename(ledger)
    with sqlite3.connect(ledger) as connection:
        assert connection.execute("SELECT count(*) FROM event WHERE kind = 'done'").fetchone() == (0,)


async def test_the_bell_rings(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    rung: list[int] = []
    app = Dashboard(beside)
    async with app.run_test(size=SMALL):
        monkeypatch.setattr(app, "bell", lambda: rung.append(1))
        beside.news = (News("k", "Cover it · bench", ("Ready now.",), False),)
        app.ring(None)
        assert rung == [1]
        assert "Cover it · bench: Ready now." in screen(app)


async def test_after_its_end_it_hears_nothing(beside: Alone) -> None:
    async with Dashboard(beside).run_test(size=SMALL) as pilot:
        await press(pilot, "q")
    beside.changed()


# --- odd screens -----------------------------------------------------------------------------------------------------


async def test_plain_ascii(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CURETRACK_ASCII", "1")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        for pressed in ((), ("c",), ("c", "question_mark"), ("x", "s")):
            await press(pilot, *pressed)
            assert screen(app).isascii()


async def test_it_finds_its_place_when_the_terminal_changes(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await pilot.resize_terminal(*LARGE)
        await pilot.pause()
        assert len(screen(app).split("\n")) == 40
        assert "MPa" in screen(app)  # the curve has a place of its own now
        await pilot.resize_terminal(12, 5)
        await pilot.pause()
        assert "too small" in screen(app)


async def test_the_curve_of_another_piece_comes_a_moment_after_the_key(tmp_path: Path) -> None:
    """Its place is kept free until then."""
    beside = Alone(tmp_path / "home", "bench", "hearth")
    app = Dashboard(beside)
    async with app.run_test(size=LARGE) as pilot:
        before = screen(app)
        assert "MPa" in before
        await pilot.press("down")
        row = next(n for n, text in enumerate(before.split("\n")) if "bench  " in text)
        assert "▸hearth" in screen(app).split("\n")[row + 1]
        await pilot.pause(0.3)
        assert "MPa" in screen(app)


async def test_a_piece_with_a_hostile_name_steers_nothing(tmp_path: Path) -> None:
    beside = Alone(tmp_path / "home")
    beside.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=T0)
    beside.shop.pour("[red]a[/red] 20°", profile=str(PROFILE), shape=Shape(1.8, 0.6, 0.04), at=T0, now=T0)
    beside.comes_to(hours(0.1))
    app = Dashboard(beside)
    async with app.run_test(size=LARGE) as pilot:
        assert "Cover it · [red]a[/red] 20°" in screen(app)
        await press(pilot, "s")
        assert "[red]a[/red] 20°" in screen(app)
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", screen(app))
