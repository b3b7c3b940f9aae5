"""Quiet hours: when only what would ruin a piece may speak. Pure; right across clock changes."""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from msgspec import Struct

from curetrack.settings import Settings

__all__ = ["Quiet", "quiet_of"]

DAY = timedelta(days=1)


class Quiet(Struct, frozen=True):
    """From `start` to `end` on the shop's clock, over midnight where the end comes first; None: never."""

    zone: tzinfo
    start: time | None = None
    end: time | None = None

    def holds(self, at: datetime) -> bool:
        """Whether it is quiet then."""
        return self.next_open(at) > at

    def next_open(self, at: datetime) -> datetime:
        """The moment itself if it is not quiet, else the end of that stretch. An end that the clock jumps over comes
        when it has jumped; one that comes twice counts once, the first time."""
        if self.start is None or self.end is None:
            return at
        today = at.astimezone(self.zone).date()
        for day in (today - DAY, today):
            begins, ends = _stretch(self.zone, self.start, self.end, day)
            if begins <= at < ends:
                return ends
        return at


@lru_cache(maxsize=64)  # thousands of moments ask for the same few nights
def _stretch(zone: tzinfo, start: time, end: time, day: date) -> tuple[datetime, datetime]:
    """The quiet hours that begin on a local day, as instants."""
    from dateutil.tz import resolve_imaginary

    over = day if end > start else day + DAY
    local = datetime.combine(day, start, zone), datetime.combine(over, end, zone)
    begins, ends = (resolve_imaginary(at).astimezone(UTC) for at in local)
    return begins, ends


def quiet_of(settings: Settings) -> Quiet:
    """The shop's quiet hours; settings has checked them."""
    if not settings.quiet_hours:
        return Quiet(settings.zone)
    start, _, end = settings.quiet_hours.partition("-")
    return Quiet(settings.zone, time.fromisoformat(start), time.fromisoformat(end))
