"""From the lines of a logger's file to readings, in batches; whatever is left out is counted, with the reason.

The rows of one day that follow each other all begin with the same date. They are taken apart as a whole (`_day`): the
date cut away, split at the separator, one look-up for each time of day and value, since a file repeats them all the
time. Whatever is unusual in them (a missing value, a clock change, a row of the future, another number of cells) sends
that day through `_careful`, row by row.
"""

from collections.abc import Callable, Iterable, Iterator
from itertools import repeat
from typing import TypeVar

from curetrack.climate.blocks import line_blocks, text_blocks
from curetrack.climate.cells import clean, is_missing, read_number
from curetrack.climate.dates import DAY_MS, HOUR_MS, parse_day, parse_tail, split_stamp
from curetrack.climate.layout import Layout, to_degC
from curetrack.climate.sniff import split_lines
from curetrack.climate.tally import Tally
from curetrack.climate.wall import Wall
from curetrack.errors import BadInput

__all__ = ["COLDEST_DEGC", "HOTTEST_DEGC", "Row", "iter_rows"]

Row = tuple[int, float | None, float | None, float | None]  # at_ms UTC, temp_degC, humidity_pct, wind_m_s

COLDEST_DEGC, HOTTEST_DEGC = -60.0, 80.0  # outside of it a sensor is broken or says so (-127, 85)
FOG_PCT = 110.0  # a sensor in fog shows a little over 100 %
STORM_M_S = 60.0
LONGEST_DATE, SHORT_DAY = 16, 2_000  # characters
KEPT = 100_000  # texts remembered by each look-up
SHEET_EPOCH_DAY = 25_569  # 1970-01-01 as the day number of a spreadsheet

NO_TIME, NO_NUMBER, NO_VALUE = "a time that cannot be read", "a temperature that is no number", "no value"
IMPLAUSIBLE = f"a temperature outside {COLDEST_DEGC:g} to {HOTTEST_DEGC:g} °C"
FUTURE, WORDS = "in the future", "headings or notes between the rows"
RH_OVER, RH_LEFT_OUT = "humidity over 100 %, taken as 100 %", "humidity that cannot be, left out"
WIND_LEFT_OUT = "wind that cannot be, left out"
MOVED = "in the hour that a clock change leaves out, moved forward"
TWICE = "in the hour that comes twice, told apart by order"

T = TypeVar("T")


class _Lookup(dict[str, T]):
    """What a text means, worked out once. A text that `read` refuses (ValueError) is not kept."""

    def __init__(self, read: Callable[[str], T]) -> None:
        super().__init__()
        self._read = read

    def __missing__(self, text: str) -> T:
        value = self._read(text)
        if len(self) >= KEPT:
            self.clear()
        self[text] = value
        return value


class _Skip(Exception):
    """Leaves the row being read."""


def iter_rows(lines: Iterable[str] | str, layout: Layout, tally: Tally | None = None) -> Iterator[list[Row]]:
    """Readings in the order of the file, in batches of about a thousand; `tally` is kept up to date on the way.

    `lines` is the whole text, or an open text file, or any lines from the first one on. Rows of the same instant are
    not merged: the store takes each only once. Raises BadInput at the end if no row, or less than half, can be read.
    """
    tally = Tally() if tally is None else tally
    reader = _Reader(layout, tally)
    for block in text_blocks(lines, layout.skip) if isinstance(lines, str) else line_blocks(lines, layout.skip):
        if rows := reader.read(block):
            yield rows
    reader.close()


