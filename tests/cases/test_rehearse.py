"""`rehearse` on each profile that ships: it comes to an end, its cold night moves a step and says why, and the same
facts said to a shop give the same timeline.

The facts are invented (curetrack/rehearsal.py); what is tested is that the command and the ledger agree, not the times.
Each profile is played once; the command prints the same play as JSON and as text.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from curetrack.cli.commands import rehearse
from curetrack.facts import Event, Reading
from curetrack.instants import from_h
from curetrack.rehearsal import Frame, Rehearsal
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line, Timeline
from tests.cases.person import Person

PROFILES = ("bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop")
ZONE = "Europe/Berlin"
SECOND = timedelta(seconds=1)  # the ledger keeps milliseconds


class Play(msgspec.Struct):
    """What the command said, and the facts behind it."""

    profile: str
    json: Any
    printed: str
    rehearsal: Rehearsal
    frames: list[Frame]
    ledger_made: bool


@pytest.fixture(scope="module")
def plays() -> dict[str, Play]:
    """Those already seen."""
    return {}


@pytest.fixture(params=PROFILES)
def play(
    request: pytest.FixtureRequest, plays: dict[str, Play], maker: Person, monkeypatch: pytest.MonkeyPatch
) -> Play:
    """The command run as JSON, and once more as text on the same frames."""
    profile: str = request.param
    if profile not in plays:
        plays[profile] = played(profile, maker, monkeypatch)
    return plays[profile]


def played(profile: str, maker: Person, monkeypatch: pytest.MonkeyPatch) -> Play:
    frames: list[Frame] = []
    seen: list[Rehearsal] = []
    play_it: Callable[[Rehearsal], Iterator[Frame]] = Rehearsal.frames

    def recorded(self: Rehearsal) -> Iterator[Frame]:
        seen.append(self)
        for frame in play_it(self):
            frames.append(frame)
            yield frame

    monkeypatch.setattr(Rehearsal, "frames", recorded)
    told = maker.ok("rehearse", profile, "--json").json
    (rehearsal,) = seen
    monkeypatch.setattr(Rehearsal, "frames", lambda _: iter(frames))
    monkeypatch.setattr(rehearse, "_rehearsal", lambda *_: rehearsal)
    printed = maker.ok("rehearse", profile).text
    return Play(profile, told, printed, rehearsal, frames, (maker.home / "ledger.sqlite").exists())


def test_every_step_ends_done_or_skipped(play: Play) -> None:
    told = play.json
    assert told["profile"] == play.profile
    states = {step["step"]: step["state"] for step in told["sheet"]["steps"]}
    assert set(states.values()) <= {"done", "skipped"}
    assert states["in-service"] == "done"
    skipped = {deed["step"] for deed in told["deeds"] if deed["what"] == "skipped"}
    assert skipped <= {step for step, state in states.items() if state == "skipped"}
    times = [deed["at"] for deed in told["deeds"]]
    assert times == sorted(times, key=datetime.fromisoformat)
    assert play.frames[-1].timeline.finished


def test_a_cold_night_moves_a_step_by_an_hour_or_more_and_says_why(play: Play) -> None:
    shifts = play.json["shifts"]
    assert shifts
    for shift in shifts:
        before, after = (datetime.fromisoformat(shift[key]) for key in ("before", "after"))
        assert abs(after - before) >= timedelta(hours=1)
        assert shift["slab_degC"] < 20.0
        assert "needs" in shift["why"]
        assert "now at" in shift["why"]
    assert any(shift["step"] == "strip" and shift["after"] > shift["before"] for shift in shifts)  # cold makes it later
    assert " later, " in play.printed
    assert "the slab is at 6 °C" in play.printed
    assert "later than a warm night had promised" in play.printed


def test_nothing_is_kept(play: Play) -> None:
    assert not play.ledger_made


def test_the_same_facts_said_to_a_shop_give_the_same_timeline(play: Play, tmp_path: Path) -> None:
    """At moments all through the piece's life, each as it was then, and at the end."""
    with Shop(tmp_path / "shop", settings=Settings(timezone=ZONE)) as shop:
        replay(play.rehearsal, shop, play.profile)
        moments = settled(play.frames)[::4]
        assert len(moments) >= 10
        for frame in moments:
            found = shop.timeline("rehearsal", View(frame.timeline.now, as_of=True))
            assert_same(found, frame.timeline)
        last = play.frames[-1].timeline
        assert_same(shop.timeline("rehearsal", View(last.now)), last)


