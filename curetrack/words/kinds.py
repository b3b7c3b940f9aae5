"""The shapes of the ten kinds of step, and the words of the states.

Shapes are ours: each is one cell wide, has an ASCII twin that keeps its gesture, and says something of the work
(a form is an open box, a cover a tent, water waves, a grind grain, a coat layers).
"""

from msgspec import Struct

from curetrack.profile.types import Kind
from curetrack.timeline.types import Grade, State

__all__ = ["GRADES", "SHAPES", "STATES", "Shape", "shape"]


class Shape(Struct, frozen=True):
    """One glyph, its ASCII twin, and the word of the kind."""

    glyph: str
    ascii: str
    word: str


SHAPES: dict[Kind, Shape] = {
    "form": Shape("□", "#", "form"),
    "place": Shape("▄", "_", "place"),
    "wet": Shape("≈", "~", "wet"),
    "cover": Shape("∩", "n", "cover"),
    "lift": Shape("▲", "^", "lift"),
    "grind": Shape("▒", "%", "grind"),
    "fill": Shape("●", "o", "fill"),
    "dry": Shape("☼", "*", "dry"),
    "coat": Shape("═", "=", "coat"),
    "rest": Shape("◊", ".", "rest"),
}

STATES: dict[State, str] = {
    "waiting": "waiting",
    "ready": "ready",
    "late": "late",
    "done": "done",
    "skipped": "skipped",
}

GRADES: dict[Grade, str] = {"hold": "HOLD", "warn": "WARNING", "hint": "HINT"}


def shape(kind: Kind, *, ascii_only: bool = False) -> str:
    """The one-cell shape of a kind."""
    found = SHAPES[kind]
    return found.ascii if ascii_only else found.glyph
