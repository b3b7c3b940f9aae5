"""A book of entries as an iCalendar file (RFC 5545): UTC times, absolute alarms, cancelled entries said as such."""

from datetime import datetime, timedelta

from icalendar import Alarm, Calendar, Event

from curetrack import __version__
from curetrack.phone.book import Book, Page

__all__ = ["ics_of"]

REFRESH = timedelta(minutes=15)  # a wish: subscribed feeds are often asked for only once in 8 to 24 hours
NAME = "curetrack"


def ics_of(book: Book, now: datetime) -> bytes:
    """The file; the same book gives the same bytes, whenever it is asked for, until a cancellation has run out."""
    calendar = Calendar()
    calendar.add("prodid", f"-//curetrack//{__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", NAME)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for page in book.sent(now):
        calendar.add_component(_event(page))
    body: bytes = calendar.to_ical()
    return body


def _event(page: Page) -> Event:
    entry, event = page.entry, Event()
    event.add("uid", entry.uid)
    event.add("sequence", page.sequence)
    event.add("dtstamp", page.changed_at)
    event.add("last-modified", page.changed_at)
    event.add("dtstart", entry.starts)
    event.add("dtend", entry.ends)
    event.add("summary", entry.summary)
    if page.cancelled_at is not None:
        event.add("status", "CANCELLED")
        return event
    event.add("status", "TENTATIVE" if entry.tentative else "CONFIRMED")
    event.add("transp", "TRANSPARENT" if entry.done else "OPAQUE")
    description = "\n".join(text for text in (entry.times_text, entry.description) if text)
    if description:
        event.add("description", description)
    for at in entry.alarms:
        event.add_component(_alarm(at, entry.summary))
    return event


def _alarm(at: datetime, text: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", text)
    alarm.add("trigger", at, parameters={"VALUE": "DATE-TIME"})
    return alarm
