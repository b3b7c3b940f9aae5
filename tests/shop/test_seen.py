"""All pieces at once are the pieces one by one, whoever has readings of their own."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.facts import Shape
from curetrack.shop import Shop, View
from curetrack.shop.seen import Seen

OWN = ("piece 1", "piece 2")
NOW = datetime(2026, 1, 20, 9, tzinfo=UTC)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with Shop(tmp_path) as shop:
        for hour in range(0, 240, 3):
            at = NOW - timedelta(hours=hour)
            shop.add_reading(temp_degC=15.0 + hour % 7, humidity_pct=60.0, at=at, now=NOW)
        for number, days in enumerate((6, 3, 2, 1)):
            at = NOW - timedelta(days=days)
            shop.pour(f"piece {number}", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=at, now=NOW)
        for number, hours in ((1, 60), (2, 30)):
            for hour in range(0, hours, 2):
                at = NOW - timedelta(hours=hour, minutes=30)
                shop.add_reading(temp_degC=24.0 - hour % 5, piece=f"piece {number}", at=at, now=NOW)
    return tmp_path


@pytest.mark.parametrize(
    "view",
    [View(NOW), View(NOW - timedelta(hours=30), None, True), View(NOW + timedelta(days=2)), View(NOW, NOW, True)],
)
def test_together_is_one_by_one(home: Path, view: View) -> None:
    with Shop(home) as shop:
        together = shop.timelines(view)
        alone = [shop.timeline(timeline.piece, view) for timeline in together]
    for one, other in zip(together, alone, strict=True):
        if one.piece in OWN:
            assert one == other
        else:  # sums over the shared course begin at another reading, so the last digits differ
            assert [(line.step, line.state, line.after) for line in one.lines] == [
                (line.step, line.state, line.after) for line in other.lines
            ]
            assert one.equivalent_age_h == pytest.approx(other.equivalent_age_h, rel=1e-9)
    assert len(together) >= 3
    with Seen(home) as seen:
        assert seen.timelines(view) == together


def test_own_readings_are_those_of_the_piece_alone(home: Path) -> None:
    with Shop(home) as shop:
        all_of = shop.ledger.readings_since(0, "piece 1")
        own = shop.ledger.own_readings_since(0, "piece 1")
        shared = shop.ledger.readings_since(0)
    assert {reading.piece for reading in own} == {"piece 1"}
    assert len(own) == 30
    assert sorted([*own, *shared], key=lambda reading: (reading.at_h, reading.id)) == all_of


def test_a_piece_does_not_hang_on_other_pieces(tmp_path: Path) -> None:
    """The last reading before a pour may lie days back: it counts the same whether an older piece stands or not."""
    pour = NOW - timedelta(hours=8)
    with Shop(tmp_path) as shop:
        for hours in (400, 390, 200, 6, 4, 2):
            shop.add_reading(temp_degC=12.0 + hours % 5, at=NOW - timedelta(hours=hours), now=NOW)
        shop.pour("old", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=NOW - timedelta(hours=395), now=NOW)
        shop.pour("new", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=pour, now=NOW)
        with_both = shop.timeline("new", View(NOW))
        listed = next(timeline for timeline in shop.timelines(View(NOW)) if timeline.piece == "new")
        shop.drop("old", "cracked", now=NOW)
        alone = shop.timeline("new", View(NOW))
    assert with_both == alone
    assert [(line.step, line.state, line.ready_at, line.band) for line in listed.lines] == [
        (line.step, line.state, line.ready_at, line.band) for line in alone.lines
    ]
    assert listed.alerts == alone.alerts
