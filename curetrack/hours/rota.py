"""From the settings' lines to a Rota."""

from datetime import tzinfo
from functools import lru_cache
from typing import Protocol

from curetrack.hours.expand import Rota
from curetrack.hours.spans import Span
from curetrack.hours.text import read_away, read_crew, read_extra, read_hours

__all__ = ["Written", "rota_of"]


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


def _quiet(text: str) -> Span | None:
    if not text:
        return None
    start, _, end = text.partition("-")
    return Span(_minute(start), _minute(end))


def _minute(clock: str) -> int:
    hour, _, minute = clock.partition(":")
    return int(hour) * 60 + int(minute)
