"""Each rule of the sync by itself: what was heard, and what is written then."""

from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace

from curetrack.phone.caldav.decide import (
    SHIVER,
    after_delete,
    after_put,
    before_put,
    heard,
    href_of,
    refused,
    with_refusals,
    writes,
)
from curetrack.phone.caldav.sync import NotTaken, sync
from curetrack.phone.caldav.types import Delete, Put, State, Texts, Theirs, Wanted

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)
DUE = T0 + 5 * HOUR
STRIP = Wanted("strip", "bench", "strip", Texts("Strip", "Ready 14:00.\nPull."), DUE, (DUE,), "Pull.", (DUE,))
FLIP = replace(STRIP, uid="flip", step="flip", texts=Texts("Flip"))


def there(want: Wanted = STRIP, etag: str = "1", **more: object) -> Theirs:
    values = {"texts": want.texts, "due": want.due, "raw": "whole text", **more}
    return Theirs(want.uid, href_of(want.uid), etag, **values)  # type: ignore[arg-type]  # by name


def agreed(*wants: Wanted) -> State:
    """Put there by us, and seen so."""
    state = State()
    for want in wants or (STRIP,):
        put = Put(want.uid, href_of(want.uid), want, None, 1)
        state = after_put(before_put(state, put), put, "1")
    return state


def said(theirs: Theirs | None, want: Wanted | None = STRIP, state: State | None = None) -> list[tuple[str, object]]:
    """What of a changed to-do comes out, with what belongs to it."""
    server, wanted = {"strip": theirs} if theirs else {}, {"strip": want} if want else {}
    facts, _ = heard(state or agreed(), server, wanted, T0)
    extra = {"done": "at", "reopen": "at", "later": "until", "note": "text"}
    return [(fact.what, getattr(fact, extra[fact.what])) for fact in facts]


def test_what_is_as_we_left_it_says_nothing_and_wants_nothing() -> None:
    facts, state = heard(agreed(), {"strip": there()}, {"strip": STRIP}, T0)
    assert facts == []
    assert writes(state, {"strip": there()}, {"strip": STRIP}) == []


@pytest.mark.parametrize(
    ("theirs", "facts"),
    [
        (there(etag="2", done=True, done_at=T0 - HOUR), [("done", T0 - HOUR)]),
        (there(etag="2", done=True, done_at=T0 + HOUR), [("done", T0)]),  # a clock that is ahead
        (there(etag="2", done=True, changed_at=T0 - HOUR), [("done", T0 - HOUR)]),  # no time of its own
        (there(etag="2", due=DUE + HOUR), [("later", DUE + HOUR)]),
        (there(etag="2", due=DUE + SHIVER / 2), []),
        (there(etag="2", due=T0 - HOUR), []),  # put off to the past
        (there(etag="2", due=None), []),
        (there(etag="2", texts=Texts("Strip", "Ready 14:00.\nPull.\nEdge soft")), [("note", "Edge soft")]),
        (there(etag="2", texts=Texts("Strip gently", "Pull.")), [("note", "Strip gently")]),
        (there(etag="2", texts=Texts("Strip", "Ready 14:00. \n  Pull.")), []),  # white space is no word
        (there(etag="2", texts=Texts("Strip")), []),  # nothing new
        (there(etag="2", done=True, done_at=T0, due=DUE + HOUR), [("done", T0)]),  # done beats later
        (None, []),  # deleted is not done
    ],
)  # fmt: skip
def test_what_the_phone_says(theirs: Theirs | None, facts: list[tuple[str, object]]) -> None:
    assert said(theirs) == facts


def test_reopened_only_where_both_were_done_before() -> None:
    done = replace(STRIP, done_at=T0 - HOUR)
    assert said(there(etag="2", changed_at=T0), done, agreed(done)) == [("reopen", T0)]
    assert said(there(etag="2"), done, agreed()) == []  # ticked at the bench meanwhile: its tick stays
    assert said(there(etag="2"), done, State()) == []  # nothing is remembered


def test_what_is_said_comes_in_the_order_of_its_times() -> None:
    """The tick of one step is what opens the next."""
    for order in (["strip", "flip"], ["flip", "strip"]):
        ticks = {uid: T0 - n * HOUR for n, uid in enumerate(reversed(order))}
        wanted = {"strip": STRIP, "flip": FLIP}
        server = {uid: there(wanted[uid], "2", done=True, done_at=at) for uid, at in ticks.items()}
        facts, _ = heard(agreed(STRIP, FLIP), server, wanted, T0)
        assert [fact.step for fact in facts] == order
        same = {uid: replace(theirs, done_at=T0) for uid, theirs in server.items()}
        facts, _ = heard(agreed(STRIP, FLIP), same, {uid: wanted[uid] for uid in order}, T0)
        assert [fact.step for fact in facts] == order  # as the timeline has them


