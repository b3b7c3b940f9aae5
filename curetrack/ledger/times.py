"""Instants on disk: whole milliseconds since 1970, UTC. Conversions are exact in integers."""

from datetime import UTC, datetime, timedelta

__all__ = ["MS_PER_HOUR", "h_to_ms", "ms_to_time", "time_to_ms", "to_disk"]

MS_PER_HOUR = 3_600_000

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)


def time_to_ms(at: datetime) -> int:
    """Milliseconds of an aware datetime; what is finer is cut off."""
    return (at - _EPOCH) // _MS


def ms_to_time(at_ms: int) -> datetime:
    """The UTC datetime of milliseconds."""
    return _EPOCH + timedelta(milliseconds=at_ms)


def to_disk(at: datetime) -> datetime:
    """The datetime as it will be read back: UTC, whole milliseconds."""
    return ms_to_time(time_to_ms(at))


def h_to_ms(at_h: float) -> int:
    """Milliseconds of POSIX hours, to the nearest."""
    return round(at_h * MS_PER_HOUR)
