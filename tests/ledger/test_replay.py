"""From what was said to what is in force: undo, views, order. Pure, and by Hypothesis through a real ledger."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from curetrack.facts import Event, Shape
from curetrack.ledger import Ledger, View
from curetrack.ledger.replay import Entry, Sheet, effective, events_of, last_in_force, piece_of, withdrawn
from curetrack.ledger.times import time_to_ms

T0 = datetime(2026, 1, 10, 9, tzinfo=UTC)
SHAPE = Shape(1.2, 0.6, 0.04)


def hours(count: float) -> datetime:
    return T0 + timedelta(hours=count)


def entry(number: int, kind: str = "done", at: float = 0.0, said: float | None = None, **more: object) -> Entry:
    at_ms = time_to_ms(hours(at))
    said_ms = time_to_ms(hours(at if said is None else said))
    target = more.get("target")
    assert target is None or isinstance(target, int)
    return Entry(number, "top", kind, at_ms, said_ms, target)


def ids(entries: list[Entry], view: View | None = None) -> list[int]:
    return [e.id for e in effective(entries, view)]


def test_undo_of_an_undo_brings_back() -> None:
    said = [entry(1), entry(2, "undo", target=1), entry(3, "undo", target=2)]
    assert withdrawn(said) == {2}
    assert ids(said) == [1]
    assert ids([*said, entry(4, "undo", target=3)]) == []


def test_as_of_leaves_out_what_happened_later_whenever_it_was_recorded() -> None:
    said = [entry(1, at=1, said=9), entry(2, at=5, said=5)]
    assert ids(said, View(hours(4), as_of=True)) == [1]
    assert ids(said, View(hours(4))) == [1, 2]


def test_as_of_keeps_withdrawn_what_was_withdrawn_since() -> None:
    said = [entry(1, at=1), entry(2, "undo", at=8, target=1)]
    assert ids(said, View(hours(4), as_of=True)) == []


def test_known_at_leaves_out_what_was_recorded_later_withdrawals_too() -> None:
    said = [entry(1, at=1), entry(2, at=1, said=6), entry(3, "undo", at=8, target=1)]
    assert ids(said, View(hours(4), known_at=hours(4), as_of=True)) == [1]
    assert ids(said, View(hours(9), known_at=hours(7))) == [1, 2]
    assert ids(said, View(hours(9), known_at=hours(9))) == [2]


def test_bounds_belong_to_the_view() -> None:
    said = [entry(1, at=4)]
    assert ids(said, View(hours(4), known_at=hours(4), as_of=True)) == [1]


def test_a_plain_undo_takes_the_last_said_not_the_last_happened() -> None:
    said = [entry(1, at=5), entry(2, at=1), entry(3, "undo", target=2), entry(4, at=0)]
    last = last_in_force(said)
    assert last is not None
    assert last.id == 4
    last = last_in_force([*said, entry(5, "undo", target=4)])
    assert last is not None
    assert last.id == 1


def test_a_pour_told_late_still_replaces_the_plan() -> None:
    sheets = {
        1: Sheet("top", SHAPE, "planned", "planned", "a" * 64),
        2: Sheet("top", SHAPE, "poured", "poured", "b" * 64),
    }
    said = [replace(entry(1, "plan", at=3), sheet=1), replace(entry(2, "pour", at=1, said=4), sheet=2)]
    piece = piece_of(effective(said), sheets)
    assert piece is not None
    assert piece.profile_id == "poured"
    assert piece.created_at == hours(1)
    undone = piece_of(effective([*said, entry(3, "undo", target=2)]), sheets)
    assert undone is not None
    assert undone.profile_id == "planned"


# --- by Hypothesis ---------------------------------------------------------------------------------------------------

KINDS = st.sampled_from(["done", "skip", "later", "check", "again", "note"])
STEPS = st.sampled_from(["strip", "ease", "flip", "mist"])


@st.composite
def events(draw: st.DrawFn) -> Event:
    """Something said about a step, on a whole hour."""
    kind, step, at = draw(KINDS), draw(STEPS), draw(st.integers(0, 40))
    event = Event(0, "top", kind, hours(at), hours(at), step=step)  # type: ignore[arg-type]  # one of KINDS
    match kind:
        case "check":
            return replace(event, check=draw(st.sampled_from(["pass", "fail"])))
        case "later":
            return replace(event, until=hours(at + 2))
        case "note":
            return replace(event, step="", text=step)
    return event


SAID = events()
ACTION = st.one_of(SAID, st.integers(0, 12))  # an event, or an undo of the n-th entry so far


def say(ledger: Ledger, actions: list[Event | int]) -> None:
    """Each action in a transaction of its own, recorded an hour after the one before."""
    for number, action in enumerate(actions):
        said = hours(100 + number)
        entries = ledger.entries("top")
        with ledger.change() as writer:
            if isinstance(action, Event):
                writer.add_event(replace(action, recorded_at=said))
            elif entries:
                target = entries[action % len(entries)].id
                writer.add_event(Event(0, "top", "undo", said, said, target=target))


def meaning(events: list[Event]) -> list[Event]:
    """Events without what recording adds."""
    return [replace(event, id=0, recorded_at=T0) for event in events]


@settings(max_examples=60, deadline=None)
@given(st.lists(ACTION, max_size=14))
def test_replay_gives_the_same_facts_in_any_ledger(actions: list[Event | int]) -> None:
    with Ledger.in_memory() as one, Ledger.in_memory() as two:
        say(one, actions)
        say(two, actions)
        assert one.entries() == two.entries()
        assert effective(one.entries()) == effective(list(reversed(two.entries())))


@settings(max_examples=60, deadline=None)
@given(st.lists(ACTION, max_size=10), SAID)
def test_undo_restores_the_view_before_exactly(actions: list[Event | int], last: Event) -> None:
    with Ledger.in_memory() as ledger:
        say(ledger, actions)
        before = effective(ledger.entries())
        with ledger.change() as writer:
            written, new = writer.add_event(replace(last, recorded_at=hours(500)))
        if new:
            assert effective(ledger.entries()) != before
            with ledger.change() as writer:
                undo, _ = writer.add_event(Event(0, "top", "undo", hours(501), hours(501), target=written.id))
            assert effective(ledger.entries()) == before
            with ledger.change() as writer:
                writer.add_event(Event(0, "top", "undo", hours(502), hours(502), target=undo.id))
            assert written in events_of(effective(ledger.entries()))
        else:
            assert effective(ledger.entries()) == before


@settings(max_examples=60, deadline=None)
@given(st.lists(SAID, max_size=8, unique_by=lambda event: (event.at, event.kind, event.step)), st.randoms())
def test_order_of_recording_does_not_matter(said: list[Event], random: object) -> None:
    shuffled = list(said)
    random.shuffle(shuffled)  # type: ignore[attr-defined]  # Hypothesis gives a random.Random
    with Ledger.in_memory() as one, Ledger.in_memory() as two:
        say(one, list(said))
        say(two, list(shuffled))
        key = lambda event: (event.at, event.kind, event.step)  # noqa: E731 - the order among equals is recording's
        first, second = (meaning(events_of(effective(ledger.entries()))) for ledger in (one, two))
        assert [event.at for event in first] == [event.at for event in second]
        assert sorted(first, key=key) == sorted(second, key=key)


@settings(max_examples=60, deadline=None)
@given(st.lists(ACTION, max_size=12), st.integers(0, 14))
def test_known_at_is_what_the_ledger_held_then(actions: list[Event | int], cut: int) -> None:
    with Ledger.in_memory() as whole, Ledger.in_memory() as part:
        say(whole, actions)
        say(part, actions[:cut])
        seen = effective(whole.entries(), View(hours(1000), known_at=hours(100 + cut) - timedelta(minutes=1)))
        assert seen == effective(part.entries())
