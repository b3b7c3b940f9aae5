"""Facts go in once, come out as they were, and are never edited."""

import sqlite3
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack.facts import Cutout, DayRange, Event, Forecast, Shape
from curetrack.ledger import Ledger, View
from curetrack.ledger.replay import Sheet, effective, piece_of
from curetrack.ledger.times import time_to_ms

T0 = datetime(2026, 1, 10, 9, tzinfo=UTC)
DOCUMENT = {"format": 1, "name": "Table", "step": [{"id": "strip", "after": "pour"}]}


def event(kind: str = "note", at: datetime = T0, **more: object) -> Event:
    return Event(**{"id": 0, "piece": "top", "kind": kind, "at": at, "recorded_at": at, **more})  # type: ignore[arg-type]


def pour(ledger: Ledger, at: datetime = T0, name: str = "top") -> Event:
    shape = Shape(1.2, 0.6, 0.04, (Cutout(0.4, 0.3, 0.2, 0.1),))
    with ledger.change() as writer:
        sha = writer.add_profile("table", DOCUMENT, at)
        sheet = Sheet(name, shape, "table", "table", sha, (("mix.spread", "10 %"),), need_by=T0 + timedelta(days=20))
        return writer.add_event(event("pour", at, piece=name, profile_sha=sha, batches=(at,)), sheet)[0]


def test_event_is_read_back_as_it_was_said(ledger: Ledger) -> None:
    berlin = timezone(timedelta(hours=1))
    said = event(
        "done", datetime(2026, 1, 11, 12, 30, tzinfo=berlin), step="flip", check="pass", crew=4, grip="long-edge",
        override="it rang 'right' — \U0001f528", source="phone", until=T0,
    )  # fmt: skip
    with ledger.change() as writer:
        written, new = writer.add_event(said)
    assert new
    read = ledger.entries("top")[0].event
    assert read == written == replace(said, id=1)
    assert read is not None
    assert read.at.utcoffset() == timedelta(0)


def test_piece_is_read_back_with_shape_and_sets(ledger: Ledger) -> None:
    pour(ledger)
    entries, sheets = ledger.entries("top"), ledger.sheets("top")
    piece = piece_of(effective(entries), sheets)
    assert piece is not None
    assert piece.shape.cutouts[0].x_m == 0.2
    assert (piece.created_at, piece.need_by) == (T0, T0 + timedelta(days=20))
    assert sheets[1].sets == (("mix.spread", "10 %"),)
    assert ledger.document(piece.profile_sha) == DOCUMENT


def test_same_document_is_kept_once_whatever_the_order_of_its_keys(ledger: Ledger) -> None:
    with ledger.change() as writer:
        one = writer.add_profile("table", DOCUMENT, T0)
        two = writer.add_profile("table", dict(reversed(DOCUMENT.items())), T0)
    assert one == two


def test_saying_the_same_twice_changes_nothing(ledger: Ledger) -> None:
    with ledger.change() as writer:
        first = writer.add_event(event("done", step="strip"))
    with ledger.change() as writer:
        later_said = event("done", step="strip", recorded_at=T0 + timedelta(days=1), source="phone")
        assert writer.add_event(later_said) == (first[0], False)
        assert writer.add_event(event("done", T0 + timedelta(minutes=1), step="strip"))[1]
    assert len(ledger.entries()) == 2


def test_what_was_withdrawn_may_be_said_again(ledger: Ledger) -> None:
    with ledger.change() as writer:
        said, _ = writer.add_event(event("done", step="strip"))
        writer.add_event(event("undo", target=said.id))
        assert writer.add_event(event("undo", target=said.id, recorded_at=T0 + timedelta(hours=1)))[1] is False
        assert writer.add_event(event("done", step="strip"))[1]
    assert [e.id for e in effective(ledger.entries())] == [3]


