"""The shop's settings: a small TOML file in the home folder, written whole or not at all.

A comment in the file is kept: only the lines of changed keys are replaced. Where that cannot be done (a value over
several lines), the file is written anew, the old one stays beside it as `settings.toml.bak`, and the file says so.
"""

import os
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING, Any, Literal

from msgspec import Struct

from curetrack.errors import BadInput, Faults, StoreTrouble

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FILE_NAME", "KEYS", "Settings", "changed", "read_settings", "system_timezone", "write_settings"]

FILE_NAME = "settings.toml"
KEYS = (
    "timezone", "units", "quiet_hours", "crew", "default_profile", "channels", "mail_to", "mail_from", "mail_server",
    "mail_user", "mail_tls", "watch_folder", "export_folder", "hours", "away", "extra", "crew_hours",
    "shared",
)  # fmt: skip
HOURS = ("hours", "away", "extra", "crew_hours", "shared")  # one line each (hours/text.py, hours/shared.py)
CHANNELS = ("desktop", "hook", "mail", "bell")  # a bell always rings, but nobody may hear it: it comes last
MAIL_PORT = 587  # submission (RFC 6409)
MOST_CREW = 20


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
    if named and _known_zone(named):
        return named
    try:
        target = os.path.realpath(link)
    except OSError:
        return ""
    _, found, name = target.replace("\\", "/").partition("/zoneinfo/")
    name = re.sub("^(posix|right)/", "", name)
    return name if found and _known_zone(name) else ""


def read_settings(home: "str | Path") -> Settings:
    """The settings of a home folder; defaults where there is no file. Nothing is created.

    Raises Faults for what the file says wrongly, each with its line; StoreTrouble if it cannot be read.
    """
    path = os.path.join(home, FILE_NAME)  # noqa: PTH118 -- each command comes by here, and pathlib is slow to import
    found = _parsed(_read(path), path)
    settings = _checked(found, path, lambda key: _line_of(key, path))
    if "timezone" in found:
        return settings
    named = system_timezone()
    return _with(settings, timezone=named or "UTC", timezone_from="system" if named else "assumed")


def changed(pairs: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """The values that `pairs` of key and text set, checked; all faults at once, in errors.Faults.

    An empty text sets what may be missing (quiet_hours, default_profile, mail ...) to none.
    """
    checked = _checked({key: _from_text(key, text) for key, text in pairs}, "")
    return {key: getattr(checked, key) for key, _ in pairs}


def write_settings(home: "Path", values: Mapping[str, Any]) -> None:
    """Sets these keys in the home's file: a new file beside it, synced, then renamed over it.

    Raises Faults if the file says anything else wrongly: what is not understood is not written again.
    """
    path = home / FILE_NAME
    old = _read(path)
    found = _parsed(old, path)
    kept = {key: value for key, value in found.items() if key not in values}
    _checked(kept, str(path), lambda key: _line_of(key, path))
    wanted = {**found, **values}
    if any(key in HOURS or key in ("quiet_hours", "timezone") for key in values):
        from curetrack.hours.rota import check_together

        check_together(_checked(wanted, str(path)))
    new = _edited(old, values)
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        if _parsed_or_none(new) != wanted:
            path.with_name(FILE_NAME + ".bak").write_text(old, encoding="utf-8")
            new = f"# Written anew; the earlier file, with its comments, is {FILE_NAME}.bak\n" + _dumps(wanted)
        from curetrack.whole import write_whole

        write_whole(path, new.encode(), synced=True)
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}; the settings are as they were") from error


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


def _line_of(key: str, path: "str | Path") -> str:
    text = _read(path)
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


# --- the values ----------------------------------------------------------------------------------------------------


def _checked(found: Mapping[str, object], where: str, line_of: Callable[[str], str] = lambda _: "") -> Settings:
    """Settings of raw values; Faults lists all that is wrong, each with where it stands."""
    faults: list[str] = []
    good: dict[str, Any] = {}
    for key, value in found.items():
        try:
            good[key] = _value(key, value)
        except BadInput as error:
            said = error.faults if isinstance(error, Faults) else (str(error),)
            faults += [": ".join(part for part in (where, line_of(key), fault) if part) for fault in said]
    if faults:
        raise Faults(where or "settings", faults)
    if "timezone" in good:
        good["timezone_from"] = "file"
    return Settings(**good)


