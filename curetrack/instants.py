"""Instants as floating hours, the coin of the core.

Inside the core an instant is a float: hours since 1970-01-01T00:00Z ("POSIX hours", suffix `_h`). Elapsed time is
then a plain subtraction and no clock change can enter a duration. Aware datetimes live at the edges.
"""

import math
from datetime import UTC, datetime

__all__ = ["from_h", "or_never", "to_h"]

SECONDS_PER_HOUR = 3600.0


def to_h(at: datetime) -> float:
    """POSIX hours of an aware datetime; a naive one is refused, since its zone would be a guess."""
    if at.tzinfo is None:
        raise ValueError(f"{at!r} has no time zone")
    return at.timestamp() / SECONDS_PER_HOUR


def from_h(at_h: float) -> datetime:
    """The aware UTC datetime of POSIX hours, to the nearest second."""
    return datetime.fromtimestamp(round(at_h * SECONDS_PER_HOUR), UTC)


def or_never(at_h: float | None) -> float:
    """The instant; infinity, later than any other, where there is none."""
    return math.inf if at_h is None else at_h
