"""Moments and durations for people: "Sat 14:10 (12:30 to 16:00)", "in 1 h 25 min", "Sat 24 Jan 08:00".

What was computed is shown to five minutes, opening times rounded up and closing times down, and never without its band.
What a person said (a pour, a tick) is shown to the minute.
"""

from datetime import UTC, datetime, timedelta

from curetrack.timeline.types import Band
from curetrack.words.voice import Voice

__all__ = ["about", "banded", "clock", "day", "duration", "moment", "near", "relative", "stamp"]

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
STEP_S = 300  # five minutes: finer than this no computed time means anything
FAR_DAYS = 6  # beyond it a weekday alone could be the next week's
NEAR_H = 24.0  # so near a moment is also said as "in 1 h 25 min"


def moment(at: datetime, voice: Voice) -> str:
    """A moment to the minute: "Sat 14:10"; with its date when further than six days off."""
    local = at.astimezone(voice.zone)
    return f"{day(at, voice)} {_hours(local)}"


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


def about(at: datetime, *, closing: bool = False) -> datetime:
    """A computed moment to five minutes: later for one that opens, earlier for one that closes."""
    seconds = at.timestamp()
    whole = seconds // STEP_S * STEP_S
    if not closing and seconds - whole > 30.0:  # half a minute is rounding, not waiting
        whole += STEP_S
    return datetime.fromtimestamp(whole, UTC)


def banded(at: datetime, band: Band | None, voice: Voice) -> str:
    """A computed moment with its band: "Sat 14:10 (12:30 to 16:00)"."""
    text = moment(about(at), voice)
    if band is None:
        return f"{text} (band not known)"
    first, last = about(band[0]), about(band[1])
    if first == last:
        return f"{text} (no spread)"
    return f"{text} ({_beside(first, about(at), voice)} to {_beside(last, first, voice)})"


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
    return clock(at, voice) if same else moment(at, voice)


def _hours(local: datetime) -> str:
    text = f"{local.hour:02}:{local.minute:02}"
    here, there = local.utcoffset(), local.replace(fold=1 - local.fold).utcoffset()
    if here is None or here == there:
        return text
    return f"{text} {_offset(here)}"


def _offset(offset: timedelta) -> str:
    minutes = round(offset.total_seconds() / 60.0)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"
