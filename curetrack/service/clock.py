"""The service's clocks: the machine's, and a fast one for rehearsals. Nothing else asks for the time."""

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

__all__ = ["Clock", "FastClock", "SystemClock"]


class Clock(Protocol):
    """Wall time, and how it relates to the machine's."""

    def now(self) -> datetime:
        """The moment, aware, UTC."""

    def machine_time(self, at: datetime) -> datetime:
        """What the machine's clock will say at that moment: when a scheduler must wake."""

    def jumped_s(self) -> float:
        """Seconds by which the wall clock has run ahead of (or behind) steady running since this was last asked: the
        machine slept, or its clock was set."""

    def steady_s(self) -> float:
        """Seconds of a clock that is never set; it may stand still while the machine sleeps."""


class SystemClock:
    """The machine's clock."""

    def __init__(self) -> None:
        self._offset_s = time.time() - time.monotonic()

    def now(self) -> datetime:
        """The moment."""
        return datetime.now(UTC)

    def machine_time(self, at: datetime) -> datetime:
        """The same."""
        return at

    def jumped_s(self) -> float:
        """Wall time against the monotonic clock, which stands still in a suspend."""
        offset_s = time.time() - time.monotonic()
        jumped, self._offset_s = offset_s - self._offset_s, offset_s
        return jumped

    def steady_s(self) -> float:
        """The monotonic clock."""
        return time.monotonic()


class FastClock:
    """Begins at `start` and runs `rate` times as fast as the machine's."""

    def __init__(self, start: datetime, rate: float) -> None:
        self.start, self.rate = start, rate
        self._zero_s, self._machine_zero = time.monotonic(), datetime.now(UTC)

    def now(self) -> datetime:
        """The moment in the rehearsal."""
        return self.start + timedelta(seconds=(time.monotonic() - self._zero_s) * self.rate)

    def machine_time(self, at: datetime) -> datetime:
        """When the machine's clock will be there."""
        return self._machine_zero + (at - self.start) / self.rate

    def jumped_s(self) -> float:
        """It never jumps."""
        return 0.0

    def steady_s(self) -> float:
        """The machine's monotonic clock: pauses are the machine's."""
        return time.monotonic()
