"""The files that start the bench with the computer are what their systems take, and name the right command."""

import configparser
import plistlib
from pathlib import Path
from xml.etree import ElementTree

EXAMPLES = Path(__file__).parents[2] / "examples"
WORDS = ["bench", "--headless"]


def test_systemd() -> None:
    unit = configparser.ConfigParser(interpolation=None, strict=False)
    unit.optionxform = str  # type: ignore[assignment]  # keys keep their case
    unit.read_string((EXAMPLES / "curetrack.service").read_text())
    assert unit["Service"]["ExecStart"].split()[1:] == WORDS
    assert unit["Service"]["Restart"] == "on-failure"
    assert unit["Install"]["WantedBy"] == "default.target"


def test_launchd() -> None:
    agent = plistlib.loads((EXAMPLES / "curetrack.plist").read_bytes())
    assert agent["ProgramArguments"][1:] == WORDS
    assert agent["RunAtLoad"] is True


def test_windows() -> None:
    task = ElementTree.fromstring((EXAMPLES / "curetrack-task.xml").read_bytes())
    name = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"
    assert task.findtext(f"{name}Actions/{name}Exec/{name}Arguments") == " ".join(WORDS)
    assert task.findtext(f"{name}Settings/{name}ExecutionTimeLimit") == "PT0S"  # for ever, not three days
    assert task.findtext(f"{name}Settings/{name}StopIfGoingOnBatteries") == "false"


def test_the_page_names_each() -> None:
    page = (EXAMPLES / "bench.md").read_text()
    for name in ("curetrack.service", "curetrack.plist", "curetrack-task.xml"):
        assert f"({name})" in page
