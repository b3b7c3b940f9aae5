"""Files and folders that are not what they should be, and processes that are killed: said in a line, nothing lost."""

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import PROFILE, SIZE, Maker
from tests.hostile.conftest import Attack, check_said, facts_of

ROOT = Path(__file__).resolve().parents[2]
needs_posix = pytest.mark.skipif(os.name != "posix", reason="POSIX only")


def _run(home: str, *argv: str, **more: str) -> "subprocess.CompletedProcess[str]":
    kept = {key: value for key, value in os.environ.items() if key in {"PATH", "PYTHONPATH", "LANG"}}
    return subprocess.run(
        argv, capture_output=True, encoding="utf-8", env={**kept, "CURETRACK_HOME": home, **more}, cwd=ROOT,
        timeout=60, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("kind", ["garbage", "folder", "newer", "no format", "cut off"])
def test_a_ledger_that_is_none(maker: Maker, attack: Attack, kind: str) -> None:
    maker.pours()
    path = maker.home / "ledger.sqlite"
    if kind == "garbage":
        path.write_bytes(bytes(range(256)) * 20)
    elif kind == "folder":
        path.unlink()
        path.mkdir()
    elif kind == "cut off":
        path.write_bytes(path.read_bytes()[:9000])
    else:
        with sqlite3.connect(path) as connection:
            connection.execute(f"PRAGMA user_version = {99 if kind == 'newer' else 0}")
        connection.close()
    kept = path.read_bytes() if path.is_file() else b""
    for argv in (("today",), ("sheet", "bench"), ("temp", "14C"), ("done", "bench", "vibrate"), ("undo", "bench")):
        said = maker.says(*argv)
        check_said(said)
        assert said.code == 2, said
        assert str(path) in said.err
    assert (path.read_bytes() if path.is_file() else b"") == kept


@pytest.mark.parametrize(
    "text", ["crew = " + "9" * 5000, "a = " + "[" * 3000, 'timezone = "Mars/X"', "crew = nan", "crew=1\ncrew=2", "\0\0"]
)
def test_settings_that_are_damaged(maker: Maker, attack: Attack, text: str) -> None:
    maker.pours()
    (maker.home / "settings.toml").write_text(text + "\n", encoding="utf-8")
    for argv in (("today",), ("temp", "14C"), ("shop", "--set", "units=us")):
        said = attack(*argv)
        assert said.code == 2
        assert "settings.toml" in said.err
    assert (maker.home / "settings.toml").read_text(encoding="utf-8") == text + "\n"


@pytest.mark.parametrize(
    "text",
    ["", "\0", "format = " + "9" * 5000, "a = " + "[" * 3000, "a" + ".a" * 900 + " = 1", "[a" + ".a" * 900 + "]"],
)
def test_a_profile_that_is_none(attack: Attack, tmp_path: Path, text: str) -> None:
    path = tmp_path / "odd.toml"
    path.write_text(text + "\n", encoding="utf-8")
    for name in (str(path), str(tmp_path), str(tmp_path / "missing.toml")):
        assert attack("pour", "bench", "--profile", name, "--size", SIZE).code == 2
        assert attack("profiles", name).code == 2


@needs_posix
def test_a_profile_that_leads_to_itself(attack: Attack, tmp_path: Path) -> None:
    path = tmp_path / "loop.toml"
    path.symlink_to(path)
    assert attack("pour", "bench", "--profile", str(path), "--size", SIZE).code == 2
    assert attack("temp", "--from", str(path)).code == 2


@pytest.mark.parametrize("cell", ["x", "x,", "1,", '"'])
def test_a_logger_file_with_an_endless_line(attack: Attack, tmp_path: Path, cell: str) -> None:
    """Not looked at whole by every pattern for dates: 200 MB took minutes."""
    path = tmp_path / "endless.csv"
    path.write_text("time,temp_degC\n" + cell * 3_000_000, encoding="utf-8")
    said = attack("temp", "--from", str(path))
    assert said.code == 2
    assert len(said.err) < 600


@needs_posix
@pytest.mark.parametrize("home", ["~no-such-user-here/x", "/dev/null/x", "/proc/none"])
def test_a_home_that_cannot_be(home: str) -> None:
    said = _run(home, sys.executable, "-m", "curetrack", "temp", "14C")
    assert said.returncode == 2
    assert said.stderr.startswith("curetrack: ")
    assert said.stderr.count("\n") == 1


@needs_posix
def test_a_disk_without_room(tmp_path: Path) -> None:
    """A file may not grow beyond 8 blocks of 512 bytes: neither half a profile nor half a fact is left behind."""
    home, target = tmp_path / "home", tmp_path / "mine.toml"
    limited = 'ulimit -f 8; exec "$@"'
    for argv in (("profiles", "--copy", PROFILE, str(target)), ("temp", "14C")):
        said = _run(str(home), "sh", "-c", limited, "sh", sys.executable, "-B", "-m", "curetrack", *argv)
        assert said.returncode == 2, said
        assert said.stderr.startswith("curetrack: ")
        assert "Traceback" not in said.stderr
    assert not target.exists()
    said = _run(str(home), sys.executable, "-m", "curetrack", "temp", "14C", TZ="UTC")
    assert said.returncode == 0, said.stderr
    assert len(facts_of(home)[1]["reading"]) == 1


@needs_posix
def test_an_import_that_is_killed_while_it_writes(tmp_path: Path) -> None:
    """The process ends itself by SIGKILL at its second batch: all or nothing, and the next one succeeds."""
    home, path = tmp_path / "home", tmp_path / "logger.csv"
    rows = (f"2026-01-{1 + n // 1440:02d}T{n // 60 % 24:02d}:{n % 60:02d}:00Z,{10 + n % 7}\n" for n in range(43_000))
    path.write_text("time,temp_degC\n" + "".join(rows), encoding="utf-8")
    code = (
        "import os, signal, sys; from curetrack.ledger import readings; from curetrack.cli.main import main\n"
        "def stop(done, total): os.kill(os.getpid(), signal.SIGKILL) if done > 20_000 else None\n"
        "add = readings.add_rows\n"
        "from curetrack.ledger import writer\n"
        "writer.add_rows = lambda *a, **k: add(*a, **{**k, 'progress': stop})\n"
        "sys.exit(main(['temp', '--from', sys.argv[1]]))"
    )
    killed = _run(str(home), sys.executable, "-c", code, str(path), TZ="UTC")
    assert killed.returncode == -signal.SIGKILL, killed.stderr
    assert not facts_of(home)[1]["reading"]
    again = _run(str(home), sys.executable, "-m", "curetrack", "temp", "--from", str(path), TZ="UTC")
    assert again.returncode == 0, again.stderr
    assert len(facts_of(home)[1]["reading"]) == 43_000
