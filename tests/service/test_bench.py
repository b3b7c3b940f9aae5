"""The service as a whole, on a clock set by hand: other processes, faults, and what is said of them."""

import asyncio
import os
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.facts import Forecast, NudgeFact, Shape
from curetrack.nudge.types import Parcel
from curetrack.service import outlook, saying
from curetrack.service.beat import Beat, read_beat, write_beat
from curetrack.service.bench import Bench
from curetrack.settings import Settings, write_settings
from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline
from tests.service.fake import Carrier, HandClock, bench_of

PROFILE = Path(__file__).resolve().parents[1] / "cases" / "nudges.toml"  # cover, look after 3 h, mist each 11 h, strip
POURED = datetime(2026, 2, 3, 18, 30, tzinfo=UTC)
BEFORE, READY = POURED + timedelta(hours=2), POURED + timedelta(hours=3, minutes=1)  # of the look at the cover
STRIP = POURED + timedelta(hours=12, minutes=1)


def pour(shop: Shop, name: str = "bench") -> None:
    """A piece whose cover is on since the pour."""
    shop.pour(name, profile=str(PROFILE), shape=Shape(1.2, 0.6, 0.04), at=POURED, now=POURED)
    shop.done(name, "cover", now=POURED)
    shop.done(name, "mist", now=POURED)


def _beat(home: Path, at: datetime) -> None:
    """Of a run that has ended just now: nobody was absent."""
    write_beat(home, Beat(1, at, at, "", nudging=True))


class Place:
    """A home with a piece, a clock and a channel; services on it."""

    def __init__(self, home: Path) -> None:
        self.home, self.clock, self.carrier = home, HandClock(POURED), Carrier()
        self.running: list[Bench] = []
        self.shop = Shop(home, settings=Settings(timezone="UTC"))  # another process's
        self.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=POURED)
        self.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=POURED, now=POURED)
        pour(self.shop)
        _beat(home, POURED)

    async def bench(self, *channels: Carrier) -> Bench:
        bench = bench_of(self.home, self.clock, *(channels or (self.carrier,)), timezone="UTC")
        self.running.append(bench)
        await bench.start()
        return bench

    async def come_to(self, at: datetime, bench: Bench) -> None:
        """Time passes in which the service runs, and hears what others have written."""
        self.clock.runs_to(at)
        await bench._listen()
        await settled(bench)


async def settled(bench: Bench) -> None:
    """What was started has come to its end."""
    for _ in range(4):
        await bench._rounds.guarded(bench.tick)
        await asyncio.sleep(0.01)


@pytest.fixture
async def place(tmp_path: Path) -> AsyncIterator[Place]:
    place = Place(tmp_path)
    yield place
    for bench in place.running:
        await bench.stop()
        bench.shop.close()
    place.shop.close()


def told(place: Place) -> set[str]:
    """Steps of which a nudge went out, by the ledger."""
    return {fact.step.partition(".")[0] for fact in place.shop.nudges() if fact.phase == "sent"}


def titles(carrier: Carrier) -> list[str]:
    return [message.title for message in carrier.sent]


# --- others on the same ledger ---------------------------------------------------------------------------------------


async def test_what_another_process_ticks_takes_the_notification_back(place: Place) -> None:
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert [news.key for news in bench.news] == ["bench/look/ready"]
    place.shop.done("bench", "look", now=READY)
    await place.come_to(READY + timedelta(seconds=5), bench)
    assert place.carrier.shown == {}
    assert bench.news == []
    answered = [(fact.key, fact.body["how"]) for fact in place.shop.nudges() if fact.phase == "answered"]
    assert answered == [("bench/look/ready", "done")]


async def test_a_piece_that_another_process_pours_is_seen(place: Place) -> None:
    bench = await place.bench()
    pour(place.shop, "second")
    await place.come_to(BEFORE, bench)
    assert [timeline.piece for timeline in bench.timelines] == ["bench", "second"]
    place.shop.drop("second", "it broke", now=BEFORE)
    await place.come_to(BEFORE + timedelta(minutes=1), bench)
    assert [timeline.piece for timeline in bench.timelines] == ["bench"]


async def test_a_reading_of_another_process_moves_every_piece(place: Place) -> None:
    bench = await place.bench()
    place.shop.add_reading(temp_degC=7.0, at=BEFORE, now=BEFORE)
    await place.come_to(BEFORE + timedelta(minutes=1), bench)
    assert bench.timelines[0].last_reading_at == BEFORE


