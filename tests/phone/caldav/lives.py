"""Random two-sided lives of to-dos: the maker's deeds, the phone's, and syncs that are killed, raced and refused.

The world knows only this: what was done at the bench, what was done on the phone, and that a sync may be killed between
any two of its steps. Afterwards, left alone, both sides must say the same. The server is behind `Paper`: here a
dictionary, in test_real_lives.py a real one.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta

from msgspec.structs import replace

from curetrack.phone.caldav.decide import SHIVER, texts_written
from curetrack.phone.caldav.sync import Conflict, sync
from curetrack.phone.caldav.types import Delete, Fact, Put, State, Texts, Theirs, Wanted

__all__ = ["FOREIGN", "T0", "Paper", "World", "check", "life"]

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
UIDS = ("strip", "flip", "seal")
FOREIGN = "milk"
MEDDLED = 0.15  # of all writes are raced by the phone, at most one in a sync


class Killed(Exception):
    """The sync ends here, without another word."""


class Paper:
    """The server: to-dos by uid, conditional writes, a fuse, and a phone that may come between."""

    def __init__(self, uids: Sequence[str] = UIDS) -> None:
        self.uids = uids
        self.items: dict[str, Theirs] = {FOREIGN: Theirs(FOREIGN, "milk.ics", "x", Texts("Milk"))}
        self.now, self.count, self.fuse = T0, 0, -1
        self.meddle: Callable[[str], None] = lambda _: None

    def burn(self) -> None:
        """Counts the steps of a sync, and kills it when the fuse has burnt down."""
        self.fuse -= 1
        if self.fuse == 0:
            raise Killed

    # --- for the sync ----------------------------------------------------------------------------------------------

    def listed(self) -> Mapping[str, Theirs]:
        self.burn()
        return self.look()

    def put(self, put: Put) -> str:
        self.burn()
        assert put.uid in self.uids, "what is not ours is never touched"
        self.meddle(put.uid)
        tag = self.write(put)
        self.burn()
        return tag

    def delete(self, delete: Delete) -> None:
        self.burn()
        assert delete.uid in self.uids, "what is not ours is never touched"
        self.erase(delete)
        self.burn()

    # --- the paper itself ------------------------------------------------------------------------------------------

    def look(self) -> dict[str, Theirs]:
        return dict(self.items)

    def write(self, put: Put) -> str:
        there, want = self.items.get(put.uid), put.wanted
        if (there.etag if there else None) != (put.over.etag if put.over else None):
            raise Conflict
        tag, texts = self._etag(), texts_written(want, there)
        done = want.done_at is not None
        self.items[put.uid] = Theirs(put.uid, put.href, tag, texts, want.due, done, want.done_at, mark=put.mark)
        return tag

    def erase(self, delete: Delete) -> None:
        there = self.items.get(delete.uid)
        if there is None or there.etag != delete.over.etag:
            raise Conflict
        del self.items[delete.uid]

    def phone_writes(self, there: Theirs, now: datetime, **changes: object) -> None:
        self.items[there.uid] = replace(there, etag=self._etag(), changed_at=now, **changes)

    def phone_deletes(self, there: Theirs) -> None:
        del self.items[there.uid]

    def _etag(self) -> str:
        self.count += 1
        return str(self.count)


class Shop:
    """Our side: steps with a due time, done or not; `held` ones refuse to be ticked by the phone."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.steps = {
            uid: Wanted(uid, "bench", uid, Texts(uid), T0 + timedelta(hours=n)) for n, uid in enumerate(paper.uids)
        }
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

    def noted(self) -> set[str]:
        return set(" / ".join(self.notes).split(" / "))


