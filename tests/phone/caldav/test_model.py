"""Random two-sided lives of to-dos against a server that is a dictionary: both sides converge, nothing is lost.

The model knows only this: what the maker did at the bench, what was done on the phone, and that a sync may be killed
between any two of its steps or fail at the server. Afterwards, left alone, both sides must say the same.
"""

import random
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace

from curetrack.phone.caldav.decide import SHIVER, texts_written
from curetrack.phone.caldav.sync import Conflict, sync
from curetrack.phone.caldav.types import Delete, Fact, Put, State, Texts, Theirs, Wanted

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SEQUENCES, STEPS_EACH = 10_000, 14
UIDS = ("strip", "flip", "seal")
FOREIGN = "milk"


class Killed(Exception):
    """The sync ends here, without another word."""


class Paper:
    """The server: to-dos by uid, conditional writes, and a fuse."""

    def __init__(self, dice: random.Random) -> None:
        self.items: dict[str, Theirs] = {FOREIGN: Theirs(FOREIGN, "milk.ics", "x", Texts("Milk"))}
        self.dice, self.count, self.fuse = dice, 0, -1

    def etag(self) -> str:
        self.count += 1
        return str(self.count)

    def burn(self) -> None:
        """Counts the steps of a sync, and kills it when the fuse has burnt down."""
        self.fuse -= 1
        if self.fuse == 0:
            raise Killed

    def listed(self) -> Mapping[str, Theirs]:
        self.burn()
        return dict(self.items)

    def put(self, put: Put) -> str:
        self.burn()
        assert put.uid in UIDS, "what is not ours is never touched"
        there = self.items.get(put.uid)
        if (there.etag if there else None) != (put.over.etag if put.over else None):
            raise Conflict
        want, tag = put.wanted, self.etag()
        self.items[put.uid] = Theirs(
            put.uid, put.href, tag, texts_written(want, there), want.due, want.done_at is not None, want.done_at,
            mark=put.mark,
        )  # fmt: skip
        self.burn()
        return tag

    def delete(self, delete: Delete) -> None:
        self.burn()
        assert delete.uid in UIDS, "what is not ours is never touched"
        there = self.items.get(delete.uid)
        if there is None or there.etag != delete.over.etag:
            raise Conflict
        del self.items[delete.uid]
        self.burn()


