"""The calendar: an entry keeps its uid, only what moved gets a new number, what is gone is cancelled (case W2)."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from curetrack.facts import Forecast, Shape
from curetrack.phone.book import CANCELLED_FOR, SHIVER, Book, book_from, book_text, revised
from curetrack.phone.entries import Entry, entries_of, uid_of
from curetrack.phone.ics import ics_of
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.words.voice import Voice

T0 = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SETTINGS = Settings(timezone="Europe/Berlin")
SHAPE = Shape(1.8, 0.6, 0.04)


class Maker:
    """A shop with one piece from a shipped profile, and what its calendar would hold."""

    def __init__(self, home: Path) -> None:
        self.shop = Shop(home, settings=SETTINGS)
        self.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=T0)
        self.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=T0, now=T0)
        self.shop.pour("bench", profile="bagged-tabletop", shape=SHAPE, at=T0, now=T0)

    def entries(self, now: datetime, name: str = "bench") -> list[Entry]:
        voice = Voice(now, SETTINGS.zone)
        view = View(now)
        return entries_of(self.shop.piece(name, view), self.shop.timeline(name, view), voice)


@pytest.fixture
def maker(tmp_path: Path) -> Maker:
    return Maker(tmp_path)


def entry(step: str = "strip", at: datetime = T0, **more: object) -> Entry:
    """An invented one."""
    values = {"uid": f"{step}@test", "piece": "bench", "step": step, "starts": at, "ends": at + timedelta(hours=1)}
    return Entry(**{**values, "summary": step, "description": "", **more})  # type: ignore[arg-type]  # by name


def test_w2_ids_stay_and_only_what_moved_changes(maker: Maker) -> None:
    """Colder nights move the strip; the same ids come out, with a higher number for what moved alone."""
    now = T0 + timedelta(hours=1)
    before = revised(Book(), maker.entries(now), now)
    maker.shop.add_reading(temp_degC=8.0, humidity_pct=60.0, at=now, now=now)
    maker.shop.set_forecast(Forecast("steady", 0.0, 8.0, 60.0), now=now)
    later = now + timedelta(minutes=1)
    entries = maker.entries(later)
    after = revised(before, entries, later)
    assert set(after.pages) == set(before.pages)
    moved = {uid for uid in after.pages if after.pages[uid].sequence != before.pages[uid].sequence}
    strip = uid_of(maker.shop.piece("bench", View(later)), "strip")
    assert strip in moved
    assert after.pages[strip].entry.starts - before.pages[strip].entry.starts >= timedelta(hours=6)  # as in the case
    for uid, page in after.pages.items():
        if uid in moved:
            assert (page.sequence, page.changed_at) == (before.pages[uid].sequence + 1, later)
        else:
            assert page == before.pages[uid]


def test_nothing_changes_while_nothing_happens(maker: Maker) -> None:
    """Looked at again and again before the first step is due: the very same file."""
    now = T0 + timedelta(minutes=1)
    book = revised(Book(), maker.entries(now), now)
    first = ics_of(book, now)
    for minutes in (1, 2, 5, 9):
        later = now + timedelta(minutes=minutes)
        book = revised(book, maker.entries(later), later)
        assert ics_of(book, later) == first


def test_a_step_that_is_waited_for_stays_where_it_became_ready(tmp_path: Path) -> None:
    """Its plan is always "now"; its entry must not be sent anew each quarter of an hour."""
    maker = Maker(tmp_path)
    late = T0 + timedelta(days=2)
    ready = [line for line in maker.shop.timeline("bench", View(late)).lines if line.state in ("ready", "late")]
    assert ready
    for line in ready:
        uid = uid_of(maker.shop.piece("bench", View(late)), line.step)
        shown = {
            hours: next(e for e in maker.entries(late + timedelta(hours=hours)) if e.uid == uid).starts
            for hours in (0, 1, 5)
        }
        assert len(set(shown.values())) == 1, line.step


def test_a_name_used_again_meets_no_old_entry(maker: Maker, tmp_path: Path) -> None:
    other = Maker(tmp_path / "other")
    other.shop.drop("bench", "broke", now=T0 + timedelta(minutes=1))
    one = maker.shop.piece("bench", View(T0))
    again = type(one)(one.name, one.shape, one.profile_id, one.profile_sha, one.created_at + timedelta(days=1))
    assert uid_of(one, "strip") != uid_of(again, "strip")
    assert uid_of(one, "strip") != uid_of(one, "flip")


def test_what_is_gone_is_cancelled_then_forgotten_by_the_file_and_never_recycled() -> None:
    now = T0
    book = revised(Book(), [entry("strip"), entry("flip")], now)
    gone = revised(book, [entry("strip")], now + timedelta(hours=1))
    page = gone.pages["flip@test"]
    assert (page.sequence, page.cancelled_at) == (1, now + timedelta(hours=1))
    event = next(e for e in Calendar.from_ical(ics_of(gone, now)).walk("VEVENT") if e["UID"] == "flip@test")
    assert (str(event["STATUS"]), event["SEQUENCE"]) == ("CANCELLED", 1)
    assert not list(event.walk("VALARM"))
    assert revised(gone, [entry("strip")], now + timedelta(hours=2)) is gone
    much_later = now + CANCELLED_FOR + timedelta(hours=2)
    assert b"flip@test" not in ics_of(gone, much_later)
    back = revised(gone, [entry("strip"), entry("flip")], much_later)
    assert back.pages["flip@test"].sequence == 2
    assert back.pages["flip@test"].cancelled_at is None


def test_a_shiver_is_no_move_but_many_add_up() -> None:
    book = revised(Book(), [entry(at=T0)], T0)
    little = SHIVER / 2
    assert revised(book, [entry(at=T0 + little)], T0) is book
    assert revised(book, [entry(at=T0 + 2 * little)], T0).pages["strip@test"].sequence == 1


def test_other_words_are_a_change_and_so_is_a_tick() -> None:
    book = revised(Book(), [entry()], T0)
    assert revised(book, [entry(description="Back the screws out.")], T0).pages["strip@test"].sequence == 1
    ticked = entry(at=T0 + timedelta(seconds=5), done=True, tentative=False)
    done = revised(book, [ticked], T0)
    assert done.pages["strip@test"].sequence == 1
    moved = entry(at=T0 + timedelta(seconds=65), done=True, tentative=False)
    assert revised(done, [moved], T0).pages["strip@test"].sequence == 2  # the maker corrected the time


def test_every_time_is_utc_and_every_open_step_rings_by_itself(maker: Maker) -> None:
    """RFC 5545 3.3.5 form 2 (a Z at the end), and 3.8.6.3: an absolute trigger is a DATE-TIME in UTC."""
    now = T0 + timedelta(hours=1)
    text = ics_of(revised(Book(), maker.entries(now), now), now).decode()
    for line in text.replace("\r\n ", "").split("\r\n"):
        name = line.partition(":")[0].partition(";")[0]
        if name in ("DTSTART", "DTEND", "DTSTAMP", "LAST-MODIFIED", "TRIGGER"):
            assert line.endswith("Z"), line
            assert "TZID" not in line
    events = Calendar.from_ical(text).walk("VEVENT")
    open_ones = [event for event in events if str(event["STATUS"]) == "TENTATIVE"]
    assert open_ones
    assert all(list(event.walk("VALARM")) for event in open_ones)


def test_a_lift_rings_the_evening_before(maker: Maker) -> None:
    """18:00 local on the day before (common practice, no source)."""
    flip = next(e for e in maker.entries(T0 + timedelta(hours=1)) if e.step == "flip")
    evening, *_ = flip.alarms
    local = evening.astimezone(SETTINGS.zone)
    assert (local.hour, local.minute) == (18, 0)
    assert local.date() == flip.starts.astimezone(SETTINGS.zone).date() - timedelta(days=1)


def test_lines_are_folded_and_ended_as_the_standard_says(maker: Maker) -> None:
    """RFC 5545 3.1: CRLF, at most 75 octets a line."""
    now = T0 + timedelta(hours=1)
    body = ics_of(revised(Book(), maker.entries(now), now), now)
    lines = body.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)


def test_a_name_cannot_break_out_of_its_line(tmp_path: Path) -> None:
    evil = entry(summary="a\r\nX-EVIL:1", description="b\r\nEND:VEVENT", piece="c")
    body = ics_of(revised(Book(), [evil], T0), T0)
    assert not any(line.startswith((b"X-EVIL", b"END:VEVENTE")) for line in body.split(b"\r\n"))
    assert len(Calendar.from_ical(body).walk("VEVENT")) == 1


def test_a_book_comes_back_from_its_file(maker: Maker) -> None:
    book = revised(Book(), maker.entries(T0 + timedelta(hours=1)), T0)
    assert book_from(book_text(book)) == book
    for bad in (b"", b"[]", b'{"pages": 1}', b"\xff"):
        with pytest.raises(ValueError, match=r".+"):
            book_from(bad)
