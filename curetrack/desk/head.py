"""The top of the card in large letters: what, when, and of which piece. As large as there is room for."""

from collections.abc import Sequence

from rich.text import Text

from curetrack.desk.font import big, big_width
from curetrack.desk.rows import cut, styled
from curetrack.words.clean import clean

__all__ = ["AIRY", "JOINS", "head_rows", "large", "title_lines"]

ARTICLES = ("a", "an", "its", "the")
JOINS = (  # a phrase ends before them, and none ends with them
    *ARTICLES, "and", "as", "at", "by", "for", "from", "if", "in", "into", "of", "on", "or", "so", "that", "then", "to",
    "under", "until", "with",
)  # fmt: skip
AIRY = 16  # rows from which there is air between the title and the countdown
BETWEEN = 4  # columns between the countdown and the piece
SIZES = ((1, True, True), (2, False, True), (2, False, False), (1, False, False))  # lines; title, countdown doubled


def head_rows(
    title: str, clock: tuple[str, str], piece: str, width: int, height: int, *, ascii_only: bool = False
) -> tuple[list[Text], bool]:
    """The title, and under it the countdown (text and palette name) with the piece's name at the right, if it fits;
    and whether all of the title and the name are there.

    In the largest letters that leave about half of the card's `height` to what is under it; plain capitals at last.
    Neither the title nor the countdown is ever left out.
    """
    clock = _shown(clock[0], width), clock[1]
    most = height - (3 if ascii_only and height > 8 else max(2, height // 2 - 2))
    for lines, title_twice, clock_twice in SIZES:
        found = title_lines(title, width, lines, twice=title_twice)
        if found is None or (clock_twice and (height < AIRY or (big_width(clock[0]) or width) * 2 > width)):
            continue
        close = not ascii_only and not title_twice  # letters of three rows have half a row of air below
        top = _stacked(found, width, ascii_only=ascii_only, twice=title_twice, close=close)
        gap = [] if close and height < AIRY else [styled()]
        rows = [*top, *gap, *_clock_rows(clock, piece, width, ascii_only=ascii_only, twice=clock_twice)]
        if len(rows) <= most:
            return rows, _whole(found, title) and _fits(clock[0], piece, width, twice=clock_twice)
    plain = styled((cut(clean(title).upper(), width), "title"))
    low = _clock_rows(clock, piece, width, ascii_only=ascii_only)
    if len(low) < most:
        return [plain, *low], len(clean(title)) <= width and _fits(clock[0], piece, width)
    return [plain, styled((cut(clock[0].upper(), width), clock[1]))], False


def title_lines(title: str, width: int, most: int, *, twice: bool = False) -> list[str] | None:
    """The title on at most so many lines that fit in large letters: whole if it can be, else without articles, else
    its first words. None: not even its first word fits. At twice the size: whole, on one line, or not at all."""
    whole = clean(title).partition(" (")[0].split()
    tries = [whole, _bare(whole)]
    if twice:
        width, most = width // 2, 1
    else:
        tries += _shorter(" ".join(whole).partition(",")[0].split())
    for lines in range(1, most + 1):
        for words in tries[:2]:
            if (found := _broken(words, width, lines)) is not None:
                return found
    for words in tries[2:]:
        for lines in range(1, most + 1):
            if (found := _broken(words, width, lines)) is not None:
                return found
    return None


def large(text: str, width: int, name: str, *, ascii_only: bool = False, twice: bool = False) -> list[Text]:
    """In large letters, or in plain capitals where they do not fit."""
    rows = big(text, width, ascii_only=ascii_only, twice=twice)
    return [styled((row, name)) for row in rows] if rows else [styled((cut(text.upper(), width), name))]


def _bare(words: Sequence[str]) -> list[str]:
    return [word for word in words if word.casefold() not in ARTICLES]


def _shorter(words: Sequence[str]) -> list[list[str]]:
    """The first words, ever fewer: first as far as whole phrases go, two words at least, then down to one word."""
    joins = [word.casefold() in JOINS for word in words] + [True]
    ends = [count for count in range(len(words), 0, -1) if not joins[count - 1]]
    ordered = [count for count in ends if joins[count] and count > 1] + ends
    return [few for count in ordered for few in (list(words[:count]), _bare(words[:count]))]


def _broken(words: Sequence[str], width: int, lines: int) -> list[str] | None:
    """The words on one line or on two that fit in large letters; two are about equally long, and the first does not
    end with a word that leads to the next."""
    if not words:
        return None
    cuts = [0] if lines == 1 else range(1, len(words))
    found: list[tuple[bool, int, list[str]]] = []
    for count in cuts:
        rows = [" ".join(part) for part in (words[:count], words[count:]) if part]
        wide = max(big_width(row) or width + 1 for row in rows)
        if wide <= width:
            found.append((count > 0 and words[count - 1].casefold() in JOINS, wide, rows))
    return min(found, default=(False, 0, None))[2]


def _shown(said: str, width: int) -> str:
    """The whole countdown if it fits in large letters, else what stands behind its comma, or before it."""
    head, _, tail = said.partition(", ")
    shorter = said, tail, head, head.removesuffix(" first")
    return next((part for part in shorter if part and (big_width(part) or width + 1) <= width), said)


def _clock_rows(clock: tuple[str, str], piece: str, width: int, *, ascii_only: bool, twice: bool = False) -> list[Text]:
    """The countdown at the left and the piece at the right, on the same foot; the piece only where both fit."""
    said, name = clock
    rows = large(said, width, name, ascii_only=ascii_only, twice=twice)
    if not _fits(said, piece, width, twice=twice):
        return rows
    named = big(clean(piece), width, ascii_only=ascii_only) or []
    start = width - (big_width(clean(piece)) or 0)
    for row, letters in zip(rows[len(rows) - len(named) :], named, strict=True):
        row.append(" " * (start - len(row.plain)))
        row.append_text(styled((letters, "where")))
    return rows


def _fits(said: str, piece: str, width: int, *, twice: bool = False) -> bool:
    clock, name = big_width(said), big_width(clean(piece))
    return clock is not None and name is not None and clock * (2 if twice else 1) + BETWEEN + name <= width


def _whole(lines: Sequence[str], title: str) -> bool:
    return _bare(" ".join(lines).split()) == _bare(clean(title).split())


def _stacked(lines: Sequence[str], width: int, *, ascii_only: bool, twice: bool, close: bool) -> list[Text]:
    rows = list[Text]()
    for number, line in enumerate(lines):
        rows += [styled()] if number and not close else []
        rows += large(line, width, "title", ascii_only=ascii_only, twice=twice)
    return rows