class Shop:
    """Our side: steps with a due time, done or not; `held` ones refuse to be ticked by the phone."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.steps = {uid: Wanted(uid, "bench", uid, Texts(uid), T0 + timedelta(hours=n)) for n, uid in enumerate(UIDS)}
        self.held: set[str] = set()
        self.notes: list[str] = []

    def wanted(self) -> Mapping[str, Wanted]:
        return dict(self.steps)

    def say(self, fact: Fact) -> str:
        self.paper.burn()
        step = self.steps[fact.uid]
        match fact.what:
            case "done" if fact.uid in self.held:
                return "Too soon: the edge would tear."
            case "done":
                self.steps[fact.uid] = replace(step, done_at=fact.at)
            case "reopen":
                self.steps[fact.uid] = replace(step, done_at=None)
            case "later":
                self.steps[fact.uid] = replace(step, due=fact.until)
            case "note" if fact.text not in self.notes:
                self.notes.append(fact.text)
        self.paper.burn()
        return ""


class World:
    """Both sides, the state between them, and a clock."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self.paper = Paper(self.dice)
        self.shop, self.state, self.now = Shop(self.paper), State(), T0
        self.edits: dict[str, str] = {}  # words added on the phone, and where

    def keep(self, state: State) -> None:
        self.paper.burn()
        self.state = state

    def sync(self, fuse: int = -1) -> None:
        ticked = self.fresh_ticks() if fuse < 0 else set()
        self.paper.fuse = fuse
        try:
            sync(self.paper, self.shop, self.state, self.now, self.keep)
        except Killed:
            return
        finally:
            self.paper.fuse = -1
        for uid in ticked:
            assert self.shop.steps[uid].done_at is not None, f"the tick of {uid} is lost"
        for uid in self.shop.held & self.paper.items.keys():
            there = self.paper.items[uid]
            assert not there.done or self.shop.steps[uid].done_at is not None, f"{uid} is ticked against its hold"

    def fresh_ticks(self) -> set[str]:
        """Ticked on the phone from open, not held, and not looked at since, whatever was tried in between."""
        found = set()
        for uid in UIDS:
            there, known = self.paper.items.get(uid), self.state.known.get(uid)
            if there is None or known is None or known.seen is None or known.trying is not None:
                continue
            if there.done and not known.seen.done and uid not in self.shop.held:
                found.add(uid)
        return found

    def edit(self, uid: str, **more: object) -> None:
        """The phone writes over what is there."""
        there = self.paper.items.get(uid)
        if there is not None:
            self.paper.items[uid] = replace(there, etag=self.paper.etag(), changed_at=self.now, **more)

    def step(self) -> None:
        self.now += timedelta(minutes=self.dice.choice((1, 20, 300)))
        uid = self.dice.choice(UIDS)
        there, want = self.paper.items.get(uid), self.shop.steps.get(uid)
        match self.dice.randrange(11):
            case 0 | 1:
                self.edit(uid, done=True, done_at=self.now)
            case 2:
                self.edit(uid, done=False, done_at=None)
            case 3 if there is not None:
                text = f"edit {self.paper.count}"
                self.edits[text] = uid
                self.edit(uid, texts=Texts(there.texts.summary, f"{there.texts.description}\n{text}"))
            case 4:
                self.edit(uid, due=self.now + timedelta(hours=self.dice.randrange(1, 30)))
            case 5:
                self.paper.items.pop(uid, None)
                noted = " / ".join(self.shop.notes).split(" / ")
                self.edits = {text: at for text, at in self.edits.items() if at != uid or text in noted}
            case 6 if want is not None:
                self.shop.steps[uid] = replace(want, done_at=self.now)
            case 7 if want is not None:
                self.shop.steps[uid] = replace(want, due=self.now + timedelta(hours=self.dice.randrange(1, 30)))
            case 8:
                self.shop.held ^= {uid}
            case 9 if want is not None and self.dice.random() < 0.3:
                self.shop.steps[uid] = replace(want, done_at=None)
            case 9:
                self.sync(self.dice.randrange(1, 12))
            case _:
                self.sync()


def life(seed: int) -> World:
    world = World(seed)
    world.sync()
    for _ in range(STEPS_EACH):
        world.step()
    for _ in range(4):
        world.now += timedelta(minutes=1)
        world.sync()
    return world


def check(world: World) -> None:
    """Both sides say the same; every edit of words that was seen is a note, once; what is not ours is as it was."""
    before = dict(world.paper.items), world.state, dict(world.shop.steps)
    world.sync()
    assert (dict(world.paper.items), world.state, dict(world.shop.steps)) == before, "it comes to rest"
    for uid, want in world.shop.steps.items():
        there = world.paper.items.get(uid)
        if there is None:
            continue  # deleted on the phone: see test_deleted
        assert there.done == (want.done_at is not None), uid
        if want.done_at is None:
            assert there.due is not None
            assert want.due is not None
            assert abs(there.due - want.due) < SHIVER
    assert world.paper.items[FOREIGN] == Theirs(FOREIGN, "milk.ics", "x", Texts("Milk"))
    noted = " / ".join(world.shop.notes).split(" / ")
    assert len(set(world.shop.notes)) == len(world.shop.notes), "the same note twice"
    assert set(world.edits) <= set(noted), "words written on the phone are lost"


@pytest.mark.parametrize("block", range(10))
def test_random_lives_converge(block: int) -> None:
    for seed in range(block * SEQUENCES // 10, (block + 1) * SEQUENCES // 10):
        world = life(seed)
        try:
            check(world)
        except AssertionError as error:
            raise AssertionError(f"seed {seed}: {error}") from error
