"""The post against random channels, ledgers and crashes: what holds whatever they do."""

import asyncio
import tempfile
from datetime import datetime
from pathlib import Path
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from curetrack.errors import StoreTrouble
from curetrack.facts import NudgeFact
from curetrack.nudge.log import Log, read_log
from curetrack.nudge.post import Post, SOON_s
from curetrack.nudge.types import Parcel, Settled
from curetrack.settings import Settings
from curetrack.shop import Shop
from tests.nudge.making import NOW, Scripted, digest_of, message, parcel, run

STEP = st.sampled_from(["ok", "ok", "ok", "fail", "break", "hang", 1.0, 7.0])
CHANNEL = st.tuples(st.lists(STEP, min_size=1, max_size=4), st.booleans())
NAMES = ("desktop", "bell", "hook", "mail")

# what happens, one after another: a nudge goes out, is settled, the ledger goes or comes, time passes, a crash
DEED = st.one_of(
    st.tuples(st.just("send"), st.sampled_from("abc"), st.booleans()),
    st.tuples(st.just("digest"), st.sets(st.sampled_from("abc"), min_size=2).map(sorted), st.just(value=False)),
    st.tuples(st.just("settle"), st.sampled_from("abc"), st.just(value=False)),
    st.tuples(st.just("ledger"), st.just(""), st.booleans()),
    st.tuples(st.just("wait"), st.sampled_from([0.0, 3.0, 200.0]), st.just(value=False)),
    st.tuples(st.just("crash"), st.just(""), st.just(value=False)),
)


class Flaky(Shop):
    """A real ledger that cannot be written at times, and remembers the keys that it has refused."""

    writable = True

    def __init__(self, *where: Any, **more: Any) -> None:
        super().__init__(*where, **more)
        self.refused: set[str] = set()

    def log_nudges(self, facts: Any) -> list[NudgeFact]:
        facts = list(facts)
        if not self.writable:
            self.refused |= {fact.key for fact in facts}
            raise StoreTrouble("the disk is full")
        return super().log_nudges(facts)


def clock() -> datetime:
    return NOW


def known(log: Log) -> dict[str, tuple[bool, bool, str]]:
    """What two logs must agree about."""
    return {told.key: (told.open, told.seen, told.place) for told in log.open_keys}


def intents(shop: Shop, channel: str) -> list[str]:
    return [fact.key for fact in shop.nudges() if fact.phase == "intent" and fact.channel == channel]


class World:
    """One ledger, some channels, and one post after another on them."""

    def __init__(self, home: Path, scripts: list[tuple[list[Any], bool]]) -> None:
        self.shop = Flaky(home, settings=Settings())
        self.channels = [
            Scripted(name, *script, up=up) for name, (script, up) in zip(NAMES, scripts, strict=False)
        ]  # fmt: skip
        for channel in self.channels:
            channel.before = self._an_intent_is_there(channel)
        self.post = Post(self.shop, self.channels, clock)
        self.results: list[tuple[Parcel, asyncio.Task[bool]]] = []
        self.unannounced: set[str] = set()  # sent without an intent on disk, which the disk would have taken

    def _an_intent_is_there(self, channel: Scripted) -> Any:
        def before(carried: Any) -> None:
            told = {one.key for one in self.post.log.of_parcel(carried.key)}
            self.unannounced |= told - self.shop.refused - set(intents(self.shop, channel.name))

        return before

    def send(self, one: Parcel) -> None:
        if not {nudge.moment.key for nudge in one.nudges} & self.post.in_flight.keys():  # as the service does
            self.results.append((one, self.post.start(one, message(one))))

    async def deed(self, what: str, which: Any, flag: bool) -> None:
        match what:
            case "send":
                self.send(parcel(which, hold=flag))
            case "digest":
                self.send(digest_of(*(parcel(step) for step in which), minute=f"m{len(self.results)}"))
            case "settle":
                await self.post.settle([Settled(f"bench/{which}/ready", f"bench/{which}", "done")])
            case "ledger":
                self.shop.writable = flag
            case "wait":
                await asyncio.sleep(which)
            case "crash":
                await self.crash()

    async def crash(self) -> None:
        """The process is killed, and another one starts on the same ledger. What could not be written is lost."""
        for _, task in self.results:
            task.cancel()
        for task in set(self.post._running):
            task.cancel()
        await asyncio.sleep(0.1)
        self.shop.writable = True
        self.post = Post(self.shop, self.channels, clock)


