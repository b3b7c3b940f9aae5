"""What follows from the three sides of each to-do. Pure: facts first (what the phone said), then writes.

    heard()   server against what was last seen there -> facts, and what is now known
    writes()  what we want against what the server has -> puts and deletes

Between the two the caller records the facts and asks the timelines anew, so that a tick that is refused comes out as
open again, with its reason. Each function may be called again with the same input: a sync that was killed at any point
says the same facts once more, and saying a fact twice changes nothing.

The rules: done beats later; a change of words is kept as a note; what was deleted on the phone is not done: it comes
back once, then stays away until its time changes; what is not ours is never touched.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta

from msgspec.structs import replace

from curetrack.phone.caldav.types import Delete, Fact, Known, Put, State, Texts, Theirs, Wanted

__all__ = [
    "SHIVER",
    "after_delete",
    "after_put",
    "before_put",
    "heard",
    "href_of",
    "refused",
    "shown_texts",
    "texts_written",
    "with_refusals",
    "writes",
]

SHIVER = timedelta(minutes=15)  # a time that moved by less has not moved


def heard(
    state: State, server: Mapping[str, Theirs], wanted: Mapping[str, Wanted], now: datetime
) -> tuple[list[Fact], State]:
    """What the phone has said since the last look, and what is known then. `server` holds all to-dos of the list by
    uid; those that we neither know nor want are not ours."""
    facts: list[Fact] = []
    known = dict(state.known)
    for uid in known.keys() | (server.keys() & wanted.keys()):
        had = known.get(uid) or Known(uid, server[uid].href)
        if uid not in server and uid not in wanted:
            del known[uid]
        else:
            known[uid] = _heard_one(had, server.get(uid), wanted.get(uid), now, facts)
    places = {uid: place for place, uid in enumerate(wanted)}
    facts.sort(key=lambda fact: (fact.at, places[fact.uid]))  # as it happened: one step opens the next
    return facts, replace(state, known=known)


def writes(state: State, server: Mapping[str, Theirs], wanted: Mapping[str, Wanted]) -> list[Put | Delete]:
    """What brings the server to what we want."""
    found = (_write_one(state.known.get(uid), server.get(uid), want) for uid, want in wanted.items())
    gone = (_gone(server.get(uid)) for uid in state.known.keys() - wanted.keys())
    return [action for action in (*found, *gone) if action is not None]


def before_put(state: State, put: Put) -> State:
    """What is known before it is tried: should nobody live to see the answer, it is recognised by its mark."""
    had = state.known.get(put.uid) or Known(put.uid, put.href)
    return _with(state, replace(had, href=put.href, mark=put.mark, trying=put.wanted))


def after_put(state: State, put: Put, etag: str) -> State:
    """What is known once the server has taken it."""
    seen = _as_put(put.wanted, put.href, etag, put.over)
    return _with(state, _taken(state.known[put.uid], put.wanted, seen))


def after_delete(state: State, uid: str) -> State:
    """What is known once the server has taken it away: nothing."""
    return replace(state, known={other: known for other, known in state.known.items() if other != uid})


def refused(state: State, uid: str, text: str, due: datetime | None) -> State:
    """A tick was not taken: the to-do comes out open again with the reason, until its time changes or it is done."""
    known = state.known.get(uid)
    return state if known is None else _with(state, replace(known, refusal=text, refused_due=due))


def with_refusals(state: State, wanted: Mapping[str, Wanted]) -> dict[str, Wanted]:
    """What we want, with the reasons that still hold."""
    return {uid: replace(want, refusal=_refusal(state.known.get(uid), want)) for uid, want in wanted.items()}


def _refusal(known: Known | None, want: Wanted) -> str:
    if known is None or want.done_at is not None or not _same_time(known.refused_due, want.due):
        return ""
    return known.refusal


# --- what the phone said -------------------------------------------------------------------------------------------


def _heard_one(had: Known, theirs: Theirs | None, want: Wanted | None, now: datetime, facts: list[Fact]) -> Known:
    if theirs is None:
        return _missing(had, want)
    before = had.seen
    unseen = before is None or before.etag != theirs.etag
    if unseen and had.trying is not None and theirs.mark == had.mark:  # our last write had come through
        had = _taken(had, had.trying, _as_put(had.trying, theirs.href, "", before))
    before = had.seen
    known = replace(had, href=theirs.href, seen=replace(theirs, raw=""), trying=None)
    if want is None or not unseen:
        return known
    at = min(now, theirs.changed_at or now)
    was_done = before is not None and before.done  # with nothing remembered, being open takes no tick back
    if theirs.done and not was_done and want.done_at is None:
        facts.append(Fact("done", had.uid, want.piece, want.step, min(now, theirs.done_at or at)))
    elif was_done and not theirs.done and want.done_at is not None:
        facts.append(Fact("reopen", had.uid, want.piece, want.step, at))
    elif _put_off(before, theirs, want, now):
        facts.append(Fact("later", had.uid, want.piece, want.step, at, until=theirs.due))
    if before is not None and theirs.texts != before.texts:
        text = _changed_words(before, theirs)
        facts += [Fact("note", had.uid, want.piece, want.step, at, text=text)] if text else []
    return known


def _put_off(before: Theirs | None, theirs: Theirs, want: Wanted, now: datetime) -> bool:
    if before is None or theirs.done or want.done_at is not None or theirs.due is None or theirs.due <= now:
        return False
    return not _same_time(before.due, theirs.due)


def _changed_words(before: Theirs, theirs: Theirs) -> str:
    """What is new in the words: the new title, and the lines of the description that were not there."""
    title = theirs.texts.summary if theirs.texts.summary != before.texts.summary else ""
    old = {line.strip() for line in (before.texts.summary, *before.texts.description.splitlines())}
    lines = [line.strip() for line in (title, *theirs.texts.description.splitlines())]
    return " / ".join(line for line in lines if line and line not in old)


def _missing(had: Known, want: Wanted | None) -> Known:
    """Deleted on the phone, or never there."""
    if had.seen is None:
        return had
    if want is None or want.done_at is not None:  # should it be opened again, it comes back
        return replace(had, seen=None, removed=0, away=False)
    first = had.removed == 0
    return replace(had, seen=None, removed=had.removed + 1, away=not first, away_from=None if first else want.due)


# --- what we write -------------------------------------------------------------------------------------------------


def _write_one(known: Known | None, theirs: Theirs | None, want: Wanted) -> Put | None:
    if theirs is None:
        return _made_anew(known, want)
    put = known.put if known is not None else None
    same_state = theirs.done == (want.done_at is not None)
    same_words = put is not None and _alike(put, want)
    same_due = want.done_at is not None or _same_time(theirs.due, want.due)
    same = same_state and same_due and (same_words or want.done_at is not None) and not theirs.torn
    return None if same else Put(want.uid, theirs.href, want, theirs, _next_mark(known))


def _made_anew(known: Known | None, want: Wanted) -> Put | None:
    if want.done_at is not None:
        return None
    if known is None or (known.seen is None and not known.away and known.removed == 0):
        href = known.href if known else href_of(want.uid)
        return Put(want.uid, href, want, None, _next_mark(known)) if want.coming else None
    if known.away and _same_time(known.away_from, want.due):
        return None
    return Put(want.uid, known.href, want, None, _next_mark(known))


def _gone(theirs: Theirs | None) -> Delete | None:
    """A step that is no more (skipped, another profile, a piece given up) goes from the list; a tick stays there."""
    return Delete(theirs.uid, theirs) if theirs is not None and not theirs.done else None


# --- helpers -------------------------------------------------------------------------------------------------------


def href_of(uid: str) -> str:
    """The name of a new to-do's file, within the list."""
    return f"{uid.partition('@')[0]}.ics"


