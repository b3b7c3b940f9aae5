"""Readings and forecasts: saying them, taking them back, listing them."""

from collections.abc import Callable, Sequence
from datetime import datetime

from msgspec.structs import replace

from curetrack.errors import UnknownName
from curetrack.facts import Forecast, Place, Reading
from curetrack.instants import from_h, to_h
from curetrack.ledger import View
from curetrack.ledger.readings import Progress, Row
from curetrack.ledger.times import MS_PER_HOUR, h_to_ms, time_to_ms
from curetrack.ledger.writer import Writer
from curetrack.shop.desk import Desk
from curetrack.shop.plausible import (
    SLIP_WITHIN_h,
    check_forecast,
    check_reading,
    check_rows,
    check_source,
    check_unit_slip,
    past,
    spelled,
)  # fmt: skip
from curetrack.shop.receipts import ImportResult, Receipt

__all__ = ["Weather", "say_reading"]


class Weather(Desk):
    """The part of the Shop that hears of temperatures."""

    def add_reading(
        self, *, temp_degC: float | None = None, humidity_pct: float | None = None, wind_m_s: float | None = None,
        place: Place = "slab", piece: str = "", at: datetime | None = None, now: datetime, source: str = "cli",
    ) -> Receipt:  # fmt: skip
        """One reading, for all pieces unless one is named. Saying it again changes nothing, but brings a withdrawn
        one back. Raises BadInput for what cannot be, UnknownName for a piece that is not there."""
        piece = spelled(piece)
        reading = self.checked_reading(
            Reading(0.0, temp_degC, humidity_pct, wind_m_s, place, piece), at if at is not None else now, now, source
        )

        def decide() -> Callable[[Writer], Receipt]:
            if piece:
                self.known_piece(piece)
            return lambda writer: say_reading(writer, reading, now, source)

        return self.write(decide)

    def checked_reading(self, reading: Reading, at: datetime, now: datetime, source: str) -> Reading:
        """The reading at its time, if it is plausible by itself and beside those before it."""
        check_source(source)
        at_ms = time_to_ms(past("the reading's time", at, now, self.settings.zone))
        reading = check_reading(replace(reading, at_h=at_ms / MS_PER_HOUR))
        near = self.ledger.readings_since(at_ms - int(SLIP_WITHIN_h * MS_PER_HOUR), reading.piece)
        check_unit_slip(reading, near)
        return reading

    def import_readings(
        self, rows: Sequence[Row], *, place: Place = "slab", piece: str = "", now: datetime, source: str = "cli",
        progress: Progress | None = None,
    ) -> ImportResult:  # fmt: skip
        """Rows of a file: (at_ms, temp_degC, humidity_pct, wind_m_s). Those already there are left alone, also the
        ones that were withdrawn. All or nothing is written. `progress` hears (rows done, rows in all)."""
        check_source(source)
        piece = spelled(piece)
        if not rows:
            return ImportResult(0, 0, None, None)
        rows, first, last = check_rows(rows, place, now)

        def decide() -> Callable[[Writer], int]:
            if piece:
                self.known_piece(piece)
            return lambda writer: writer.add_readings(
                rows, place=place, piece=piece, recorded_at=now, source=source, progress=progress
            )

        added = self.write(decide)
        return ImportResult(added, len(rows) - added, first, last)

    def readings(self, *, limit: int = 50, view: View | None = None) -> list[Reading]:
        """The newest readings in force, newest first."""
        return self.ledger.newest_readings(limit, view)

    def undo_reading(self, number: int, *, now: datetime, source: str = "cli") -> Receipt:
        """Takes a mistyped reading out of force. Saying the reading again brings it back."""
        check_source(source)

        def decide() -> Callable[[Writer], Receipt]:
            found = self.ledger.reading(number)
            if found is None:
                raise UnknownName("reading", str(number), [str(reading.id) for reading in self.readings(limit=12)])
            return lambda writer: Receipt(
                writer.withdraw_reading(number, back=False, recorded_at=now, source=source), reading=found[0]
            )

        return self.write(decide)

    def set_forecast(self, forecast: Forecast, *, now: datetime, source: str = "cli") -> Receipt:
        """What is expected from the moment it was made on (`made_h`, else now); it replaces the forecasts before it."""
        check_source(source)
        forecast = check_forecast(replace(forecast, made_h=forecast.made_h or to_h(now)))
        past("the forecast's time", from_h(forecast.made_h), now, self.settings.zone)

        return self.write(lambda: lambda writer: Receipt(writer.add_forecast(forecast, recorded_at=now, source=source)))


def say_reading(writer: Writer, reading: Reading, now: datetime, source: str) -> Receipt:
    """Writes one reading, or brings it back if it was withdrawn."""
    row = (h_to_ms(reading.at_h), reading.temp_degC, reading.humidity_pct, reading.wind_m_s)
    added = writer.add_readings([row], place=reading.place, piece=reading.piece, recorded_at=now, source=source)
    number = writer.reading_id(row, place=reading.place, piece=reading.piece)
    assert number is not None
    back = not added and writer.withdraw_reading(number, back=True, recorded_at=now, source=source)
    return Receipt(bool(added) or back, reading=replace(reading, id=number, recorded_h=to_h(now)))
