"""What is wrong with one line, gathered so that all of it is said at once."""

from collections.abc import Iterator
from contextlib import contextmanager

from curetrack.errors import BadInput, Faults

__all__ = ["Noted"]


class Noted:
    """Of a line called `where`. The same fault is said once."""

    def __init__(self, where: str) -> None:
        self.where = where
        self._faults: dict[str, None] = {}

    def add(self, fault: BadInput) -> None:
        """One more; of several those it holds."""
        self._faults |= dict.fromkeys(fault.faults if isinstance(fault, Faults) else (str(fault),))

    @contextmanager
    def each(self) -> Iterator[None]:
        """What the block raises is noted, and the next part has its turn."""
        try:
            yield
        except BadInput as fault:
            self.add(fault)

    def check(self) -> None:
        """Raises Faults if there are any."""
        if self._faults:
            raise Faults(self.where, tuple(self._faults))
