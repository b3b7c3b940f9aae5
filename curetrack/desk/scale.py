"""The one scale of time: the axis of all pieces and the curve of one of them lie on it, column by column."""

from datetime import UTC, datetime, time, timedelta

from curetrack.words.voice import Voice

__all__ = ["SPANS", "Scale", "scale_of"]

SPANS = (timedelta(days=1), timedelta(days=3), timedelta(days=8), timedelta(days=24))
PAST = 0.25  # of the axis lies behind now
NAME, DUE = 11, 12  # columns of a piece's name and of its countdown
FROM_DUE, FROM_WIDE = 60, 110  # widths from which there is a countdown, and room for longer names
NIGHT_FROM, NIGHT_TO = 22, 6


class Scale:
    """Which column a moment falls into. `left` columns before the axis are for words, `width` are the axis."""

    def __init__(self, voice: Voice, left: int, name: int, width: int, span: timedelta) -> None:
        self.voice, self.left, self.name, self.width = voice, left, name, width
        self.per_cell = span / width
        self.now_cell = int(width * PAST)
        self.start = voice.now - self.per_cell * (self.now_cell + 0.5)
        self.end = self.start + span
        self.night = self._nights()

    def cell(self, at: datetime | None) -> int | None:
        """None: outside, or no moment."""
        if at is None:
            return None
        number = int((at - self.start) / self.per_cell) if at >= self.start else -1
        return number if 0 <= number < self.width else None

    def clipped(self, at: datetime) -> int:
        """The nearest column."""
        return max(0, min(self.width - 1, int((at - self.start) / self.per_cell)))

    def moment(self, cell: int) -> datetime:
        """The middle of a column."""
        return self.start + self.per_cell * (cell + 0.5)

    def _nights(self) -> list[bool]:
        """For each column, whether it is night there; all false where a night is not wider than two columns."""
        if self.per_cell > timedelta(hours=4):
            return [False] * self.width
        zone = self.voice.zone
        hours = [self.moment(cell).astimezone(zone).hour for cell in range(self.width)]
        return [hour >= NIGHT_FROM or hour < NIGHT_TO for hour in hours]

    def midnights(self) -> list[datetime]:
        """The local midnights on the axis, UTC."""
        zone = self.voice.zone
        day, found = self.start.astimezone(zone).date(), list[datetime]()
        while (at := datetime.combine(day, time(), zone).astimezone(UTC)) <= self.end:
            found += [at] if at >= self.start else []
            day += timedelta(days=1)
        return found


def scale_of(voice: Voice, width: int, span: timedelta) -> Scale:
    """The scale of a screen so many columns wide."""
    name = NAME + 4 if width >= FROM_WIDE else NAME
    left = name + 1 + (DUE if width >= FROM_DUE else 0)
    return Scale(voice, left, name, max(10, width - left), span)
