"""Secrets: the passwords of the mail and of the to-do list, the web hook's address and token. In a file of their own
that its owner alone may read; never in the ledger, the settings, the log or an answer.
"""

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput, Faults, StoreTrouble
from curetrack.whole import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "FILE_NAME",
    "KEYS",
    "Credentials",
    "check_credential",
    "hide",
    "keep_credential",
    "open_to_others",
    "read_credentials",
]

FILE_NAME, LOCK_NAME = "secrets.toml", "secrets.lock"
KEYS = ("mail_password", "hook_url", "hook_token", "todo_password")
LONGEST = 2000
SHORTEST_HIDDEN = 4  # hiding a shorter one would garble every text, and guards nothing
SHORTEST_PATH = 12  # of an address: what opens a hook is long, and /hook is a common word


class Credentials(Struct, frozen=True):
    """Empty: not set."""

    mail_password: str = ""
    hook_url: str = ""
    hook_token: str = ""
    todo_password: str = ""

    @property
    def values(self) -> "Iterable[str]":
        """Those that are set."""
        return [value for key in KEYS if (value := getattr(self, key))]

    def __repr__(self) -> str:
        """Only which are set: a traceback, too, is a place where a secret can leak."""
        return f"Credentials({', '.join(key for key in KEYS if getattr(self, key))})"


def read_credentials(home: Path) -> Credentials:
    """What is kept; nothing where there is no file. Raises Faults and StoreTrouble, never with a value in the text."""
    return Credentials(**_checked(_found(home), home))


def check_credential(key: str, value: str) -> None:
    """Raises BadInput for a key that is none, or a value that cannot be kept."""
    if key not in KEYS:
        raise BadInput("no such secret", found=key[:40], remedy=f"use {', '.join(KEYS)}")
    if fault := _fault(key, value):
        raise BadInput(fault)


def keep_credential(home: Path, key: str, value: str) -> None:
    """Keeps one, or forgets it where `value` is empty: a new file beside the old, then renamed over it. One process at
    a time."""
    from curetrack.locking import waiting

    check_credential(key, value)
    _others(home, key)  # what is refused creates nothing, not even the lock
    with waiting(home / LOCK_NAME):
        values = {**_others(home, key), key: value}
        _replace(home, {name: values[name] for name in KEYS if values.get(name)})


def open_to_others(home: Path) -> bool:
    """Whether somebody but the owner may read the file."""
    try:
        return os.name == "posix" and bool((home / FILE_NAME).stat().st_mode & 0o077)
    except OSError:
        return False


def hide(text: str, credentials: Credentials) -> str:
    """The text with every secret blotted out, also as a traceback or an address spells it."""
    forms = {form for value in credentials.values for form in _forms(value)}
    for form in sorted(forms, key=len, reverse=True):
        if len(form) >= SHORTEST_HIDDEN:
            text = text.replace(form, "***")
    return text


def _forms(value: str) -> "Iterable[str]":
    """As it is, as Python shows it, as part of an address; of an address what follows the host, too."""
    from urllib.parse import quote

    yield from (value, repr(value)[1:-1], quote(value, safe=""))
    beyond = re.fullmatch(r"https?://[^/?#]+(.+)", value)
    if beyond is not None and len(beyond[1]) >= SHORTEST_PATH:
        yield from (beyond[1], repr(beyond[1])[1:-1])


def _fault(key: str, value: object) -> str:
    """What is wrong with it, never with the value; "": nothing."""
    if not isinstance(value, str):
        return f"{key} is no text; set it again with curetrack shop --secret {key}"
    if len(value) > LONGEST or not value.isprintable():
        return f"{key} is too long, or holds letters that cannot be; set it again"
    if key == "hook_url" and value and not _is_address(value):
        return "hook_url is no address; use one that begins with https:// and names a host, without a name before it"
    return ""


def _is_address(value: str) -> bool:
    from urllib.parse import urlsplit

    if not re.fullmatch(r"https?://[^/?#@\s\\]+([/?]\S*)?", value, re.IGNORECASE):
        return False
    try:
        parts = urlsplit(value)
        return bool(parts.hostname) and parts.port != 0  # a port that is no number raises here
    except ValueError:
        return False


def _found(home: Path) -> dict[str, object]:
    path = home / FILE_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise StoreTrouble(f"{path}: {getattr(error, 'strerror', None) or 'not UTF-8 text'}") from error
    import tomllib

    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError):
        raise BadInput("not TOML", where=str(path), remedy="remove it and set the secrets again") from None


def _others(home: Path, key: str) -> dict[str, str]:
    return _checked({name: kept for name, kept in _found(home).items() if name != key}, home)


def _checked(found: Mapping[str, object], home: Path) -> dict[str, str]:
    faults = [f"unknown secret {key[:40]}; use {', '.join(KEYS)}" for key in found if key not in KEYS]
    faults += [fault for key, value in found.items() if key in KEYS and (fault := _fault(key, value))]
    if faults:
        raise Faults(FILE_NAME, [f"{home / FILE_NAME}: {fault}" for fault in faults])
    return {key: value for key, value in found.items() if isinstance(value, str)}


def _replace(home: Path, values: Mapping[str, str]) -> None:
    import tomli_w

    path = home / FILE_NAME
    try:
        write_whole(path, tomli_w.dumps(values).encode(), private=True, synced=True)
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}; the secrets are as they were") from error