class World:
    """Both sides, the state between them, and a clock."""

    def __init__(self, seed: int, paper: Paper) -> None:
        self.dice, self.paper = random.Random(seed), paper
        self.shop, self.state = Shop(paper), State()
        self.edits: dict[str, str] = {}  # words added on the phone, and where
        self.foreign = paper.look()[FOREIGN]
        self.written, self.meddled = 0, True
        paper.meddle = self.meddle

    @property
    def now(self) -> datetime:
        return self.paper.now

    def wait(self, minutes: int) -> None:
        self.paper.now += timedelta(minutes=minutes)

    def keep(self, state: State) -> None:
        self.paper.burn()
        self.state = state

    def sync(self, fuse: int = -1, *, meddled: bool = False) -> None:
        ticked = self.fresh_ticks() if fuse < 0 else set()
        self.paper.fuse, self.meddled = fuse, not meddled
        try:
            sync(self.paper, self.shop, self.state, self.now, self.keep)
        except Killed:
            return
        finally:
            self.paper.fuse, self.meddled = -1, True
        for uid in ticked:
            assert self.shop.steps[uid].done_at is not None, f"the tick of {uid} is lost"
        items = self.paper.look()
        for uid in self.shop.held & items.keys():
            assert not items[uid].done or self.shop.steps[uid].done_at is not None, f"{uid} is ticked against its hold"

    def fresh_ticks(self) -> set[str]:
        """Ticked on the phone from open, not held, and not looked at since, whatever was tried in between."""
        found, items = set(), self.paper.look()
        for uid in self.paper.uids:
            there, known = items.get(uid), self.state.known.get(uid)
            if there is None or known is None or known.seen is None or known.trying is not None:
                continue
            if there.done and not known.seen.done and uid not in self.shop.held:
                found.add(uid)
        return found

    # --- the phone -------------------------------------------------------------------------------------------------

    def meddle(self, uid: str) -> None:
        """The phone comes between a look and a write. It takes no tick back, so that none may be missing after."""
        if not self.meddled and self.dice.random() < MEDDLED:
            self.meddled = True
            self.phone_does(uid, self.dice.choice(("tick", "write", "move", "delete")))

    def phone_does(self, uid: str, what: str) -> None:
        there = self.paper.look().get(uid)
        if there is None:
            return
        match what:
            case "tick":
                self.paper.phone_writes(there, self.now, done=True, done_at=self.now)
            case "reopen":
                self.paper.phone_writes(there, self.now, done=False, done_at=None)
            case "move":
                self.paper.phone_writes(there, self.now, due=self.now + self.some_hours())
            case "write":
                self.written += 1
                text = f"edit {self.written}"
                self.edits[text] = uid
                texts = Texts(there.texts.summary, f"{there.texts.description}\n{text}".strip())
                self.paper.phone_writes(there, self.now, texts=texts)
            case "delete":
                self.paper.phone_deletes(there)
                noted = self.shop.noted()
                self.edits = {text: at for text, at in self.edits.items() if at != uid or text in noted}

    def some_hours(self) -> timedelta:
        return timedelta(hours=self.dice.randrange(1, 30))

    def step(self) -> None:
        self.wait(self.dice.choice((1, 20, 300)))
        uid = self.dice.choice(self.paper.uids)
        want = self.shop.steps[uid]
        match self.dice.randrange(12):
            case 0 | 1:
                self.phone_does(uid, "tick")
            case 2:
                self.phone_does(uid, "reopen")
            case 3:
                self.phone_does(uid, "write")
            case 4:
                self.phone_does(uid, "move")
            case 5:
                self.phone_does(uid, "delete")
            case 6:
                self.shop.steps[uid] = replace(want, done_at=self.now)
            case 7:
                self.shop.steps[uid] = replace(want, due=self.now + self.some_hours())
            case 8:
                self.shop.held ^= {uid}
            case 9 if self.dice.random() < 0.3:
                self.shop.steps[uid] = replace(want, done_at=None)
            case 9 | 10:
                self.sync(self.dice.randrange(1, 14), meddled=True)
            case _:
                self.sync(meddled=True)


def life(seed: int, paper: Paper, steps: int) -> World:
    """A world after so many steps, then left alone for a while."""
    world = World(seed, paper)
    world.sync()
    for _ in range(steps):
        world.step()
    for _ in range(4):
        world.wait(1)
        world.sync()
    return world


def check(world: World) -> None:
    """Both sides say the same; every edit of words that was seen is a note, once; what is not ours is as it was."""
    before = world.paper.look(), world.state, dict(world.shop.steps)
    world.sync()
    items = world.paper.look()
    assert (items, world.state, dict(world.shop.steps)) == before, "it comes to rest"
    assert items.keys() <= {*world.paper.uids, FOREIGN}, "a to-do is doubled"
    for uid, want in world.shop.steps.items():
        there = items.get(uid)
        if there is None:
            continue  # deleted on the phone: see test_cases.py
        assert there.done == (want.done_at is not None), uid
        if want.done_at is None:
            assert there.due is not None
            assert want.due is not None
            assert abs(there.due - want.due) < SHIVER
    assert items[FOREIGN] == world.foreign
    assert len(set(world.shop.notes)) == len(world.shop.notes), "the same note twice"
    assert set(world.edits) <= world.shop.noted(), "words written on the phone are lost"
