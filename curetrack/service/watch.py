"""A folder in which a logger leaves its files: each is read when it has come to rest, and again when it has grown."""

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from curetrack.errors import CuretrackError, StoreTrouble
from curetrack.service.stamps import Stamp, stamp
from curetrack.shop import Shop
from curetrack.shop.intake import FILE_NAME as ANSWERS

__all__ = ["WatchedFolder"]

SUFFIXES = (".csv", ".txt", ".tsv")
MOST_BYTES = 10_000_000  # some 300,000 rows; reading more would hold up everything else for too long


class WatchedFolder:
    """`look` is called now and then; it says how many readings have come in. Reading a file again adds nothing, so
    nothing about it need be remembered beyond this process."""

    def __init__(self, shop: Shop, now: Callable[[], datetime], said: Callable[[str], None]) -> None:
        self._shop, self._now, self._say = shop, now, said
        self._seen: dict[str, Stamp] = {}
        self._taken: dict[str, Stamp] = {}
        self._troubles: dict[str, str] = {}
        self._asked: set[str] = set()
        self._answers: Stamp | None = None

    @property
    def troubles(self) -> tuple[str, ...]:
        """What could not be read, and why."""
        return tuple(self._troubles.values())

    def look(self, folder: str) -> int:
        """One round. A file counts as at rest when nothing about it has changed since the last round."""
        if not folder:
            self._troubles.clear()
            return 0
        try:
            found = _files(Path(folder).expanduser())
        except (OSError, RuntimeError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            self._troubles = {"": f"The watched folder {folder} cannot be read: {reason}."}
            return 0
        self._troubles = {path: text for path, text in self._troubles.items() if path in found}
        self._ask_again()
        added = 0
        for path, now in found.items():
            at_rest = self._seen.get(path) == now
            self._seen[path] = now
            if at_rest and self._taken.get(path) != now:
                self._taken[path] = now
                added += self._take(path)
        return added

    def _ask_again(self) -> None:
        """Something was answered for a logger by hand: that may answer other files as well."""
        answers = stamp(self._shop.home / ANSWERS)
        if answers != self._answers:
            self._answers = answers
            for path in self._asked:
                self._taken.pop(path, None)
            self._asked.clear()

    def _take(self, path: str) -> int:
        name = os.path.basename(path)  # noqa: PTH119 -- a name for people
        try:
            taken = self._shop.take_file(Path(path).read_bytes(), where=name, now=self._now(), source="logger")
        except CuretrackError as error:
            self._troubles[path] = f"{name} in the watched folder cannot be read: {error}"
            if isinstance(error, StoreTrouble):  # nothing is wrong with the file
                self._taken.pop(path, None)
            return 0
        except OSError as error:
            self._troubles[path] = f"{name} in the watched folder cannot be read: {error.strerror or error}."
            self._taken.pop(path, None)
            return 0
        if taken.questions:
            self._troubles[path] = f"{name} can be read in more than one way: {taken.questions[0].why} {taken.remedy}"
            self._asked.add(path)
            return 0
        self._troubles.pop(path, None)
        if taken.added:
            self._say(f"{name}: {taken.added} readings added")
        return taken.added


def _files(folder: Path) -> dict[str, Stamp]:
    found: dict[str, Stamp] = {}
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(".") or not entry.name.casefold().endswith(SUFFIXES) or not entry.is_file():
                continue
            about = entry.stat()
            if about.st_size <= MOST_BYTES:
                found[entry.path] = (about.st_mtime_ns, about.st_size)
    return found