class _Reader:
    """Reads blocks of lines by a layout. Keeps the look-ups and the wall clock from block to block."""

    def __init__(self, layout: Layout, tally: Tally) -> None:
        self.layout, self.stamps, self.tally = layout, layout.stamps, tally
        self.tally.lines = layout.skip
        self.wall = Wall(layout.stamps.zone, layout.step_ms)
        self.hours: dict[int, int | None] = {}
        self.before_ms: int | None = None  # the instant of the row before
        self.mark = self._end_of_date()
        self.window = SHORT_DAY  # characters to look for the end of a day in
        self.days = _Lookup(lambda text: parse_day(clean(text), layout.order) * DAY_MS)
        self.offsets = _Lookup(lambda text: self.wall.smooth_offset(self.days[text], DAY_MS))
        self.tails = _Lookup(lambda text: parse_tail(clean(text)))
        self.temps = _Lookup(self._temp)
        self.plain_days, self.plain_tails = _Lookup(self._plain_day), _Lookup(self._plain_tail)
        self.plain_temps = _Lookup(lambda text: _within(self.temps[text], COLDEST_DEGC, HOTTEST_DEGC))
        self.plain_humidity = _Lookup(lambda text: _within(_number(text), 0.0, 100.0))
        self.plain_wind = _Lookup(lambda text: _within(self._wind(text), 0.0, STORM_M_S))

    def read(self, block: str) -> list[Row]:
        """The readings of a block of whole lines."""
        if not self.mark:
            return self._careful(block.split("\n"))
        rows: list[Row] = []
        start = 0
        while start < len(block):
            cut, end = self._extent(block, start)
            rows += self._day(block[start:cut], block[cut:end]) or self._careful(block[start:end].split("\n"))
            start = end + 1
        return rows

    def close(self) -> None:
        """After the last block: note what the clock changes did; refuse a file of which too little can be read."""
        tally = self.tally
        tally.note(MOVED, self.wall.missing)
        tally.note(TWICE, self.wall.repeated)
        if tally.used == 0 or tally.count(NO_TIME) + tally.count(NO_NUMBER) > tally.used:
            raise BadInput(
                "most rows cannot be read" if tally.used else "no row can be used", found=tally.losses() or "no rows",
                remedy="look at that line, or export the readings as time,temp_degC with times like 2026-02-03T18:00",
            )  # fmt: skip

    # The fast way: the rows of a day at once

    def _end_of_date(self) -> str:
        """What stands behind the date if each line begins with it, else nothing: then there is no fast way."""
        if self.stamps.date != 0:
            return ""
        return {"joined": self.stamps.divider, "pair": self.layout.separator}.get(self.stamps.style, "")

    def _extent(self, block: str, start: int) -> tuple[int, int]:
        """Where the date of the line at `start` ends, and where the last line near by ends that begins with it."""
        cut = block.find(self.mark, start, start + LONGEST_DATE) + 1
        last = block.rfind("\n" + block[start:cut], start, start + self.window) if cut else -1
        end = block.find("\n", max(last + 1, start))
        end = len(block) if end < 0 else end
        self.window = max(SHORT_DAY, 2 * (end - start))
        return cut or start, end

    def _day(self, date: str, rest: str) -> list[Row] | None:
        """The readings of lines that all begin with `date`, if there is nothing unusual about them, else None."""
        separator = self.layout.separator
        cells = rest.replace("\n" + date, separator)
        count = 1 + (len(rest) - len(cells)) // (len(date) or 1)
        parts = cells.split(separator)
        if not date or "\n" in cells or len(parts) % count:
            return None
        try:
            return self._columns(self.plain_days[date[:-1]], parts, len(parts) // count)
        except (ValueError, IndexError, OverflowError):
            return None

    def _columns(self, midnight_ms: int, parts: list[str], width: int) -> list[Row]:
        layout, pair = self.layout, self.stamps.style == "pair"

        def column(index: int) -> list[str]:
            if index - pair >= width:
                raise IndexError(index)
            return parts[index - pair :: width]

        tails = map(self.plain_tails.__getitem__, column(self.stamps.clock if pair else 0))
        ats = [midnight_ms + tail for tail in tails]
        temps = list(map(self.plain_temps.__getitem__, column(layout.temp)))
        humidity: Iterable[float | None] = repeat(None)
        wind: Iterable[float | None] = repeat(None)
        if layout.humidity >= 0:
            humidity = list(map(self.plain_humidity.__getitem__, column(layout.humidity)))
        if layout.wind >= 0:
            wind = list(map(self.plain_wind.__getitem__, column(layout.wind)))
        self.tally.lines += len(ats)
        self.tally.add(ats)
        self.before_ms = ats[-1]
        return list(zip(ats, temps, humidity, wind, strict=False))  # repeat has no end

    def _plain_day(self, text: str) -> int:
        """The instant of a midnight. The last days before now go the careful way, which leaves out what is after it."""
        midnight_ms = self.days[text]
        if midnight_ms > self.layout.now_ms - 2 * DAY_MS:
            raise ValueError(FUTURE)
        return midnight_ms if self.stamps.written else midnight_ms - _known(self.offsets[text])

    def _plain_tail(self, text: str) -> int:
        ms, offset_ms = self.tails[text]
        if (offset_ms is not None) != self.stamps.written:
            raise ValueError(text)
        return ms - (offset_ms or 0)

    # The careful way: row by row

    def _careful(self, lines: list[str]) -> list[Row]:
        rows: list[Row] = []
        for line, cells in zip(lines, split_lines(lines, self.layout.separator), strict=True):
            self.tally.lines += 1
            if not line.strip():
                continue
            try:
                rows.append(self._row(line, cells))
            except _Skip as reason:
                self.tally.skip(str(reason), self.tally.lines)
        self.tally.add([row[0] for row in rows])
        return rows

    def _row(self, line: str, cells: list[str]) -> Row:
        layout = self.layout
        try:
            at_ms = self._instant(cells)
        except (ValueError, IndexError, OverflowError):
            raise _Skip(NO_TIME if any(letter.isdigit() for letter in line) else WORDS) from None
        self.before_ms = at_ms
        try:
            temp_degC = self.temps[cells[layout.temp]] if layout.temp < len(cells) else None
        except ValueError:
            raise _Skip(NO_NUMBER) from None
        if at_ms > layout.now_ms:
            raise _Skip(FUTURE)
        if temp_degC is not None and not COLDEST_DEGC <= temp_degC <= HOTTEST_DEGC:
            raise _Skip(IMPLAUSIBLE)
        humidity_pct, wind_m_s = self._humidity(cells), self._checked_wind(cells)
        if temp_degC is None and humidity_pct is None and wind_m_s is None:
            raise _Skip(NO_VALUE)
        return at_ms, temp_degC, humidity_pct, wind_m_s

    def _instant(self, cells: list[str]) -> int:
        stamps = self.stamps
        text = clean(cells[stamps.date])
        if stamps.style in {"epoch_s", "epoch_ms"}:
            return round(read_number(text)[0] * (1000 if stamps.style == "epoch_s" else 1))
        if stamps.style == "sheet":  # to the second: the fraction of a day is rounded in such files
            local_ms = round((read_number(text)[0] - SHEET_EPOCH_DAY) * (DAY_MS // 1000)) * 1000
            return self._local(local_ms)
        if stamps.style == "pair":
            day, tail = cells[stamps.date], cells[stamps.clock]
        else:
            day, tail = text.split(stamps.divider, 1) if stamps.divider else split_stamp(text)
        (ms, offset_ms), midnight_ms = self.tails[tail], self.days[day]
        if offset_ms is None:
            offset_ms = self.offsets[day]
        return self._local(midnight_ms + ms) if offset_ms is None else midnight_ms + ms - offset_ms

    def _local(self, local_ms: int) -> int:
        """The instant of a local time on a day with a clock change; most of its hours know of none."""
        hour = local_ms // HOUR_MS
        if hour not in self.hours:
            self.hours[hour] = self.wall.smooth_offset(hour * HOUR_MS, HOUR_MS)
        offset_ms = self.hours[hour]
        return self.wall.utc(local_ms, self.before_ms) if offset_ms is None else local_ms - offset_ms

    def _temp(self, text: str) -> float | None:
        text = clean(text)
        if is_missing(text):
            return None
        number, suffix = read_number(text)
        unit = suffix or self.layout.temp_unit
        if unit not in {"C", "F", "K"}:
            raise ValueError(text)
        return to_degC(number, unit)

    def _humidity(self, cells: list[str]) -> float | None:
        value = _optional(cells, self.layout.humidity, _number)
        if value is not None and 100.0 < value <= FOG_PCT:
            self.tally.note(RH_OVER)
            return 100.0
        if value is None or 0.0 <= value <= 100.0:
            return value
        self.tally.note(RH_LEFT_OUT)
        return None

    def _checked_wind(self, cells: list[str]) -> float | None:
        value = _optional(cells, self.layout.wind, self._wind)
        if value is None or 0.0 <= value <= STORM_M_S:
            return value
        self.tally.note(WIND_LEFT_OUT)
        return None

    def _wind(self, text: str) -> float | None:
        value = _number(text)
        return None if value is None else round(value * self.layout.wind_factor, 4)


def _number(text: str) -> float | None:
    text = clean(text)
    return None if is_missing(text) else read_number(text)[0]


def _optional(cells: list[str], index: int, read: Callable[[str], float | None]) -> float | None:
    """The value of a column beside the temperature; what cannot be read there costs no row."""
    try:
        return read(cells[index]) if 0 <= index < len(cells) else None
    except ValueError:
        return None


def _known(value: T | None) -> T:
    if value is None:
        raise ValueError("not known")
    return value


def _within(value: float | None, low: float, high: float) -> float:
    value = _known(value)
    if not low <= value <= high:
        raise ValueError(f"{value} is not within {low} to {high}")
    return value
