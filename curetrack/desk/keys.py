"""The keys: one each, by what a hand at the bench wants to say."""

import math
import time

__all__ = ["DOES", "HELP", "KEYS", "BOUNCE_s", "Taps", "key_line"]

BOUNCE_s = 0.6  # a key that is held, or hit twice by a glove, counts once

# key as textual names it, what is read, what it does
KEYS: tuple[tuple[str, str, str], ...] = (
    ("d", "d", "done"), ("l", "l", "later"), ("s", "s", "skip"), ("a", "a", "again"), ("p", "p", "check passed"),
    ("f", "f", "check failed"), ("u", "u", "undo"), ("t", "t", "temperature"), ("up", "↑", "piece before"),
    ("down", "↓", "piece after"), ("left", "←", "step before"), ("right", "→", "step after"), ("c", "c", "curve"),
    ("z", "z", "another span of time"), ("n", "n", "news read"), ("question_mark", "?", "help"), ("q", "q", "quit"),
)  # fmt: skip
DOES = frozenset(name for name, _, _ in KEYS)
SHORT = (("d", "done"), ("l", "later"), ("s", "skip"), ("p/f", "check"), ("u", "undo"), ("t", "temp"), ("?", "help"))

HELP = (
    "The large words are the next step of the piece in hand, and when. Under them: who, when with its band, why, what "
    "to check, what to mind. The axis shows all pieces: the solid line is past, with what was done on it; shapes after "
    "it are planned, a rising slope is a band, brackets are a window, shade is night; the line through all is now.",
    "A hold asks once more, with its check's own words. What the shop refuses is said with the reason; to go against a "
    "hold: curetrack done PIECE STEP --override \"why\".",
)  # fmt: skip


def key_line(width: int, *, ascii_only: bool = False) -> str:
    """The keys that matter most, as many as there is room for."""
    found = ""
    moves = ("up/down", "piece") if ascii_only else ("↑↓", "piece")
    for key, word in (*SHORT, moves, ("c", "curve"), ("n", "news read"), ("q", "quit")):
        more = f"{'  ' if found else ''}{key} {word}"
        if len(found) + len(more) > width:
            break
        found += more
    return found


class Taps:
    """Knows whether a key is the last one again: held, or hit twice."""

    def __init__(self) -> None:
        self._key, self._at = "", -math.inf

    def same(self, key: str) -> bool:
        """It is; while it goes on, so does this."""
        now = time.monotonic()
        same = key == self._key and now - self._at < BOUNCE_s
        self._key, self._at = key, now
        return same
