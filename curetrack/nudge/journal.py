"""What became of nudges, written down: on disk where that is possible, else remembered until it is.

Nothing here raises: a nudge must go out even when the ledger cannot be written.
"""

from collections.abc import Sequence

from curetrack.errors import StoreTrouble
from curetrack.facts import NudgeFact
from curetrack.nudge.log import Log
from curetrack.shop import Shop

__all__ = ["Journal"]


class Journal:
    """`log`: all that is known, whether it is on disk or not. `trouble`: why it cannot be written, "" if it can."""

    def __init__(self, shop: Shop, log: Log) -> None:
        self.log, self.trouble = log, ""
        self._shop = shop
        self._unwritten: list[NudgeFact] = []

    def write(self, facts: Sequence[NudgeFact]) -> None:
        """All of them in one transaction, after those that could not be written before."""
        self.log.with_facts(facts)
        self._unwritten += facts
        self.write_rest()

    def write_rest(self) -> None:
        """Writes what could not be written before."""
        if not self._unwritten:
            return
        try:
            written = self._shop.log_nudges(self._unwritten)
        except StoreTrouble as error:
            self.trouble = str(error)
            return
        except Exception as error:  # whatever else a ledger does: the nudge goes out, and this is tried again
            self.trouble = f"unexpected: {type(error).__name__}"
            return
        self._unwritten, self.trouble = [], ""
        self._read_up_to([fact.id for fact in written])

    def _read_up_to(self, ids: Sequence[int]) -> None:
        """The log has read as far as these rows, and what another process wrote just before them."""
        if not ids:
            return
        if min(ids) > self.log.last_id + 1:
            own = set(ids)
            try:
                others = [fact for fact in self._shop.nudges(self.log.last_id) if fact.id not in own]
            except StoreTrouble:
                return  # read later, the own ones once more: they say the same again
            self.log.with_facts(others)
        self.log.last_id = max(self.log.last_id, *ids)