async def test_the_second_only_shows_and_takes_over(place: Place) -> None:
    other = Carrier()
    first, second = await place.bench(), await place.bench(other)
    assert first.nudging
    assert not second.nudging
    assert second.carried_by == f"process {os.getpid()} nudges; this one only shows"
    await place.come_to(READY, first)
    await place.come_to(READY, second)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert other.sent == []
    assert [news.title for news in second.news] == ["Check the cover · bench"]  # shown in both
    await first.stop()
    await second._listen()
    await settled(second)
    assert second.nudging
    assert other.sent == []  # what the first told stays told
    await place.come_to(STRIP, second)
    assert "strip" in told(place)
    assert place.carrier.sent[1:] == []


async def test_a_tap_is_heard_by_all_and_acted_upon_by_one(place: Place) -> None:
    """A bus tells each listener of a pressed button."""
    first, second = await place.bench(), await place.bench(Carrier())
    await place.come_to(READY, first)
    await place.come_to(READY, second)
    key = place.carrier.sent[0].key
    await second._press(key, "later")
    assert place.shop.timeline("bench", View(READY)).line("look").put_off_until is None
    await first._press(key, "later")
    put_off = place.shop.timeline("bench", View(READY)).line("look").put_off_until
    assert put_off == READY + timedelta(hours=1)


async def test_a_tap_on_a_notification_ticks(place: Place) -> None:
    bench = await place.bench()
    await place.come_to(READY, bench)
    await bench._press(place.carrier.sent[0].key, "done")
    await settled(bench)
    event = place.shop.events("bench", View(READY))[-1]
    assert (event.step, event.kind, event.source) == ("look", "done", "nudge")
    assert place.carrier.withdrawn == ["desktop/1"]
    assert bench.news == []


async def test_the_dashboards_deeds_and_reading_the_banner(place: Place) -> None:
    bench = await place.bench()
    heard: list[int] = []
    bench.listen(lambda: heard.append(1))
    await place.come_to(READY, bench)
    assert heard
    bench.seen(bench.news[0].key)
    await asyncio.sleep(0.01)
    await settled(bench)
    assert bench.news == []
    bench.shop.done("bench", "look", now=READY)
    bench.said("bench")  # its timeline is new when this returns
    assert bench.timelines[0].line("look").state == "done"


async def test_a_deed_while_all_is_worked_out_stands(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    """The round began with older facts; it must not bring the ticked step back."""
    bench = await place.bench()
    await place.come_to(READY, bench)
    prepared = Shop.prepared

    def and_ticked(shop: Shop, view: View, *, only_next: bool = False) -> list[Callable[[], Timeline]]:
        work = prepared(shop, view, only_next=only_next)
        asyncio.get_running_loop().call_soon(tick)
        return work

    def tick() -> None:
        bench.shop.done("bench", "look", now=READY)
        bench.said("bench")

    monkeypatch.setattr(Shop, "prepared", and_ticked)
    await bench._outlook.renew()
    assert bench.timelines[0].line("look").state == "done"


# --- sleep, and clocks -----------------------------------------------------------------------------------------------


async def test_a_stopped_process_is_absent_too(place: Place) -> None:
    """SIGSTOP, or a virtual machine that was paused: both clocks go on."""
    bench = await place.bench()
    place.clock.steady += 12 * 3600
    place.clock.runs_to(STRIP)
    place.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=STRIP, now=STRIP)
    await bench._listen()
    await settled(bench)
    assert titles(place.carrier)[0] == "3 things waited"


async def test_what_comes_after_an_absence_is_not_called_missed(place: Place) -> None:
    bench = await place.bench()
    place.clock.sleeps_to(BEFORE)
    await bench._listen()
    await settled(bench)
    pour(place.shop, "second")
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · bench", "Check the cover · second"]  # no digest
    assert not any(fact.body["missed"] for fact in place.shop.nudges() if fact.phase == "intent")


async def test_a_clock_set_back_tells_nothing_twice(place: Place) -> None:
    bench = await place.bench()
    await place.come_to(READY, bench)
    place.clock.sleeps_to(BEFORE)  # backwards
    await bench._listen()
    await settled(bench)
    place.clock.sleeps_to(READY)
    await bench._listen()
    await settled(bench)
    told = [message.key for message in place.carrier.sent if message.key.startswith("bench/look")]
    facts = [fact for fact in place.shop.nudges() if fact.key == "bench/look/ready" and fact.phase == "answered"]
    assert len(told) == 1 + len(facts)  # it may have been taken back as not yet due, and come when it was


