"""Through a real process: what only a process can show. Everything else is tested in-process."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import PROFILE, SIZE

Environment = dict[str, str]


@pytest.fixture
def environment(tmp_path: Path) -> Environment:
    """A home of its own, and nothing of the terminal's."""
    kept = {key: value for key, value in os.environ.items() if key in ("PATH", "SYSTEMROOT", "PYTHONPATH", "LANG")}
    return {**kept, "CURETRACK_HOME": str(tmp_path / "home"), "TZ": "Europe/Berlin", "PYTHONIOENCODING": "utf-8"}


def _run(environment: Environment, *argv: str, **how: object) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "curetrack", *argv]
    root = Path(__file__).resolve().parents[2]
    return subprocess.run(  # type: ignore[call-overload,no-any-return]  # options of this test
        command, capture_output=True, encoding="utf-8", env=environment, cwd=root, timeout=60, check=False, **how
    )


def test_a_piece_from_the_pour_to_the_first_tick(environment: Environment) -> None:
    assert _run(environment, "temp", "20C", "--humidity", "50").returncode == 0
    poured = _run(environment, "pour", "bench", "--profile", PROFILE, "--size", SIZE)
    assert poured.returncode == 0, poured.stderr
    assert _run(environment, "done", "bench", "vibrate").returncode == 0
    said = _run(environment, "done", "bench", "strip")
    assert said.returncode == 1
    assert said.stderr.startswith("curetrack: bench, strip: waits for")
    steps = json.loads(_run(environment, "today", "--json").stdout)["steps"]
    assert steps[0]["step"] == "screed"


def test_today_in_json_imports_as_little_as_it_can(environment: Environment) -> None:
    """No rich, dateutil, platformdirs, importlib.metadata, logging, asyncio: each costs more than the answer."""
    _run(environment, "temp", "20C")
    _run(environment, "pour", "bench", "--profile", PROFILE, "--size", SIZE)
    code = (
        "import sys; from curetrack.cli.main import main; code = main(['today', '--json']); "
        "heavy = {'rich', 'dateutil', 'platformdirs', 'importlib.metadata', 'logging', 'asyncio', 'shutil', 'tomli_w'};"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr); sys.exit(code)"
    )
    root = Path(__file__).resolve().parents[2]
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, cwd=root, timeout=60, check=False
    )
    assert said.returncode == 0, said.stderr
    assert json.loads(said.stdout)["steps"]
    assert said.stderr.strip() == "[]"


def test_rich_is_left_alone_when_nobody_looks(environment: Environment) -> None:
    code = (
        "import sys; from curetrack.cli.main import main; main(['shop']); main(['profiles']); "
        "print('rich' in sys.modules, file=sys.stderr)"
    )
    root = Path(__file__).resolve().parents[2]
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, cwd=root, timeout=60, check=False
    )
    assert said.stderr.strip() == "False"


def test_a_reader_that_stops_early_is_no_error(environment: Environment) -> None:
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-m", "curetrack", "profiles", PROFILE]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment, cwd=root
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_an_output_that_is_full_is_said(environment: Environment) -> None:
    root = Path(__file__).resolve().parents[2]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        said = subprocess.run(
            [sys.executable, "-m", "curetrack", "profiles"],
            stdout=full, stderr=subprocess.PIPE, text=True, env=environment, cwd=root, timeout=60, check=False,
        )  # fmt: skip
    assert said.returncode == 2
    assert said.stderr.startswith("curetrack: cannot go on: No space left")
    assert "Traceback" not in said.stderr


@pytest.mark.skipif(os.name != "posix", reason="closing descriptors is POSIX")
def test_closed_standard_streams_bring_no_traceback(environment: Environment) -> None:
    root = Path(__file__).resolve().parents[2]
    for streams in ("0<&-", "1>&-", "2>&-", "0<&- 1>&- 2>&-"):
        said = subprocess.run(
            ["sh", "-c", f'exec "$0" -m curetrack today {streams}', sys.executable],
            capture_output=True, text=True, env=environment, cwd=root, timeout=60, check=False,
        )  # fmt: skip
        assert "Traceback" not in said.stderr, streams
        assert said.returncode in (0, 2), streams


@pytest.mark.skipif(os.name != "posix", reason="bytes as arguments are POSIX")
def test_an_argument_that_is_no_utf_8(environment: Environment) -> None:
    root = Path(__file__).resolve().parents[2]
    said = subprocess.run(
        [sys.executable.encode(), b"-m", b"curetrack", b"sheet", b"b\xffnch"],
        capture_output=True, env=environment, cwd=root, timeout=60, check=False,
    )  # fmt: skip
    assert said.returncode == 2
    assert b"not readable text" in said.stderr
    assert b"Traceback" not in said.stderr


def test_an_ascii_terminal_gets_ascii(environment: Environment) -> None:
    ascii_only = {**environment, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}
    _run(ascii_only, "temp", "20C")
    said = _run(ascii_only, "pour", "Kueche", "--profile", PROFILE, "--size", SIZE)
    assert said.returncode == 0, said.stderr
    assert said.stdout.isascii()
    assert "_ Vibrate" in said.stdout


def test_a_file_is_never_asked_about_without_a_terminal(environment: Environment, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("Datum;Temperatur (C)\n03/02/2026 18:00;12,5\n04/02/2026 18:00;11,0\n", encoding="utf-8")
    said = _run(environment, "temp", "--from", str(path), stdin=subprocess.DEVNULL)
    assert said.returncode == 2
    assert "--dates dmy" in said.stderr
    assert "--dates mdy" in said.stderr
