"""Rows of styled text, and how they are fitted: folded at words, cut at the edge."""

import os
import sys
import unicodedata

from rich.text import Text

from curetrack.desk.palette import STYLES

__all__ = ["Cells", "cut", "folded", "in_ascii", "knows_signs", "row_of", "styled", "write"]

ASCII = str.maketrans("·–—×’“”…°²³µΔ▲▸", '---x\'"".o23ud^>')
SIGNS = "▀▄█▼│⣿≈"

Cells = list[tuple[str, str]]  # of one row: sign and palette name


def styled(*parts: tuple[str, str] | str) -> Text:
    """One row of (text, palette name) pairs; plain text is calm."""
    row = Text(no_wrap=True, overflow="crop", end="")
    for part in parts:
        text, name = (part, "calm") if isinstance(part, str) else part
        row.append(text, STYLES[name])
    return row


def folded(text: str, name: str, width: int, *, most: int = 9, lead: str = "") -> list[Text]:
    """The text on as many rows as it takes, at most so many; what has no room is dropped with " ...". `lead` stands
    before the first row, and the others are indented as far."""
    room = max(10, width - len(lead))
    if most < 1:
        return []
    lines, line = list[str](), ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if len(longer) <= room or not line:
            line = longer
        else:
            lines.append(line)
            line = word
    lines += [line] if line else []
    if len(lines) > most:
        lines = lines[:most]
        while len(lines[-1]) > room - 4 and " " in lines[-1]:
            lines[-1] = lines[-1].rpartition(" ")[0]
        lines[-1] = f"{lines[-1][: room - 4]} ..."
    return [
        styled((lead if number == 0 else " " * len(lead), "title"), (row[:room], name))
        for number, row in enumerate(lines)
    ]


def cut(text: str, width: int) -> str:
    """Not wider than that."""
    return text if len(text) <= width else f"{text[: max(0, width - 3)]}..."


def write(cells: Cells, at: int, text: str, name: str) -> None:
    """Writes over what is there; what would stand beyond the edge is left out."""
    for number, letter in enumerate(text[: max(0, len(cells) - at)]):
        cells[at + number] = (letter, name)


def row_of(cells: Cells) -> Text:
    """The row; neighbours of one style are one span."""
    text = Text(no_wrap=True, overflow="crop", end="")
    run, style = "", ""
    for sign, name in cells:
        if name != style and run:
            text.append(run, STYLES[style])
            run = ""
        run, style = run + sign, name
    if run:
        text.append(run, STYLES[style])
    return text


def in_ascii(row: Text) -> Text:
    """The row in plain ASCII, sign for sign, styles kept: letters lose their accents, what has no twin is "?"."""
    text = row.plain.translate(ASCII)
    row.plain = "".join(sign if sign.isascii() else _base(sign) for sign in text)
    return row


def _base(sign: str) -> str:
    first = unicodedata.normalize("NFKD", sign)[:1]
    return first if first.isascii() else "?"


def knows_signs() -> bool:
    """Whether the terminal's encoding knows our signs; CURETRACK_ASCII says that its font does not."""
    if os.environ.get("CURETRACK_ASCII"):
        return False
    try:
        SIGNS.encode(getattr(sys.__stdout__, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