@pytest.mark.parametrize(
    "table", ["piece", "event", "reading", "forecast", "nudge", "device", "profile", "series", "intake", "withdrawal"]
)
def test_tables_refuse_update_and_delete(ledger: Ledger, table: str) -> None:
    pour(ledger)
    with ledger.change() as writer:
        writer.add_readings([(1, 8.0, None, None)], place="slab", piece="", recorded_at=T0, source="cli")
        number = writer.reading_id((1, 8.0, None, None), place="slab", piece="")
        assert number is not None
        writer.withdraw_reading(number, back=False, recorded_at=T0, source="cli")
        writer.add_forecast(Forecast("steady", 1.0, 12.0), recorded_at=T0, source="cli")
    ledger.close()
    assert ledger.path is not None
    connection = sqlite3.connect(ledger.path)
    connection.execute("INSERT INTO nudge VALUES (1, 'k', 'sent', 'bell', 'top', 'strip', 0, 0, '{}')")
    connection.execute("INSERT INTO device VALUES (1, 'd', 'paired', '{}', 0, 'cli')")
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET {columns[0]} = {columns[0]}"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute(statement)
    connection.close()


def test_every_setting_of_durability_is_on(ledger: Ledger) -> None:
    pour(ledger)
    connection = ledger._writer
    assert connection is not None
    pragmas = ("journal_mode", "synchronous", "foreign_keys")
    got = [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in pragmas]
    assert got == ["wal", 2, 1]  # 2 is FULL in SQLite's documentation of PRAGMA synchronous


def test_a_change_is_whole_or_not_at_all(ledger: Ledger) -> None:
    pour(ledger)
    with pytest.raises(ZeroDivisionError), ledger.change() as writer:
        assert 1 / (not writer.add_event(event("note", text="lost"))[1])
    assert [entry.kind for entry in ledger.entries()] == ["pour"]
    with ledger.change() as writer:
        assert writer.add_event(event("note", text="kept"))[1]


def test_a_fact_must_rest_on_facts_that_exist(ledger: Ledger) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"), ledger.change() as writer:
        writer.add_event(event("undo", target=99))


def test_reading_creates_nothing(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with Ledger(home / "ledger.sqlite") as ledger, ledger.snapshot():
        assert (ledger.entries(), ledger.sheets(), ledger.readings_since(0), ledger.forecast()) == ([], {}, [], None)
        assert not ledger.exists
    assert not home.exists()


def test_reading_leaves_no_side_files(ledger: Ledger) -> None:
    pour(ledger)
    ledger.close()
    assert len(ledger.entries()) == 1
    ledger.close()
    assert ledger.path is not None
    assert [file.name for file in ledger.path.parent.iterdir()] == ["ledger.sqlite"]


def test_a_reader_cannot_write(ledger: Ledger) -> None:
    pour(ledger)
    ledger.close()
    assert len(ledger.entries()) == 1
    reader = ledger._reader
    assert reader is not None
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader.execute("INSERT INTO series (place, piece) VALUES ('slab', 'top')")


def test_a_snapshot_does_not_see_what_others_write_meanwhile(ledger: Ledger) -> None:
    pour(ledger)
    ledger.close()
    assert ledger.path is not None
    with ledger.snapshot():
        assert len(ledger.entries()) == 1
        with Ledger(ledger.path) as other:
            pour(other, T0 + timedelta(hours=1), "bench")
        assert len(ledger.entries()) == 1
    assert len(ledger.entries()) == 2


def test_newest_forecast_counts_and_is_read_back(ledger: Ledger) -> None:
    first = Forecast("days", 10.0, days=(DayRange(0, -4.0, 6.0), DayRange(1, 2.0, 9.0)))
    second = Forecast("steady", 20.0, temp_degC=12.0)
    for forecast in (second, first):  # recorded in the wrong order: when it was made counts
        with ledger.change() as writer:
            assert writer.add_forecast(forecast, recorded_at=T0, source="cli")
    got = ledger.forecast()
    assert got is not None
    assert (got.kind, got.temp_degC) == ("steady", 12.0)
    early = ledger.forecast(View(datetime.fromtimestamp(15 * 3600, UTC), as_of=True))
    assert early is not None
    assert early.days == first.days
    with ledger.change() as writer:
        assert not writer.add_forecast(second, recorded_at=T0 + timedelta(days=1), source="cli")


def test_in_memory_ledger_behaves_alike() -> None:
    with Ledger.in_memory() as ledger:
        pour(ledger)
        assert [entry.at_ms for entry in ledger.entries()] == [time_to_ms(T0)]
    assert ledger.entries() == []  # closed, it has forgotten
    assert not Path("memory").exists()
