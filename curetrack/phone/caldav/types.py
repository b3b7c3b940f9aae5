"""The three sides of a to-do: as we want it, as the server has it, and as both were seen to agree last."""

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from msgspec import Struct

__all__ = ["Delete", "Fact", "Known", "Put", "State", "Texts", "Theirs", "Wanted"]


class Texts(Struct, frozen=True):
    """What a person reads."""

    summary: str = ""
    description: str = ""


class Wanted(Struct, frozen=True):
    """A step as a to-do, by the timeline.

    untimed  the words without the sentences that hold times; times: those times, of which small moves do not count
    due      when it is planned; None: no time is known
    done_at  when it was done; None: open
    coming   it is among the next steps: only such are put on the list anew
    refusal  why a tick of the phone was not taken, in words; stands above the description
    """

    uid: str
    piece: str
    step: str
    texts: Texts
    due: datetime | None = None
    alarms: tuple[datetime, ...] = ()
    untimed: str = ""
    times: tuple[datetime, ...] = ()
    done_at: datetime | None = None
    coming: bool = True
    refusal: str = ""


class Theirs(Struct, frozen=True):
    """A to-do as the server has it.

    changed_at  when the phone last wrote it, if it says so
    torn        open, yet with the time or the percent of one that is done
    raw         its whole text, of which only our lines are ever changed
    """

    uid: str
    href: str
    etag: str
    texts: Texts = Texts()
    due: datetime | None = None
    done: bool = False
    done_at: datetime | None = None
    changed_at: datetime | None = None
    torn: bool = False
    sequence: int = 0
    mark: int = 0  # of our last write, kept by phones as they keep all they do not know
    raw: str = ""


class Known(Struct, frozen=True):
    """What is remembered of a to-do between two syncs.

    seen      as the server last had it (its `raw` is left out); None: it was not there
    put       as we last wanted it and the server took it; None: never
    removed   it was deleted on the phone: so often; `away`: it stays away while its due time is `away_from`
    mark      of the last write that was tried; trying: what that was, until it is known to be there
    refusal   see Wanted; it holds while the due time is `refused_due`
    """

    uid: str
    href: str
    seen: Theirs | None = None
    put: Wanted | None = None
    removed: int = 0
    away: bool = False
    away_from: datetime | None = None
    refusal: str = ""
    refused_due: datetime | None = None
    mark: int = 0
    trying: Wanted | None = None


class State(Struct, frozen=True):
    """All to-dos that are ours, by uid."""

    known: Mapping[str, Known] = {}


class Fact(Struct, frozen=True):
    """Something the phone said.

    done    ticked at `at`
    reopen  a tick of ours was taken back
    later   the due time was moved to `until`
    note    its words were changed
    """

    what: Literal["done", "reopen", "later", "note"]
    uid: str
    piece: str
    step: str
    at: datetime
    until: datetime | None = None
    text: str = ""


class Put(Struct, frozen=True):
    """Write the to-do: made anew where `over` is None, else over just that version of the server's."""

    uid: str
    href: str
    wanted: Wanted
    over: Theirs | None
    mark: int


class Delete(Struct, frozen=True):
    """Take the to-do off the list: just that version of it."""

    uid: str
    over: Theirs
