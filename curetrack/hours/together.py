"""Whether the settings' lines go together: what each allows must leave something. Asked whenever settings are read, so
it counts in minutes of a week on the wall, and lays no windows."""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from curetrack.errors import BadInput, Faults
from curetrack.hours.expand import ALL_DAY, Rota
from curetrack.hours.rota import Written, rota_of
from curetrack.hours.spans import Span, end_of
from curetrack.hours.text import Day, Weekly
from curetrack.hours.windows import Windows, common, joined, without

__all__ = ["check_together", "faults_together"]

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
MOST_NAMED = 5
Fault = tuple[str, BadInput]  # the key whose line says it, and what is wrong


def check_together(settings: Written) -> None:
    """Raises Faults with all of faults_together."""
    if found := [str(fault) for _, fault in faults_together(settings)]:
        raise Faults("settings", found)


def faults_together(settings: Written) -> Iterator[Fault]:
    """Days that are both away and extra; hours of an extra day that the clocks skip; a week in which nothing loud can
    ever be done; people who never come while the maker is there. Each line must be readable by itself."""
    rota = rota_of(settings)
    yield from _twice(rota)
    for day in rota.extra:
        for span in day.spans:
            if (skipped := _skipped(rota.zone, day.date, span)) is not None:
                yield "extra", skipped
    if rota.hours is not None and rota.quiet is not None:
        quiet = _laid([(rota.quiet,)] * 7, -2, 10)
        if not without(_laid(rota.hours.days), quiet):
            yield "hours", BadInput(
                "all of hours lie in quiet_hours, so nothing loud can ever be done", where="hours",
                found=settings.hours, remedy=f"quiet_hours are {settings.quiet_hours}: change one of the two",
            )  # fmt: skip
    for member in rota.crew or ():
        if not _meets(rota, member.weekly):
            yield "crew_hours", BadInput(
                f"{member.name or 'the crew'} never comes while you work", where="crew_hours",
                found=settings.crew_hours, remedy=f"hours are {settings.hours or 'any time'}: let the two meet",
            )  # fmt: skip


def _twice(rota: Rota) -> Iterator[Fault]:
    both = sorted(set(rota.away) & {day.date for day in rota.extra})
    if both:
        named = ", ".join(map(str, both[:MOST_NAMED])) + (" ..." if len(both) > MOST_NAMED else "")
        are = "is" if len(both) == 1 else "are"
        yield "away", BadInput(f"{named} {are} both away and extra", where="away", remedy="leave it out of one of them")


def _meets(rota: Rota, weekly: Weekly) -> bool:
    """Whether somebody with such a week comes while the maker works, on an extra day at least."""
    there = _laid(weekly.days)
    if common(_laid(rota.hours.days if rota.hours is not None else [(ALL_DAY,)] * 7), there):
        return True
    return any(common(_laid_once(day), there) for day in rota.extra)


def _laid(days: Sequence[Sequence[Span]], first: int = -1, last: int = 9) -> Windows:
    """Minutes since a Monday's midnight, from one day to before another; a week has seven, and its neighbours reach
    into it."""
    return joined(
        (number * 1440.0 + span.start, number * 1440.0 + end_of(span))
        for number in range(first, last)
        for span in days[number % 7]
    )


def _laid_once(day: Day) -> Windows:
    midnight = day.date.weekday() * 1440.0
    return joined((midnight + span.start, midnight + end_of(span)) for span in day.spans)


# --- what the clocks skip ----------------------------------------------------------------------------------------


def _skipped(zone: tzinfo, day: date, span: Span) -> BadInput | None:
    """What is wrong with hours of one day that begin or end between what the clocks skip, or that lie in it; None:
    nothing. Where they touch it they are as on the wall."""
    midnight = datetime.combine(day, time())
    start, end = midnight + span.start * MINUTE, midnight + end_of(span) * MINUTE
    for at in (start, end):
        if _is_there(at, zone):
            continue
        first = last = at
        while not _is_there(first - MINUTE, zone):
            first -= MINUTE
        while not _is_there(last, zone):
            last += MINUTE
        if at != first or (at == start and end <= last):
            skips = f"the clocks skip from {_clock(first)} to {_clock(last)} on {first.date()}"
            return BadInput(skips, where="extra", found=f"{day} {span.text}", remedy="write hours beside it")
    return None


def _is_there(local: datetime, zone: tzinfo) -> bool:
    return local.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None) == local


def _clock(local: datetime) -> str:
    return f"{local.hour}:{local.minute:02d}"
