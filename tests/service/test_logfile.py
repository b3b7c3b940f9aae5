"""The log: bounded, UTC, without secrets, and never a reason to stop."""

import logging
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from curetrack.credentials import Credentials
from curetrack.service.logfile import BYTES, FILE_NAME, FOLDER, KEPT, close_log, hide_also, open_log


@pytest.fixture(autouse=True)
def closed() -> Iterator[None]:
    yield
    close_log()


def _text(home: Path) -> str:
    return (home / FOLDER / FILE_NAME).read_text(encoding="utf-8")


def test_lines_have_the_time_in_utc(tmp_path: Path) -> None:
    log, trouble = open_log(tmp_path, Credentials())
    log.info("said %d", 1)
    assert trouble == ""
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ INFO said 1\n", _text(tmp_path))


def test_secrets_are_blotted_out_of_tracebacks_too(tmp_path: Path) -> None:
    log, _ = open_log(tmp_path, Credentials(mail_password="hunter2hunter2"))
    try:
        raise ValueError("hunter2hunter2 was refused")
    except ValueError:
        log.exception("a channel")
    hide_also(Credentials(hook_token="new-token-123"))  # set while it runs
    log.info("new-token-123 and hunter2hunter2")
    found = _text(tmp_path)
    assert "ValueError" in found
    assert "hunter2" not in found
    assert "new-token" not in found


def test_what_libraries_say_goes_there_too(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    open_log(tmp_path, Credentials())
    logging.getLogger("asyncio").error("Task exception was never retrieved")
    assert "never retrieved" in _text(tmp_path)
    assert capfd.readouterr().err == ""  # the dashboard is drawn there


def test_it_never_grows_without_end(tmp_path: Path) -> None:
    log, _ = open_log(tmp_path, Credentials())
    for number in range(40_000):
        log.info("%06d %s", number, "x" * 60)
    files = list((tmp_path / FOLDER).iterdir())
    assert len(files) == KEPT + 1
    assert all(file.stat().st_size <= BYTES for file in files)
    assert "039999" in _text(tmp_path)


@pytest.mark.parametrize("echo", [True, False])
def test_where_no_file_can_be_made_it_says_so(tmp_path: Path, capfd: pytest.CaptureFixture[str], echo: bool) -> None:
    (tmp_path / FOLDER).write_text("in the way")
    log, trouble = open_log(tmp_path, Credentials(), echo=echo)
    assert trouble.startswith("There is no log: ")
    log.error("something")
    assert ("something" in capfd.readouterr().err) == echo


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a file that refuses every write is Linux's")
def test_a_full_disk_stops_nothing(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (tmp_path / FOLDER).mkdir()
    (tmp_path / FOLDER / FILE_NAME).symlink_to("/dev/full")
    log, _ = open_log(tmp_path, Credentials())
    log.error("lost")
    close_log()
    assert capfd.readouterr().err == ""
