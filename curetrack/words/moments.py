"""Moments and durations for people: "Sat 14:10 (12:30 to 16:00)", "in 1 h 25 min", "Sat 24 Jan 08:00".

What was computed is never shown without its band, and no finer than the band is wide: to five minutes at best, to the
hour where it spans days; opening times are rounded up and closing times down. What a person said (a pour, a tick) is
shown to the minute.
"""

from datetime import UTC, datetime, timedelta

from curetrack.timeline.types import Band
from curetrack.words.voice import Voice

__all__ = ["about", "banded", "brief", "clock", "date_text", "day", "duration", "moment", "near", "relative", "stamp"]

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
FINEST_S = 300
COARSER = ((48.0, 3600), (12.0, 1800), (3.0, 600))  # a band wider than so many hours: rounded to so many seconds
FAR_DAYS = 6  # beyond it a weekday alone could be the next week's
ANOTHER_YEAR_DAYS = 300  # from then on a date without its year could be taken for the one before
NEAR_H = 24.0  # so near a moment is also said as "in 1 h 25 min"


def moment(at: datetime, voice: Voice) -> str:
    """A moment to the minute: "Sat 14:10"; with its date when further than six days off."""
    local = at.astimezone(voice.zone)
    return f"{day(at, voice)} {_hours(local)}"


def brief(at: datetime, voice: Voice) -> str:
    """The same for a column, 16 cells at most: without the year where the day can be no other one, and a day that is
    far off, in another year, without its hour."""
    local, now = at.astimezone(voice.zone), voice.local_now
    if local.year == now.year:
        return moment(at, voice)
    far = abs((local.date() - now.date()).days)
    if far >= ANOTHER_YEAR_DAYS:
        return day(at, voice)
    dated = f" {local.day} {MONTHS[local.month - 1]}" if far > FAR_DAYS else ""
    return f"{DAYS[local.weekday()]}{dated} {_hours(local)}"


def day(at: datetime, voice: Voice) -> str:
    """The local day: "Sat", or "Sat 24 Jan" when further than six days off, with the year when it is another one."""
    local, now = at.astimezone(voice.zone), voice.local_now
    text = DAYS[local.weekday()]
    if abs((local.date() - now.date()).days) > FAR_DAYS:
        text += f" {local.day} {MONTHS[local.month - 1]}"
        if local.year != now.year:
            text += f" {local.year}"
    return text


def clock(at: datetime, voice: Voice) -> str:
    """The hour alone, "14:10", with the offset where the hour comes twice that night."""
    return _hours(at.astimezone(voice.zone))


def stamp(at: datetime, voice: Voice) -> str:
    """A moment with its whole date: "Sat 10 Jan 2026 10:00"."""
    local = at.astimezone(voice.zone)
    return f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]} {local.year} {_hours(local)}"


def date_text(at: datetime, voice: Voice) -> str:
    """The local day with its date: "Sun 11 Jan"."""
    local = at.astimezone(voice.zone)
    return f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"


def about(at: datetime, band: Band | None = None, *, closing: bool = False) -> datetime:
    """A computed moment, as fine as its band allows: rounded later where it opens, earlier where it closes."""
    step, seconds = _step_s(band), at.timestamp()
    whole = seconds // step * step
    if not closing and seconds - whole > 30.0:  # half a minute is rounding, not waiting
        whole += step
    return datetime.fromtimestamp(whole, UTC)


def _step_s(band: Band | None) -> int:
    width_h = (band[1] - band[0]).total_seconds() / 3600.0 if band else 0.0
    return next((step for least_h, step in COARSER if width_h > least_h), FINEST_S)


def banded(at: datetime, band: Band | None, voice: Voice, at_most: datetime | None = None) -> str:
    """A computed moment with its band: "Sat 14:10 (12:30 to 16:00)". `at_most`: not rounded beyond that."""
    shown = about(at, band) if at_most is None else min(about(at, band), at_most)
    if band is None:
        return f"{_dated(shown, voice)} (or far later: no end in sight yet)"
    first, last = about(band[0], band), about(band[1], band)
    if first == last:
        return f"{_dated(shown, voice)} (by the clock)"
    return f"{_dated(shown, voice)} ({_beside(first, shown, voice)} to {_beside(last, first, voice)})"


def relative(at: datetime, voice: Voice) -> str:
    """How far off: "in 1 h 25 min", "20 min ago", "now"."""
    hours = (at - voice.now).total_seconds() / 3600.0
    if abs(hours) < 1.0 / 60.0:
        return "now"
    return f"in {duration(hours)}" if hours > 0 else f"{duration(-hours)} ago"


def near(at: datetime, voice: Voice) -> str:
    """Relative and absolute together when near: "in 1 h 25 min, Sat 14:10"; else the moment alone."""
    if abs((at - voice.now).total_seconds()) < NEAR_H * 3600.0:
        return f"{relative(at, voice)}, {moment(at, voice)}"
    return moment(at, voice)


def duration(hours: float) -> str:
    """Elapsed time in its two largest units: "25 min", "1 h 25 min", "13 h", "3 d 4 h", "12 d"."""
    minutes = max(0, round(hours * 60.0))
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 600:
        return _pair(minutes // 60, "h", minutes % 60, "min")
    whole_hours = round(minutes / 60)
    if whole_hours < 48:
        return f"{whole_hours} h"
    if whole_hours < 240:
        return _pair(whole_hours // 24, "d", whole_hours % 24, "h")
    return f"{round(whole_hours / 24)} d"


def _pair(large: int, large_unit: str, small: int, small_unit: str) -> str:
    return f"{large} {large_unit} {small} {small_unit}" if small else f"{large} {large_unit}"


def _beside(at: datetime, other: datetime, voice: Voice) -> str:
    """A moment beside another: the hour alone when it is the same local day."""
    same = at.astimezone(voice.zone).date() == other.astimezone(voice.zone).date()
    return clock(at, voice) if same else _dated(at, voice)


def _dated(at: datetime, voice: Voice) -> str:
    """A moment of a band: of a day gone by with its date, since its weekday alone reads like the one to come."""
    back = (voice.local_now.date() - at.astimezone(voice.zone).date()).days
    return f"{date_text(at, voice)} {clock(at, voice)}" if 0 < back <= FAR_DAYS else moment(at, voice)


def _hours(local: datetime) -> str:
    text = f"{local.hour:02}:{local.minute:02}"
    here, there = local.utcoffset(), local.replace(fold=1 - local.fold).utcoffset()
    if here is None or here == there:
        return text
    return f"{text} {_offset(here)}"


def _offset(offset: timedelta) -> str:
    minutes = round(offset.total_seconds() / 60.0)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"
