"""Letters three rows high, for what is read from two metres: five dots high, drawn with half blocks. Shapes of our own.

In plain ASCII they are five rows high, of "#". At twice the size each dot is two columns wide and one row high.
"""

import unicodedata
from collections.abc import Sequence

__all__ = ["big", "big_width"]

DOTS: dict[str, tuple[str, ...]] = {
    "A": (".#.", "#.#", "###", "#.#", "#.#"), "B": ("##.", "#.#", "##.", "#.#", "##."),
    "C": (".##", "#..", "#..", "#..", ".##"), "D": ("##.", "#.#", "#.#", "#.#", "##."),
    "E": ("###", "#..", "##.", "#..", "###"), "F": ("###", "#..", "##.", "#..", "#.."),
    "G": (".##", "#..", "#.#", "#.#", ".##"), "H": ("#.#", "#.#", "###", "#.#", "#.#"),
    "I": ("#", "#", "#", "#", "#"), "J": ("..#", "..#", "..#", "#.#", ".#."),
    "K": ("#..#", "#.#.", "##..", "#.#.", "#..#"), "L": ("#..", "#..", "#..", "#..", "###"),
    "M": ("#...#", "##.##", "#.#.#", "#...#", "#...#"), "N": ("#..#", "##.#", "#.##", "#..#", "#..#"),
    "O": (".#.", "#.#", "#.#", "#.#", ".#."), "P": ("##.", "#.#", "##.", "#..", "#.."),
    "Q": (".#.", "#.#", "#.#", ".#.", "..#"), "R": ("##.", "#.#", "##.", "#.#", "#.#"),
    "S": (".##", "#..", ".#.", "..#", "##."), "T": ("###", ".#.", ".#.", ".#.", ".#."),
    "U": ("#.#", "#.#", "#.#", "#.#", "###"), "V": ("#.#", "#.#", "#.#", "#.#", ".#."),
    "W": ("#...#", "#...#", "#.#.#", "##.##", "#...#"), "X": ("#.#", "#.#", ".#.", "#.#", "#.#"),
    "Y": ("#.#", "#.#", ".#.", ".#.", ".#."), "Z": ("###", "..#", ".#.", "#..", "###"),
    "0": ("###", "#.#", "#.#", "#.#", "###"), "1": (".#.", "##.", ".#.", ".#.", "###"),
    "2": ("###", "..#", "###", "#..", "###"), "3": ("##.", "..#", ".#.", "..#", "##."),
    "4": ("#.#", "#.#", "###", "..#", "..#"), "5": ("###", "#..", "##.", "..#", "##."),
    "6": (".##", "#..", "###", "#.#", "###"), "7": ("###", "..#", ".#.", ".#.", ".#."),
    "8": ("###", "#.#", ".#.", "#.#", "###"), "9": ("###", "#.#", "###", "..#", "##."),
    " ": ("..", "..", "..", "..", ".."), "-": ("...", "...", "###", "...", "..."),
    ".": (".", ".", ".", ".", "#"), ",": ("..", "..", "..", ".#", "#."), ":": (".", "#", ".", "#", "."),
    "+": ("...", ".#.", "###", ".#.", "..."), "/": ("..#", "..#", ".#.", "#..", "#.."),
    "(": (".#", "#.", "#.", "#.", ".#"), ")": ("#.", ".#", ".#", ".#", "#."), "'": ("#", "#", ".", ".", "."),
    "!": ("#", "#", "#", ".", "#"), "?": ("##.", "..#", ".#.", "...", ".#."), "%": ("#.#", "..#", ".#.", "#..", "#.#"),
    "&": (".#..", "#.#.", ".#..", "#.#.", ".#.#"), ">": ("#..", "##.", "###", "##.", "#.."),
}  # fmt: skip
HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
PLAIN = {"ß": "SS", "Æ": "AE", "Ø": "O", "Œ": "OE", "Ł": "L", "·": "-", "–": "-", "×": "X", "’": "'"}


def big(text: str, width: int, *, ascii_only: bool = False, twice: bool = False) -> list[str] | None:
    """The text in large letters, three rows (ASCII, or twice the size: five); None if it is wider than `width`, or has
    a letter that there is no shape for."""
    glyphs = _glyphs(text)
    if glyphs is None or _wide(glyphs) * (2 if twice else 1) > width:
        return None
    dots = [".".join(glyph[row] for glyph in glyphs) for row in range(5)]
    if twice or ascii_only:
        ink = "#" if ascii_only else "█"
        return ["".join((ink if dot == "#" else " ") * (2 if twice else 1) for dot in row).rstrip() for row in dots]
    pairs = [(dots[0], dots[1]), (dots[2], dots[3]), (dots[4], "." * len(dots[4]))]
    return ["".join(HALVES[up == "#", low == "#"] for up, low in zip(*pair, strict=True)).rstrip() for pair in pairs]


def big_width(text: str) -> int | None:
    """How many columns it takes; None: some letter has no shape."""
    glyphs = _glyphs(text)
    return None if glyphs is None else _wide(glyphs)


def _glyphs(text: str) -> list[tuple[str, ...]] | None:
    """Accents are left off: they have no room in five dots."""
    found = []
    for letter in text.upper():
        for plain in PLAIN.get(letter) or unicodedata.normalize("NFKD", letter):
            if plain in DOTS:
                found.append(DOTS[plain])
            elif not unicodedata.combining(plain):
                return None
    return found


def _wide(glyphs: Sequence[tuple[str, ...]]) -> int:
    return sum(len(glyph[0]) for glyph in glyphs) + max(0, len(glyphs) - 1)
