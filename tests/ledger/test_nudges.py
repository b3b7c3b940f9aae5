"""What became of nudges comes back as it was written, and any change of the file is noticed."""

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack.facts import Forecast, NudgeFact, Shape
from curetrack.ledger import Ledger
from curetrack.settings import Settings
from curetrack.shop import Shop

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
FACT = NudgeFact(0, "bench/strip/ready", "intent", "desktop", "bench", "strip", T0, T0, {"attempt": 1, "over": ["x"]})


def test_nudges_come_back_in_order(tmp_path: Path) -> None:
    shop = Shop(tmp_path, settings=Settings())
    assert shop.nudges() == []
    first = shop.log_nudges([FACT, replace(FACT, phase="sent", body={"attempt": 1, "mark": ":1.5:7"})])
    (second,) = shop.log_nudges([replace(FACT, phase="answered", channel="", recorded_at=T0 + timedelta(hours=1))])
    assert [fact.id for fact in (*first, second)] == [1, 2, 3]
    again = Shop(tmp_path, settings=Settings())
    assert again.nudges() == [*first, second]
    assert again.nudges(after_id=2) == [second]


def test_what_is_written_of_a_nudge_stays(tmp_path: Path) -> None:
    shop = Shop(tmp_path, settings=Settings())
    shop.log_nudges([FACT])
    with pytest.raises(sqlite3.IntegrityError, match="append-only"), shop.ledger.change() as writer:
        writer._connection.execute("DELETE FROM nudge")
    with pytest.raises(sqlite3.IntegrityError), shop.ledger.change() as writer:
        writer.add_nudges([replace(FACT, phase="guessed")])  # type: ignore[arg-type]  # the table refuses it, too
    assert len(shop.nudges()) == 1


def test_any_commit_changes_the_version(tmp_path: Path) -> None:
    mine, other = Ledger(tmp_path / "ledger.sqlite"), Shop(tmp_path, settings=Settings())
    seen = [mine.version()]
    other.log_nudges([FACT])  # makes the file
    seen.append(mine.version())
    other.log_nudges([FACT])
    seen.append(mine.version())
    assert mine.version() == seen[-1]
    with mine.change() as writer:
        writer.add_nudges([FACT])
    seen.append(mine.version())
    assert mine.version() == seen[-1]
    other.log_nudges([FACT])
    seen.append(mine.version())
    assert len(set(seen)) == len(seen)


def test_how_far_it_has_come(tmp_path: Path) -> None:
    shop = Shop(tmp_path, settings=Settings())
    assert shop.newest().event == 0
    shop.set_forecast(Forecast("steady", 0.0, 20.0), now=T0)
    shop.add_reading(temp_degC=20.0, at=T0, now=T0)
    shop.pour("bench", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=T0, now=T0)
    far = shop.newest()
    assert (far.event, far.intake, far.withdrawal, far.forecast, far.nudge) == (1, 1, 0, 1, 0)
    assert shop.pieces_said_since(0) == {"bench"}
    assert shop.pieces_said_since(far.event) == set()
    shop.note("bench", "looks well", now=T0)
    assert shop.newest().event == 2
    assert shop.pieces_said_since(far.event) == {"bench"}


def test_a_ledger_that_was_replaced_is_read_and_written_anew(tmp_path: Path) -> None:
    """A backup is put in its place while a process has the old one open."""
    mine = Shop(tmp_path / "home", settings=Settings())
    mine.log_nudges([FACT])
    backup = Shop(tmp_path / "other", settings=Settings())
    backup.log_nudges([replace(FACT, key="from/the/backup")])
    backup.ledger.close()
    assert not mine.ledger.look_again()
    for name in ("ledger.sqlite-wal", "ledger.sqlite-shm"):
        (tmp_path / "home" / name).unlink(missing_ok=True)
    (tmp_path / "other" / "ledger.sqlite").replace(tmp_path / "home" / "ledger.sqlite")
    seen = mine.ledger.version()
    assert mine.ledger.look_again()
    assert mine.ledger.version() != seen
    assert [fact.key for fact in mine.nudges()] == ["from/the/backup"]
    mine.log_nudges([FACT])
    assert len(Shop(tmp_path / "home", settings=Settings()).nudges()) == 2


def test_a_ledger_that_was_removed_is_not_written_into_nowhere(tmp_path: Path) -> None:
    mine = Shop(tmp_path, settings=Settings())
    mine.log_nudges([FACT])
    for file in tmp_path.glob("ledger.sqlite*"):
        file.unlink()
    mine.log_nudges([replace(FACT, key="after")])
    assert [fact.key for fact in Shop(tmp_path, settings=Settings()).nudges()] == ["after"]
