"""The shop's settings: a small TOML file in the home folder, written whole or not at all.

A comment in the file is kept: only the lines of changed keys are replaced. Where that cannot be done (a value over
several lines), the file is written anew, the old one stays beside it as `settings.toml.bak`, and the file says so.
"""

import os
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING, Any, Literal

from msgspec import Struct

from curetrack.errors import BadInput, CuretrackError, Faults, StoreTrouble
from curetrack.settings_values import CHANNELS, HOURS, KEYS, MOST_CREW, from_text, known_zone, value_of

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "CHANNELS", "FILE_NAME", "KEYS", "MOST_CREW", "Settings", "changed", "read_settings", "readable_settings",
    "system_timezone", "write_settings",
]  # fmt: skip

FILE_NAME, LOCK_NAME = "settings.toml", "settings.lock"


class Settings(Struct, frozen=True):
    """What the maker has set, with every default filled in.

    timezone      IANA name; `timezone_from` says where it comes from: the file, the system, or assumed (UTC)
    units         metric or us
    quiet_hours   "22:00-06:30", local; "": none
    crew          people who can be called, the maker included, 1 to 20
    default_profile   "": none
    channels      "desktop,bell": which carry nudges, the first choice first; "": all that are set up
    mail_to, mail_from, mail_user, mail_server   "host:port"; the password is kept apart (credentials.py)
    mail_tls      require, offer (take it where it is offered), none
    watch_folder  a logger's files that appear in it are read; "": none
    export_folder   the calendar and the list are kept fresh in it, for any file sync; "": none
    hours         "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00", when the maker works; "": any time
    away, extra   days without work, and days with hours of their own; "": none
    crew_hours    when the crew can come, all together or each by name; "": whenever asked
    shared        "shelf form: shelf*; table form: table 1, table 2 (form..flip)", what pieces share; "": nothing
    """

    timezone: str = "UTC"
    units: Literal["metric", "us"] = "metric"
    quiet_hours: str = ""
    crew: int = 1
    default_profile: str = ""
    timezone_from: Literal["file", "system", "assumed"] = "assumed"
    channels: str = ""
    mail_to: str = ""
    mail_from: str = ""
    mail_server: str = ""
    mail_user: str = ""
    mail_tls: Literal["require", "offer", "none"] = "require"
    watch_folder: str = ""
    export_folder: str = ""
    hours: str = ""
    away: str = ""
    extra: str = ""
    crew_hours: str = ""
    shared: str = ""

    @property
    def zone(self) -> tzinfo:
        """The time zone."""
        from zoneinfo import ZoneInfo

        return ZoneInfo(self.timezone)


def system_timezone(environment: Mapping[str, str] | None = None, link: "str | Path" = "/etc/localtime") -> str:
    """The IANA name of the system's zone, by TZ, else by where /etc/localtime leads; "" if neither names one."""
    named = (os.environ if environment is None else environment).get("TZ", "").removeprefix(":")
    if named and known_zone(named):
        return named
    try:
        target = os.path.realpath(link)
    except OSError:
        return ""
    _, found, name = target.replace("\\", "/").partition("/zoneinfo/")
    name = re.sub("^(posix|right)/", "", name)
    return name if found and known_zone(name) else ""


def read_settings(home: "str | Path") -> Settings:
    """The settings of a home folder; defaults where there is no file. Nothing is created.

    Raises Faults for all that the file says wrongly, each with its line: values that cannot be, keys that are none,
    lines that contradict each other; BadInput for what is no TOML; StoreTrouble if it cannot be read.
    """
    path = os.path.join(home, FILE_NAME)  # noqa: PTH118 -- each command comes by here, and pathlib is slow to import
    text = _read(path)
    settings, faults = _read_values(_parsed(text, path), path, text)
    if faults:
        raise Faults(path, faults)
    return settings


def readable_settings(home: "str | Path") -> tuple[Settings, tuple[str, ...]]:
    """The same for who must go on whatever the file says, and what is wrong with it: a value that cannot be is left at
    its default, lines that contradict each other are taken as they stand. Raises nothing."""
    path = os.path.join(home, FILE_NAME)  # noqa: PTH118 -- as above
    try:
        text = _read(path)
        found = _parsed(text, path)
    except CuretrackError as error:
        return _read_values({}, path, "")[0], (str(error),)
    settings, faults = _read_values(found, path, text)
    return settings, tuple(faults)


