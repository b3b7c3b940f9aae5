"""What pieces share: a maker has one form of a kind, and a piece keeps it from one step to another.

    shared    shelf form: shelf*; table form: table 1, table 2 (form..flip)

Before the colon is what it is called, behind it the pieces that use it (a star at the end: all that begin so), and in
brackets from which step to the end of which one of a piece it is taken; not said: from `form` to `strip`.
"""

import re

from msgspec import Struct

from curetrack.errors import Faults

__all__ = ["Shared", "read_shared"]

LIKE = 'write it like "shelf form: shelf*; table form: table 1, table 2 (form..flip)"'
FIRST, LAST = "form", "strip"
LONGEST, MOST = 1000, 20

_PART = re.compile(r"([^\W\d_][\w .-]{0,39}?)\s*:\s*([^()]+?)\s*(?:\(\s*([^()]*?)\s*\))?")
_RANGE = re.compile(r"([a-z0-9][a-z0-9-]*)\s*\.\.\s*([a-z0-9][a-z0-9-]*)")


class Shared(Struct, frozen=True):
    """One thing, the pieces that use it, and its first and last step in each of them."""

    name: str
    pieces: tuple[str, ...]
    first: str = FIRST
    last: str = LAST

    def is_used_by(self, piece: str) -> bool:
        """Whether a piece of this name uses it."""
        folded = piece.casefold()
        return any(
            folded.startswith(each[:-1].casefold()) if each.endswith("*") else folded == each.casefold()
            for each in self.pieces
        )

    @property
    def text(self) -> str:
        """As it is kept."""
        steps = "" if (self.first, self.last) == (FIRST, LAST) else f" ({self.first}..{self.last})"
        return f"{self.name}: {', '.join(self.pieces)}{steps}"


def read_shared(text: str) -> tuple[tuple[Shared, ...], str]:
    """What is shared, and how it is kept. Raises Faults with all that is wrong."""
    if len(text) > LONGEST or not text.isprintable():
        raise Faults("shared", ["shared: too long, or not plain text"])
    faults: list[str] = []
    found: dict[str, Shared] = {}
    for part in text.split(";"):
        said = " ".join(part.split())
        thing = _thing(said, faults)
        if thing is None:
            continue
        if thing.name.casefold() in found:
            faults.append(f"shared: {thing.name}: named twice; write all its pieces behind one name")
        found[thing.name.casefold()] = thing
    if len(found) > MOST:
        faults.append(f"shared: more than {MOST} things")
    if faults:
        raise Faults("shared", tuple(dict.fromkeys(faults)))
    return tuple(found.values()), "; ".join(thing.text for thing in found.values())


def _thing(said: str, faults: list[str]) -> Shared | None:
    match = _PART.fullmatch(said)
    if not said:
        faults.append(f"shared: nothing between two marks (;); {LIKE}")
        return None
    if match is None:
        faults.append(f'shared: a name with its pieces is wanted, not "{said}"; {LIKE}')
        return None
    name, pieces = match[1], tuple(piece.strip() for piece in match[2].split(","))
    before = len(faults)
    if "" in pieces:
        faults.append(f"shared: {name}: nothing between two commas")
    if any("*" in piece[:-1] for piece in pieces):
        faults.append(f"shared: {name}: a star stands at the end of a name only")
    if len({piece.casefold() for piece in pieces}) < len(pieces):
        faults.append(f"shared: {name}: a piece is named twice")
    steps = _RANGE.fullmatch(match[3]) if match[3] is not None else None
    if match[3] is not None and steps is None:
        faults.append(f'shared: {name}: no two steps: "{match[3]}"; write them like (form..strip)')
    if steps is not None and steps[1] == steps[2]:
        faults.append(f"shared: {name}: it is taken from a step to a later one, not {steps[1]} to itself")
    if len(faults) > before:
        return None
    return Shared(name, pieces, *(steps.groups() if steps is not None else ()))