def _value(key: str, value: object) -> object:
    match key:
        case "timezone":
            return _timezone(value)
        case "units":
            if value in ("metric", "us"):
                return value
            raise BadInput("units are not known", found=value, remedy="use metric or us")
        case "quiet_hours":
            return _quiet_hours(value)
        case "crew":
            if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_CREW:
                return value
            raise BadInput("crew is not a number of people", found=value, remedy=f"use 1 to {MOST_CREW}")
        case "default_profile":
            if isinstance(value, str) and len(value) <= 1000 and value.isprintable():
                return value.strip()
            raise BadInput("default_profile is no name", found=value, remedy="use a profile's name or a file")
        case "channels":
            return _channels(value)
        case "mail_to" | "mail_from":
            return _address(key, value)
        case "mail_server":
            return _server(value)
        case "mail_tls":
            if value in ("require", "offer", "none"):
                return value
            raise BadInput("mail_tls is not known", found=value, remedy="use require, offer or none")
        case "hours" | "away" | "extra" | "crew_hours" | "shared":
            return _hours(key, value)
        case "mail_user" | "watch_folder" | "export_folder":
            if isinstance(value, str) and len(value) <= 1000 and value.isprintable():
                return value.strip()
            raise BadInput(f"{key} is no plain text", found=value)
    raise BadInput("unknown setting", found=key[:60], remedy="use " + ", ".join(KEYS))


def _from_text(key: str, text: str) -> object:
    text = text.strip()
    return int(text) if key == "crew" and text.isascii() and text.isdigit() and len(text) < 6 else text


def _timezone(value: object) -> str:
    if isinstance(value, str) and _known_zone(value):
        return value
    raise BadInput("no such time zone", found=value, remedy=_near_zones(str(value)))


def _known_zone(name: str) -> bool:
    from zoneinfo import ZoneInfo

    if not name or len(name) > 60 or name.startswith(("/", ".")) or name == "localtime":
        return False
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _near_zones(name: str) -> str:
    from difflib import get_close_matches
    from zoneinfo import available_timezones

    by_fold: dict[str, str] = {}
    for zone in sorted(available_timezones()):
        by_fold.setdefault(zone.casefold(), zone)
        by_fold.setdefault(zone.rpartition("/")[2].casefold(), zone)
    near = get_close_matches(name.casefold().replace(" ", "_"), by_fold, n=3, cutoff=0.7)
    return "did you mean " + " or ".join(dict.fromkeys(by_fold[n] for n in near)) + "?" if near else (
        "use a name like Europe/Berlin or America/New_York"
    )  # fmt: skip


def _quiet_hours(value: object) -> str:
    text = value.strip() if isinstance(value, str) else None
    if text in ("", "none"):
        return ""
    clock = r"(\d{1,2}):(\d{2})"
    found = re.fullmatch(rf"{clock}\s*[-–]\s*{clock}", text or "")
    numbers = [int(part) for part in found.groups()] if found else [99]
    if not found or numbers[0] > 23 or numbers[2] > 23 or numbers[1] > 59 or numbers[3] > 59:
        raise BadInput("quiet_hours are not two times", found=value, remedy="use 22:00-06:30, or nothing for none")
    if numbers[:2] == numbers[2:]:
        raise BadInput("quiet_hours begin when they end", found=value, remedy="use 22:00-06:30, or nothing for none")
    return f"{numbers[0]:02d}:{numbers[1]:02d}-{numbers[2]:02d}:{numbers[3]:02d}"


def _hours(key: str, value: object) -> str:
    """As it is kept: spelled one way. Empty or "none" sets none."""
    from curetrack.hours import text as hours
    from curetrack.hours.shared import read_shared

    if not isinstance(value, str):
        raise BadInput(f"{key} is no text", found=value)
    if value.strip() in ("", "none"):
        return ""
    readers: dict[str, Callable[[str], tuple[object, str]]] = {
        "hours": hours.read_hours, "away": hours.read_away, "extra": hours.read_extra, "crew_hours": hours.read_crew,
        "shared": read_shared,
    }  # fmt: skip
    return readers[key](value)[1]


def _channels(value: object) -> str:
    names = [name.strip() for name in value.split(",")] if isinstance(value, str) and value.strip() else []
    if isinstance(value, str) and len(set(names)) == len(names) and set(names) <= set(CHANNELS):
        return ",".join(names)
    raise BadInput("channels are not known", found=value, remedy=f"use some of {','.join(CHANNELS)}, each once")


def _address(key: str, value: object) -> str:
    """One plain address, or none: no display name, no list, nothing that could break a header."""
    text = value.strip() if isinstance(value, str) else None
    if text == "":
        return text
    if text and text.isprintable() and re.fullmatch(r"[^@\s,;<>\"\\]{1,64}@[^@\s,;<>\"\\]{1,190}", text):
        return text
    raise BadInput(f"{key} is no mail address", found=value, remedy="use one like maker@example.org")


def _server(value: object) -> str:
    text = value.strip() if isinstance(value, str) else None
    if text == "":
        return ""
    found = re.fullmatch(r"([A-Za-z0-9.-]{1,200}|\[[0-9a-fA-F:.]{2,50}\])(?::(\d{1,5}))?", text or "")
    port = int(found[2] or MAIL_PORT) if found else 0
    if found is None or not 0 < port < 65536:
        raise BadInput("mail_server is no host and port", found=value, remedy="use one like mail.example.org:587")
    return f"{found[1]}:{port}"


def _with(settings: Settings, **changes: object) -> Settings:
    from msgspec.structs import replace

    return replace(settings, **changes)
