"""What selfcheck looks at: the bench by its lock and beat, nudges that nobody took, and channels, one after another."""

import asyncio
import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack import __version__
from curetrack.facts import NudgeFact, Shape
from curetrack.nudge.channels.base import Channel, Message, Sent, Undelivered
from curetrack.nudge.log import read_log
from curetrack.service.beat import Beat, write_beat
from curetrack.service.health import Found, channels_found, service_found, sleep_found, undelivered_found
from curetrack.service.lease import FILE_NAME, Lease, is_held
from curetrack.service.power import Sleep
from curetrack.settings import Settings
from curetrack.shop import Shop
from tests.service.fake import Carrier

PROFILE = Path(__file__).resolve().parents[1] / "cases" / "nudges.toml"  # cover, look after 3 h, mist each 11 h, strip
NOW = datetime(2026, 2, 3, 18, 30, tzinfo=UTC)
SOON = NOW + timedelta(hours=3, minutes=5)  # the look at the cover is due
BEAT = Beat(os.getpid(), SOON, NOW, __version__, nudging=True, carried_by="the desktop's notifications")


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A piece whose cover is on since the pour."""
    with Shop(tmp_path, settings=Settings(timezone="UTC")) as shop:
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=NOW, now=NOW)
        shop.pour("bench", profile=str(PROFILE), shape=Shape(1.2, 0.6, 0.04), at=NOW, now=NOW)
        shop.done("bench", "cover", now=NOW)
        shop.done("bench", "mist", now=NOW)
        yield shop


@pytest.fixture
def lease(shop: Shop) -> Iterator[Lease]:
    lease = Lease(shop.home)
    assert lease.take()
    yield lease
    lease.release()


# --- the bench -------------------------------------------------------------------------------------------------------


def test_the_lock_is_seen_and_left_as_it_is(shop: Shop) -> None:
    assert is_held(shop.home / "nowhere") is False
    lease = Lease(shop.home)
    assert lease.take()
    assert is_held(shop.home) is True
    assert lease.holder() == os.getpid()  # looking has not written into it
    lease.release()
    assert is_held(shop.home) is False
    assert lease.take()
    lease.release()


def test_a_lock_that_cannot_be_seen(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).mkdir()
    assert is_held(tmp_path) is None


def test_it_has_never_run(shop: Shop, tmp_path: Path) -> None:
    found = service_found(shop, SOON)
    assert (found.ok, found.text) == (False, "it has never run")
    assert "curetrack bench" in found.remedy
    with Shop(tmp_path / "other", settings=Settings()) as other:
        assert service_found(other, SOON) == Found("bench", True, "not needed: nothing is curing")


def test_it_runs(shop: Shop, lease: Lease) -> None:
    write_beat(shop.home, BEAT)
    found = service_found(shop, SOON)
    assert found == Found("bench", True, f"runs (process {os.getpid()}), nudges by the desktop's notifications")


def test_it_ended_a_moment_ago(shop: Shop) -> None:
    """Its last beat is fresh and a process of its number is there, but nobody holds the lock."""
    lease = Lease(shop.home)
    assert lease.take()
    lease.release()
    write_beat(shop.home, BEAT)
    found = service_found(shop, SOON + timedelta(seconds=30))
    assert not found.ok
    assert found.text == "it does not run; it last did a moment ago"


def test_it_hangs(shop: Shop, lease: Lease) -> None:
    write_beat(shop.home, BEAT)
    found = service_found(shop, SOON + timedelta(hours=2))
    assert not found.ok
    assert f"process {os.getpid()} has given no sign of life for 2 h" in found.text
    assert "stop it" in found.remedy


def test_a_clock_set_back_does_not_hide_it(shop: Shop, lease: Lease) -> None:
    write_beat(shop.home, BEAT)
    assert service_found(shop, NOW).ok


def test_it_runs_and_cannot_write(shop: Shop, lease: Lease) -> None:
    found = service_found(shop, SOON)
    assert (found.ok, found.text) == (False, "it runs, but leaves no sign of life")


def test_its_troubles_are_told(shop: Shop, lease: Lease) -> None:
    write_beat(shop.home, replace(BEAT, troubles=tuple(f"Trouble {n}." for n in range(7))))
    found = service_found(shop, SOON)
    assert not found.ok
    assert found.text.endswith("Trouble 0; Trouble 1; Trouble 2; Trouble 3; Trouble 4; and 2 more")


def test_an_older_one_is_to_be_started_anew(shop: Shop, lease: Lease) -> None:
    write_beat(shop.home, replace(BEAT, version="0.0.1"))
    found = service_found(shop, SOON)
    assert found.ok
    assert f"it is version 0.0.1, {__version__} is installed" in found.text
    assert found.remedy == "stop it and start it anew"


def test_without_a_lock_to_look_at_the_beat_counts(shop: Shop) -> None:
    (shop.home / FILE_NAME).mkdir()
    write_beat(shop.home, BEAT)
    assert service_found(shop, SOON).ok
    assert not service_found(shop, SOON + timedelta(minutes=5)).ok
    write_beat(shop.home, replace(BEAT, pid=2**22 + 1))  # more than Linux gives out (proc(5): pid_max)
    assert not service_found(shop, SOON).ok


# --- nudges ----------------------------------------------------------------------------------------------------------


def failed(shop: Shop, key: str, step: str, title: str = "") -> None:
    """Nobody took it."""
    body: dict[str, object] = {"attempt": 1, "group": key.rpartition("/")[0], "title": title or f"{step} · bench"}
    fact = NudgeFact(0, key, "intent", "desktop", "bench", step, SOON, SOON, {**body})
    lost = NudgeFact(0, key, "failed", "", "bench", step, SOON, SOON, {"attempt": 1, "why": "nobody is there"})
    shop.log_nudges([fact, lost])


def test_nothing_is_undelivered(shop: Shop) -> None:
    assert undelivered_found(shop, SOON) == Found("nudges", True, "none is undelivered")


def test_what_nobody_took_is_told_while_its_reason_lasts(shop: Shop) -> None:
    failed(shop, "bench/look/ready", "look")
    found = undelivered_found(shop, SOON)
    assert (found.ok, found.text) == (False, "undelivered: look · bench (nobody is there)")
    shop.done("bench", "look", now=SOON)
    assert undelivered_found(shop, SOON + timedelta(minutes=1)).ok


def test_what_went_out_in_one_card_is_told_once(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether their reasons last is another question."""
    for key, title in (("bench/a/ready", "3 things now"), ("bench/b/ready", "3 things now"), ("bench/c/ready", "")):
        failed(shop, key, key.split("/")[1], title)
    monkeypatch.setattr("curetrack.service.health._undelivered", lambda shop, _now: read_log(shop.nudges()).undelivered)
    assert undelivered_found(shop, SOON).text == "undelivered: 3 things now, c · bench (nobody is there)"


