"""Quiet hours: when only what would ruin a piece may speak. Pure; right across clock changes."""

from datetime import UTC, datetime, time, timedelta, tzinfo

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
            begins = self._instant(datetime.combine(day, self.start))
            over = day if self.end > self.start else day + DAY
            ends = self._instant(datetime.combine(over, self.end))
            if begins <= at < ends:
                return ends
        return at

    def _instant(self, local: datetime) -> datetime:
        from dateutil.tz import resolve_imaginary

        return resolve_imaginary(local.replace(tzinfo=self.zone)).astimezone(UTC)


def quiet_of(settings: Settings) -> Quiet:
    """The shop's quiet hours; settings has checked them."""
    if not settings.quiet_hours:
        return Quiet(settings.zone)
    start, _, end = settings.quiet_hours.partition("-")
    return Quiet(settings.zone, time.fromisoformat(start), time.fromisoformat(end))
