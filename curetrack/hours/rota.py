"""From the settings' lines to a Rota, and whether the lines go together."""

from datetime import date, timedelta, tzinfo
from functools import lru_cache
from typing import Protocol

from curetrack.errors import BadInput
from curetrack.hours.expand import Rota
from curetrack.hours.text import Span, check_exceptions, read_away, read_crew, read_extra, read_hours
from curetrack.hours.windows import common, without

__all__ = ["Written", "check_together", "rota_of"]

A_WEEK = date(2024, 1, 1)  # a Monday; the week after it has no clock change anywhere


class Written(Protocol):
    """What is asked of the settings."""

    @property
    def zone(self) -> tzinfo: ...
    @property
    def hours(self) -> str: ...
    @property
    def away(self) -> str: ...
    @property
    def extra(self) -> str: ...
    @property
    def quiet_hours(self) -> str: ...
    @property
    def crew_hours(self) -> str: ...
    @property
    def crew(self) -> int: ...


def rota_of(settings: Written) -> Rota:
    """The rota of a shop. Raises BadInput where a line cannot be read."""
    return _rota(
        settings.zone, settings.hours, settings.away, settings.extra, settings.quiet_hours, settings.crew_hours,
        settings.crew,
    )  # fmt: skip


@lru_cache(maxsize=128)
def _rota(  # noqa: PLR0917 -- the key of the memo
    zone: tzinfo, hours: str, away: str, extra: str, quiet: str, crew: str, people: int
) -> Rota:
    return Rota(
        zone, read_hours(hours)[0] if hours else None, read_away(away)[0], read_extra(extra)[0], _quiet(quiet),
        read_crew(crew)[0] if crew else None, people,
    )  # fmt: skip


def check_together(settings: Written) -> None:
    """What each line allows must leave something: raises BadInput for a day that is both away and extra, for a week in
    which nothing loud can ever be done, and for a crew that never comes while the maker is there."""
    rota = rota_of(settings)
    check_exceptions(rota.away, rota.extra)
    week = Rota(rota.zone, rota.hours, quiet=rota.quiet, crew=rota.crew)
    maker = week.maker(A_WEEK, 8)
    if rota.hours is not None and not without(maker, week.quiet_hours(A_WEEK, 8)):
        raise BadInput("all of hours lie in quiet_hours, so nothing loud can ever be done", where="hours",
                       found=settings.hours, remedy="change one of the two")  # fmt: skip
    if rota.crew is None:
        return
    for member in rota.crew:
        there = Rota(rota.zone, member.weekly).maker(A_WEEK, 8)
        extra = rota.extra and common(rota.maker(_first(rota), _days(rota)), _there(rota, member.weekly))
        if not common(maker, there) and not extra:
            who = member.name or "the crew"
            raise BadInput(f"{who} never comes while you work", where="crew_hours", found=settings.crew_hours,
                           remedy=f"hours are {settings.hours or 'any time'}: let the two meet")  # fmt: skip


def _there(rota: Rota, weekly: object) -> tuple[tuple[float, float], ...]:
    return Rota(rota.zone, weekly).maker(_first(rota), _days(rota))  # type: ignore[arg-type]  # a Weekly


def _first(rota: Rota) -> date:
    return rota.extra[0].date


def _days(rota: Rota) -> int:
    return min((rota.extra[-1].date - rota.extra[0].date) // timedelta(days=1) + 2, 800)


def _quiet(text: str) -> Span | None:
    if not text:
        return None
    start, _, end = text.partition("-")
    return Span(_minute(start), _minute(end))


def _minute(clock: str) -> int:
    hour, _, minute = clock.partition(":")
    return int(hour) * 60 + int(minute)
