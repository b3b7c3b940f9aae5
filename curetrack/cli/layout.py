"""Rows of text laid out in a gutter and a body, for terminals and pipes alike. Pure: text in, lines out.

A row has a gutter (a moment, a mark), a body that wraps under itself, and sometimes a word at the right edge. Styles
are names (`title`, `now`, `alarm`, `dim`, `careful`); the screen gives them colour, or none.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct

__all__ = ["Row", "Span", "cells", "laid_out", "plain_text", "row", "table"]


_UNITS = frozenset({
    "°C", "°F", "MPa", "psi", "kg", "lb", "h", "min", "d", "mm", "m", "in", "ft", "km/h", "mph", "%", "people",
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
})  # fmt: skip

GAP = 2  # between columns


class Span(Struct, frozen=True):
    """A stretch of text of one style."""

    text: str
    style: str = ""


class Row(Struct, frozen=True):
    """One row: `gutter` (as wide as the widest of its screen), `body`, `right` at the right edge, `indent` of body."""

    body: tuple[Span, ...] = ()
    gutter: Span = Span("")
    right: Span = Span("")
    indent: int = 0
    hang: int = 0  # further indent of wrapped lines
    flat: bool = False  # over the whole width, without the gutter


def row(
    *body: str | Span,
    gutter: str | Span = "",
    right: str | Span = "",
    indent: int = 0,
    hang: int = 0,
    flat: bool = False,
) -> Row:
    """A row from plain strings and spans."""
    return Row(tuple(_span(part) for part in body), _span(gutter), _span(right), indent, hang, flat)


def cells(text: str) -> int:
    """How many terminal cells a text takes."""
    if text.isascii():
        return len(text)
    from unicodedata import combining, east_asian_width  # a large table, and most text does without

    return sum(0 if combining(ch) else 2 if east_asian_width(ch) in ("W", "F") else 1 for ch in text)


def laid_out(rows: Iterable[Row], width: int, gap: int = GAP) -> list[list[Span]]:
    """Rows as lines of spans, none wider than `width` unless one word alone is."""
    rows = list(rows)
    gutter = max((cells(r.gutter.text) for r in rows if not r.flat), default=0)
    gutter += gap if gutter else 0
    lines: list[list[Span]] = []
    for each in rows:
        lines += _lines_of(each, width, 0 if each.flat else gutter)
    return lines


def plain_text(lines: Iterable[Sequence[Span]]) -> str:
    """Lines without their styles."""
    return "".join("".join(span.text for span in line).rstrip() + "\n" for line in lines)


def table(header: Sequence[str], rows: Sequence[Sequence[str]], width: int, gap: int = GAP) -> list[Row]:
    """Columns side by side, the last one wrapping in what is left; a column of numbers goes right."""
    if not rows:
        return []
    columns = list(zip(*([header, *rows] if any(header) else rows), strict=True))
    widths = [max(cells(cell) for cell in column) for column in columns]
    right = [all(_numeric(cell) for cell in column) for column in zip(*rows, strict=True)]
    fixed = sum(widths[:-1]) + gap * (len(widths) - 1)
    hang = fixed if fixed + 16 <= width else 4
    found = [row(Span(_cells_of(header, widths, right, gap), "dim"), hang=hang)] if any(header) else []
    return [*found, *(row(_cells_of(cell_row, widths, right, gap), hang=hang) for cell_row in rows)]


def stacked(header: Sequence[str], rows: Sequence[Sequence[str]], width: int, kept: Sequence[int] = (0,)) -> list[Row]:
    """Columns that fit side by side, the others in further tables below, an empty line between; the `kept` ones (what
    is what) stand in each."""
    widths = [max(cells(cell_row[number]) for cell_row in (header, *rows)) for number in range(len(header))]
    blocks = [list(kept)]
    for number in [number for number in range(len(header)) if number not in kept]:
        room = sum(widths[other] + GAP for other in blocks[-1]) + widths[number]
        if room > width and len(blocks[-1]) > len(kept):
            blocks.append(list(kept))
        blocks[-1].append(number)
    found: list[Row] = []
    for block in blocks:
        picked = [tuple(cell_row[number] for number in block) for cell_row in rows]
        found += [*([row()] if found else []), *table([header[number] for number in block], picked, width)]
    return found


def _cells_of(cell_row: Sequence[str], widths: Sequence[int], right: Sequence[bool], gap: int) -> str:
    parts = []
    for cell, width, to_right in zip(cell_row, widths, right, strict=True):
        pad = " " * (width - cells(cell))
        parts.append(pad + cell if to_right else cell + pad)
    return (" " * gap).join(parts).rstrip()


def _numeric(cell: str) -> bool:
    return bool(cell) and cell.replace(".", "", 1).replace("-", "", 1).isdigit()


def _span(part: str | Span) -> Span:
    return part if isinstance(part, Span) else Span(part)


def _lines_of(each: Row, width: int, gutter: int) -> list[list[Span]]:
    room = max(16, width - gutter - each.indent)
    right = cells(each.right.text)
    wrapped = _wrap(each.body, room, each.hang, reserve=right + 2 if right else 0)
    lines: list[list[Span]] = []
    for number, body in enumerate(wrapped):
        first = number == 0
        head = each.gutter if first else Span("")
        pad = gutter + each.indent + (0 if first else each.hang) - cells(head.text)
        lines.append([span for span in (head, Span(" " * pad), *body) if span.text])
    if right:
        used = sum(cells(span.text) for span in lines[0])
        lines[0] += [Span(" " * max(2, width - used - right)), each.right]
    return lines


def _wrap(spans: Sequence[Span], room: int, hang: int, reserve: int) -> list[list[Span]]:
    """Spans broken at spaces; the first line leaves `reserve` cells free, the others start `hang` further in."""
    lines: list[list[Span]] = [[]]
    used, limit = 0, room - reserve
    for word, style in _glued(_words(spans)):
        shown = word
        if used and used + cells(word.rstrip()) > limit:
            lines.append([])
            used, limit, shown = 0, room - hang, word.lstrip()
        lines[-1].append(Span(shown, style))
        used += cells(shown)
    return [_merged(_stripped(line)) for line in lines]


def _words(spans: Sequence[Span]) -> Iterable[tuple[str, str]]:
    """Words with the spaces behind them, so that runs of spaces (columns) stay as they are."""
    for span in spans:
        start = 0
        text = span.text
        while start < len(text):
            end = start
            while end < len(text) and text[end] == " ":
                end += 1
            while end < len(text) and text[end] != " ":
                end += 1
            while end < len(text) and text[end] == " ":
                end += 1
            yield text[start:end], span.style
            start = end


def _glued(words: Iterable[tuple[str, str]]) -> Iterable[tuple[str, str]]:
    """A number and its unit stay on one line."""
    held: tuple[str, str] | None = None
    for word, style in words:
        if held is not None and held[1] == style and word.strip(" .,;:()") in _UNITS:
            held = (held[0] + word, style)
            continue
        if held is not None:
            yield held
            held = None
        if word.rstrip(" ")[-1:].isdigit() and word.endswith(" ") and not word.endswith("  "):
            held = (word, style)
        else:
            yield word, style
    if held is not None:
        yield held


def _stripped(line: list[Span]) -> list[Span]:
    """Without the space behind the last word."""
    if not line or line[-1].text == line[-1].text.rstrip():
        return line
    return [*line[:-1], Span(line[-1].text.rstrip(), line[-1].style)]


def _merged(line: list[Span]) -> list[Span]:
    merged: list[Span] = []
    for span in line:
        if merged and merged[-1].style == span.style:
            merged[-1] = Span(merged[-1].text + span.text, span.style)
        else:
            merged.append(span)
    return merged
