"""All errors that curetrack raises on purpose.

CuretrackError                 exit  text is one line: what, where, which value, what would be right
├── BadInput                   2     something a person typed, or a file holds, cannot be used
│   ├── OutOfRange             2     a quantity outside the range in which a relation is known
│   ├── UnknownName            2     a piece, step, profile or key that does not exist
│   └── Faults                 2     several faults of one document, all listed
├── Refused                    1     the answer is no: a hold, a missing predecessor, too small a crew
└── StoreTrouble               2     the ledger or a settings file cannot be read or written
"""

from collections.abc import Sequence

__all__ = ["LONGEST", "BadInput", "CuretrackError", "Faults", "OutOfRange", "Refused", "StoreTrouble", "UnknownName"]

LONGEST = 200  # characters of a value that a message repeats


class CuretrackError(Exception):
    """Base of every error that a person may meet; `exit_code` is what the command line returns."""

    exit_code = 2


class BadInput(CuretrackError):
    """Something that cannot be used: what it is, where it stands, what was found, what would be right."""

    def __init__(self, what: str, *, where: str = "", found: object = None, remedy: str = "") -> None:
        if isinstance(found, str) and len(found) > LONGEST:
            found = f"{found[:LONGEST]}..."
        self.what, self.where, self.found, self.remedy = what, where, found, remedy
        parts = [f"{where}: {what}" if where else what]
        if found is not None:
            parts.append(f"found {found!r}" if isinstance(found, str) else f"found {found}")
        super().__init__(", ".join(parts) + (f"; {remedy}" if remedy else ""))


class OutOfRange(BadInput):
    """A quantity outside the range in which the relation that wants it is known."""

    def __init__(self, quantity: str, value: float, low: float, high: float, unit: str, *, where: str = "") -> None:
        self.quantity, self.value, self.low, self.high, self.unit = quantity, value, low, high, unit
        super().__init__(
            f"{quantity} out of range", where=where, found=f"{value:g} {unit}".strip(),
            remedy=f"use {low:g} to {high:g} {unit}".strip(),
        )  # fmt: skip


class UnknownName(BadInput):
    """A name that does not exist, with those that do."""

    def __init__(self, kind: str, name: str, known: Sequence[str], *, where: str = "") -> None:
        self.kind, self.name, self.known = kind, name, tuple(known)
        shown = ", ".join(self.known[:12]) + (" ..." if len(self.known) > 12 else "")
        name = name if len(name) <= LONGEST else f"{name[:LONGEST]}..."
        super().__init__(f"no {kind} is named {name!r}", where=where, remedy=f"known: {shown}" if known else "none yet")


class Faults(BadInput):
    """Every fault of one document, each already a line for people."""

    def __init__(self, document: str, faults: Sequence[str]) -> None:
        self.document, self.faults = document, tuple(faults)
        super().__init__("\n".join(self.faults))


class Refused(CuretrackError):
    """The answer is no, with the reason; nothing was written."""

    exit_code = 1

    def __init__(self, text: str, *, rule: str = "") -> None:
        self.rule = rule
        super().__init__(text)


class StoreTrouble(CuretrackError):
    """The ledger, or a file of the user, cannot be read or written; nothing that was acknowledged is lost."""
