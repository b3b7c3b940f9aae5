"""The heartbeat: whole or not at all, and never trusted to be there."""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.service.beat import FILE_NAME, Beat, read_beat, silent_holder, write_beat

AT = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)


def test_what_was_written_is_read(tmp_path: Path) -> None:
    beat = Beat(12, AT, AT, "1.0", True, "the desktop", ("one", "two"), AT)
    write_beat(tmp_path, beat)
    assert read_beat(tmp_path) == beat
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]  # nothing is left beside it


@pytest.mark.parametrize("found", [b"", b"{", b"[1,2]", b'{"pid": "x"}', b"\xff\xff"])
def test_what_cannot_be_understood_is_none(tmp_path: Path, found: bytes) -> None:
    (tmp_path / FILE_NAME).write_bytes(found)
    assert read_beat(tmp_path) is None


def test_none_is_none(tmp_path: Path) -> None:
    assert read_beat(tmp_path) is None


def test_a_beat_that_cannot_be_written_leaves_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = Beat(1, AT, AT, "1", True), Beat(2, AT, AT, "1", True)
    write_beat(tmp_path, old)

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "open", full)
    with pytest.raises(OSError, match="No space"):
        write_beat(tmp_path, new)
    monkeypatch.undo()
    assert read_beat(tmp_path) == old


def test_a_holder_that_gives_no_sign_of_life_is_named() -> None:
    beat = Beat(4711, AT, AT, "1", True)
    assert silent_holder(beat, AT + timedelta(seconds=100)) == ""
    assert silent_holder(None, AT) == ""
    said = silent_holder(beat, AT + timedelta(minutes=20))
    assert "Process 4711" in said
    assert "20 min" in said