def shown_texts(want: Wanted) -> Texts:
    """The words as they stand on the phone: a refusal first."""
    if not want.refusal:
        return want.texts
    return replace(want.texts, description=f"{want.refusal}\n{want.texts.description}".rstrip())


def _next_mark(known: Known | None) -> int:
    return known.mark + 1 if known is not None else 1


def texts_written(want: Wanted, over: Theirs | None) -> Texts:
    """The words that a write leaves there: those of a to-do that is done are not touched any more."""
    return over.texts if over is not None and want.done_at is not None else shown_texts(want)


def _as_put(want: Wanted, href: str, etag: str, over: Theirs | None) -> Theirs:
    """How the server has what we wrote."""
    done = want.done_at is not None
    due = over.due if over is not None and done else want.due
    return Theirs(want.uid, href, etag, texts_written(want, over), due, done, want.done_at)


def _taken(had: Known, want: Wanted, seen: Theirs) -> Known:
    return replace(had, seen=seen, put=want, trying=None, away=False)


def _alike(put: Wanted, want: Wanted) -> bool:
    """The same words and alarms, but for times that moved by less than a shiver since they were written."""
    if (put.texts.summary, put.refusal) != (want.texts.summary, want.refusal):
        return False
    before, after = (*put.alarms, *put.times), (*want.alarms, *want.times)
    if (len(put.alarms), len(put.times)) != (len(want.alarms), len(want.times)):
        return False
    same_words = put.untimed == want.untimed if put.times else put.texts == want.texts
    return same_words and all(_same_time(one, other) for one, other in zip(before, after, strict=True))


def _same_time(one: datetime | None, other: datetime | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) < SHIVER


def _with(state: State, known: Known) -> State:
    return replace(state, known={**state.known, known.uid: known})
