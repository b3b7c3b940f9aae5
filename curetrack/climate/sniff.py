"""The outside of a logger's file: its encoding, separator, headings, and the line where the rows begin."""

import csv
import re
from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from curetrack.climate.cells import Kind, clean, kind_of, read_number
from curetrack.climate.headings import Heading, read_heading
from curetrack.errors import BadInput

__all__ = ["SAMPLE", "Table", "decode", "sniff", "split_lines"]

LONGEST_LINE = 20_000  # characters; no logger writes so many columns
SAMPLE = 150  # lines that are looked at to learn what stands where
SEPARATORS = {"\t": "tab", ";": "semicolon", ",": "comma"}
EPOCH_S, EPOCH_MS = (9e8, 4.2e9), (9e11, 4.2e12)  # 1998 to 2103
SHEET_DAYS = (36_526.0, 73_050.0)  # spreadsheet days of 2000 to 2099
_DIRECTIVE = re.compile(r"sep=(.)\s*")
_UNITS = re.compile(r"[\[(]?\s*(°\s?[cfk]|deg\s?[cf]|[cfk]|%\s?(?:rh)?|m/s|km/h|mph)\s*[\])]?", re.IGNORECASE)
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig", "UTF-8 with a byte-order mark"), (b"\xff\xfe", "utf-16", "UTF-16"),
          (b"\xfe\xff", "utf-16", "UTF-16"))  # fmt: skip


class Table(Struct, frozen=True):
    """What is known of a file before the meaning of its columns is settled.

    `skip` lines stand before the first row. `headings` are as many as the rows have cells, or none at all. `sample`
    holds the first rows, cells cleaned; `kinds` what stands in them.
    """

    separator: str
    skip: int
    headings: tuple[Heading, ...]
    sample: tuple[tuple[str, ...], ...]
    kinds: tuple[tuple[Kind, ...], ...]

    @property
    def width(self) -> int:
        """Cells of the widest row of the sample."""
        return max(len(row) for row in self.sample)

    def column(self, index: int) -> list[tuple[str, Kind]]:
        """The cells of one column in the sample that are not empty, with what stands in them."""
        rows = zip(self.sample, self.kinds, strict=True)
        return [(row[index], kinds[index]) for row, kinds in rows if index < len(row) and kinds[index] != "empty"]

    def name(self, index: int) -> str:
        """The heading of a column, else its number, counted from 1."""
        name = self.headings[index].name.strip() if index < len(self.headings) else ""
        return name or f"column {index + 1}"


def decode(data: bytes | str) -> tuple[str, str]:
    """The text of a file with line ends as \\n and without a byte-order mark, and the name of its encoding.

    UTF-8, UTF-16 by its mark or by its zero bytes, else Latin-1. Raises BadInput for what is no text.
    """
    if isinstance(data, str):
        text, encoding = data, "text"
    elif data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise BadInput("this is a spreadsheet, not a CSV file", remedy="save the sheet as CSV and take that file")
    else:
        text, encoding = _decode(data)
    if "\x00" in text[:4096]:
        raise BadInput("this is no text file", remedy="export the readings as CSV")
    text = text.removeprefix("\ufeff")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text or text.isspace():
        raise BadInput("the file is empty", remedy="export it again")
    return text, encoding


def _decode(data: bytes) -> tuple[str, str]:
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            return data.decode(codec, errors="replace"), name
    zeros = data[:512:2].count(0), data[1:512:2].count(0)
    if max(zeros) > len(data[:512]) // 4:
        return data.decode(
            "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le", errors="replace"
        ), "UTF-16 without a mark"
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def split_lines(lines: list[str], separator: str) -> Iterator[list[str]]:
    """The cells of each line. A quote that is never closed costs its own line only: readings have no line breaks."""
    if not any('"' in line for line in lines):
        yield from (line.split(separator) for line in lines)
        return
    for line in lines:
        try:
            yield next(csv.reader([line], delimiter=separator)) if line else [""]
        except (csv.Error, StopIteration):
            yield line.split(separator)