def test_what_is_neither_known_nor_wanted_is_not_ours() -> None:
    facts, state = heard(State(), {"milk": there(replace(STRIP, uid="milk"), done=True)}, {}, T0)
    assert (facts, state) == ([], State())
    assert writes(state, {"milk": there(replace(STRIP, uid="milk"))}, {}) == []


def test_only_what_comes_next_is_put_there_anew() -> None:
    assert writes(State(), {}, {"strip": replace(STRIP, coming=False)}) == []
    (put,) = writes(State(), {}, {"strip": STRIP})
    assert put == Put("strip", "strip.ics", STRIP, None, 1)
    assert writes(State(), {}, {"strip": replace(STRIP, done_at=T0)}) == []


@pytest.mark.parametrize(
    ("want", "writing"),
    [
        (replace(STRIP, due=DUE + HOUR), True),
        (replace(STRIP, due=DUE + SHIVER / 2), False),
        (replace(STRIP, alarms=(DUE + HOUR,)), True),
        (replace(STRIP, alarms=(DUE + SHIVER / 2,)), False),
        (replace(STRIP, alarms=()), True),
        (replace(STRIP, times=(DUE + HOUR,), texts=Texts("Strip", "Ready 15:00.\nPull.")), True),
        (replace(STRIP, times=(DUE + SHIVER / 2,), texts=Texts("Strip", "Ready 14:05.\nPull.")), False),
        (replace(STRIP, untimed="Push.", texts=Texts("Strip", "Ready 14:00.\nPush.")), True),
        (replace(STRIP, texts=Texts("Off", "Ready 14:00.\nPull.")), True),
        (replace(STRIP, refusal="Too soon."), True),
        (replace(STRIP, done_at=T0), True),
        (replace(STRIP, coming=False), False),
    ],
)
def test_what_makes_us_write(want: Wanted, writing: bool) -> None:
    actions = writes(agreed(), {"strip": there()}, {"strip": want})
    assert actions == ([Put("strip", "strip.ics", want, there(), 2)] if writing else [])


def test_a_done_one_is_not_written_again_for_its_words() -> None:
    done = replace(STRIP, done_at=T0)
    server = {"strip": there(done=True, due=None, texts=Texts("as the phone has it"))}
    assert writes(agreed(done), server, {"strip": done}) == []


def test_a_step_that_is_no_more_goes_but_for_its_tick() -> None:
    assert writes(agreed(), {"strip": there()}, {}) == [Delete("strip", there())]
    assert writes(agreed(), {"strip": there(done=True)}, {}) == []
    assert after_delete(agreed(), "strip") == State()
    assert heard(agreed(), {}, {}, T0) == ([], State())  # gone on both sides: forgotten


def test_a_refusal_holds_until_the_time_changes_or_it_is_done() -> None:
    state = refused(agreed(), "strip", "Too soon.", DUE)
    assert with_refusals(state, {"strip": STRIP})["strip"].refusal == "Too soon."
    for want in (replace(STRIP, due=DUE + HOUR), replace(STRIP, done_at=T0)):
        assert with_refusals(state, {"strip": want})["strip"].refusal == ""


def test_a_write_of_which_nobody_saw_the_end_is_known_by_its_mark() -> None:
    """Killed between the server's yes and our remembering: our own words and time are no words of the phone."""
    moved = replace(STRIP, due=DUE + HOUR, texts=Texts("Strip", "Other words"), untimed="Other words")
    put = Put("strip", "strip.ics", moved, there(), 2)
    state = before_put(agreed(), put)
    written = there(moved, "2", mark=2)
    assert said(written, moved, state) == []
    assert said(there(etag="2", mark=1, due=DUE + HOUR), moved, state) == [("later", DUE + HOUR)]  # that was the phone
    ticked = replace(written, etag="3", done=True, done_at=T0)
    assert said(ticked, moved, state) == [("done", T0)]


class Picky:
    """A server that does not take one of two."""

    def __init__(self) -> None:
        self.taken: list[str] = []

    def listed(self) -> dict[str, Theirs]:
        return {}

    def put(self, put: Put) -> str:
        if put.uid == "strip":
            raise NotTaken("no")
        self.taken.append(put.uid)
        return "1"

    def delete(self, delete: Delete) -> None:
        raise AssertionError(delete)


class Two:
    """Wants two."""

    def wanted(self) -> dict[str, Wanted]:
        return {"strip": STRIP, "flip": FLIP}

    def say(self, _: object) -> str:
        raise AssertionError


def test_one_that_the_server_does_not_take_holds_up_no_other() -> None:
    server = Picky()
    done = sync(server, Two(), State(), T0, lambda _: None)
    assert server.taken == ["flip"]
    assert (done.written, done.troubles) == (1, ("no",))
