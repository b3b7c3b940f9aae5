"""Readings: each once, in bulk or one by one, withdrawn and brought back, in the order of time."""

from datetime import UTC, datetime, timedelta

import pytest

from curetrack.facts import Place, Reading
from curetrack.ledger import Ledger, View
from curetrack.ledger.readings import Row

T0 = datetime(2026, 1, 10, 9, tzinfo=UTC)
MS = 3_600_000


def add(ledger: Ledger, rows: list[Row], place: Place = "slab", piece: str = "", said: datetime = T0) -> int:
    with ledger.change() as writer:
        return writer.add_readings(rows, place=place, piece=piece, recorded_at=said, source="cli")


def temps(readings: list[Reading]) -> list[float | None]:
    return [reading.temp_degC for reading in readings]


def test_a_reading_is_read_back_as_it_was(ledger: Ledger) -> None:
    add(ledger, [(5 * MS, 8.25, 61.0, None)], "air", "top")
    add(ledger, [(6 * MS, None, None, 2.5)], "outside")
    assert ledger.readings_since(0, "top") == [
        Reading(5.0, 8.25, 61.0, None, "air", "top", 1, T0.timestamp() / 3600),
        Reading(6.0, None, None, 2.5, "outside", "", 2, T0.timestamp() / 3600),
    ]


def test_the_same_file_twice_changes_nothing(ledger: Ledger) -> None:
    rows: list[Row] = [(n * MS, float(n), None, None) for n in range(100)]
    assert add(ledger, rows) == 100
    before = ledger.readings_since(0)
    assert add(ledger, rows, said=T0 + timedelta(days=1)) == 0
    assert ledger.readings_since(0) == before
    assert add(ledger, [*rows, (100 * MS, 3.0, None, None)]) == 1


OTHERS: list[Row] = [
    (MS, 8.0, None, 1.0), (MS, 8.0, 50.0, None), (MS, None, 8.0, None), (MS, 8.5, None, None),
    (MS + 1, 8.0, None, None),
]  # fmt: skip


@pytest.mark.parametrize("other", OTHERS)
def test_readings_that_differ_in_anything_are_both_kept(ledger: Ledger, other: Row) -> None:
    assert add(ledger, [(MS, 8.0, None, None), other]) == 2


def test_the_same_at_another_place_or_piece_is_another_reading(ledger: Ledger) -> None:
    row: Row = (MS, 8.0, None, None)
    others: list[tuple[Place, str]] = [("slab", ""), ("air", ""), ("slab", "top"), ("slab", "bench")]
    assert [add(ledger, [row], place, piece) for place, piece in others] == [1, 1, 1, 1]


def test_a_whole_number_is_the_same_reading_as_its_decimal(ledger: Ledger) -> None:
    assert add(ledger, [(MS, 8.0, None, None), (MS, 8, None, None)]) == 1


def test_a_piece_sees_its_own_and_the_shared_ones(ledger: Ledger) -> None:
    add(ledger, [(3 * MS, 3.0, None, None), (1 * MS, 1.0, None, None)])
    add(ledger, [(2 * MS, 2.0, None, None)], piece="top")
    add(ledger, [(4 * MS, 4.0, None, None)], piece="bench")
    assert temps(ledger.readings_since(0, "top")) == [1.0, 2.0, 3.0]
    assert temps(ledger.readings_since(0)) == [1.0, 3.0]
    assert temps(ledger.readings_since(2 * MS, "bench")) == [3.0, 4.0]
    assert ledger.pieces_with_readings() == {"top", "bench"}


def test_of_two_at_one_instant_the_later_said_comes_last(ledger: Ledger) -> None:
    add(ledger, [(MS, 15.0, None, None)])
    add(ledger, [(MS, 14.0, None, None)])
    assert temps(ledger.readings_since(0)) == [15.0, 14.0]


def test_views_of_readings(ledger: Ledger) -> None:
    add(ledger, [(1 * MS, 1.0, None, None)], said=T0)
    add(ledger, [(2 * MS, 2.0, None, None), (9 * MS, 9.0, None, None)], said=T0 + timedelta(hours=2))
    early = datetime.fromtimestamp(5 * 3600, UTC)
    assert temps(ledger.readings_since(0, "", View(early, as_of=True))) == [1.0, 2.0]
    assert temps(ledger.readings_since(0, "", View(early, known_at=T0 + timedelta(hours=1)))) == [1.0]
    assert temps(ledger.newest_readings(2)) == [9.0, 2.0]
    assert temps(ledger.newest_readings(9, View(early, as_of=True))) == [2.0, 1.0]


def test_a_withdrawn_reading_is_out_until_it_is_brought_back(ledger: Ledger) -> None:
    add(ledger, [(MS, 8.0, None, None), (2 * MS, 90.0, None, None)])
    assert withdraw(ledger, 2, back=False, said=T0 + timedelta(hours=1))
    assert not withdraw(ledger, 2, back=False, said=T0 + timedelta(hours=2))
    assert temps(ledger.readings_since(0)) == [8.0]
    assert temps(ledger.newest_readings(5)) == [8.0]
    assert temps(ledger.readings_since(0, "", View(T0, known_at=T0))) == [8.0, 90.0]
    found = ledger.reading(2)
    assert found is not None
    assert found[1] is False
    assert add(ledger, [(2 * MS, 90.0, None, None)]) == 0  # a logger's file read again does not bring it back
    assert withdraw(ledger, 2, back=True, said=T0 + timedelta(hours=3))
    assert temps(ledger.readings_since(0)) == [8.0, 90.0]


def withdraw(ledger: Ledger, number: int, *, back: bool, said: datetime) -> bool:
    with ledger.change() as writer:
        return writer.withdraw_reading(number, back=back, recorded_at=said, source="cli")


def test_ids_stay_unique_over_imports_that_overlap(ledger: Ledger) -> None:
    add(ledger, [(n * MS, 1.0, None, None) for n in range(10)])
    add(ledger, [(n * MS, 1.0, None, None) for n in range(5, 15)])
    add(ledger, [(20 * MS, 1.0, None, None)])
    numbers = [reading.id for reading in ledger.readings_since(0)]
    assert len(set(numbers)) == len(numbers) == 16


def test_progress_is_told(ledger: Ledger) -> None:
    heard: list[tuple[int, int]] = []

    def hear(done: int, of: int) -> None:
        heard.append((done, of))

    rows: list[Row] = [(n, 1.0, None, None) for n in range(45_000)]
    with ledger.change() as writer:
        writer.add_readings(
            rows,
            place="slab",
            piece="",
            recorded_at=T0,
            source="cli",
            progress=lambda done, of: heard.append((done, of)),
        )
    assert heard == [(20_000, 45_000), (40_000, 45_000), (45_000, 45_000)]


def test_an_import_is_whole_or_not_at_all(ledger: Ledger) -> None:
    def stop(done: int, _: int) -> None:
        if done > 20_000:
            raise KeyboardInterrupt

    rows: list[Row] = [(n, 1.0, None, None) for n in range(45_000)]
    with pytest.raises(KeyboardInterrupt), ledger.change() as writer:
        writer.add_readings(rows, place="slab", piece="", recorded_at=T0, source="cli", progress=stop)
    assert ledger.readings_since(0) == []