async def test_a_wrong_clock_is_said_once_and_gone_when_it_is_right(place: Place) -> None:
    place.clock.at = datetime(2000, 1, 1, tzinfo=UTC)
    bench = await place.bench()
    await settled(bench)
    assert titles(place.carrier) == ["The clock looks wrong"]
    assert "2000-01-01" in place.carrier.sent[0].body[0]
    assert bench.troubles[0].startswith("The computer's clock says 2000-01-01")
    place.clock.sleeps_to(BEFORE)
    await bench._listen()
    await settled(bench)
    assert bench.troubles == []
    assert place.carrier.shown == {}


async def test_a_clock_before_the_last_beat_is_doubted(place: Place) -> None:
    _beat(place.home, BEFORE + timedelta(hours=1))
    place.clock.at = BEFORE
    bench = await place.bench()
    await settled(bench)
    assert titles(place.carrier) == ["The clock looks wrong"]
    await bench._retime_all()
    assert "before what was last recorded" in bench.troubles[0]  # it stays until it is mended


# --- faults ----------------------------------------------------------------------------------------------------------


async def test_no_channel_is_said_and_it_comes_when_one_does(place: Place) -> None:
    place.carrier.down = "no desktop session is there"
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert any("No channel carries nudges now" in text for text in bench.troubles)
    assert any("Not delivered: Check the cover · bench" in text for text in bench.troubles)
    place.carrier.down = ""
    await bench._try_again()
    await settled(bench)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert bench.troubles == []


async def test_an_undelivered_one_is_forgotten_with_its_reason(place: Place) -> None:
    place.carrier.down = "no desktop session is there"
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert any(text.startswith("Not delivered: ") for text in bench.troubles)
    place.shop.done("bench", "look", now=READY)
    await place.come_to(READY + timedelta(minutes=1), bench)
    assert not any(text.startswith("Not delivered: ") for text in bench.troubles)


