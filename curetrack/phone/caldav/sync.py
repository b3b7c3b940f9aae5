"""One sync: look, hear, record, ask anew, write. The order makes a kill at any point harmless: facts are recorded
before what was seen is remembered, and what was written is remembered at once (else it is recognised as ours by being
what we want).
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Protocol

from msgspec import Struct

from curetrack.phone.caldav.decide import after_delete, after_put, before_put, heard, refused, with_refusals, writes
from curetrack.phone.caldav.types import Delete, Fact, Put, State, Theirs, Wanted

__all__ = ["Conflict", "NotTaken", "Server", "Side", "Synced", "sync"]

ROUNDS = 4  # after a conflict the list is read again; somebody who edits all the time is met the next time


class Conflict(Exception):
    """The to-do was changed, made or deleted on the server meanwhile: nothing was written."""


class NotTaken(Exception):
    """The server does not want this one to-do: nothing was written. The others are none the worse for it."""


class Server(Protocol):
    """The list on the server."""

    def listed(self) -> Mapping[str, Theirs]:
        """All its to-dos by uid, also those that are not ours."""

    def put(self, put: Put) -> str:
        """Writes just over that version; the new etag. Raises Conflict, NotTaken."""

    def delete(self, delete: Delete) -> None:
        """Deletes just that version. Raises Conflict, NotTaken."""


class Side(Protocol):
    """Our side."""

    def wanted(self) -> Mapping[str, Wanted]:
        """The to-dos by uid: all steps of the pieces on the go that are open, or were done."""

    def say(self, fact: Fact) -> str:
        """Records what the phone said; why it was refused, "" if it was not. Saying it twice changes nothing."""


class Synced(Struct, frozen=True):
    """What one sync did. `troubles`: what the server would not take."""

    facts: tuple[Fact, ...] = ()
    refusals: tuple[str, ...] = ()
    written: int = 0
    conflicts: int = 0
    troubles: tuple[str, ...] = ()


def sync(server: Server, side: Side, state: State, now: datetime, keep: Callable[[State], None]) -> Synced:
    """Brings both sides together; `keep` stores the state whenever it has changed."""
    done = Synced()
    for _ in range(ROUNDS):
        listed, wanted = server.listed(), side.wanted()
        facts, later = heard(state, listed, wanted, now)
        said = [(fact, side.say(fact)) for fact in facts]
        wanted = side.wanted() if facts else wanted
        for fact, why in said:
            if why and fact.uid in wanted:
                later = refused(later, fact.uid, why, wanted[fact.uid].due)
        state = _kept(state, later, keep)
        wanted = with_refusals(state, wanted)
        refusals = [why for _, why in said if why]
        state, tried = _write(server, state, listed, wanted, keep)
        done = Synced(
            (*done.facts, *facts), (*done.refusals, *refusals), done.written + tried.written,
            done.conflicts + tried.conflicts, tried.troubles,
        )  # fmt: skip
        if not tried.conflicts:
            break
    return done


def _write(
    server: Server, state: State, listed: Mapping[str, Theirs], wanted: Mapping[str, Wanted],
    keep: Callable[[State], None],
) -> tuple[State, Synced]:  # fmt: skip
    written, conflicts, troubles = 0, 0, list[str]()
    for action in writes(state, listed, wanted):
        try:
            if isinstance(action, Put):
                state = _kept(state, before_put(state, action), keep)
                after = after_put(state, action, server.put(action))
            else:
                server.delete(action)
                after = after_delete(state, action.uid)
        except Conflict:
            conflicts += 1
        except NotTaken as error:
            troubles.append(str(error))
        else:
            written += 1
            state = _kept(state, after, keep)
    return state, Synced(written=written, conflicts=conflicts, troubles=tuple(troubles))


def _kept(before: State, after: State, keep: Callable[[State], None]) -> State:
    if after != before:
        keep(after)
    return after
