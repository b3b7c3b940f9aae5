"""The dashboard by its keys: each deed is in the ledger afterwards, and what the shop refuses is said."""

from pathlib import Path
from queue import Queue
from types import SimpleNamespace

import pytest
from textual.widgets import Input

from curetrack.desk.app import Dashboard
from curetrack.desk.ports import News
from curetrack.shop import View
from tests.desk.beside import SMALL, T0, Alone, hours, kinds, press, screen, type_in


async def test_done_is_one_key(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        assert "Cover it" in screen(app)
        await press(pilot, "d")
        assert kinds(beside) == [("done", "cover")]
        assert "Strip the sides" in screen(app)


async def test_what_is_said_here_is_from_the_desk(beside: Alone) -> None:
    async with Dashboard(beside).run_test(size=SMALL) as pilot:
        await press(pilot, "d")
    assert beside.shop.events("bench", View(beside.at))[-1].source == "desk"


async def test_a_hold_asks_for_its_check_and_takes_no_for_an_answer(beside: Alone) -> None:
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(24.5))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert "A coin leaves no mark." in screen(app)
        assert "y yes   n no" in screen(app)
        await press(pilot, "n")
        assert kinds(beside) == [("done", "cover")]
        await press(pilot, "d", "x")  # neither yes nor no: nothing is said
        assert kinds(beside) == [("done", "cover")]
        await press(pilot, "d", "y")
        assert kinds(beside)[-1] == ("done", "strip")


async def test_too_soon_is_refused_with_the_reason(beside: Alone) -> None:
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(3))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d", "y")  # there is nothing to ask yet
        assert "too soon" in screen(app)
        assert kinds(beside) == [("done", "cover")]


async def test_a_lift_asks_how_many(beside: Alone) -> None:
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(25))
    beside.shop.done("bench", "strip", check="pass", now=beside.at)
    beside.comes_to(hours(26))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "d")
        assert app.query_one("#ask", Input).value == "4"
        await type_in(pilot, app, "2")
        assert "4 people are needed and 2 named" in screen(app)
        await press(pilot, "d")
        await type_in(pilot, app, "many")
        assert "no number of people" in screen(app)
        await press(pilot, "d")
        await type_in(pilot, app, "4")
        assert beside.shop.events("bench", View(beside.at))[-1].crew == 4


async def test_later_skip_again_undo(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "l")
        assert kinds(beside) == [("later", "cover")]
        await press(pilot, "u", "y")
        assert kinds(beside) == []
        await press(pilot, "s", "n")
        assert kinds(beside) == []
        await press(pilot, "s", "y")
        assert kinds(beside) == [("skip", "cover")]
        await press(pilot, "a")
        assert "No further round" in screen(app)


async def test_checks_by_themselves(beside: Alone) -> None:
    beside.shop.done("bench", "cover", now=T0)
    beside.comes_to(hours(25))
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "f", "y")
        assert kinds(beside)[-1] == ("check", "strip")
        assert beside.shop.events("bench", View(beside.at))[-1].check == "fail"
        await press(pilot, "p", "y")
        assert beside.shop.events("bench", View(beside.at))[-1].check == "pass"


async def test_a_step_without_a_check_says_so(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "p")
        assert "has no hand check" in screen(app)


@pytest.mark.parametrize(
    ("typed", "place", "temp", "humidity"),
    [
        ("14", "slab", 14.0, None),
        ("14C 60%", "slab", 14.0, 60.0),
        ("air 50F", "air", 10.0, None),
        ("-3C outside", "outside", -3.0, None),
    ],
)
async def test_a_temperature(beside: Alone, typed: str, place: str, temp: float, humidity: float | None) -> None:
    app = Dashboard(beside)
    beside.at = hours(1)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "t")
        await type_in(pilot, app, typed)
    newest = beside.shop.readings(limit=1)[0]
    assert (newest.place, newest.humidity_pct) == (place, humidity)
    assert newest.temp_degC == pytest.approx(temp)