def test_of_a_piece_that_is_gone_nothing_is_told(shop: Shop) -> None:
    failed(shop, "bench/look/ready", "look")
    shop.drop("bench", "it broke", now=SOON)
    assert undelivered_found(shop, SOON + timedelta(minutes=1)).ok


# --- sleep, channels -------------------------------------------------------------------------------------------------


def test_sleep_is_no_fault() -> None:
    found = sleep_found(lambda: Sleep("it sleeps when idle", "let it stay awake"))
    assert found == Found("sleep", True, "it sleeps when idle", "let it stay awake")


class Recorder(Carrier):
    """Remembers that it was closed, too; `fault` is what sending raises."""

    def __init__(self, name: str, fault: Exception | None = None) -> None:
        super().__init__(name)
        self.fault, self.closed = fault, False

    async def send(self, message: Message, replaces: str = "") -> Sent:
        if self.fault is not None:
            raise self.fault
        return await super().send(message, replaces)

    async def close(self) -> None:
        self.closed = True


def tried(*channels: Recorder, seen: bool | None = None, wanted: tuple[str, ...] = ()) -> dict[str, Found]:
    def asks(_channel: Channel) -> bool | None:
        return seen

    return {found.name: found for found in channels_found(channels, asks, wanted=wanted)}


def test_seen_and_taken_back() -> None:
    desktop, mail = Recorder("desktop"), Recorder("mail")
    found = tried(desktop, mail, seen=True)
    assert found["desktop"] == Found("desktop", True, "the desktop: sent, and seen")
    assert found["channels"] == Found("channels", True, "2 work")
    assert desktop.withdrawn == ["desktop/1"]
    assert desktop.closed


def test_sent_but_not_seen() -> None:
    found = tried(Recorder("desktop"), seen=False)
    assert (found["desktop"].ok, found["desktop"].text) == (False, "the desktop: sent, but not seen")
    assert "let it show notifications" in found["desktop"].remedy
    assert not found["channels"].ok


def test_where_nobody_can_be_asked_it_stays_to_be_found() -> None:
    desktop = Recorder("desktop")
    found = tried(desktop)
    assert found["desktop"].text == "the desktop: sent; nobody was asked whether it came"
    assert desktop.withdrawn == []
    assert desktop.closed
    assert "wants two" in found["channels"].remedy


@pytest.mark.parametrize(
    ("fault", "text"),
    [
        (Undelivered("the host is not there"), "the hook: the host is not there"),
        (TimeoutError(), "the hook: it does not answer"),
        (ZeroDivisionError("1/0"), "the hook: it fails in a way nobody thought of (ZeroDivisionError)"),
    ],
)
def test_one_that_fails_keeps_no_other_from_being_tried(fault: Exception, text: str) -> None:
    hook, bell = Recorder("hook", fault), Recorder("bell")
    found = tried(hook, bell, wanted=("hook", "bell"))
    assert (found["hook"].ok, found["hook"].needed, found["hook"].text) == (False, True, text)
    assert found["bell"].ok
    assert found["channels"].text == "1 works"
    assert hook.closed


def test_one_that_nobody_named_need_not_be_there() -> None:
    found = tried(Recorder("desktop", Undelivered("no desktop")), Recorder("bell"), wanted=("bell",))
    assert (found["desktop"].ok, found["desktop"].needed) == (False, False)
    assert tried(Recorder("desktop", Undelivered("no desktop")))["desktop"].needed  # nothing else is there


def test_a_question_that_is_broken_off(monkeypatch: pytest.MonkeyPatch) -> None:
    desktop = Recorder("desktop")

    def asks(_channel: Channel) -> bool | None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        channels_found([desktop], asks, wanted=())
    assert desktop.closed


def test_one_that_hangs_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("curetrack.service.health.TRY_s", 0.05)

    class Hangs(Recorder):
        async def open(self) -> None:
            await asyncio.sleep(60)

    found = tried(Hangs("mail"), Recorder("bell"))
    assert found["mail"].text == "the mail: it does not answer"
    assert found["bell"].ok
