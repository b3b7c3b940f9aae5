"""Whether a computer falls asleep by itself, from what each system says. The outputs are written for these tests by the
manuals of each program (logind.conf(5), pmset(1), powercfg /?); from memory, no such system was at hand.
"""

import pytest

from curetrack.service.power import read_sleep, system_reads, system_runs, this_machine

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


def linux(files: dict[str, str], said: dict[str, str] | None = None) -> str:
    sleep = read_sleep("linux", files.get, lambda words: (said or {}).get(words[-1]))
    return f"{sleep.text} | {'remedy' if sleep.remedy else ''}"


def test_linux_by_default_a_closed_lid_sleeps() -> None:
    assert linux({"/etc/systemd/logind.conf": "[Login]\n#IdleAction=suspend\n"}) == "a closed lid puts it to sleep | "


def test_linux_idle_and_lid_from_a_drop_in() -> None:
    files = {
        "/etc/systemd/logind.conf": "[Login]\nIdleAction=ignore\n",
        "/etc/systemd/logind.conf.d": "[Login]\nIdleAction=suspend\nIdleActionSec=20min\nHandleLidSwitch=ignore\n",
    }
    assert linux(files) == "it sleeps when idle (20min) | remedy"


def test_linux_the_desktop() -> None:
    said = {"sleep-inactive-ac-type": "'suspend'\n", "sleep-inactive-ac-timeout": "1200\n"}
    files = {"/etc/systemd/logind.conf": "HandleLidSwitch=ignore\n"}
    assert linux(files, said) == "the desktop puts it to sleep after 20 min | remedy"
    said = {"sleep-inactive-ac-type": "'nothing'\n"}
    assert linux(files, said) == "it stays awake | "


@pytest.mark.parametrize(("minutes", "text"), [(0, "it stays awake"), (15, "it sleeps after 15 min")])
def test_mac(minutes: int, text: str) -> None:
    assert text in read_sleep("darwin", lambda _: None, lambda _: MAC.format(minutes)).text


@pytest.mark.parametrize(
    ("index", "text"), [("0x00000000", "it stays awake"), ("0x00000708", "it sleeps after 30 min")]
)
def test_windows(index: str, text: str) -> None:
    assert text in read_sleep("win32", lambda _: None, lambda _: WINDOWS.format(index)).text


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32", "sunos5"])
def test_what_cannot_be_read_is_not_guessed(platform: str) -> None:
    sleep = read_sleep(platform, lambda _: None, lambda _: None)
    assert not sleep.known
    assert "not readable" in sleep.text


@pytest.mark.parametrize("platform", ["darwin", "win32"])
def test_other_words_are_not_understood(platform: str) -> None:
    assert not read_sleep(platform, lambda _: None, lambda _: "something else").known


def test_this_machine_answers() -> None:
    assert this_machine().text
    assert system_reads("/nowhere") is None
    assert system_runs(["/nowhere/program"]) is None
    assert system_runs(["false"]) is None
