"""Letters three rows high, for what is read from two metres: five dots high, drawn with half blocks. Shapes of our own.

In plain ASCII they are five rows high, of "#".
"""

from collections.abc import Sequence

__all__ = ["big", "big_width"]

DOTS: dict[str, tuple[str, ...]] = {
    "A": (".#.", "#.#", "###", "#.#", "#.#"), "B": ("##.", "#.#", "##.", "#.#", "##."),
    "C": (".##", "#..", "#..", "#..", ".##"), "D": ("##.", "#.#", "#.#", "#.#", "##."),
    "E": ("###", "#..", "##.", "#..", "###"), "F": ("###", "#..", "##.", "#..", "#.."),
    "G": (".##", "#..", "#.#", "#.#", ".##"), "H": ("#.#", "#.#", "###", "#.#", "#.#"),
    "I": ("#", "#", "#", "#", "#"), "J": ("..#", "..#", "..#", "#.#", ".#."),
    "K": ("#.#", "#.#", "##.", "#.#", "#.#"), "L": ("#..", "#..", "#..", "#..", "###"),
    "M": ("#...#", "##.##", "#.#.#", "#...#", "#...#"), "N": ("#..#", "##.#", "#.##", "#..#", "#..#"),
    "O": (".#.", "#.#", "#.#", "#.#", ".#."), "P": ("##.", "#.#", "##.", "#..", "#.."),
    "Q": (".#.", "#.#", "#.#", ".#.", "..#"), "R": ("##.", "#.#", "##.", "#.#", "#.#"),
    "S": (".##", "#..", ".#.", "..#", "##."), "T": ("###", ".#.", ".#.", ".#.", ".#."),
    "U": ("#.#", "#.#", "#.#", "#.#", "###"), "V": ("#.#", "#.#", "#.#", "#.#", ".#."),
    "W": ("#...#", "#...#", "#.#.#", "##.##", "#...#"), "X": ("#.#", "#.#", ".#.", "#.#", "#.#"),
    "Y": ("#.#", "#.#", ".#.", ".#.", ".#."), "Z": ("###", "..#", ".#.", "#..", "###"),
    "0": ("###", "#.#", "#.#", "#.#", "###"), "1": (".#.", "##.", ".#.", ".#.", "###"),
    "2": ("##.", "..#", ".#.", "#..", "###"), "3": ("##.", "..#", ".#.", "..#", "##."),
    "4": ("#.#", "#.#", "###", "..#", "..#"), "5": ("###", "#..", "##.", "..#", "##."),
    "6": (".##", "#..", "###", "#.#", "###"), "7": ("###", "..#", ".#.", ".#.", ".#."),
    "8": ("###", "#.#", "###", "#.#", "###"), "9": ("###", "#.#", "###", "..#", "##."),
    " ": ("..", "..", "..", "..", ".."), "-": ("...", "...", "###", "...", "..."),
    ".": (".", ".", ".", ".", "#"), ",": ("..", "..", "..", ".#", "#."), ":": (".", "#", ".", "#", "."),
    "+": ("...", ".#.", "###", ".#.", "..."), "/": ("..#", "..#", ".#.", "#..", "#.."),
    "(": (".#", "#.", "#.", "#.", ".#"), ")": ("#.", ".#", ".#", ".#", "#."), "'": ("#", "#", ".", ".", "."),
    "!": ("#", "#", "#", ".", "#"), "?": ("##.", "..#", ".#.", "...", ".#."), "%": ("#.#", "..#", ".#.", "#..", "#.#"),
}  # fmt: skip
HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
PLAIN = {"Ä": "AE", "Ö": "OE", "Ü": "UE", "ß": "SS", "É": "E", "È": "E", "·": "-", "–": "-", "²": "2", "³": "3"}


def big(text: str, width: int, *, ascii_only: bool = False) -> list[str] | None:
    """The text in large letters, three rows (ASCII: five); None if it is wider than `width`, or has a letter that
    there is no shape for."""
    glyphs = _glyphs(text)
    if glyphs is None or _wide(glyphs) > width:
        return None
    dots = [".".join(glyph[row] for glyph in glyphs) for row in range(5)]
    if ascii_only:
        return [row.replace(".", " ").rstrip() for row in dots]
    pairs = [(dots[0], dots[1]), (dots[2], dots[3]), (dots[4], "." * len(dots[4]))]
    return ["".join(HALVES[up == "#", low == "#"] for up, low in zip(*pair, strict=True)).rstrip() for pair in pairs]


def big_width(text: str) -> int | None:
    """How wide it would be; None: some letter has no shape."""
    glyphs = _glyphs(text)
    return None if glyphs is None else _wide(glyphs)


def _glyphs(text: str) -> list[tuple[str, ...]] | None:
    found = []
    for letter in text.upper():
        for plain in PLAIN.get(letter, letter):
            if plain not in DOTS:
                return None
            found.append(DOTS[plain])
    return found


def _wide(glyphs: Sequence[tuple[str, ...]]) -> int:
    return sum(len(glyph[0]) for glyph in glyphs) + max(0, len(glyphs) - 1)
