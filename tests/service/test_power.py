"""Whether a computer falls asleep by itself, from what each system says. The outputs are written for these tests by the
manuals of each program (logind.conf(5), systemd-sleep.conf(5), pmset(1), powercfg /?); from memory, no such system was
at hand but for a Debian 12 without a desktop.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest

from curetrack.service.power import Sleep, read_sleep, system_reads, system_runs, this_machine

MAC = """Battery Power:
 displaysleep         2
 sleep                1
AC Power:
 displaysleep         10
 sleep                {}
 womp                 1
"""
WINDOWS = """Subgroup GUID: 238c9fa8-0aad-41ed-83f4-97be242c8f20  (Sleep)
    Power Setting GUID: 29f6c1db-86da-48c5-9fdb-f2b67b1f44da  (Sleep after)
      Minimum Possible Setting: 0x00000000
      Maximum Possible Setting: 0xffffffff
      Possible Settings increment: 0x00000001
    Current AC Power Setting Index: {}
    Current DC Power Setting Index: 0x00000384
"""
LOGIND, SLEEP = "/etc/systemd/logind.conf", "/etc/systemd/sleep.conf"
LID = {"/proc/acpi/button/lid": ""}
NOTHING = {"sleep-inactive-ac-type": "'nothing'\n"}


def linux(files: Mapping[str, str], said: Mapping[str, str] | None = None) -> Sleep:
    """`said` by the last word of what is run."""
    return read_sleep("linux", files.get, lambda words: (said or {}).get(words[-1]))


def test_linux_with_a_lid() -> None:
    """IdleAction is ignore and HandleLidSwitch suspend by default (logind.conf(5)); comments do not count."""
    sleep = linux({LOGIND: "[Login]\n#IdleAction=suspend\n", **LID}, NOTHING)
    assert (sleep.text, sleep.remedy) == ("a closed lid puts it to sleep", "leave the lid open")


@pytest.mark.parametrize(("chassis", "lid"), [("10\n", True), ("3\n", False)])  # SMBIOS 7.4.1: notebook, desktop
def test_linux_kind_of_chassis(chassis: str, lid: bool) -> None:
    sleep = linux({LOGIND: "", "/sys/class/dmi/id/chassis_type": chassis}, NOTHING)
    assert ("lid" in sleep.text) is lid


def test_linux_without_a_lid_a_desktop_that_does_not_say() -> None:
    sleep = linux({LOGIND: "[Login]\n"})
    assert sleep.text.startswith("it stays awake, as far as can be read")
    assert sleep.remedy == ""


def test_linux_idle_and_lid_from_a_drop_in() -> None:
    files = {LOGIND: "[Login]\nIdleAction=ignore\n", **LID,
             LOGIND + ".d": "[Login]\nIdleAction=suspend\nIdleActionSec=20min\nHandleLidSwitch=ignore\n"}  # fmt: skip
    sleep = linux(files)
    assert sleep.text == "it sleeps when idle (20min)"
    assert "IdleAction=ignore" in sleep.remedy


def test_linux_systemd_knows_its_files_best() -> None:
    said = {"systemd/logind.conf": "# /usr/lib/systemd/logind.conf.d/50.conf\n[Login]\nIdleAction = hibernate\n"}
    assert linux({LOGIND: ""}, said).text == "it sleeps when idle (30min)"


def test_linux_an_empty_value_sets_back() -> None:
    """systemd.syntax(7): an empty assignment sets a key to its default."""
    assert "idle" not in linux({LOGIND: "IdleAction=suspend\nIdleAction=\n"}, NOTHING).text


@pytest.mark.parametrize("files", [{SLEEP: "[Sleep]\nAllowSuspend=no\n"}, {"/etc/systemd/system/sleep.target": ""}])
def test_linux_forbidden(files: dict[str, str]) -> None:
    """By systemd-sleep.conf(5), or masked (a link to /dev/null, that reads as nothing)."""
    sleep = linux({LOGIND: "IdleAction=suspend\n", **LID, **files}, {"sleep-inactive-ac-type": "'suspend'\n"})
    assert (sleep.text, sleep.remedy) == ("it stays awake: its settings forbid sleep", "")


def test_linux_the_desktop() -> None:
    said = {"sleep-inactive-ac-type": "'suspend'\n", "sleep-inactive-ac-timeout": "1200\n"}
    sleep = linux({LOGIND: ""}, said)
    assert sleep.text == "the desktop puts it to sleep after 20 min"
    assert "desktop's power settings" in sleep.remedy
    assert linux({LOGIND: ""}, NOTHING).text == "it stays awake"


@pytest.mark.parametrize(
    ("minutes", "text", "way"), [(0, "it stays awake", ""), (15, "it sleeps after 15 min", "pmset -c sleep 0")]
)
def test_mac(minutes: int, text: str, way: str) -> None:
    sleep = read_sleep("darwin", lambda _: None, lambda _: MAC.format(minutes))
    assert text in sleep.text
    assert way in sleep.remedy


def test_mac_without_a_battery() -> None:
    said = "AC Power:\n sleep                0\n Sleep On Power Button 1\n"
    assert read_sleep("darwin", lambda _: None, lambda _: said).text == "on mains power it stays awake"


@pytest.mark.parametrize(
    ("index", "text", "way"),
    [("0x00000000", "it stays awake", ""), ("0x00000708", "it sleeps after 30 min", "standby-timeout-ac 0")],
)
def test_windows(index: str, text: str, way: str) -> None:
    sleep = read_sleep("win32", lambda _: None, lambda _: WINDOWS.format(index))
    assert text in sleep.text
    assert way in sleep.remedy


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32", "sunos5"])
def test_what_cannot_be_read_is_not_guessed(platform: str) -> None:
    sleep = read_sleep(platform, lambda _: None, lambda _: None)
    assert not sleep.known
    assert "not readable" in sleep.text


@pytest.mark.parametrize("platform", ["darwin", "win32"])
def test_other_words_are_not_understood(platform: str) -> None:
    assert not read_sleep(platform, lambda _: None, lambda _: "something else").known


def test_files_and_folders(tmp_path: Path) -> None:
    (tmp_path / "20-b.conf").write_text("second")
    (tmp_path / "10-a.conf").write_text("first")
    (tmp_path / "10-a.conf.orig").write_text("other")
    assert system_reads(str(tmp_path)) == "first\nsecond"
    assert system_reads(str(tmp_path / "20-b.conf")) == "second"
    assert system_reads("/nowhere") is None


def test_this_machine_answers() -> None:
    assert this_machine().text
    assert system_runs(["/nowhere/program"]) is None
    assert system_runs(["false"]) is None
    assert system_runs(["echo", "said"]) == "said\n"
