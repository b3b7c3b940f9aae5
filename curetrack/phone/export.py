"""A folder that any file sync carries: the calendar, and the list as a page and as Markdown, kept fresh.

Each file is written beside and renamed over, and only when its content has changed: a sync sees whole files, and few.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from curetrack.errors import StoreTrouble
from curetrack.phone.book import Book, book_from, book_text, revised
from curetrack.phone.entries import entries_of
from curetrack.phone.finished import finished_lately
from curetrack.phone.ics import ics_of
from curetrack.phone.lists import html_list, markdown_list
from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline
from curetrack.whole import write_whole
from curetrack.words.voice import Voice

__all__ = ["BOOK_NAME", "FILES", "Calendars", "export"]

BOOK_NAME = "calendar.json"
FILES = ("curetrack.ics", "curetrack.html", "curetrack.md")


class Calendars:
    """The calendar of a shop, with the book that remembers what was sent before. `keeps`: whether this process is the
    one that writes the book; another one sends what it would be now."""

    def __init__(self, shop: Shop, keeps: Callable[[], bool] = lambda: True) -> None:
        self._shop, self._path, self._keeps = shop, shop.home / BOOK_NAME, keeps
        self.trouble = ""

    def ics(self, timelines: Sequence[Timeline], voice: Voice) -> bytes:
        """The file as it is now. Where the book cannot be kept, `trouble` says so: numbers may then be given twice.
        Raises StoreTrouble where it cannot be read."""
        book = self._book()
        pieces = {piece.name: piece for piece in self._shop.pieces(View(voice.now), dropped=True)}
        names = {timeline.piece for timeline in timelines}
        timelines = [*timelines, *finished_lately(self._shop, names, voice.now)]
        entries = [e for t in timelines if t.piece in pieces for e in entries_of(pieces[t.piece], t, voice)]
        new = revised(book, entries, voice.now)
        if new is not book and self._keeps():
            try:
                write_whole(self._path, book_text(new))
                self.trouble = ""
            except OSError as error:
                self.trouble = f"{self._path}: {error.strerror or error}"
        return ics_of(new, voice.now)

    def _book(self) -> Book:
        try:
            return book_from(self._path.read_bytes())
        except FileNotFoundError:
            return Book()
        except OSError as error:  # it may be a passing one, and the numbers in it are wanted
            raise StoreTrouble(f"{self._path}: {error.strerror or error}") from error
        except ValueError:
            with suppress(OSError):  # kept for whoever wants to see what was wrong
                self._path.replace(self._path.with_suffix(".bad"))
            return Book()


def export(folder: Path, calendars: Calendars, timelines: Sequence[Timeline], voice: Voice) -> int:
    """Writes what has changed; how many files that were. Raises StoreTrouble."""
    made: dict[str, Callable[[], bytes]] = {
        FILES[0]: lambda: calendars.ics(timelines, voice),
        FILES[1]: lambda: html_list(timelines, voice).encode(),
        FILES[2]: lambda: markdown_list(timelines, voice).encode(),
    }
    written = 0
    for name, make in made.items():
        path = folder / name
        body = make()
        try:
            folder.mkdir(parents=True, exist_ok=True)
            if path.is_file() and _alike(path.read_bytes(), body):
                continue
            write_whole(path, body)
        except OSError as error:
            raise StoreTrouble(f"{path}: {error.strerror or error}; the export is as it was") from error
        written += 1
    return written


def _alike(old: bytes, new: bytes) -> bool:
    """But for the moment it was made."""
    return _timeless(old) == _timeless(new)


def _timeless(body: bytes) -> list[bytes]:
    head, made, tail = body.partition(b"Made ")
    return [head, tail.partition(b". Times may")[2]] if made else [body]