def replay(rehearsal: Rehearsal, shop: Shop, profile: str) -> None:
    """Says the facts in the order they happened, each at its own time."""
    created = rehearsal.piece.created_at
    shop.set_forecast(rehearsal.forecast, now=created)
    shop.plan("rehearsal", profile, rehearsal.piece.shape, at=rehearsal.piece.planned_pour_at, now=created)
    said = 0
    for event in rehearsal.events:
        upto = sum(from_h(reading.at_h) <= event.at for reading in rehearsal.readings)
        say_readings(rehearsal.readings[said:upto], shop)
        say_event(event, shop)
        said = upto
    say_readings(rehearsal.readings[said:], shop)


def say_readings(readings: Sequence[Reading], shop: Shop) -> None:
    """As a logger's rows."""
    rows = [(round(r.at_h * 3_600_000), r.temp_degC, r.humidity_pct, r.wind_m_s) for r in readings]
    shop.import_readings(rows, now=from_h(readings[-1].at_h) if readings else from_h(0.0))


def say_event(event: Event, shop: Shop) -> None:
    if event.kind == "pour":
        shop.pour("rehearsal", at=event.at, now=event.at)
    elif event.kind == "skip":
        shop.skip("rehearsal", event.step, at=event.at, now=event.at)
    else:
        assert event.kind == "done"
        shop.done("rehearsal", event.step, at=event.at, check=event.check, crew=event.crew, now=event.at)


def settled(frames: Sequence[Frame]) -> list[Frame]:
    """Frames whose moment no other frame shares: all that happened by then is in them."""
    moments = [frame.timeline.now for frame in frames]
    return [frame for frame in frames if moments.count(frame.timeline.now) == 1]


def assert_same(found: Timeline, expected: Timeline) -> None:
    assert [line.step for line in found.lines] == [line.step for line in expected.lines]
    for one, other in zip(found.lines, expected.lines, strict=True):
        assert one.state == other.state, (expected.now, one.step)
        for name in ("ready_at", "plan_at", "late_at", "done_at", "check_from", "opens_at"):
            assert_near(getattr(one, name), getattr(other, name), (expected.now, one.step, name))
        for name in ("band", "band_method"):
            for ours, theirs in zip(ends(one, name), ends(other, name), strict=True):
                assert_near(ours, theirs, (expected.now, one.step, name))
        assert [reason.rule for reason in one.reasons] == [reason.rule for reason in other.reasons]
    assert (found.poured_at is None) == (expected.poured_at is None)
    if expected.equivalent_age_h is not None:
        assert found.equivalent_age_h == pytest.approx(expected.equivalent_age_h, rel=1e-6)
    assert [(alert.grade, alert.rule, alert.step) for alert in found.alerts] == [
        (alert.grade, alert.rule, alert.step) for alert in expected.alerts
    ]


def ends(line: Line, name: str) -> tuple[datetime | None, datetime | None]:
    band: tuple[datetime, datetime] | None = getattr(line, name)
    return band if band is not None else (None, None)


def assert_near(ours: datetime | None, theirs: datetime | None, what: object) -> None:
    assert (ours is None) == (theirs is None), what
    if ours is not None and theirs is not None:
        assert abs(ours - theirs) <= SECOND, (what, ours, theirs)
