"""A long text in pieces of whole lines."""

from collections.abc import Iterable, Iterator
from itertools import islice

__all__ = ["line_blocks", "text_blocks"]

BLOCK_LINES, BLOCK_CHARS = 1200, 32_000  # small enough for the processor's cache: larger blocks are slower


def text_blocks(text: str, skip: int) -> Iterator[str]:
    """The text from line `skip` on, in pieces of whole lines."""
    start = 0
    for _ in range(skip):
        start = text.find("\n", start) + 1
    while start < len(text):
        end = text.rfind("\n", start, start + BLOCK_CHARS)
        if end < 0:
            end = text.find("\n", start)
        end = len(text) if end < 0 else end
        yield text[start:end]
        start = end + 1


def line_blocks(lines: Iterable[str], skip: int) -> Iterator[str]:
    """The same of lines that come one by one, as from an open file."""
    rest = islice(lines, skip, None)
    while batch := "".join(islice(rest, BLOCK_LINES)):
        yield batch.replace("\r\n", "\n").removesuffix("\n")
