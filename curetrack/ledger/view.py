"""Which facts count: those that had happened, and those that were known."""

from datetime import datetime

from msgspec import Struct

__all__ = ["View"]


class View(Struct, frozen=True):
    """What is known and when.

    now       the moment of looking, aware
    known_at  facts recorded later than this are left out, withdrawals included; None: all that is recorded
    as_of     True: facts that happened after `now` are left out, whenever they were recorded; what was withdrawn
              since stays withdrawn
    """

    now: datetime
    known_at: datetime | None = None
    as_of: bool = False
