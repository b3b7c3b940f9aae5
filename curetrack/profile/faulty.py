"""Saying what is wrong with a document, in lines for people, and what would be right."""

from collections.abc import Iterable, Mapping

from curetrack.errors import BadInput, Faults

__all__ = ["Item", "Wrong", "bad", "check_faults", "line", "nearest", "said", "shown", "unknown_key"]

LONGEST_SHOWN = 60  # characters of a value that a message repeats
Item = tuple[str, BadInput]  # where inside the document (dotted keys), and what is wrong there


class Wrong(Exception):  # noqa: N818 -- never leaves the package: the loader turns it into Faults
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


def nearest(word: str, known: Iterable[str]) -> str:
    """ "did you mean X", or the names there are."""
    from difflib import get_close_matches

    names = list(known)
    close = get_close_matches(word[:LONGEST_SHOWN], names, n=1, cutoff=0.55)
    if close:
        return f"did you mean {close[0]}?"
    listed = ", ".join(names[:40]) + (" ..." if len(names) > 40 else "")
    return f"known: {listed}" if names else "there are none"


def unknown_key(key: object, known: Iterable[str]) -> Item:
    """The fault of a key that is not in the format."""
    name = key if isinstance(key, str) else str(type(key).__name__)
    label = name if name.isprintable() and len(name) <= LONGEST_SHOWN else shown(name)
    return label, BadInput("unknown key", remedy=nearest(name, known))


def line(where: str, place: str, key: str, error: BadInput) -> str:
    """One fault as one line: file, step, key, what, found, remedy."""
    head = ": ".join(part for part in (where, place, key) if part)
    value = "" if error.found is None else str(error.found) if isinstance(error.found, _Said) else shown(error.found)
    found = f", found {value}" if value else ""
    return f"{head}: {error.what}{found}" + (f"; {error.remedy}" if error.remedy else "")


def check_faults(where: str, lines: list[str]) -> None:
    """Raise Faults if there are any; at most 100 are listed."""
    if lines:
        more = [f"{where}: and {len(lines) - 100} faults more"] if len(lines) > 100 else []
        raise Faults(where, [*lines[:100], *more])
