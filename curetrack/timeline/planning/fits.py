"""Where one step fits: in hours, with the crew, out of quiet hours; and what is left where nothing fits."""

import math
from collections.abc import Sequence

from msgspec import Struct

from curetrack.hours.windows import Window, covered_h, holds
from curetrack.timeline.placed import LOST_h
from curetrack.timeline.planning.calendar import Calendar, Need, SLACK_h
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["Spot", "first_fit", "freely", "how_at", "latest_fit", "spot_for", "within_h"]

MOMENT_h = 1.0 / 60.0
LOOKED_AT = 200  # moments that air and dew point may still refuse
AHEAD_h = 30 * 24.0
SOON_h = 21 * 24.0  # for a stretch that is long enough nobody waits for more than three weeks (judgement)
SOONER_h = 24.0  # so much sooner than it must be, work before a pour is done with the crew; else alone (judgement)


class Spot(Struct, frozen=True, gc=False):
    """Where a step was placed, and how: "" (in hours), outside, night, alone (without the crew it wants),
    long (longer than any window), short (no time left before the pour), never; of what cannot be moved also busy (the
    hands have other work then) and loud (in quiet hours)."""

    start_h: float
    late_h: float | None
    earliest_h: float
    how: str = ""


def spot_for(
    calendar: Calendar, net: Net, job: Job, from_h: float, asked: tuple[float, float | None], *, strict: bool
) -> Spot:
    """From a moment on, for what was asked (earliest, latest). `strict`: nothing leaves the hours to save a window."""
    earliest_h, late_h = asked
    start_h, how = first_fit(calendar, net, job, from_h)
    if start_h is not None and (late_h is None or start_h <= max(late_h, from_h) + SLACK_h or not job.is_window):
        return Spot(start_h, late_h, earliest_h, how)
    until_h = _saved_until_h(net, job, from_h, asked, strict=strict)
    saved = None if until_h is None else _outside(calendar, job, from_h, until_h)
    if saved is not None:
        return Spot(saved[0], late_h, earliest_h, saved[1])
    if start_h is None:
        return Spot(freely(calendar, job.need, from_h), late_h, earliest_h, "never")
    return Spot(start_h, late_h, earliest_h, how)


def _saved_until_h(
    net: Net, job: Job, from_h: float, asked: tuple[float, float | None], *, strict: bool
) -> float | None:
    """Until when a start outside the hours helps: until the window closes; where fresh concrete misses it by less than
    an hour however soon it is done, within one, `strict` or not. What has passed otherwise waits for hours."""
    earliest_h, late_h = asked
    if late_h is None or not job.is_window:
        return None
    if job.is_fresh and late_h < earliest_h - SLACK_h <= late_h + LOST_h:
        return from_h + LOST_h
    return late_h if late_h >= net.basis.now_h and not strict else None


def first_fit(calendar: Calendar, net: Net, job: Job, from_h: float) -> tuple[float | None, str]:
    """The first fit at which air and dew point allow it too."""
    if job.nobody:
        return from_h, ""
    at_h, need, how = from_h, job.need, ""
    for _ in range(LOOKED_AT):
        fit_h = calendar.first_fit(at_h, need)
        if how == "" and (fit_h is None or fit_h > at_h + SOON_h):
            longest_h = calendar.longest_h(need, at_h, math.inf if fit_h is None else fit_h - SOON_h)
            if 0.0 < longest_h < need.hands_h - SLACK_h:
                how, need = "long", Need(longest_h, need.people, need.loud)
                continue
        if fit_h is None:
            return None, how or "never"
        if how == "long":
            fit_h = freely(calendar, job.need, fit_h)
        suits_h = net.suits(job, fit_h)
        if suits_h <= fit_h + SLACK_h or suits_h == math.inf:
            return fit_h, how
        at_h = suits_h
    return at_h, how


def _outside(calendar: Calendar, job: Job, from_h: float, late_h: float) -> tuple[float, str] | None:
    """A window that the maker's hours cannot save: awake, or for fresh concrete at night too. Loud work stays out
    of quiet hours, and a crew comes when it comes: only fresh concrete is worked without it."""
    need = job.need
    if need.people > 1 and calendar.rota.crew is not None:
        if not job.is_fresh:
            return None
        alone_h = calendar.first_fit(from_h, Need(need.hands_h, 1, need.loud))
        if alone_h is not None and alone_h <= late_h + SLACK_h:
            return alone_h, "alone"
    at_h = calendar.free_outside(from_h, late_h, need, calendar.nights)
    if at_h is not None:
        return at_h, "outside"
    if job.is_fresh:
        at_h = calendar.free_outside(from_h, late_h, need, calendar.quiet if need.loud else ())
        return None if at_h is None else (at_h, "night")
    return None


def how_at(calendar: Calendar, job: Job, at_h: float) -> str:
    """How work that cannot be moved lies in the calendar, the gravest first."""
    end_h = at_h + job.need.hands_h
    calendar.reach(end_h)
    if calendar.free_outside(at_h, at_h, job.need, ()) is None:
        return "busy"
    if job.need.loud and within_h(calendar.quiet, at_h, end_h) > SLACK_h:
        return "loud"
    if calendar.in_hours_h(at_h, end_h) < job.need.hands_h - SLACK_h:
        return "night" if within_h(calendar.nights, at_h, end_h) > 0.0 else "outside"
    return "alone" if job.need.people > 1 and not holds(calendar.allowed(job.need), at_h, end_h) else ""


def latest_fit(calendar: Calendar, net: Net, job: Job, latest_h: float) -> tuple[float, str]:
    """The last fit before a moment; without the crew, if they come only a day sooner or not at all; else outside hours;
    else there is no time left."""
    now_h, need = net.basis.now_h, job.need
    if latest_h < now_h:
        return _quietly(calendar, need, now_h), "short"
    if job.nobody:
        return latest_h, ""
    at_h = calendar.last_fit(now_h, latest_h, need)
    alone_h = calendar.last_fit(now_h, latest_h, Need(need.hands_h, 1, need.loud)) if need.people > 1 else None
    if alone_h is not None and (at_h is None or alone_h > at_h + SOONER_h):
        return alone_h, "alone"
    if at_h is not None:
        return at_h, ""
    at_h = calendar.free_before(now_h, latest_h, need, calendar.nights)
    return (_quietly(calendar, need, latest_h), "short") if at_h is None else (at_h, "outside")


def _quietly(calendar: Calendar, need: Need, at_h: float) -> float:
    """What is placed for want of hours stays out of quiet hours all the same, if it is loud and that is possible."""
    quiet_h = calendar.free_outside(at_h, at_h + AHEAD_h, need, calendar.quiet) if need.loud else None
    return at_h if quiet_h is None else quiet_h


def freely(calendar: Calendar, need: Need, at_h: float) -> float:
    """The same, and takes no hands that have other work then."""
    free_h = calendar.free_outside(at_h, at_h + AHEAD_h, need, calendar.quiet if need.loud else ())
    return at_h if free_h is None else free_h


def within_h(windows: Sequence[Window], start_h: float, end_h: float) -> float:
    """Hours of a stretch within windows; a moment within one counts a minute."""
    if start_h == end_h:
        return MOMENT_h if any(first_h <= start_h < last_h for first_h, last_h in windows) else 0.0
    return covered_h(windows, start_h, end_h)
