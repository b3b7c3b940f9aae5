"""The files that start the bench with the computer are what their systems take, and name the right command."""

import configparser
import os
import plistlib
import re
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
WORDS = ["bench", "--headless"]
UNIT = EXAMPLES / "curetrack.service"

# systemd.unit(5), systemd.service(5), systemd.exec(5): keys that a unit of ours may have; from memory, and where
# systemd is there it is asked itself
KEYS = {
    "Unit": {"Description", "Documentation", "After", "Wants"},
    "Service": {
        "Type", "ExecStart", "Environment", "Restart", "RestartSec", "TimeoutStopSec", "NoNewPrivileges",
    },
    "Install": {"WantedBy"},
}  # fmt: skip


def _unit() -> configparser.ConfigParser:
    unit = configparser.ConfigParser(interpolation=None, strict=True)
    unit.optionxform = str  # type: ignore[assignment]  # keys keep their case
    unit.read_string(UNIT.read_text(encoding="utf-8"))
    return unit


def test_systemd(tmp_path: Path) -> None:
    unit = _unit()
    assert unit["Service"]["ExecStart"].split()[1:] == WORDS
    assert unit["Service"]["Restart"] == "on-failure"
    assert unit["Install"]["WantedBy"] == "default.target"
    for name in unit.sections():
        assert set(unit[name]) <= KEYS[name]
    if shutil.which("systemd-analyze") is not None:
        _verify(tmp_path)


def _verify(tmp_path: Path) -> None:
    """systemd's own check: an unknown key is a warning on standard error, and else nothing is said."""
    command = Path(shutil.which("true") or "/bin/true")
    text = re.sub(r"^ExecStart=\S+", f"ExecStart={command}", UNIT.read_text(encoding="utf-8"), flags=re.M)
    tried = tmp_path / UNIT.name
    tried.write_text(text, encoding="utf-8")
    done = subprocess.run(
        ["systemd-analyze", "verify", "--user", str(tried)], capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, "XDG_RUNTIME_DIR": str(tmp_path), "HOME": str(tmp_path)},
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_launchd() -> None:
    """launchd.plist(5): the label is the file's name by custom, the program is an absolute path."""
    agent = plistlib.loads((EXAMPLES / "curetrack.plist").read_bytes())
    assert agent["Label"] == "org.curetrack.bench"
    assert Path(agent["ProgramArguments"][0]).is_absolute()
    assert agent["ProgramArguments"][1:] == WORDS
    assert agent["RunAtLoad"] is True
    assert agent["KeepAlive"] == {"SuccessfulExit": False}  # again after a crash, not after a clean end


def test_windows() -> None:
    task = ElementTree.fromstring((EXAMPLES / "curetrack-task.xml").read_bytes())
    name = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"
    assert task.tag == f"{name}Task"
    assert task.findtext(f"{name}Actions/{name}Exec/{name}Arguments") == " ".join(WORDS)
    assert task.findtext(f"{name}Settings/{name}ExecutionTimeLimit") == "PT0S"  # for ever, not three days
    assert task.findtext(f"{name}Settings/{name}DisallowStartIfOnBatteries") == "false"
    assert task.findtext(f"{name}Settings/{name}StopIfGoingOnBatteries") == "false"
    assert task.find(f"{name}Triggers/{name}LogonTrigger") is not None
    principals = {principal.get("id") for principal in task.iter(f"{name}Principal")}
    actions = task.find(f"{name}Actions")
    assert actions is not None
    assert actions.get("Context") in principals


@pytest.mark.parametrize("name", ["curetrack.service", "curetrack.plist", "curetrack-task.xml"])
def test_the_page_names_each(name: str) -> None:
    assert f"({name})" in (EXAMPLES / "bench.md").read_text(encoding="utf-8")


def test_the_page_names_the_agent_as_it_is_called() -> None:
    page = (EXAMPLES / "bench.md").read_text(encoding="utf-8")
    agent = plistlib.loads((EXAMPLES / "curetrack.plist").read_bytes())
    assert set(re.findall(r"org\.[a-z.]+?(?=\.plist|`)", page)) == {agent["Label"]}
