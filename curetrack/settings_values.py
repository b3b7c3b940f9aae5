"""What each setting may be: from a value of the file, or a text that was typed, to what is kept."""

import re
from collections.abc import Callable

from curetrack.errors import BadInput

__all__ = ["CHANNELS", "HOURS", "KEYS", "MOST_CREW", "from_text", "known_zone", "value_of"]

KEYS = (
    "timezone", "units", "quiet_hours", "crew", "default_profile", "channels", "mail_to", "mail_from", "mail_server",
    "mail_user", "mail_tls", "watch_folder", "export_folder", "hours", "away", "extra", "crew_hours",
    "shared",
)  # fmt: skip
HOURS = ("hours", "away", "extra", "crew_hours", "quiet_hours")  # these must go together (hours/together.py)
MAY_BE_NONE = (
    *HOURS, "shared", "default_profile", "mail_to", "mail_from", "mail_server", "mail_user", "watch_folder",
    "export_folder",
)  # fmt: skip
CHANNELS = ("desktop", "hook", "mail", "bell")  # a bell always rings, but nobody may hear it: it comes last
MAIL_PORT = 587  # submission (RFC 6409)
MOST_CREW = 20
LEAST_LOUD_min = 60  # so much of a day quiet hours must leave (judgement)


def value_of(key: str, value: object) -> object:
    """As it is kept. Raises BadInput: a value that cannot be, or no setting."""
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
            raise BadInput(
                "crew is not a number of people", found=value, remedy=f"use 1 to {MOST_CREW}; 1 is you alone"
            )
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
    raise BadInput("unknown setting", found=key[:60], remedy=_near_keys(key))


def _near_keys(key: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key[:60].casefold(), KEYS, n=1, cutoff=0.7)
    return f"did you mean {near[0]}?" if near else "use " + ", ".join(KEYS)


def from_text(key: str, text: str) -> object:
    """What a file would hold for a typed text; "none" is an empty one where there may be none, and so are hours at "any
    time", as they are shown."""
    text = text.strip()
    if (text.casefold() == "none" and key in MAY_BE_NONE) or (text.casefold() == "any time" and key == "hours"):
        return ""
    return int(text) if key == "crew" and text.isascii() and text.isdigit() and len(text) < 6 else text


def _timezone(value: object) -> str:
    if isinstance(value, str) and known_zone(value):
        return value
    raise BadInput("no such time zone", found=value, remedy=_near_zones(str(value)))


def known_zone(name: str) -> bool:
    """Whether it is an IANA name that is known here."""
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
    start, end = numbers[0] * 60 + numbers[1], numbers[2] * 60 + numbers[3]
    if (start - end) % 1440 < LEAST_LOUD_min:
        what = "quiet_hours leave less than an hour of the day, so nothing loud can ever be done"
        raise BadInput(what, found=value, remedy="use 22:00-06:30, or nothing for none")
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
    label = "[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
    found = re.fullmatch(
        rf"(?=.{{1,210}}$)({label}(?:\.{label})*|\[[0-9a-fA-F:.]{{2,50}}\])(?::(\d{{1,5}}))?", text or ""
    )
    port = int(found[2] or MAIL_PORT) if found else 0
    if found is None or not 0 < port < 65536:
        raise BadInput("mail_server is no host and port", found=value, remedy="use one like mail.example.org:587")
    return f"{found[1]}:{port}"
