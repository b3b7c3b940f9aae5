"""What was sent to calendars before, and with which number: RFC 5545 asks for a SEQUENCE that rises with each change
that matters, and for a cancellation of what is no more. Pure; the file is kept by who exports.

An entry that went out once is remembered: its uid is never used for anything else, and what has vanished is sent as
cancelled for thirty days. What was done long ago is no longer sent, and never cancelled: it did happen.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from curetrack.phone.entries import Entry

__all__ = ["CANCELLED_FOR", "Book", "Page", "book_from", "book_text", "revised"]

CANCELLED_FOR = timedelta(days=30)
DONE_FOR = timedelta(days=30)  # so long what was done stands in the calendar
SHIVER = timedelta(minutes=15)  # what moves by less has not moved: nobody plans finer, and each change is sent again
FORGOTTEN_AFTER = timedelta(days=730)


class Page(Struct, frozen=True):
    """One entry as it was sent last.

    sequence      how often something that matters has changed
    changed_at    when it last did
    cancelled_at  since when it is no more; None while it stands
    """

    entry: Entry
    sequence: int
    changed_at: datetime
    cancelled_at: datetime | None = None


class Book(Struct, frozen=True):
    """All that was sent, by uid."""

    pages: Mapping[str, Page] = {}

    def sent(self, now: datetime) -> list[Page]:
        """What is to be sent now, in order of time: what stands, and what was cancelled not long ago."""
        shown = [p for p in self.pages.values() if _recent(p, now, CANCELLED_FOR) and not _long_done(p, now)]
        return sorted(shown, key=lambda page: (page.entry.starts, page.entry.uid))


def revised(book: Book, entries: Iterable[Entry], now: datetime) -> Book:
    """The book with these entries: what is the same keeps its number, what changed gets the next, what is missing is
    cancelled, what comes again after that goes on counting. The same book where nothing changed."""
    standing = {entry.uid: entry for entry in entries}
    pages = {uid: page for uid, page in book.pages.items() if _recent(page, now, FORGOTTEN_AFTER)}
    for uid, entry in standing.items():
        page = pages.get(uid)
        if page is None:
            pages[uid] = Page(entry, 0, now)
        elif page.cancelled_at is not None or not _alike(page.entry, entry):
            pages[uid] = Page(entry, page.sequence + 1, now)
    for uid, page in pages.items():
        if uid not in standing and page.cancelled_at is None and not _long_done(page, now):
            pages[uid] = Page(page.entry, page.sequence + 1, now, cancelled_at=now)
    return book if pages == book.pages else Book(pages)


def book_text(book: Book) -> bytes:
    """The book as it is kept in a file."""
    return msgspec.json.encode(book)


def book_from(text: bytes) -> Book:
    """The book of a file; raises ValueError (msgspec's own are such) for what is none."""
    return msgspec.json.decode(text, type=Book)


def _alike(old: Entry, new: Entry) -> bool:
    """The same words, and no time that moved by more than a shiver. Measured against what was sent, so that many small
    moves add up; what a person said (a tick) counts to the second."""
    untimed = replace(old, starts=new.starts, ends=new.ends, alarms=new.alarms, times=new.times, times_text="")
    if untimed != replace(new, times_text="") or len(old.alarms) != len(new.alarms) or len(old.times) != len(new.times):
        return False
    if new.done:
        return old == new
    before, after = (old.starts, old.ends, *old.alarms, *old.times), (new.starts, new.ends, *new.alarms, *new.times)
    return all(abs(one - other) < SHIVER for one, other in zip(before, after, strict=True))


def _long_done(page: Page, now: datetime) -> bool:
    return page.entry.done and page.cancelled_at is None and now - page.entry.starts > DONE_FOR


def _recent(page: Page, now: datetime, within: timedelta) -> bool:
    return page.cancelled_at is None or now - page.cancelled_at < within
