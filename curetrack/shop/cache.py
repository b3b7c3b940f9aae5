"""Compiled profiles, kept beside the ledger: reading one back takes a tenth of compiling its snapshot anew.

The folder `cache` may be thrown away at any time. A file in it that is missing, damaged, of another version, or that
cannot be read is as good as none, and what cannot be written is not kept; neither is ever said.

Each file is one line that tells what it is, the check sum included, and the profile in MessagePack. A profile follows
from its snapshot and from the code that compiles it: the line names both, the code by curetrack's version and by size
and time of its source files.
"""

import os
from binascii import crc32
from functools import cache
from typing import TYPE_CHECKING, Any

import msgspec

from curetrack import __version__
from curetrack.errors import CuretrackError
from curetrack.profile.types import If, Profile, Step

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FOLDER", "fetch", "keep"]

FOLDER = "cache"
_COMPILERS = ("concrete", "profile", "units")  # the parts of curetrack that a compiled profile depends on

# Paths are text here, as in the ledger: each command comes by, and pathlib is slow to import.


def fetch(home: "str | Path", sha: str, profile_id: str) -> Profile | None:
    """The compiled profile of a snapshot; None if it is not kept, or not by this very code."""
    try:
        with open(_file(home, sha), "rb") as file:  # noqa: PTH123
            head, _, body = file.read().partition(b"\n")
        if head != _head(sha, body):
            return None
        profile = _restored(msgspec.msgpack.decode(body, type=Profile))
    except (OSError, ValueError, LookupError, CuretrackError):  # msgspec's own errors are ValueErrors
        return None
    return profile if profile.id == profile_id else None


def keep(home: "str | Path", sha: str, profile: Profile) -> None:
    """Keeps a compiled profile if the home folder is there and may be written: whole, or not at all."""
    if not os.path.isdir(home):  # noqa: PTH112
        return
    path = _file(home, sha)
    beside = f"{path}.{os.getpid()}.new"
    try:
        body = msgspec.msgpack.encode(profile)
        os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)  # noqa: PTH103, PTH120
        with open(beside, "wb") as file:  # noqa: PTH123
            file.write(_head(sha, body) + b"\n" + body)
        os.replace(beside, path)  # noqa: PTH105
    except OSError:
        _remove(beside)


def _file(home: "str | Path", sha: str) -> str:
    return os.path.join(home, FOLDER, f"profile-{sha}")  # noqa: PTH118


def _head(sha: str, body: bytes) -> bytes:
    return f"curetrack {__version__} {_code()} {sha} {crc32(body):08x}".encode()


@cache
def _code() -> str:
    """The state of the code that compiles profiles. Raises OSError where its files cannot be looked at."""
    package = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100, PTH120
    state = [
        (entry.name, status.st_size, status.st_mtime_ns)
        for part in _COMPILERS
        for entry in os.scandir(f"{package}/{part}")
        if entry.name.endswith(".py")
        for status in (entry.stat(),)
    ]
    return f"{crc32(repr(sorted(state)).encode()):08x}"


def _restored(profile: Profile) -> Profile:
    """The cases of a step hold values of its fields, which only the fields' types can tell."""
    if not any(step.ifs for step in profile.steps):
        return profile
    steps = [
        msgspec.structs.replace(step, ifs=tuple(map(_case, step.ifs))) if step.ifs else step for step in profile.steps
    ]
    return msgspec.structs.replace(profile, steps=tuple(steps))


def _case(case: If) -> If:
    return msgspec.structs.replace(case, changes=tuple((name, _value(name, value)) for name, value in case.changes))


def _value(name: str, value: object) -> Any:
    return msgspec.convert(value, Step.__annotations__[name])


def _remove(path: str) -> None:
    try:
        os.unlink(path)  # noqa: PTH108
    except OSError:
        return
