"""Whatever a maker says in whatever order: what is refused writes nothing, undo restores, replay gives the same."""

import shutil
import tempfile
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from curetrack.errors import CuretrackError
from curetrack.facts import Event
from curetrack.ledger import Ledger
from curetrack.ledger.replay import effective, events_of
from curetrack.shop import Receipt, Shop, View
from curetrack.shop.refusals import FailedCheck
from tests.shop.conftest import PROFILE, Bench, hours

STEPS = ["seal-joints", "cover", "mist", "strip", "ease", "flip", "fan", "slurry", "sand", "coat", "service"]
Word = tuple[str, str, bool]  # what is said, of which step, and with a check passed (or an override)

WORDS: st.SearchStrategy[Word] = st.tuples(
    st.sampled_from(["done", "done", "done", "done", "earlier", "skip", "later", "check", "again", "undo", "note"]),
    st.sampled_from(STEPS),
    st.booleans(),
)


def say(shop: Shop, word: Word, now: datetime) -> Receipt:
    """One word of the maker."""
    what, step, firm = word
    words: dict[str, Callable[[], Receipt]] = {
        "done": lambda: shop.done("top", step, check="pass" if firm else None, crew=4, now=now),
        "earlier": lambda: shop.done("top", step, earlier=True, override="so be it" if firm else None, now=now),
        "skip": lambda: shop.skip("top", step, now=now),
        "later": lambda: shop.later("top", step, now + timedelta(hours=3), now=now),
        "check": lambda: shop.check("top", step, "pass" if firm else "fail", now=now),
        "again": lambda: shop.again("top", step, now=now),
        "undo": lambda: shop.undo("top", now=now),
        "note": lambda: shop.note("top", step, now=now),
    }
    return words[what]()


def in_force(shop: Shop) -> list[Event]:
    return events_of(effective(shop.ledger.entries("top")))


def life(
    shop: Shop, words: list[Word], each: Callable[[Word, list[Event], Receipt | None, datetime], None]
) -> datetime:
    """Says the words 9 h apart; `each` hears what was in force before, and the receipt (None: refused)."""
    now = hours(0)
    for number, word in enumerate(words, 1):
        now = hours(9 * number)
        before = in_force(shop)
        try:
            receipt: Receipt | None = say(shop, word, now)
        except FailedCheck:
            continue
        except CuretrackError:
            receipt = None
        each(word, before, receipt, now)
        if in_force(shop) == [] and not shop.pieces(View(now)):
            break  # the pour itself was undone
    return now


def started(home: Path | None = None) -> Bench:
    ledger = Ledger.in_memory() if home is None else None
    bench = Bench(home or Path("nowhere"), PROFILE, ledger=ledger)
    bench.warm(until_h=200)
    bench.pour()
    return bench


@settings(max_examples=40, deadline=None)
@given(st.lists(WORDS, max_size=12))
def test_a_refusal_writes_nothing_and_a_receipt_tells_the_truth(words: list[Word]) -> None:
    shop = started().shop

    def each(word: Word, before: list[Event], receipt: Receipt | None, _: datetime) -> None:
        after = in_force(shop)
        if receipt is None or not receipt.written:
            assert after == before
        elif word[0] != "undo":
            assert len(after) == len(before) + len(receipt.events)
            assert set(receipt.events) <= set(after)

    life(shop, words, each)


@settings(max_examples=40, deadline=None)
@given(st.lists(WORDS, min_size=1, max_size=10))
def test_undo_restores_the_timeline_before(words: list[Word]) -> None:
    shop = started().shop
    view = View(hours(2000))
    timelines = [shop.timeline("top", view)]

    def each(word: Word, before: list[Event], receipt: Receipt | None, now: datetime) -> None:
        if receipt is None or not receipt.written or word[0] == "undo":
            timelines[:] = [shop.timeline("top", view)] if shop.pieces(view) else []
            return
        for _event in receipt.events:
            shop.undo("top", now=now)
        assert in_force(shop) == before
        assert shop.timeline("top", view) == timelines[0]
        for event in reversed(receipt.events):
            undos = [e for e in shop.ledger.entries("top") if e.kind == "undo" and e.target == event.id]
            shop.undo("top", event_id=undos[-1].id, now=now)
        timelines[:] = [shop.timeline("top", view)]

    life(shop, words, each)


@settings(max_examples=15, deadline=None)
@given(st.lists(WORDS, max_size=10))
def test_the_same_life_from_disk_gives_the_same_timeline(words: list[Word]) -> None:
    """Told to a ledger in memory, and told to one on disk that is closed and opened between words."""
    folder = Path(tempfile.mkdtemp())
    try:
        memory, disk = started().shop, started(folder / "home").shop
        now = life(memory, words, lambda *_: None)
        life(disk, words, lambda *_: disk.close())
        assert in_force(disk) == in_force(memory)
        if memory.pieces(View(now)):
            for view in (View(now), View(hours(20), as_of=True), View(now, known_at=hours(20))):
                assert disk.timeline("top", view) == memory.timeline("top", view)
        disk.close()
    finally:
        shutil.rmtree(folder)


@settings(max_examples=30, deadline=None)
@given(st.lists(WORDS, max_size=10), st.randoms())
def test_order_of_recording_does_not_change_the_timeline(words: list[Word], random: object) -> None:
    """The facts of a life, written down in any other order with the times at which they happened."""
    shop = started().shop
    now = life(shop, words, lambda *_: None)
    events = [event for event in in_force(shop) if event.kind != "pour"]
    if not shop.pieces(View(now)) or len({event.at for event in events}) < len(events):
        return  # two facts of one instant stand in the order in which they were recorded
    random.shuffle(events)  # type: ignore[attr-defined]  # Hypothesis gives a random.Random
    other = started().shop
    for event in events:
        with other.ledger.change() as writer:
            writer.add_event(replace(event, id=0))
    view = View(hours(2000))
    assert other.timeline("top", view) == shop.timeline("top", view)
