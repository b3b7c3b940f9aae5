"""All errors that curetrack raises on purpose.

CuretrackError                 exit  text is one line: what, where, which value, what would be right
├── BadInput                   2     something a person typed, or a file holds, cannot be used
│   ├── OutOfRange             2     a quantity outside the range in which a relation is known
│   ├── UnknownName            2     a piece, step, profile or key that does not exist
│   └── Faults                 2     several faults of one document, all listed
├── Refused                    1     the answer is no: a hold, a missing predecessor, too small a crew
├── StoreTrouble               2     the ledger or a settings file cannot be read or written
└── ProgramFault               2     a fault of the program itself, where there is no answer without what failed
"""

from collections.abc import Sequence

__all__ = [
    "LONGEST", "BadInput", "CuretrackError", "Faults", "OutOfRange", "ProgramFault", "Refused", "StoreTrouble",
    "UnknownName", "fault_said", "raise_all",
]  # fmt: skip

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


def raise_all(document: str, found: Sequence[BadInput]) -> None:
    """Raises what was found, each fault once; nothing where there is none."""
    lines = [line for fault in found for line in (fault.faults if isinstance(fault, Faults) else (str(fault),))]
    if len(found) == 1:
        raise found[0]
    if found:
        raise Faults(document, list(dict.fromkeys(lines)))


class Refused(CuretrackError):
    """The answer is no, with the reason; nothing was written."""

    exit_code = 1

    def __init__(self, text: str, *, rule: str = "") -> None:
        self.rule = rule
        super().__init__(text)


class StoreTrouble(CuretrackError):
    """The ledger, or a file of the user, cannot be read or written; nothing that was acknowledged is lost."""


class ProgramFault(CuretrackError):
    """A fault of the program itself: what has no answer for it."""

    def __init__(self, what: str, error: Exception) -> None:
        super().__init__(f"{what}: a fault of the program, please report it ({fault_said(error)}); nothing was changed")


def fault_said(error: Exception) -> str:
    """One of the program's own faults in a line: what it was, and where."""
    from traceback import extract_tb

    place = ""
    for frame in extract_tb(error.__traceback__)[-1:]:
        place = f"; {frame.filename.replace(chr(92), '/').rpartition('/')[2]}, line {frame.lineno}"
    return f"{type(error).__name__}: {error}{place}"
