"""What a nudge is. Pure data; no text for people: words are made in wording.py.

A *rung* is one of the moments of a step at which its maker is spoken to; the rungs of one step form a ladder, and the
highest that has been reached counts. A *group* is what takes the place of one another on a screen: all rungs of one
step, or one condition of one night.
"""

from datetime import datetime
from typing import Literal

from msgspec import Struct

from curetrack.timeline.types import Alert, Line

__all__ = ["LADDER", "Due", "Grade", "How", "Kind", "Moment", "Nudge", "Parcel", "Pending", "Rung", "Settled"]

Kind = Literal["coming", "ready", "late", "closing", "conditions"]

# evening   the evening before a lift: call the crew
# soon      get ready: tools, water, people
# look      a short look near a trowel window; one after another
# check     a hand check counts from now on, and would open a hold
# due       the hold is ready by the mix's own law; the check decides
# ready     it can be done
# closing   its window is about to close
# late      its latest moment has passed
# known     a condition has come into sight; night: the evening before it
Rung = Literal["evening", "soon", "look", "check", "due", "ready", "closing", "late", "known", "night"]
LADDER: tuple[Rung, ...] = ("evening", "soon", "look", "check", "due", "ready", "closing", "late", "known", "night")

Grade = Literal["ruin", "step", "info"]  # ruin: gets through in quiet hours, and comes again soon

# Why a nudge that went out needs no answer any more. `seen`: the maker said so, the reason goes on.
How = Literal["done", "skipped", "moved", "put-off", "superseded", "gone", "seen"]


class Moment(Struct, frozen=True):
    """One moment at which one step, or one condition, has something to say.

    key     stable: the same thing on the same occasion has the same key, also after a restart
    group   what it takes the place of
    at      when it is due, quiet hours aside
    until   it is pointless from then on (a `soon` once its step is ready); None: it stays
    """

    key: str
    group: str
    kind: Kind
    rung: Rung
    grade: Grade
    at: datetime
    piece: str
    step: str = ""
    until: datetime | None = None
    hold: bool = False
    line: Line | None = None
    alert: Alert | None = None
    pieces: tuple[str, ...] = ()  # of a condition: all that it concerns


class Nudge(Struct, frozen=True):
    """A moment that is to be told now.

    due_at    when it was due, quiet hours counted in
    attempt   1 for the first time, 2 for its first repeat ...
    missed    it should have been told while nobody ran: asleep, off, crashed
    over      keys of lower rungs that were never told and are told with it
    """

    moment: Moment
    due_at: datetime
    attempt: int = 1
    missed: bool = False
    over: tuple[str, ...] = ()


class Pending(Struct, frozen=True):
    """A nudge that is not due yet, and when it will be (first time or repeat)."""

    key: str
    at: datetime
    piece: str


class Settled(Struct, frozen=True):
    """A nudge that went out and needs no answer any more."""

    key: str
    group: str
    how: How


class Due(Struct, frozen=True):
    """What is to be done now, and what comes: the most urgent first."""

    nudges: tuple[Nudge, ...]
    settled: tuple[Settled, ...]
    pending: tuple[Pending, ...]
    waiting: tuple[Moment, ...] = ()  # told, or to be told now, and not answered


class Parcel(Struct, frozen=True):
    """What goes out as one notification: one nudge, or several as a digest, the most urgent first.

    key, group   those of its only nudge; of a digest "digest/<UTC second>" and "digest"
    hold         some nudge in it is for a hold: two channels
    """

    key: str
    group: str
    nudges: tuple[Nudge, ...]

    @property
    def hold(self) -> bool:
        """Whether it must go out on two channels."""
        return any(nudge.moment.hold for nudge in self.nudges)

    @property
    def digest(self) -> bool:
        """Several in one."""
        return len(self.nudges) > 1
