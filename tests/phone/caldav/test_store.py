"""What is kept between two syncs: whole, for its owner alone, by one process at a time."""

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace

from curetrack.errors import StoreTrouble
from curetrack.phone.caldav.store import FILE_NAME, Kept, forget, keep, kept, only_one
from curetrack.phone.caldav.types import Known, State, Texts, Theirs, Wanted

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
WANTED = Wanted("a", "p", "s", Texts("Ü", "1\n2"), T0, (T0,), "2", (T0,))
THEIRS = Theirs("a", "a.ics", '"1"', Texts("Ä"), T0)
KNOWN = Known("a", "a.ics", THEIRS, WANTED, 2, True, T0, "Too soon", T0, 7, replace(WANTED, done_at=T0))
STATE = State({"a": KNOWN})
KEPT = Kept("https://example.org/", "crew", "https://example.org/list/", "list", STATE)


def test_it_comes_back_the_same(tmp_path: Path) -> None:
    assert kept(tmp_path) is None
    keep(tmp_path / "new", KEPT)
    assert kept(tmp_path / "new") == KEPT
    assert (tmp_path / "new" / FILE_NAME).stat().st_mode & 0o777 == 0o600
    assert forget(tmp_path / "new")
    assert not forget(tmp_path / "new")


def test_a_write_that_fails_leaves_the_old_one_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(tmp_path, KEPT)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreTrouble, match="No space left"):
        keep(tmp_path, Kept("https://other.example/", "x", "y"))
    assert kept(tmp_path) == KEPT
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"address":1}', b"\xff\xfe"])
def test_a_broken_file_is_said_and_left(tmp_path: Path, body: bytes) -> None:
    (tmp_path / FILE_NAME).write_bytes(body)
    with pytest.raises(StoreTrouble, match="connect the list anew"):
        kept(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == body


def test_only_one_process_syncs(tmp_path: Path) -> None:
    with only_one(tmp_path) as first:
        assert first
        with only_one(tmp_path) as second:
            assert not second
    with only_one(tmp_path) as again:
        assert again
