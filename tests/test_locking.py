"""A lock on an open file. That it ends with its process is shown in tests/service/test_lease.py."""

import errno
import sys
from pathlib import Path

import pytest

from curetrack.locking import locked


def test_one_has_it_until_the_file_is_closed(tmp_path: Path) -> None:
    with (tmp_path / "lock").open("a+b") as first, (tmp_path / "lock").open("a+b") as second:
        assert locked(first)
        assert not locked(second)
        first.close()
        assert locked(second)


@pytest.mark.skipif(sys.platform == "win32", reason="the lock of the others")
def test_where_nothing_can_be_locked_it_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a network folder without locks."""

    def refuses(_file: int, _how: int) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr("fcntl.flock", refuses)
    with (tmp_path / "lock").open("a+b") as file, pytest.raises(OSError, match="No locks available"):
        locked(file)