def changed(pairs: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """The values that `pairs` of key and text set, checked one by one; all faults at once, in errors.Faults.

    An empty text sets what may be missing (quiet_hours, default_profile, mail ...) to none.
    """
    good, faults = _values({key: from_text(key, text) for key, text in pairs}, lambda _: "")
    if faults:
        raise Faults("settings", faults)
    return good


def write_settings(home: "Path", values: Mapping[str, Any]) -> None:
    """Sets these keys in the home's file: a new file beside it, synced, then renamed over it. One process at a time.

    Raises Faults if the file then says anything wrongly: what is not understood is not written again, and a line is not
    added to those that it contradicts. StoreTrouble where it cannot be written, or another process does not let go.
    """
    path = home / FILE_NAME
    from curetrack.locking import waiting

    _wanted(_read(path), values, path)  # what is refused creates nothing, not even the lock
    with waiting(home / LOCK_NAME):
        old = _read(path)  # anew: another may have written meanwhile
        wanted, new = _wanted(old, values, path), _edited(old, values)
        try:
            if _parsed_or_none(new) != wanted:
                path.with_name(FILE_NAME + ".bak").write_text(old, encoding="utf-8")
                new = f"# Written anew; the earlier file, with its comments, is {FILE_NAME}.bak\n" + _dumps(wanted)
            from curetrack.whole import write_whole

            write_whole(path, new.encode(), synced=True)
        except OSError as error:
            raise StoreTrouble(f"{path}: {error.strerror or error}; the settings are as they were") from error


# --- the values ----------------------------------------------------------------------------------------------------


def _read_values(
    found: Mapping[str, object], path: "str | Path", text: str, typed: Collection[str] = ()
) -> tuple[Settings, list[str]]:
    """Settings of a file's values, without those that cannot be; and all that is wrong, with where it stands. `typed`:
    keys that are not the file's."""

    def at(key: str) -> str:
        return "" if key in typed else ": ".join(part for part in (str(path), _line_of(key, text)) if part)

    good, faults = _values(found, at)
    if "timezone" in good:
        settings = Settings(**good, timezone_from="file")
    else:
        named = system_timezone()
        settings = Settings(**good, timezone=named or "UTC", timezone_from="system" if named else "assumed")
    if any(good.get(key) for key in HOURS):
        from curetrack.hours.together import faults_together

        faults += [_fault(at(key), error) for key, error in faults_together(settings)]
    return settings, faults


def _values(found: Mapping[str, object], at: Callable[[str], str]) -> tuple[dict[str, Any], list[str]]:
    """The values that can be, as they are kept, and what is wrong with the others."""
    good: dict[str, Any] = {}
    faults: list[str] = []
    for key, value in found.items():
        try:
            good[key] = value_of(key, value)
        except BadInput as error:
            faults += [_fault(at(key), each) for each in (error.faults if isinstance(error, Faults) else (error,))]
    return good, faults


def _wanted(old: str, values: Mapping[str, Any], path: "Path") -> dict[str, Any]:
    """What the file is to say. Raises Faults for what it would say wrongly."""
    wanted = {**_parsed(old, path), **values}
    _, faults = _read_values(wanted, path, old, typed=values)
    if faults:
        raise Faults(str(path), faults)
    return wanted


def _fault(place: str, said: object) -> str:
    return f"{place}: {said}" if place else str(said)


# --- the file ------------------------------------------------------------------------------------------------------


def _read(path: "str | Path") -> str:
    try:
        with open(path, encoding="utf-8-sig") as file:  # noqa: PTH123 -- as above
            return file.read()
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise BadInput("not UTF-8 text", where=str(path), remedy="save the file as UTF-8") from error
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}") from error


def _parsed(text: str, path: "str | Path") -> dict[str, Any]:
    simple = _simple(text)
    if simple is not None:
        return simple
    import tomllib

    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of more digits than Python reads
        raise BadInput(f"not TOML: {error}", where=str(path), remedy="mend that line or remove it") from error


def _simple(text: str) -> dict[str, Any] | None:
    """What the plainest TOML says: a key of ours, then a number or a quoted text without escapes, on each line; None
    for any other. Such is a file that nobody edited, and each command reads it: tomllib is slow to import."""
    found: dict[str, Any] = {}
    for raw in text.split("\n"):
        line = raw.strip(" ")
        if not line or (line[0] == "#" and line.isprintable()):
            continue
        key, _, value = (part.strip(" ") for part in line.partition("="))
        if key not in KEYS or key in found or not line.isprintable():
            return None
        if value.isascii() and value.isdigit() and len(value) < 6 and (value[0] != "0" or value == "0"):
            found[key] = int(value)
        elif len(value) >= 2 and value[0] == value[-1] == '"' and not {'"', "\\"} & set(value[1:-1]):
            found[key] = value[1:-1]
        else:
            return None
    return found


def _parsed_or_none(text: str) -> dict[str, Any] | None:
    import tomllib

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _line_pattern(key: str) -> re.Pattern[str]:
    return re.compile(rf"""^[ \t]*(?:{re.escape(key)}|"{re.escape(key)}"|'{re.escape(key)}')[ \t]*[=.].*$""", re.M)


def _line_of(key: str, text: str) -> str:
    found = _line_pattern(key).search(text) or re.search(rf"^[ \t]*\[+[ \t]*{re.escape(key)}", text, re.M)
    return f"line {text.count(chr(10), 0, found.start()) + 1}" if found else ""


def _edited(text: str, values: Mapping[str, Any]) -> str:
    """The text with the lines of these keys replaced, or added at the end."""
    for key, value in values.items():
        line = _dumps({key: value}).rstrip("\n")
        text, found = _line_pattern(key).subn(lambda _, line=line: line, text, count=1)  # type: ignore[misc]
        if not found:
            text = f"{text.rstrip()}\n{line}\n" if text.strip() else f"{line}\n"
    return text


def _dumps(values: Mapping[str, Any]) -> str:
    import tomli_w

    return tomli_w.dumps(values)
