"""Does this computer fall asleep by itself? Where the system says so in a way that can be read, it is told.

Only read, never set: how a computer sleeps is its owner's choice. The parsers are pure; what they are fed with comes
through two small functions, so that each system's answer can be tested on any other.
"""

import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from msgspec import Struct

__all__ = ["Sleep", "read_sleep", "system_reads", "system_runs", "this_machine"]

Reads = Callable[[str], str | None]  # a file's text, or of all *.conf of a folder in order; None: not there
Runs = Callable[[Sequence[str]], str | None]  # what a program says; None: it is not there, or failed

WHILE = "let it stay awake while pieces cure"
OTHERWISE = "or count on what was missed coming as one card when it wakes"
GNOME = "org.gnome.settings-daemon.plugins.power"
PORTABLE = {"8", "9", "10", "11", "14", "30", "31", "32"}  # kinds of chassis (SMBIOS 3, 7.4.1): those with a lid


class Sleep(Struct, frozen=True):
    """What is known, in words; `known` False: nothing could be read."""

    text: str
    remedy: str = ""
    known: bool = True


def read_sleep(platform: str, reads: Reads, runs: Runs) -> Sleep:
    """By system: `platform` as sys.platform has it."""
    if platform.startswith("linux"):
        return _linux(reads, runs)
    if platform == "darwin":
        return _mac(runs(["pmset", "-g", "custom"]))
    if platform == "win32":
        return _windows(runs(["powercfg", "/query", "SCHEME_CURRENT", "SUB_SLEEP", "STANDBYIDLE"]))
    return Sleep("not readable on this system", known=False)


# --- Linux: systemd, then the desktop -------------------------------------------------------------------------------


def _linux(reads: Reads, runs: Runs) -> Sleep:
    """What systemd does when nobody is at it, and when the lid is closed (logind.conf(5): IdleAction is ignore by
    default, HandleLidSwitch suspend), unless sleep is forbidden (systemd-sleep.conf(5), or its target masked); and
    what GNOME's power plug-in says of mains power."""
    logind, target = _configured("logind.conf", reads, runs), reads("/etc/systemd/system/sleep.target")
    desktop = runs(["gsettings", "get", GNOME, "sleep-inactive-ac-type"])
    if logind is None and desktop is None:
        return Sleep("not readable here", known=False)
    sleep = _assignments(_configured("sleep.conf", reads, runs) or "")
    if target == "" or sleep.get("AllowSuspend", "yes").casefold() in ("no", "false", "off", "0", "n", "f"):
        return Sleep("it stays awake: its settings forbid sleep")
    values = _assignments(logind or "")
    found, ways = [], []
    if values.get("IdleAction", "ignore") in (
        "suspend",
        "hibernate",
        "hybrid-sleep",
        "suspend-then-hibernate",
        "sleep",
    ):
        found.append(f"it sleeps when idle ({values.get('IdleActionSec', '30min')})")
        ways.append("IdleAction=ignore in logind.conf")
    if desktop is not None and ("suspend" in desktop or "hibernate" in desktop):
        after = (runs(["gsettings", "get", GNOME, "sleep-inactive-ac-timeout"]) or "").rpartition(" ")[2].strip()
        minutes = int(after) // 60 if after.isdecimal() else 0
        found.append(f"the desktop puts it to sleep{f' after {minutes} min' if minutes else ''}")
        ways.append("the desktop's power settings")
    if values.get("HandleLidSwitch", "suspend") != "ignore" and _has_lid(reads):
        found.append("a closed lid puts it to sleep")
    if not found:
        unread = "" if desktop is not None else ", as far as can be read: a desktop may have settings of its own"
        return Sleep(f"it stays awake{unread}")
    return Sleep("; ".join(found), f"{WHILE} ({', '.join(ways)}), {OTHERWISE}" if ways else "leave the lid open")


def _configured(name: str, reads: Reads, runs: Runs) -> str | None:
    """One of systemd's files with all that adds to it, in the order in which it counts. Where systemd itself cannot be
    asked, what the computer's owner has written."""
    said = runs(["systemd-analyze", "cat-config", f"systemd/{name}"])
    if said is not None:
        return said
    texts = [reads(f"/etc/systemd/{name}"), reads(f"/etc/systemd/{name}.d")]
    there = [text for text in texts if text is not None]
    return "\n".join(there) if there else None


def _has_lid(reads: Reads) -> bool:
    return (
        reads("/proc/acpi/button/lid") is not None
        or (reads("/sys/class/dmi/id/chassis_type") or "").strip() in PORTABLE
    )


def _assignments(text: str) -> dict[str, str]:
    """KEY=VALUE of an ini file, the last of a key counts, an empty one sets it back; comments left out."""
    found = dict(re.findall(r"^[ \t]*([A-Za-z]+)[ \t]*=[ \t]*(\S*)[ \t]*$", text, re.M))
    return {key: value for key, value in found.items() if value}


# --- macOS and Windows ---------------------------------------------------------------------------------------------


def _mac(said: str | None) -> Sleep:
    """`pmset -g custom`: a section per power source, "sleep" in minutes, 0 for never."""
    if said is None:
        return Sleep("not readable here (pmset)", known=False)
    mains = said.partition("AC Power:")[2] or said
    found = re.search(r"^\s*sleep\s+(\d+)", mains, re.M)
    if found is None:
        return Sleep("not readable here (pmset says nothing of sleep)", known=False)
    minutes = int(found[1])
    if minutes == 0:
        return Sleep("on mains power it stays awake")
    return Sleep(f"on mains power it sleeps after {minutes} min", f"{WHILE} (sudo pmset -c sleep 0), {OTHERWISE}")


def _windows(said: str | None) -> Sleep:
    """`powercfg /query`: seconds in hex, 0 for never; the words around it are in the system's language."""
    if said is None:
        return Sleep("not readable here (powercfg)", known=False)
    found = re.findall(r":\s*0x([0-9a-fA-F]{8})\s*$", said, re.M)
    if len(found) < 2:  # the last two are mains power and battery
        return Sleep("not readable here (powercfg says something else)", known=False)
    seconds = int(found[-2], 16)
    if seconds == 0:
        return Sleep("on mains power it stays awake")
    way = "powercfg /change standby-timeout-ac 0"
    return Sleep(f"on mains power it sleeps after {seconds // 60} min", f"{WHILE} ({way}), {OTHERWISE}")


# --- this machine --------------------------------------------------------------------------------------------------


def system_reads(path: str) -> str | None:
    """A file's text; of a folder that of its *.conf files in order."""
    place = Path(path)
    try:
        if place.is_dir():
            return "\n".join(file.read_text(encoding="utf-8") for file in sorted(place.glob("*.conf")))
        return place.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def system_runs(words: Sequence[str]) -> str | None:
    """What a program says within three seconds."""
    try:
        done = subprocess.run(  # noqa: S603 -- words of our own
            list(words), capture_output=True, text=True, timeout=3.0, check=False, stdin=subprocess.DEVNULL
        )
    except (OSError, subprocess.TimeoutExpired, UnicodeDecodeError):
        return None
    return done.stdout if done.returncode == 0 else None


def this_machine() -> Sleep:
    """Of the computer this runs on."""
    return read_sleep(sys.platform, system_reads, system_runs)
