"""How the piece may be held now, grip by grip: what it bends to, what that asks for, what is there."""

from collections.abc import Sequence

from msgspec.structs import replace

from curetrack.cli.layout import Row, Span, row, table
from curetrack.concrete.handling import CRACKING_FACTOR, JOLT_FACTOR, STICKING_FACTOR
from curetrack.timeline.crew import GripRow
from curetrack.words.amounts import hours_of, strength
from curetrack.words.rules import GRIPS
from curetrack.words.voice import Voice

__all__ = ["grips_rows"]

NARROW = 80  # a narrow terminal shows the whole table
HEAD = ("held", "bends to", "needs", "from", "bears")
WANTED = JOLT_FACTOR * CRACKING_FACTOR
BASIS = (
    f"From: the equivalent age. Bears: so many times its own bending at rest; wanted are {WANTED:g} "
    f"({JOLT_FACTOR:g} for a jolt, common practice; {CRACKING_FACTOR:g} on cracking, PCI), by 0.62 sqrt(fc) of ACI "
    "318-19. Own weight and cut-outs alone: a crack or a bump is not in it."
)
FREE = f" Broken free from its base: {WANTED * STICKING_FACTOR:g} times (PCI, from memory)."


def grips_rows(grips: Sequence[GripRow], voice: Voice) -> list[Row]:
    """The table, and what it rests on."""
    title = f"Holding it, at {strength(grips[0].have_MPa, voice.system)} now"
    told = table(HEAD, [_cells(grip, voice) for grip in grips], NARROW)
    basis = BASIS + (FREE if any(grip.breaks_free for grip in grips) else "")
    rows = [row(Span(title, "head")), *told, row(basis)]
    return [row(), *(replace(each, flat=True) for each in rows)]


def _cells(grip: GripRow, voice: Voice) -> tuple[str, ...]:
    centre, low, high = grip.factors
    bends, need = (strength(value, voice.system) for value in (grip.answer.stress_MPa, grip.need_MPa))
    name = GRIPS[grip.answer.grip].removeprefix("held ") + (", off its base" if grip.breaks_free else "")
    age = "never" if grip.from_h is None else hours_of(grip.from_h)
    enough = "" if grip.answer.bears else ", no"
    return name, bends, need, age, f"{centre:.1f} ({low:.1f} to {high:.1f}){enough}"
