"""What is kept between two syncs: which list, and what was last seen and written there. One file beside the ledger,
written beside and renamed over, so that a kill leaves the old one or the new one. It holds no secret.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
from msgspec import Struct

from curetrack.errors import StoreTrouble
from curetrack.locking import locked
from curetrack.phone.caldav.types import State
from curetrack.whole import write_whole

__all__ = ["FILE_NAME", "LOCK_NAME", "Kept", "forget", "keep", "kept", "only_one"]

FILE_NAME = "caldav.json"
LOCK_NAME = "caldav.lock"


class Kept(Struct, frozen=True):
    """A connected list. `address` is what the maker gave, `url` the list's own."""

    address: str
    user: str
    url: str
    name: str = ""
    state: State = State()


def kept(home: Path) -> Kept | None:
    """What is kept; None: no list is connected. Raises StoreTrouble."""
    path = home / FILE_NAME
    try:
        return msgspec.json.decode(path.read_bytes(), type=Kept)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}") from error
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise StoreTrouble(f"{path} cannot be read; remove it and connect the list anew, nothing is lost") from error


def keep(home: Path, what: Kept) -> None:
    """Keeps it, on disk when this returns. Raises StoreTrouble."""
    path = home / FILE_NAME
    try:
        write_whole(path, msgspec.json.encode(what), private=True, synced=True)
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}; what was synced is as it was") from error


def forget(home: Path) -> bool:
    """Disconnects; what is on the server stays there. Whether there was anything. Raises StoreTrouble."""
    try:
        (home / FILE_NAME).unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise StoreTrouble(f"{home / FILE_NAME}: {error.strerror or error}") from error
    return True


@contextmanager
def only_one(home: Path) -> Iterator[bool]:
    """Whether this is the only process that syncs this home, for as long as the block lasts.

    Raises StoreTrouble where that cannot be seen.
    """
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        file = (home / LOCK_NAME).open("ab")
    except OSError as error:
        raise StoreTrouble(f"{home / LOCK_NAME}: {error.strerror or error}") from error
    with file:
        try:
            alone = locked(file)
        except OSError as error:
            raise StoreTrouble(f"{home / LOCK_NAME} cannot be locked ({error.strerror or error})") from error
        yield alone