async def test_words_that_fail_keep_no_nudge_back(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(parcel: Parcel, voice: object) -> None:
        raise KeyError(parcel.key)

    monkeypatch.setattr(saying, "message_of", fails)
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["look · bench"]
    assert bench.news[0].title == "look · bench"


async def test_a_piece_that_fails_holds_up_no_other(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    pour(place.shop, "second")
    moments_of = outlook.moments_of

    def fails(timeline: Timeline, zone: object) -> object:
        if timeline.piece == "bench":
            raise ZeroDivisionError
        return moments_of(timeline, zone)  # type: ignore[arg-type]

    monkeypatch.setattr(outlook, "moments_of", fails)
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · second"]
    assert any("ZeroDivisionError" in text for text in bench.troubles)
    monkeypatch.undo()
    await bench._try_again()
    await settled(bench)
    assert titles(place.carrier)[1:] == ["Check the cover · bench"]
    assert bench.troubles == []


async def test_conditions_that_fail_hold_up_no_step(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise ValueError

    monkeypatch.setattr(outlook, "conditions_of", fails)
    bench = await place.bench()
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert any("ValueError" in text for text in bench.troubles)


async def test_a_ledger_that_cannot_be_read_for_a_while(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is said, nothing is told twice for want of what was told, and nothing is lost."""
    bench = await place.bench()
    await place.come_to(READY, bench)
    await bench.stop()
    _beat(place.home, READY)

    def refuses(*_: object, **__: object) -> None:
        raise StoreTrouble("ledger.sqlite: the disk refuses")

    with monkeypatch.context() as patch:
        patch.setattr("curetrack.ledger.store.Ledger.nudges", refuses)
        later = await place.bench()
        await settled(later)
        assert list(later.troubles) == ["ledger.sqlite: the disk refuses"]
    await later._try_again()
    await settled(later)
    assert later.troubles == []
    assert titles(place.carrier) == ["Check the cover · bench"]
    await place.come_to(STRIP, later)
    assert "strip" in told(place)


def logged(bench: Bench, fact: NudgeFact) -> bool:
    try:
        bench.shop.log_nudges([fact])
    except StoreTrouble:
        return False
    return True


async def test_a_ledger_that_cannot_be_written(place: Place) -> None:
    """SQLite's own full disk: nudges go out, the rows are written when there is room."""
    bench = await place.bench()
    connection = bench.shop.ledger._open_writer()
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    connection.execute(f"PRAGMA max_page_count = {pages}")
    full = False
    while not full:  # what is free in the file is used up
        full = not logged(bench, NudgeFact(0, "filler", "answered", "", "", "", BEFORE, BEFORE, {"how": "gone"}))
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert any("cannot be written down" in text and "disk is full" in text for text in bench.troubles)
    assert told(place) == set()
    connection.execute("PRAGMA max_page_count = 100000")
    await bench._try_again()
    await settled(bench)
    assert bench.troubles == []
    assert [fact.phase for fact in place.shop.nudges() if fact.key != "filler"] == ["intent", "sent"]
    assert titles(place.carrier) == ["Check the cover · bench"]


# --- settings, folder, end -------------------------------------------------------------------------------------------


async def test_settings_that_change_are_heeded_and_broken_ones_are_not(place: Place) -> None:
    bench = await place.bench()
    made: list[int] = []
    make = bench._make
    bench._make = lambda press, known: (made.append(1), make(press, known))[1]
    write_settings(place.home, {"timezone": "UTC", "quiet_hours": "18:00-23:00"})
    await place.come_to(READY, bench)  # 21:31
    assert place.carrier.sent == []
    assert made == [1]
    path = place.home / "settings.toml"
    path.write_text(path.read_text() + "crew = many\n")
    await place.come_to(READY + timedelta(minutes=1), bench)
    assert "settings.toml" in bench.troubles[-1]
    assert place.carrier.sent == []  # still by the old ones
    path.write_text('timezone = "UTC"\n')
    await place.come_to(READY + timedelta(minutes=2), bench)
    assert titles(place.carrier) == ["Check the cover · bench"]
    assert bench.troubles == []


CONTRARY = 'hours = "daily 8:00-22:00"\ncrew_hours = "Sat 23:00-24:00"\ncrew = 2\n'


async def test_settings_that_contradict_themselves_are_said_and_the_old_ones_hold(place: Place) -> None:
    bench = await place.bench()
    path = place.home / "settings.toml"
    path.write_text(CONTRARY)
    await place.come_to(READY, bench)
    assert (bench.shop.settings.hours, bench.shop.settings.crew) == ("", 1)
    (trouble,) = bench.troubles
    assert trouble.startswith(f"The settings are as they were: {path}: line 2: crew_hours: the crew never comes")
    assert titles(place.carrier) == ["Check the cover · bench"]


async def test_a_bench_starts_on_what_can_be_read_of_the_settings_and_says_the_rest(place: Place) -> None:
    """After a power cut nobody is there to mend the file: the piece is not forgotten for it."""
    (place.home / "settings.toml").write_text(f'timezone = "UTC"\n{CONTRARY}quiet_hours = "always"\n')
    bench = Bench(place.home, Shop(place.home), lambda press, known: [place.carrier], place.clock)
    place.running.append(bench)
    await bench.start()
    assert (bench.shop.settings.crew, bench.shop.settings.quiet_hours) == (2, "")
    assert [text.partition(": line ")[2][:1] for text in bench.troubles] == ["5", "3"]
    assert all(text.startswith("The settings are taken as far as they can be read: ") for text in bench.troubles)
    await place.come_to(READY, bench)
    assert titles(place.carrier) == ["Check the cover · bench"]


async def test_a_loggers_file_in_the_watched_folder(place: Place, tmp_path: Path) -> None:
    folder = tmp_path / "logger"
    folder.mkdir()
    write_settings(place.home, {"timezone": "UTC", "watch_folder": str(folder)})
    bench = await place.bench()
    bench.shop.reload_settings()
    at = POURED + timedelta(hours=1)
    (folder / "garage.csv").write_text(f"time,temp_degC\n{at.isoformat()},18.5\n")
    place.clock.runs_to(BEFORE)
    await bench._watch_folder()
    assert len(place.shop.readings(limit=9)) == 1  # it may still be written to
    await bench._watch_folder()
    await settled(bench)
    assert bench.timelines[0].last_reading_at == at
    (folder / "odd.csv").write_text("no,logger\nat,all\n")
    for _ in range(2):
        await bench._watch_folder()
    assert any("odd.csv" in text for text in bench.troubles)
    (folder / "odd.csv").unlink()
    await bench._watch_folder()
    assert bench.troubles == []


class Slow(Carrier):
    """Takes a while."""

    async def send(self, message, replaces=""):  # type: ignore[no-untyped-def]
        await asyncio.sleep(0.3)
        return await super().send(message, replaces)


async def test_what_is_in_flight_lands_before_it_ends(place: Place) -> None:
    slow = Slow()
    bench = await place.bench(slow)
    place.clock.runs_to(READY)
    bench._woken.set()
    await asyncio.sleep(0.05)
    assert slow.sent == []
    await bench.stop()
    assert titles(slow) == ["Check the cover · bench"]
    assert [fact.phase for fact in place.shop.nudges()] == ["intent", "sent"]
    beat = read_beat(place.home)
    assert beat is not None
    assert beat.at == READY
