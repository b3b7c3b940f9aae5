"""How often a nudge comes: what is not answered comes again, less and less often; what comes and goes by itself does
not come each time. Pure. The gaps are common practice, no source.
"""

from datetime import datetime, timedelta

from curetrack.nudge.log import Log, Told
from curetrack.nudge.types import Grade, Moment

__all__ = ["SHIVER", "gap_after", "has_grown", "telling_at"]

Gaps = tuple[timedelta, timedelta]  # the first, and the longest; each is twice the last

REPEATS: dict[Grade, Gaps | None] = {
    "ruin": (timedelta(minutes=10), timedelta(hours=6)),
    "step": (timedelta(hours=1), timedelta(hours=24)),
    "info": None,
}
TOO_LATE = (timedelta(minutes=10), timedelta(hours=24))  # a window that has closed: what was to ruin is ruined
CONDITIONS = (timedelta(hours=3), timedelta(hours=24))
TRIES = (timedelta(minutes=1), timedelta(minutes=30))
FLAPS = (timedelta(minutes=15), timedelta(hours=1))  # what moved away twice or more rests so long before it is told
DAILY = timedelta(hours=16)  # a condition that goes on for days is told once a day, whatever its date and quiet hours
SHIVER = timedelta(minutes=10)  # a moment that moved by less has not moved: each reading moves all of them a little
CLOCK_WAS_WRONG = timedelta(hours=2)  # told so far ahead of now: by a clock that has been set right since


def gap_after(moment: Moment, attempts: int) -> timedelta | None:
    """How long an unanswered nudge rests before it comes again; None: it does not."""
    gaps = None if moment.rung == "look" else REPEATS[moment.grade]  # looks have a beat of their own
    if moment.rung == "late" and moment.grade == "ruin":
        gaps = TOO_LATE
    elif moment.kind == "conditions":
        gaps = CONDITIONS if moment.grade == "ruin" else None
    return None if gaps is None else _doubled(gaps, attempts)


def telling_at(voice: Moment, first: datetime, log: Log, now: datetime, *, retry: bool) -> datetime | None:
    """When it is to be told next; None: it has been told, and does not come again.

    first   when it may be heard at the earliest
    retry   a channel has come up: what nobody took is tried at once
    """
    told = log.told(voice.key)
    is_open = told is not None and told.open
    at = _again_at(voice, told, first, now) if told is not None and is_open else _fresh_at(voice, told, first, log, now)
    if at is None or told is None or not told.vain or retry:
        return at
    if told.tried_at is None or told.tried_at > now:
        return at
    return max(at, told.tried_at + _doubled(TRIES, told.vain))


def _again_at(voice: Moment, told: Told, first: datetime, now: datetime) -> datetime | None:
    """What has been told and not answered."""
    if has_grown(voice, told):
        return first
    gap = gap_after(voice, told.attempts)
    if told.seen or gap is None or told.told_at is None:
        return None
    return first if told.told_at - now > max(gap, CLOCK_WAS_WRONG) else told.told_at + gap


def _fresh_at(voice: Moment, told: Told | None, first: datetime, log: Log, now: datetime) -> datetime:
    """What is not on the screen: at its moment, unless it has been there lately. What would ruin a piece does not
    wait."""
    if voice.grade == "ruin":
        return first
    rested: list[datetime] = []
    if told is not None and told.told_at is not None and told.moves > 1:
        rested.append(told.told_at + _doubled(FLAPS, told.moves - 1))
    if voice.rung == "known" and (last := log.last_occasion(voice.group)) is not None:
        at, pieces = last
        rested += [at + DAILY] if set(voice.pieces) <= pieces else []
    return max([first, *(at for at in rested if at <= now + DAILY)])  # later than that: the clock was set back


def has_grown(moment: Moment, told: Told) -> bool:
    """A condition that now concerns another piece, or would now ruin one: seen or not, it is told again."""
    graver = moment.kind == "conditions" and moment.grade == "ruin" and told.grade not in ("", "ruin")
    return graver or not set(moment.pieces) <= told.pieces


def _doubled(gaps: Gaps, count: int) -> timedelta:
    first, longest = gaps
    factor: int = 2 ** min(max(0, count - 1), 20)
    return min(longest, first * factor)
