"""The folder for a file sync: whole files, written when something has changed, and nothing in a name is obeyed."""

from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from icalendar import Calendar

from curetrack.errors import StoreTrouble
from curetrack.facts import Forecast, Shape
from curetrack.phone.export import BOOK_NAME, FILES, Calendars, export
from curetrack.phone.lists import html_list, markdown_list
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.words.voice import Voice

T0 = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
EVIL = "<script>alert(1)</script> [x](y) `z`"


class Maker:
    """A shop with pieces, and its export folder."""

    def __init__(self, home: Path, *names: str) -> None:
        self.shop, self.folder = Shop(home, settings=Settings(timezone="Europe/Berlin")), home.parent / "sync"
        self.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=T0)
        self.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=T0, now=T0)
        for name in names:
            self.shop.pour(name, profile="bagged-tabletop", shape=Shape(1.8, 0.6, 0.04), at=T0, now=T0)
        self.calendars = Calendars(self.shop)

    def voice(self, now: datetime) -> Voice:
        return Voice(now, self.shop.settings.zone)

    def exports(self, now: datetime) -> int:
        return export(self.folder, self.calendars, self.shop.timelines(View(now)), self.voice(now))


@pytest.fixture
def maker(tmp_path: Path) -> Maker:
    return Maker(tmp_path / "home", "bench")


def test_three_files(maker: Maker) -> None:
    assert maker.exports(T0 + timedelta(minutes=1)) == 3
    assert sorted(path.name for path in maker.folder.iterdir()) == sorted(FILES)
    assert Calendar.from_ical((maker.folder / FILES[0]).read_bytes()).walk("VEVENT")
    assert (
        "Strip the side forms" in (maker.folder / FILES[2]).read_text()
        or "Vibrate" in (maker.folder / FILES[2]).read_text()
    )


def test_nothing_is_written_while_nothing_changes(maker: Maker) -> None:
    maker.exports(T0 + timedelta(minutes=1))
    before = {path.name: path.stat().st_mtime_ns for path in maker.folder.iterdir()}
    assert maker.exports(T0 + timedelta(minutes=1, seconds=20)) == 0
    assert {path.name: path.stat().st_mtime_ns for path in maker.folder.iterdir()} == before


def test_a_tick_changes_all(maker: Maker) -> None:
    maker.exports(T0 + timedelta(minutes=1))
    maker.shop.done("bench", "vibrate", now=T0 + timedelta(minutes=5))
    assert maker.exports(T0 + timedelta(minutes=5)) == 3


def test_a_dropped_piece_is_cancelled_in_the_calendar(maker: Maker) -> None:
    maker.exports(T0 + timedelta(minutes=1))
    maker.shop.drop("bench", "it broke", now=T0 + timedelta(minutes=2))
    maker.exports(T0 + timedelta(minutes=3))
    events = Calendar.from_ical((maker.folder / FILES[0]).read_bytes()).walk("VEVENT")
    assert {str(event["STATUS"]) for event in events} == {"CANCELLED"}
    assert "Nothing is left to do." in (maker.folder / FILES[1]).read_text()


class Tags(HTMLParser):
    """All tags of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)


def test_a_name_is_only_a_name(tmp_path: Path) -> None:
    maker = Maker(tmp_path / "home", EVIL)
    now = T0 + timedelta(minutes=1)
    timelines, voice = maker.shop.timelines(View(now)), maker.voice(now)
    page = html_list(timelines, voice)
    assert set(Tags(page).tags) <= {
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "h1",
        "h2",
        "p",
        "ol",
        "ul",
        "li",
        "b",
    }
    assert "alert(1)" in page  # it is shown
    text = markdown_list(timelines, voice)
    assert "\\<script\\>" in text
    assert "\\[x\\]\\(y\\)" in text
    assert "[x](y)" not in text


def test_a_damaged_book_begins_anew_and_is_kept_aside(maker: Maker) -> None:
    (maker.shop.home / BOOK_NAME).write_bytes(b"{")
    maker.exports(T0 + timedelta(minutes=1))
    assert (maker.shop.home / BOOK_NAME).with_suffix(".bad").read_bytes() == b"{"


def test_a_book_that_cannot_be_read_just_now_is_not_thrown_away(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Too many open files, say: its numbers and cancellations are wanted when it can be read again."""
    maker.exports(T0 + timedelta(minutes=1))
    book = (maker.shop.home / BOOK_NAME).read_bytes()

    def fails(_: Path) -> bytes:
        raise OSError(24, "Too many open files")

    with monkeypatch.context() as broken:
        broken.setattr(Path, "read_bytes", fails)
        with pytest.raises(StoreTrouble, match="Too many open files"):
            maker.exports(T0 + timedelta(minutes=1))
    assert (maker.shop.home / BOOK_NAME).read_bytes() == book


def test_a_folder_that_cannot_be_written(maker: Maker) -> None:
    maker.folder.write_text("a file stands there")
    with pytest.raises(StoreTrouble, match="the export is as it was"):
        maker.exports(T0 + timedelta(minutes=1))


def test_a_page_needs_nothing_from_outside(maker: Maker) -> None:
    maker.exports(T0 + timedelta(minutes=1))
    page = (maker.folder / FILES[1]).read_text()
    assert "http://" not in page
    assert "https://" not in page
    assert "default-src 'none'" in page
