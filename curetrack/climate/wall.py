"""From local times without an offset to instants, also in the hour that comes twice and in the one that is left out."""

from datetime import datetime, timedelta, tzinfo

__all__ = ["Wall"]

NEXT_MS = 3 * 3_600_000  # rows of one repeated hour are nearer to each other than this
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 -- a wall clock has no zone; the zone is what this module adds


class Wall:
    """A logger's wall clock in a zone, read row by row in the order of the file.

    `step_ms` is the file's usual step from row to row, below 0 if the newest row comes first.
    """

    def __init__(self, zone: tzinfo, step_ms: int) -> None:
        self.zone, self.step_ms = zone, step_ms
        self.missing = self.repeated = 0  # rows in an hour that does not exist, and in one that comes twice
        self._local: int | None = None  # the row before, if it lay in an hour that comes twice, and which of the two
        self._second = False

    def smooth_offset(self, from_ms: int, length_ms: int) -> int | None:
        """The offset from UTC, ms, if it is the same from one local time to another, both included, else None.

        Meant for an hour or a day: two clock changes that cancel each other within it would not be seen.
        """
        first = self._offsets(from_ms)
        return first[0] if {*first, *self._offsets(from_ms + length_ms)} == {first[0]} else None

    def utc(self, local_ms: int, before_ms: int | None) -> int:
        """The instant of a local time, ms since 1970-01-01 UTC; `before_ms` is the instant of the row before.

        A time that does not exist is moved forward by the width of the gap (as dateutil.tz.resolve_imaginary does).
        Of the two instants of a time that comes twice: once the clock went back within that hour, the second one;
        else the one that keeps the file's step. With the newest row first, all of this the other way round.
        """
        first, second = self._offsets(local_ms)
        if first <= second:
            self.missing += first < second
            self._local = None
            return local_ms - first
        self.repeated += 1
        last, self._local = self._local, local_ms
        self._second = self._is_second(local_ms, local_ms - first, local_ms - second, last, before_ms)
        return local_ms - (second if self._second else first)

    def _is_second(self, local_ms: int, early_ms: int, late_ms: int, last: int | None, before_ms: int | None) -> bool:
        newest_first = self.step_ms < 0
        if last is not None and abs(local_ms - last) < NEXT_MS:
            if self._second is not newest_first:
                return self._second  # the later pass in the order of the file: there is no way back
            if local_ms != last and (local_ms < last) is not newest_first:
                return not newest_first
        if before_ms is None:
            return newest_first
        expected = before_ms + self.step_ms
        early, late = abs(early_ms - expected), abs(late_ms - expected)
        return late < early or (late == early and newest_first)

    def _offsets(self, local_ms: int) -> tuple[int, int]:
        """The offsets before and after a clock change at this local time (PEP 495 fold 0 and 1), ms; usually equal."""
        local = (EPOCH + timedelta(milliseconds=local_ms)).replace(tzinfo=self.zone)
        return _ms(local.utcoffset()), _ms(local.replace(fold=1).utcoffset())


def _ms(offset: timedelta | None) -> int:
    return 0 if offset is None else round(offset.total_seconds() * 1000)
