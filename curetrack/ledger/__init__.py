"""The append-only store of facts: one SQLite file, and the pure replay that says which facts are in force."""

from curetrack.ledger.store import Ledger
from curetrack.ledger.view import View

__all__ = ["Ledger", "View"]
