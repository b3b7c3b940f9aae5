"""How fast the ledger takes and gives readings. CPU time, the best of several, so that a busy machine changes little.

The limits are the goals of the project, not records: a million rows of a file within three times what csv.reader and
executemany into a bare table take, the reading of the file itself included; so the ledger may use up half of that.
"""

import csv
import sqlite3
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from curetrack.ledger import Ledger
from curetrack.ledger.readings import Row

ROWS = 200_000  # the times are in proportion; a million makes no difference but to patience
THIRTY_DAYS = 43_200  # readings of one minute
NOW = datetime(2026, 11, 1, tzinfo=UTC)


def best(count: int, what: Callable[[], object]) -> float:
    """The shortest CPU time of several tries, seconds."""
    found: list[float] = []
    for _ in range(count):
        start = time.process_time()
        what()
        found.append(time.process_time() - start)
    return min(found)


def rows(count: int) -> list[Row]:
    return [(1_700_000_000_000 + n * 60_000, round(8 + n % 977 / 100, 2), 50.0 + n % 31, None) for n in range(count)]


def test_an_import_takes_at_most_half_of_its_allowance(tmp_path: Path) -> None:
    made = rows(ROWS)
    with (tmp_path / "rows.csv").open("w", newline="") as file:
        csv.writer(file).writerows(made)
    number = iter(range(100))

    def bare() -> None:
        connection = sqlite3.connect(tmp_path / f"bare{next(number)}.sqlite")
        connection.execute("CREATE TABLE reading (at, temp, humidity, wind)")
        with (tmp_path / "rows.csv").open(newline="") as file:
            connection.executemany("INSERT INTO reading VALUES (?, ?, ?, ?)", csv.reader(file))
        connection.commit()
        connection.close()

    def ours() -> None:
        with Ledger(tmp_path / f"ours{next(number)}.sqlite") as ledger, ledger.change() as writer:
            assert writer.add_readings(made, place="slab", piece="", recorded_at=NOW, source="cli") == ROWS

    assert best(3, ours) < 1.5 * best(3, bare)


def test_thirty_days_of_minutes_are_loaded_in_60_ms(tmp_path: Path) -> None:
    made = rows(ROWS)
    with Ledger(tmp_path / "ledger.sqlite") as ledger:
        with ledger.change() as writer:
            writer.add_readings(made, place="slab", piece="", recorded_at=NOW, source="cli")
        from_ms = made[-THIRTY_DAYS][0]
        assert len(ledger.readings_since(from_ms)) == THIRTY_DAYS
        assert best(9, lambda: ledger.readings_since(from_ms)) < 0.060
