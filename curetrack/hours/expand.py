"""From weeks and exceptions to windows.

Days are local; each end of a span becomes an instant by itself, so that a window in a night in which the clocks change
is an hour shorter or longer, as it is on the wall. A time that the clocks skip is taken when they have jumped, one that
comes twice the first time (quiet hours do the same).
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from msgspec import Struct

from curetrack.hours.spans import Span
from curetrack.hours.text import Day, Member, Weekly
from curetrack.hours.windows import ALWAYS, Windows, joined, staffed, without
from curetrack.instants import to_h

__all__ = ["NIGHT", "Rota", "rota_windows"]

DAY = timedelta(days=1)
ALL_DAY = Span(0, 1440)
NIGHT = Span(22 * 60, 6 * 60 + 30)  # where no quiet hours are set: when people sleep (common practice, no source)


class Rota(Struct, frozen=True):
    """Who can work when. `hours` None: at any time. `crew` None: whoever is asked comes at any time."""

    zone: tzinfo
    hours: Weekly | None = None
    away: tuple[date, ...] = ()
    extra: tuple[Day, ...] = ()
    quiet: Span | None = None
    crew: tuple[Member, ...] | None = None
    people: int = 1  # who can be called, the maker included; 1: not said

    @property
    def known(self) -> bool:
        """Whether anything is set that a plan has to fit."""
        return bool(self.hours or self.away or self.extra or self.quiet or self.crew)

    def maker(self, first: date, days: int) -> Windows:
        """When the maker works, over so many local days."""
        if self.hours is None and not self.away and not self.extra:
            return ALWAYS
        return rota_windows(self.zone, self.hours, self.away, self.extra, first, days)

    def crew_for(self, need: int, first: date, days: int) -> Windows:
        """When `need` people, the maker included, can be there (the maker's own hours are not asked here)."""
        if self.crew is None or need <= 1:
            return ALWAYS
        each = [rota_windows(self.zone, member.weekly, self.away, (), first, days) for member in self.crew]
        if len(each) == 1 and not self.crew[0].name:
            return each[0]
        return staffed(each, need - 1)

    def quiet_hours(self, first: date, days: int) -> Windows:
        """The shop's quiet hours; none if they are not set."""
        return () if self.quiet is None else _nightly(self.zone, self.quiet, first, days)

    def nights(self, first: date, days: int) -> Windows:
        """When people sleep: the quiet hours, else the usual night."""
        return _nightly(self.zone, self.quiet or NIGHT, first, days)


@lru_cache(maxsize=512)  # the same rota is asked for by each plan of a day
def rota_windows(  # noqa: PLR0917 -- the key of the memo
    zone: tzinfo, weekly: Weekly | None, away: tuple[date, ...], extra: tuple[Day, ...], first: date, days: int
) -> Windows:
    """The windows of a week with its exceptions, from the local day before `first` (a window over midnight may still be
    open) to so many days after it.

    A day away is cut out from midnight to midnight, of whatever reaches into it; an extra day has hours of its own in
    place of those that begin on it.
    """
    from dateutil.rrule import WEEKLY, rrule, rruleset

    start = datetime.combine(first - DAY, time())
    end = start + (days + 1) * DAY
    extra = tuple(day for day in extra if start.date() <= day.date <= end.date())
    own = [_window(zone, day.date, ALL_DAY) for day in extra]  # days with hours of their own
    found: list[tuple[float, float]] = []
    for spans, weekdays in _by_spans(weekly):
        rule = rruleset()
        rule.rrule(rrule(WEEKLY, dtstart=start, until=end, byweekday=weekdays))
        for day in extra:
            rule.exdate(datetime.combine(day.date, time()))
        found += [_window(zone, at.date(), span) for at in rule for span in spans]
    if weekly is None:  # any time, but for the days away
        found += without(ALWAYS, joined(own))
    found += [_window(zone, day.date, span) for day in extra for span in day.spans]
    return without(joined(found), joined(_window(zone, day, ALL_DAY) for day in away))


def _by_spans(weekly: Weekly | None) -> list[tuple[tuple[Span, ...], list[int]]]:
    """Weekdays with the same hours together: one rule for each."""
    found: dict[tuple[Span, ...], list[int]] = {}
    for number, spans in enumerate(weekly.days if weekly is not None else ()):
        if spans:
            found.setdefault(spans, []).append(number)
    return list(found.items())


@lru_cache(maxsize=128)
def _nightly(zone: tzinfo, span: Span, first: date, days: int) -> Windows:
    return joined(_window(zone, first + number * DAY, span) for number in range(-1, days + 1))


def _window(zone: tzinfo, day: date, span: Span) -> tuple[float, float]:
    over = 0 if span.end > span.start else 1
    return _instant(zone, day, span.start), _instant(zone, day + over * DAY, span.end)


def _instant(zone: tzinfo, day: date, minute: int) -> float:
    local = datetime.combine(day + (minute // 1440) * DAY, time(minute % 1440 // 60, minute % 60), zone)
    at = local.astimezone(UTC)
    if at.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):  # the clocks skip it
        from dateutil.tz import resolve_imaginary

        at = resolve_imaginary(local).astimezone(UTC)
    return to_h(at)
