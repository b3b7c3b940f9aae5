"""Disks and files that refuse: said in one line, nothing lost, no traceback.

Root may write anywhere, so where the tests run as root the read-only folder is tried by a child process that is
somebody else, and the full disk by a real small one; the limit on pages gives SQLite's own "full" everywhere.
"""

import os
import sqlite3
import tempfile
import warnings
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.facts import Event
from curetrack.ledger import Ledger
from tests.disk import mounted

T0 = datetime(2026, 1, 10, 9, tzinfo=UTC)
NOBODY = 65534
IS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


def say(ledger: Ledger, text: str = "said") -> None:
    with ledger.change() as writer:
        writer.add_event(Event(0, "top", "note", T0, T0, text=text))


def texts(ledger: Ledger) -> list[str]:
    return [entry.event.text for entry in ledger.entries() if entry.event]


def trouble(ledger: Ledger, text: str = "lost") -> str:
    with pytest.raises(StoreTrouble) as caught:
        say(ledger, text)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 2
    return str(caught.value)


def test_a_file_that_is_no_database(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    path.write_text("dear diary, " * 200)
    with Ledger(path) as ledger:
        assert "not a ledger of curetrack; move it away" in trouble(ledger)
        with pytest.raises(StoreTrouble, match="not a ledger"):
            ledger.entries()
    assert path.read_text() == "dear diary, " * 200


def test_a_database_of_another_program(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE songs (title)")
    other.close()
    before = path.read_bytes()
    with Ledger(path) as ledger:
        assert "this database is not a ledger of curetrack" in trouble(ledger)
    assert path.read_bytes() == before


def test_a_ledger_that_a_newer_curetrack_wrote(ledger: Ledger) -> None:
    say(ledger)
    ledger.close()
    assert ledger.path is not None
    raw = sqlite3.connect(ledger.path)
    raw.execute("PRAGMA user_version = 99")
    raw.close()
    assert "newer curetrack wrote this ledger (format 99" in trouble(ledger)
    with pytest.raises(StoreTrouble, match="update curetrack"):
        ledger.entries()


def test_an_sqlite_that_is_too_old(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 34, 1))
    monkeypatch.setattr(sqlite3, "sqlite_version", "3.34.1")
    assert "SQLite 3.38 or newer is needed, this Python has 3.34.1" in trouble(ledger)
    assert ledger.path is not None
    assert not ledger.path.parent.exists()


def test_a_damaged_ledger(ledger: Ledger) -> None:
    for number in range(200):
        say(ledger, f"{number} " * 20)
    ledger.close()
    assert ledger.path is not None
    whole = bytearray(ledger.path.read_bytes())
    whole[8192:] = b"\xa5" * (len(whole) - 8192)
    ledger.path.write_bytes(bytes(whole))
    with pytest.raises(StoreTrouble, match=r"the ledger is damaged .*backup"):
        ledger.entries()


def test_a_look_through_the_whole_file(ledger: Ledger) -> None:
    """A page in the middle of the table is of another kind: what is read most of the time does not come by it."""
    assert ledger.damage() == ""
    for number in range(2000):
        say(ledger, f"{number} " * 20)
    assert ledger.damage() == ""
    ledger.close()
    assert ledger.path is not None
    whole = bytearray(ledger.path.read_bytes())
    middle = len(whole) // 2 // 4096 * 4096
    whole[middle : middle + 4096] = b"\xa5" * 4096
    ledger.path.write_bytes(bytes(whole))
    with Ledger(ledger.path) as again:
        assert again.damage() != ""


def test_a_home_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "home").write_text("a file, not a folder")
    with Ledger(tmp_path / "home" / "ledger.sqlite") as ledger:
        assert "Not a directory" in trouble(ledger) or "exists" in trouble(ledger)
        with pytest.raises(StoreTrouble, match="Not a directory"):
            ledger.entries()


def test_a_folder_in_the_ledgers_place(tmp_path: Path) -> None:
    (tmp_path / "ledger.sqlite").mkdir()
    with Ledger(tmp_path / "ledger.sqlite") as ledger:
        assert "cannot be opened" in trouble(ledger)


def test_full_by_the_limit_on_pages(ledger: Ledger) -> None:
    say(ledger, "before")
    connection = ledger._writer
    assert connection is not None
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count = {pages}")
    assert "the disk is full; nothing of this was written" in trouble(ledger, "x" * 100_000)
    assert texts(ledger) == ["before"]
    connection.execute("PRAGMA max_page_count = 1000000")
    say(ledger, "x" * 100_000)
    assert len(texts(ledger)) == 2


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 400 kB that fills up for real."""
    with mounted(tmp_path / "disk", "400k", "the limit on pages stands for it") as place:
        yield place


def test_full_for_real(small_disk: Path) -> None:
    with Ledger(small_disk / "ledger.sqlite") as ledger:
        say(ledger, "before")
        (small_disk / "ballast").write_bytes(b"x" * (os.statvfs(small_disk).f_bavail * os.statvfs(small_disk).f_bsize))
        assert "the disk is full; nothing of this was written" in trouble(ledger, "x" * 50_000)
        assert texts(ledger) == ["before"]
        (small_disk / "ballast").unlink()
        say(ledger, "after")
        assert texts(ledger) == ["before", "after"]


def by_somebody_else(path: Path) -> list[str]:
    """What a process without the right to write says: the number of entries it reads, and its trouble in writing.

    A fork, since somebody else may not be allowed to start this very Python.
    """
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # forking beside threads: the child starts none
        child = os.fork()
    if child == 0:
        if IS_ROOT:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        with os.fdopen(writing, "w") as pipe:
            try:
                pipe.write(_try(path))
            finally:
                pipe.flush()
                os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return said.splitlines()


def _try(path: Path) -> str:
    with Ledger(path) as ledger:
        count = len(ledger.entries())
        try:
            say(ledger)
        except StoreTrouble as found:
            return f"{count}\n{found}"
    return f"{count}\nwritten"


@pytest.fixture
def open_tmp(tmp_path: Path) -> Path:
    """A folder that others may enter, as the temporary one is private."""
    private = Path(tempfile.gettempdir())
    for folder in (tmp_path, *tmp_path.parents):
        if folder == private or private not in folder.parents:
            break
        folder.chmod(0o755)
    return tmp_path


@pytest.mark.skipif(os.name != "posix", reason="folders without the right to write are made by mode bits here")
def test_a_read_only_folder_is_read_and_not_written(open_tmp: Path) -> None:
    home = open_tmp / "home"
    with Ledger(home / "ledger.sqlite") as ledger:
        say(ledger)
    home.chmod(0o555)
    (home / "ledger.sqlite").chmod(0o444)
    try:
        count, said = by_somebody_else(home / "ledger.sqlite")
    finally:
        home.chmod(0o755)
    assert count == "1"
    assert "the ledger or its folder is read-only; nothing of this was written" in said
    assert [file.name for file in home.iterdir()] == ["ledger.sqlite"]


@pytest.mark.skipif(os.name != "posix", reason="folders without the right to write are made by mode bits here")
def test_a_home_that_may_not_be_made(open_tmp: Path) -> None:
    place = open_tmp / "locked"
    place.mkdir(mode=0o555)
    count, said = by_somebody_else(place / "home" / "ledger.sqlite")
    assert count == "0"
    assert "Permission denied; nothing of this was written" in said
    assert list(place.iterdir()) == []