@example([(["ok"], False)], [("send", "a", False), ("ledger", "", False), ("wait", 0.0, False), ("ledger", "", True)])
@settings(max_examples=300, deadline=None)
@given(st.lists(CHANNEL, max_size=4), st.lists(DEED, max_size=12))
def test_whatever_happens(scripts: list[tuple[list[Any], bool]], deeds: list[tuple[str, Any, bool]]) -> None:
    async def work() -> None:
        with tempfile.TemporaryDirectory() as home:
            world = World(Path(home), scripts)
            await world.post.open()
            for what, which, flag in deeds:
                await world.deed(what, which, flag)
            await world.post.landed()
            world.shop.writable = True
            world.post.write_rest()
            took = [key for channel in world.channels for key in channel.keys]
            for one, task in world.results:
                assert task.done()
                if not task.cancelled():  # True exactly if somebody has it
                    assert task.exception() is None
                    assert not task.result() or one.key in took
            assert world.post.in_flight == {}
            assert world.unannounced == set()
            assert all(channel.most_at_once <= 1 for channel in world.channels)
            rows = world.shop.nudges()
            assert known(read_log(rows)) == known(world.post.log)  # a restart knows the same
            sent = {(fact.channel, fact.key) for fact in rows if fact.phase == "sent"}
            tried = {(fact.channel, fact.key) for fact in rows if fact.phase == "intent"}
            assert sent <= tried
            assert {fact.key for fact in rows} >= {told.key for told in world.post.log.undelivered}
            open_places = {told.place for told in world.post.log.open_keys}
            if not any(what == "crash" or what == "ledger" for what, *_ in deeds):
                for channel in world.channels:  # nothing stands on a screen that has been settled
                    if channel.up and "hang" not in channel.script and "fail" not in channel.script:
                        assert {shown.group for shown in channel.screen.values()} <= open_places
            await world.post.close()

    run(work())


@settings(max_examples=200, deadline=None)
@given(st.lists(STEP, min_size=1, max_size=4), st.booleans())
def test_one_parcel_reaches_as_many_as_it_should(steps: list[Any], hold: bool) -> None:
    """Of channels in order the first (for a hold: two) that take it at once have it, and nobody after them. Judged by
    the scripts alone."""
    channels = [Scripted(name, step) for name, step in zip(NAMES, steps, strict=False)]
    prompt = [step in ("ok", 1.0) for step in steps]
    taking = [step in ("ok", 1.0, 7.0) for step in steps]

    async def work() -> None:
        with tempfile.TemporaryDirectory() as home:
            post = Post(Shop(Path(home), settings=Settings()), channels, clock)
            one = parcel(hold=hold)
            assert await post.deliver(one, message(one)) is any(taking)

    run(work())
    wanted = 2 if hold else 1
    have = [bool(channel.keys) for channel in channels]
    assert sum(have) >= min(wanted, sum(taking))
    for number, (tried, _) in enumerate(zip((channel.tried for channel in channels), steps, strict=True)):
        if sum(prompt[:number]) >= wanted:  # enough before it had it at once
            assert tried == 0
        elif 7.0 not in steps[:number]:  # a slow one may have taken it just in time
            assert tried == 1
    waited = [at for channel in channels for at, _ in channel.taken]
    assert all(at <= SOON_s * len(steps) + 7.0 for at in waited)  # nobody had to wait for one that hangs