def sniff(text: str) -> Table:
    """Separator, headings and first rows of a file. Raises BadInput if no line has a time and a value."""
    end = text.find("\n", 200_000)  # a whole number of lines
    lines = [line[:LONGEST_LINE] for line in (text if end < 0 else text[:end]).split("\n", SAMPLE)[:SAMPLE]]
    directive = _DIRECTIVE.fullmatch(lines[0])
    found = [_Grid(lines, sep) for sep in ([directive[1]] if directive else SEPARATORS)]
    grid = max(found, key=lambda each: each.count)  # the first of equals: a tab before a semicolon before a comma
    if not grid.count:
        raise BadInput(
            "no line with a date, a time and a value", found=next(line for line in lines if line.strip())[:80],
            remedy="the file should have lines like 2026-02-03T18:00,12.5 under the headings time,temp_degC",
        )  # fmt: skip
    return grid.table()


class _Grid:
    """The sample cut by one separator, and which of its lines are rows of readings."""

    def __init__(self, lines: list[str], separator: str) -> None:
        self.separator = separator
        self.cells = [[clean(cell) for cell in cells] for cells in split_lines(lines, separator)]
        self.kinds = [[kind_of(cell) for cell in row] for row in self.cells]
        self.places = [_time_places(row, kinds) for row, kinds in zip(self.cells, self.kinds, strict=True)]
        usual = Counter(place for place in self.places if place)
        self.place = usual.most_common(1)[0][0] if usual else ()
        self.count = usual[self.place] if usual else 0
        self.first = self.places.index(self.place) if usual else 0

    def table(self) -> Table:
        """The rows from the first one on, with the headings above them."""
        rows = [index for index, place in enumerate(self.places) if place == self.place]  # no notes or headings between
        sample = tuple(tuple(self.cells[index]) for index in rows)
        kinds = tuple(tuple(self.kinds[index]) for index in rows)
        headings = self._headings()
        if headings:
            self._check_width(headings, sample)
            width = max(len(row) for row in sample)
            headings += [""] * (width - len(headings))
        return Table(self.separator, self.first, tuple(read_heading(name) for name in headings), sample, kinds)

    def _headings(self) -> list[str]:
        above = [row for row in self.cells[: self.first] if any(row)]
        units = above.pop() if len(above) > 1 and _is_units(above[-1]) else []
        for row in reversed(above[-3:]):
            if sum(map(bool, row)) > 1 or any(read_heading(cell).role in {"time", "temp"} for cell in row):
                units += [""] * (len(row) - len(units))
                return [f"{name} ({unit})" if unit else name for name, unit in zip(row, units, strict=False)]
        return []

    def _check_width(self, headings: list[str], sample: tuple[tuple[str, ...], ...]) -> None:
        named = max((index + 1 for index, name in enumerate(headings) if name), default=0)
        filled = Counter(max((i + 1 for i, cell in enumerate(row) if cell), default=0) for row in sample)
        usual = filled.most_common(1)[0][0]
        if usual > named:
            row = next(row for row in sample if len(row) >= usual)
            comma = "; a comma inside the numbers needs semicolons between the columns" if self.separator == "," else ""
            raise BadInput(
                f"{usual} columns under {named} headings", found=self.separator.join(row)[:80],
                remedy="give each column one heading" + comma,
            )  # fmt: skip


def _is_units(row: list[str]) -> bool:
    return any(_UNITS.fullmatch(cell) for cell in row) and all(
        _UNITS.fullmatch(cell) or not cell or not any(letter.isalpha() for letter in cell) for cell in row
    )


def _time_places(row: list[str], kinds: list[Kind]) -> tuple[int, ...]:
    """Where the time stands in a row of readings: one place, or those of date and time of day. Empty: no such row."""
    rest = sum(kind in {"number", "missing"} for kind in kinds)
    if "stamp" in kinds:
        return (kinds.index("stamp"),) if rest else ()
    if "date" in kinds and "clock" in kinds:
        return (kinds.index("date"), kinds.index("clock")) if rest else ()
    for index, (cell, kind) in enumerate(zip(row, kinds, strict=True)):
        if kind == "number" and rest > 1 and is_instant(read_number(cell)[0]):
            return (index,)
    return ()


def is_instant(number: float) -> bool:
    """Whether a number may be seconds or milliseconds since 1970, or the days of a spreadsheet."""
    return any(low <= number <= high for low, high in (EPOCH_S, EPOCH_MS, SHEET_DAYS))
