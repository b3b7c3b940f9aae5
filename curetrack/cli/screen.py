"""Where a command's answer goes: styled on a terminal, plain when piped, JSON when asked for; remarks go to stderr."""

import os
import sys
from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING, Any, TextIO

from curetrack.words.clean import clean

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

    from curetrack.cli.layout import Row, Span

__all__ = ["Screen", "say_error"]

NARROWEST, WIDEST, PIPED = 60, 120, 80
SHORTEST = 12  # lines of a terminal, whatever it says
STYLES = {"title": "bold", "now": "bold cyan", "alarm": "bold red", "dim": "dim", "careful": "italic", "head": "bold"}
_SIGNS = "°×·²³☐"  # and the shapes
_TWINS = {"°C": "C", "°F": "F", "°": " deg", "×": "x", "·": "-", "…": "...", "²": "2", "³": "3", "☐": "[ ]"}


class Screen:
    """One command's standard output."""

    def __init__(self, *, as_json: bool = False, plain: bool = False) -> None:
        self.as_json = as_json
        self.terminal = sys.stdout.isatty() and not as_json and not plain

    @cached_property
    def width(self) -> int:
        """Cells to lay out for."""
        if self.terminal or "COLUMNS" in os.environ:
            import shutil

            return min(WIDEST, max(NARROWEST, shutil.get_terminal_size((PIPED, 24)).columns))
        return PIPED

    @cached_property
    def height(self) -> int:
        """Lines of the terminal."""
        import shutil

        return max(SHORTEST, shutil.get_terminal_size((PIPED, 24)).lines)

    @cached_property
    def ascii_only(self) -> bool:
        """The output does not know all the signs we use."""
        from curetrack.words.kinds import SHAPES

        return not _encodes(_SIGNS + "".join(shape.glyph for shape in SHAPES.values()))

    def show(self, rows: "Iterable[Row]", gap: int = 2) -> None:
        """Rows laid out to the width at hand."""
        from curetrack.cli.layout import laid_out, plain_text

        lines = laid_out(rows, self.width, gap)
        if self.terminal and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb":
            self._styled(lines)
        else:
            self.write(plain_text(lines))

    def write(self, text: str) -> None:
        """Text as it is, or in ASCII where the output knows no more."""
        if self.ascii_only:
            encoding = sys.stdout.encoding or "ascii"
            text = _in_ascii(text).encode(encoding, "replace").decode(encoding)
        sys.stdout.write(text)

    def json(self, answer: dict[str, Any]) -> None:
        """The answer for programs."""
        import msgspec

        text = msgspec.json.format(msgspec.json.encode(answer), indent=2).decode()
        if not _encodes("é€"):
            text = "".join(ch if ch.isascii() else _escaped(ch) for ch in text)
        sys.stdout.write(text + "\n")

    def remark(self, text: str) -> None:
        """Something decided for the person, or worth knowing; never part of the answer."""
        sys.stdout.flush()
        _to_stderr(f"curetrack: note: {clean(text)}\n")

    def console(self) -> "Console":
        """rich's console, for what moves."""
        from rich.console import Console

        return Console(highlight=False, markup=False, emoji=False, width=self.width, soft_wrap=True)

    def picture(self, rows: "Iterable[Row]", gap: int = 2) -> "Text":
        """Rows laid out, as one text of rich."""
        from rich.text import Text

        from curetrack.cli.layout import laid_out

        return Text("\n").join(self._text_of(line) for line in laid_out(rows, self.width, gap))

    def _styled(self, lines: "list[list[Span]]") -> None:
        console = self.console()
        for line in lines:
            console.print(self._text_of(line))

    def _text_of(self, line: "list[Span]") -> "Text":
        from rich.text import Text

        text = Text()
        for span in line:
            text.append(self._shown(span.text), STYLES.get(span.style, ""))
        text.rstrip()
        return text

    def _shown(self, text: str) -> str:
        return _in_ascii(text) if self.ascii_only else text


def say_error(text: str) -> None:
    """An error on stderr, one line for each fault, whatever is in it."""
    for line in text.split("\n"):
        _to_stderr(f"curetrack: {clean(line)}\n")


def _in_ascii(text: str) -> str:
    from curetrack.words.kinds import SHAPES

    for sign, twin in [*_TWINS.items(), *((shape.glyph, shape.ascii) for shape in SHAPES.values())]:
        text = text.replace(sign, twin)
    return text


def _to_stderr(text: str) -> None:
    stream: TextIO | None = sys.stderr
    if stream is None:
        return
    encoding = stream.encoding or "ascii"
    try:
        stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
        stream.flush()
    except (OSError, ValueError):  # stderr closed: nobody is there to be told
        return


def _encodes(text: str) -> bool:
    encoding = sys.stdout.encoding
    if encoding is None:  # a stream of text in memory takes everything
        return True
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _escaped(ch: str) -> str:
    return "".join(f"\\u{int.from_bytes(pair, 'big'):04x}" for pair in _pairs(ch.encode("utf-16-be")))


def _pairs(data: bytes) -> Iterable[bytes]:
    return (data[start : start + 2] for start in range(0, len(data), 2))
