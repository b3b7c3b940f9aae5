"""What the shop answers when something was said to it."""

from datetime import datetime

from msgspec import Struct

from curetrack.facts import Event, Reading

__all__ = ["ImportResult", "Receipt"]


class Receipt(Struct, frozen=True):
    """What became of a command.

    written    False: it was already so, nothing changed
    event      the event, the last of several (`--earlier`); None for readings and forecasts
    text_key   what `lines` are about: "", profile_changed, sets_dropped, steps_missing, twice, later_than_limit,
               check_early, check_failed, no_override, grip_unknown, round_open, withdrawn, unit
    lines      remarks for people
    events     all that were written
    withdrawn  the event that an undo took back, or brought back
    reading    the reading that was written or withdrawn
    """

    written: bool
    event: Event | None = None
    text_key: str = ""
    lines: tuple[str, ...] = ()
    events: tuple[Event, ...] = ()
    withdrawn: Event | None = None
    reading: Reading | None = None


class ImportResult(Struct, frozen=True):
    """What became of a file of readings."""

    added: int
    already_there: int
    first_at: datetime | None
    last_at: datetime | None
