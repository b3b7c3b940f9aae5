"""Saying what is wrong with a document, in lines for people, and what would be right."""

import re
from collections.abc import Iterable, Mapping

from curetrack.errors import BadInput, Faults

__all__ = ["Item", "Near", "Sheet", "Wrong", "bad", "one_fault", "said", "shown", "unknown_key"]

MOST_LISTED = 100
LONGEST_SHOWN = 60  # characters of a value that a message repeats
Item = tuple[str, BadInput]  # where inside the document (dotted keys), and what is wrong there


class Wrong(Exception):
    """Several things wrong below one table; the keys are relative to it."""

    def __init__(self, items: Iterable[Item]) -> None:
        self.items = list(items)
        super().__init__(len(self.items))


class _Said(str):
    """Words about a value that is no text, so that a message does not put them in quotes."""

    __slots__ = ()

    def __repr__(self) -> str:
        return str(self)


def shown(value: object) -> str:
    """A value of a document in few printable characters, whatever it is; text in quotes, tables and lists by name."""
    if isinstance(value, str):
        return repr(value if len(value) <= LONGEST_SHOWN else value[:LONGEST_SHOWN] + "...")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**18 else "a huge number"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list | tuple):
        return "an empty list" if not value else f"a list of {len(value)}"
    if isinstance(value, Mapping):
        return "a table"
    return "nothing" if value is None else f"a {type(value).__name__}"


def said(words: str) -> str:
    """Words about what was found, for `found=`; they are shown without quotes."""
    return _Said(words)


def bad(what: str, found: object = None, remedy: str = "") -> BadInput:
    """A BadInput whose `found` is short and printable; None says nothing was found."""
    return BadInput(what, found=None if found is None else _Said(shown(found)), remedy=remedy)


class Near(BadInput):
    """A name that is not among those that could stand here. Which comes nearest is only looked for when it is shown:
    a damaged file may hold thousands."""

    def __init__(self, what: str, word: str, known: Iterable[str], *, found: object = None, instead: str = "") -> None:
        self.word, self.names, self.instead = word, tuple(known), instead
        super().__init__(what, found=None if found is None else _Said(shown(found)))

    def advice(self) -> str:
        """ "did you mean X?", else `instead`, else the names there are."""
        from difflib import get_close_matches

        close = get_close_matches(self.word[:LONGEST_SHOWN], self.names, n=1, cutoff=0.55)
        listed = ", ".join(self.names[:40]) + (" ..." if len(self.names) > 40 else "")
        instead = self.instead or (f"known: {listed}" if self.names else "there are none")
        if not close:
            return instead
        return f"did you mean {close[0]}?" + (f" {self.instead}" if self.instead else "")


def unknown_key(key: object, known: Iterable[str]) -> Item:
    """The fault of a key that is not in the format."""
    name = key if isinstance(key, str) else type(key).__name__
    label = name if name.isprintable() and len(name) <= LONGEST_SHOWN else shown(name)
    return label, Near("unknown key", name, known)


class Sheet:
    """Collects the faults of one document, then raises them together; at most MOST_LISTED are listed.

    `origins`: of a document that was built on others the file in which a piece stands (see profile.pile).
    """

    def __init__(self, where: str, origins: Mapping[str, str] | None = None) -> None:
        self.where = where
        self.origins = origins or {}
        self.items: list[tuple[str, str, BadInput]] = []  # place, key, what is wrong

    def add(self, place: str, key: str, error: BadInput | Wrong) -> None:
        """One fault, or those of a table whose key this is."""
        if isinstance(error, BadInput):
            self.items.append((place, key, error))
            return
        for inner, fault in error.items:
            self.items.append((place, ".".join(part for part in (key, inner) if part), fault))

    def faults(self) -> Faults:
        """The error that holds them all."""
        lines = [_line(self._file(place, key), place, key, error) for place, key, error in self.items[:MOST_LISTED]]
        if len(self.items) > MOST_LISTED:
            lines.append(f"{self.where}: and {len(self.items) - MOST_LISTED} faults more")
        return Faults(self.where, lines)

    def _file(self, place: str, key: str) -> str:
        """The file that says what is wrong: that of the longest name known."""
        parts = [part for part in (place.removeprefix("step "), *re.split(r"[.:]? |\.", key)) if part]
        names = (".".join(parts[:length]) for length in range(min(2, len(parts)), 0, -1))
        return next((self.origins[name] for name in names if name in self.origins), self.where)

    def check(self) -> None:
        """Raise Faults if there are any."""
        if self.items:
            raise self.faults()


def one_fault(where: str, place: str, error: BadInput) -> Faults:
    """The error for a document with a single fault."""
    sheet = Sheet(where)
    sheet.add(place, "", error)
    return sheet.faults()


def _line(where: str, place: str, key: str, error: BadInput) -> str:
    """One fault as one line: file, step, key, what, found, remedy."""
    head = ": ".join(part for part in (where, place, key) if part)
    value = "" if error.found is None else str(error.found) if isinstance(error.found, _Said) else shown(error.found)
    found = f", found {value}" if value else ""
    remedy = error.advice() if isinstance(error, Near) else error.remedy
    return f"{head}: {error.what}{found}" + (f"; {remedy}" if remedy else "")
