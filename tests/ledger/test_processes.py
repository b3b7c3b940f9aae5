"""Several processes at once, real ones: nothing lost, nothing doubled, a bounded wait."""

import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.facts import Event
from curetrack.ledger import Ledger

T0 = datetime(2026, 1, 10, 9, tzinfo=UTC)

WRITER = """
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from curetrack.facts import Event
from curetrack.ledger import Ledger

path, who, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
at = datetime(2026, 1, 10, 9, tzinfo=UTC)
with Ledger(path, timeout_s=30) as ledger:
    for number in range(count):
        when = at + timedelta(minutes=number)
        with ledger.change() as writer:  # one fact of its own, and one that the other writer says too
            writer.add_event(Event(0, "top", "note", when, when, text=f"{who} {number}"))
            writer.add_event(Event(0, "top", "done", when, when, step="mist"))
        print(number, flush=True)
        with ledger.change() as writer:
            rows = [(number * 60_000, 8.0 + number, None, None)]
            writer.add_readings(rows, place="slab", piece="", recorded_at=when, source="cli")
"""


def writers(path: Path, count: int, names: tuple[str, ...] = ("a", "b")) -> list["subprocess.Popen[str]"]:
    return [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), name, str(count)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in names
    ]


def test_two_writers_lose_nothing_and_double_nothing(tmp_path: Path) -> None:
    path = tmp_path / "home" / "ledger.sqlite"
    for process in writers(path, 200):
        _, said = process.communicate(timeout=100)
        assert (process.returncode, said) == (0, "")
    with Ledger(path) as ledger:
        entries, readings = ledger.entries(), ledger.readings_since(0)
    notes = sorted(entry.event.text for entry in entries if entry.event and entry.kind == "note")
    assert notes == sorted(f"{who} {number}" for who in "ab" for number in range(200))
    assert sum(entry.kind == "done" for entry in entries) == 200
    assert [entry.id for entry in entries] == list(range(1, 601))
    assert len({reading.id for reading in readings}) == len(readings) == 200


def test_many_writers_may_make_the_file_at_once(tmp_path: Path) -> None:
    path = tmp_path / "home" / "ledger.sqlite"
    for process in writers(path, 3, tuple("abcdefgh")):
        _, said = process.communicate(timeout=100)
        assert (process.returncode, said) == (0, "")
    with Ledger(path) as ledger:
        assert len(ledger.entries()) == 8 * 3 + 3


def test_a_killed_writer_leaves_what_was_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "home" / "ledger.sqlite"
    (process,) = writers(path, 100_000, ("a",))
    with process:
        assert process.stdout is not None
        acknowledged = [process.stdout.readline() for _ in range(60)]
        process.kill()
        acknowledged += [line for line in process.stdout.readlines() if line.endswith("\n")]
    with Ledger(path) as ledger:
        told = {entry.event.text for entry in ledger.entries() if entry.event}
    assert len(acknowledged) >= 60
    assert {f"a {line.strip()}" for line in acknowledged} <= told


def test_a_locked_ledger_is_said_in_one_line_after_a_bounded_wait(tmp_path: Path) -> None:
    path = tmp_path / "home" / "ledger.sqlite"
    with Ledger(path, timeout_s=0.2) as ledger:
        with ledger.change() as writer:
            writer.add_event(Event(0, "top", "note", T0, T0, text="before"))
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        start = time.monotonic()
        with pytest.raises(StoreTrouble, match=r"in use by another program, waited 0.2 s.*try again") as caught:
            _say(ledger, "lost")
        assert time.monotonic() - start > 0.15  # it waited; how long beyond that is the machine's affair
        assert "\n" not in str(caught.value)
        assert isinstance(caught.value.__cause__, sqlite3.OperationalError)
        assert len(ledger.entries()) == 1  # readers do not wait for a writer
        other.execute("ROLLBACK")
        other.close()
        _say(ledger, "after")
        assert [e.event.text for e in ledger.entries() if e.event] == ["before", "after"]


def _say(ledger: Ledger, text: str) -> None:
    with ledger.change() as writer:
        writer.add_event(Event(0, "top", "note", T0, T0, text=text))