@pytest.mark.parametrize("typed", ["warm", "500C", "14 furlongs", "60", "%", "20C 55F", "14C 60% 70%", "²", "²C", "²%"])
async def test_a_temperature_that_cannot_be(beside: Alone, typed: str) -> None:
    app = Dashboard(beside)
    beside.at = hours(1)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "t")
        await type_in(pilot, app, typed)
        assert len(beside.shop.readings()) in (1, 2)
        if typed == "60":  # 60 °C is a hot slab, but one that can be
            return
        assert len(beside.shop.readings()) == 1
        assert "Read:" not in screen(app)


async def test_escape_leaves_the_question(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "t", "9", "escape")
        assert not app.query_one("#ask", Input).display
        await press(pilot, "d")
        assert kinds(beside) == [("done", "cover")]


async def test_another_piece_comes_into_hand(tmp_path: Path) -> None:
    beside = Alone(tmp_path / "home", "bench", "hearth")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        assert "Cover it · bench" in screen(app)
        await press(pilot, "down", "d")
        assert kinds(beside, "hearth") == [("done", "cover")]
        assert kinds(beside, "bench") == []


async def test_it_is_live(beside: Alone) -> None:
    """Another process ticks the step."""
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        beside.shop.done("bench", "cover", now=T0)
        beside.comes_to(hours(1))
        await pilot.pause()
        assert "Strip the sides" in screen(app)


async def test_news_stand_there_until_they_are_read(beside: Alone) -> None:
    beside.news = (News("bench/cover/ready", "Cover it · bench", ("Ready now.",), False, "bench", "cover"),)
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        assert "Cover it · bench: Ready now." in screen(app)
        await press(pilot, "n")
        assert beside.read == ["bench/cover/ready"]


async def test_trouble_is_said(beside: Alone) -> None:
    beside.troubles = ("No nudges by the desktop's notifications: no session bus", "and one more")
    app = Dashboard(beside)
    async with app.run_test(size=SMALL):
        assert "No nudges by the desktop" in screen(app)
        assert "(and 1 more)" in screen(app)


async def test_help_and_curve_and_back(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "question_mark")
        assert "Any key goes back." in screen(app)
        await press(pilot, "d")
        assert kinds(beside) == []
        await press(pilot, "c")
        assert "MPa" in screen(app)
        await press(pilot, "c", "z", "z", "z", "z")
        assert "MPa" not in screen(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20), (40, 10), (200, 60), (20, 8), (10, 4)])
async def test_every_size_is_filled_and_not_overrun(beside: Alone, size: tuple[int, int]) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=size) as pilot:
        for keys in ((), ("c",), ("question_mark",)):
            await press(pilot, *keys)
            rows = screen(app).split("\n")
            assert len(rows) <= size[1]
            assert max(map(len, rows)) <= size[0]


async def test_no_piece_at_all(tmp_path: Path) -> None:
    app = Dashboard(Alone(tmp_path / "home"))
    async with app.run_test(size=SMALL) as pilot:
        assert "curetrack pour bench" in screen(app)
        await press(pilot, "d", "l", "u", "c", "up", "left")


async def test_q_ends_it(beside: Alone) -> None:
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        await press(pilot, "q")
    assert not app.is_running


async def test_it_writes_no_more_while_nobody_takes_it(beside: Alone, monkeypatch: pytest.MonkeyPatch) -> None:
    """A connection that hangs: the library would in the end wait for room, and every nudge with it."""
    app = Dashboard(beside)
    async with app.run_test(size=SMALL) as pilot:
        before = screen(app)
        full: Queue[str] = Queue()
        for _ in range(20):
            full.put("")
        monkeypatch.setattr(app._driver, "_writer_thread", SimpleNamespace(_queue=full), raising=False)
        beside.shop.done("bench", "cover", now=T0)
        beside.comes_to(hours(1))
        assert screen(app) == before
        while not full.empty():
            full.get()
        app.paint()
        await pilot.pause()
        assert screen(app) != before
        monkeypatch.undo()
