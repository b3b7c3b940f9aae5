"""One of several processes nudges: a lock of the operating system, free when its holder is gone, however it went."""

import errno
import subprocess
import sys
from pathlib import Path

import pytest

from curetrack.service.lease import FILE_NAME, Lease

HOLDER = """
import sys, time
from pathlib import Path
from curetrack.service.lease import Lease
lease = Lease(Path(sys.argv[1]))
print(lease.take() and lease.held, flush=True)
time.sleep(60)
"""


def _holder(home: Path) -> "subprocess.Popen[str]":
    child = subprocess.Popen([sys.executable, "-c", HOLDER, str(home)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline().strip() == "True"
    return child


def test_one_holds_it_and_a_killed_one_leaves_it(tmp_path: Path) -> None:
    child = _holder(tmp_path)
    try:
        mine = Lease(tmp_path)
        assert not mine.take()
        assert not mine.held
        assert mine.trouble == ""
        assert mine.holder() == child.pid
    finally:
        child.kill()
        child.communicate()
    assert mine.take()
    assert mine.held
    mine.release()


def test_released_it_is_free_and_the_file_stays(tmp_path: Path) -> None:
    first, second = Lease(tmp_path / "new"), Lease(tmp_path / "new")
    assert first.take()
    assert first.take()  # once more is no harm
    assert not second.take()
    first.release()
    assert (tmp_path / "new" / FILE_NAME).exists()
    assert second.take()
    second.release()
    second.release()


def test_no_lock_at_all_counts_as_ours_and_says_so(tmp_path: Path) -> None:
    """Better that two nudge than none."""
    (tmp_path / "file").write_text("")
    lease = Lease(tmp_path / "file")  # no folder can be there
    assert lease.take()
    assert not lease.held
    assert "another process may nudge as well" in lease.trouble
    assert lease.holder() is None


def test_a_damaged_file_is_no_hindrance(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"\xff\xfe nonsense")
    lease = Lease(tmp_path)
    assert lease.holder() is None
    assert lease.take()
    assert lease.holder() is not None
    lease.release()


def test_a_disk_without_locks_counts_as_ours_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As some network folders are: that a lock cannot be had is not that another has it."""

    def no_locks(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr("fcntl.flock", no_locks)
    lease = Lease(tmp_path)
    assert lease.take()
    assert not lease.held
    assert "cannot be locked (No locks available)" in lease.trouble


def test_a_lock_on_a_file_that_was_removed_is_let_go(tmp_path: Path) -> None:
    """Another process would make the file anew, and both would nudge."""
    first, second = Lease(tmp_path), Lease(tmp_path)
    assert first.take()
    (tmp_path / FILE_NAME).unlink()
    assert second.take()
    first.check()
    assert not first.held
    assert not first.take()
    second.check()
    assert second.held
    second.release()
