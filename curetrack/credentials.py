"""Secrets: the mail password, the web hook's address and token. In a file of their own that its owner alone may read;
never in the ledger, the settings, the log or an answer.
"""

import os
import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput, Faults, StoreTrouble

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["FILE_NAME", "KEYS", "Credentials", "hide", "keep_credential", "open_to_others", "read_credentials"]

FILE_NAME = "secrets.toml"
KEYS = ("mail_password", "hook_url", "hook_token")
LONGEST = 2000
SHORTEST_HIDDEN = 4  # hiding a shorter one would garble every text, and guards nothing


class Credentials(Struct, frozen=True):
    """Empty: not set."""

    mail_password: str = ""
    hook_url: str = ""
    hook_token: str = ""

    @property
    def values(self) -> "Iterable[str]":
        """Those that are set."""
        return [value for value in (self.mail_password, self.hook_url, self.hook_token) if value]

    def __repr__(self) -> str:
        """Only which are set: a traceback, too, is a place where a secret can leak."""
        return f"Credentials({', '.join(key for key in KEYS if getattr(self, key))})"


def read_credentials(home: Path) -> Credentials:
    """What is kept; nothing where there is no file. Raises Faults and StoreTrouble, never with a value in the text."""
    path = home / FILE_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Credentials()
    except (OSError, UnicodeDecodeError) as error:
        raise StoreTrouble(f"{path}: {getattr(error, 'strerror', None) or 'not UTF-8 text'}") from error
    import tomllib

    try:
        found = tomllib.loads(text)
    except (ValueError, RecursionError):
        raise BadInput("not TOML", where=str(path), remedy="remove it and set the secrets again") from None
    faults = [f"{path}: unknown secret {key[:40]}; use {', '.join(KEYS)}" for key in found.keys() - set(KEYS)]
    faults += [
        f"{path}: {key} is no text" for key, value in found.items() if key in KEYS and not isinstance(value, str)
    ]
    if faults:
        raise Faults(str(path), faults)
    return Credentials(**found)


def keep_credential(home: Path, key: str, value: str) -> None:
    """Keeps one, or forgets it where `value` is empty: a new file beside the old, then renamed over it."""
    if key not in KEYS:
        raise BadInput("no such secret", found=key[:40], remedy=f"use {', '.join(KEYS)}")
    if len(value) > LONGEST or not value.isprintable():
        raise BadInput(f"{key} is too long, or holds letters that cannot be", remedy="enter it again")
    if key == "hook_url" and value and not re.fullmatch(r"https?://[^/\s@]+(/\S*)?", value):
        raise BadInput("hook_url is no address", remedy="use one that begins with https:// and names a host")
    old = read_credentials(home)
    values = {name: value if name == key else getattr(old, name) for name in KEYS}
    _replace(home, {name: kept for name, kept in values.items() if kept})


def open_to_others(home: Path) -> bool:
    """Whether somebody but the owner may read the file."""
    try:
        return os.name == "posix" and bool((home / FILE_NAME).stat().st_mode & 0o077)
    except OSError:
        return False


def hide(text: str, credentials: Credentials) -> str:
    """The text with every secret blotted out."""
    for value in sorted(credentials.values, key=len, reverse=True):
        if len(value) >= SHORTEST_HIDDEN:
            text = text.replace(value, "***")
    return text


def _replace(home: Path, values: Mapping[str, str]) -> None:
    import tomli_w

    path, beside = home / FILE_NAME, home / f".{FILE_NAME}.{os.getpid()}.new"
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        with suppress(OSError):
            beside.unlink()
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
            file.write(tomli_w.dumps(values))
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}; the secrets are as they were") from error
    finally:
        with suppress(OSError):
            beside.unlink()
