"""The post: nothing is lost, nothing holds up anything else, and what became of each nudge is written down.

Channels follow a script in virtual time. Ledgers are real files.
"""

import asyncio
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.facts import NudgeFact
from curetrack.nudge.channels.base import Message
from curetrack.nudge.log import read_log
from curetrack.nudge.post import PATIENCE_s, Post, SOON_s
from curetrack.nudge.types import Settled
from curetrack.settings import Settings
from curetrack.shop import Shop
from tests.nudge.making import NOW, Scripted, digest_of, message, parcel, phases, run


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path, settings=Settings())


def clock() -> datetime:
    return NOW


def post_of(shop: Shop, *channels: Scripted) -> Post:
    return Post(shop, channels, clock)


# --- the way through the channels ------------------------------------------------------------------------------------


def test_the_first_channel_carries_it(shop: Shop) -> None:
    first, second = Scripted("desktop"), Scripted("bell")

    async def work() -> None:
        post = post_of(shop, first, second)
        await post.open()
        assert await post.deliver(parcel(), message(parcel())) is True
        assert post.carried_by == "the desktop, the bell"
        assert post.troubles == ()

    run(work())
    assert (first.keys, second.keys) == (["bench/strip/ready"], [])
    assert phases(shop.nudges()) == ["intent desktop", "sent desktop"]


def test_the_intent_is_on_disk_before_anything_is_sent(shop: Shop, tmp_path: Path) -> None:
    """Read by a second ledger on the same file, as another process would."""
    seen: list[list[str]] = []
    other = Shop(tmp_path, settings=Settings())
    channel = Scripted()
    channel.before = lambda _: seen.append(phases(other.nudges()))

    async def work() -> None:
        both = digest_of(parcel("strip"), parcel("mist"))
        await post_of(shop, channel).deliver(both, message(both))

    run(work())
    assert seen == [["intent desktop", "intent desktop"]]
    assert phases(other.nudges())[2:] == ["sent desktop", "sent desktop"]


def test_what_the_first_does_not_take_the_next_one_does(shop: Shop) -> None:
    first, second = Scripted("desktop", "fail"), Scripted("bell")

    async def work() -> None:
        post = post_of(shop, first, second)
        assert await post.deliver(parcel(), message(parcel()))
        assert post.carried_by == "the bell"
        assert post.troubles == ("The last nudge by the desktop did not go out: the desktop says no",)

    run(work())
    rows = shop.nudges()
    assert phases(rows) == ["intent desktop", "failed desktop", "intent bell", "sent bell"]
    assert rows[1].body["why"] == "the desktop says no"


def test_a_hold_goes_out_on_two(shop: Shop) -> None:
    channels = Scripted("desktop"), Scripted("bell"), Scripted("mail")

    async def work() -> None:
        post = post_of(shop, *channels)
        assert await post.deliver(parcel(hold=True), message(parcel()))
        assert post.troubles == ()

    run(work())
    assert [len(channel.keys) for channel in channels] == [1, 1, 0]
    assert phases(shop.nudges())[:2] == ["intent desktop", "intent bell"]  # both on disk before either is sent


def test_a_hold_falls_through_to_the_third(shop: Shop) -> None:
    channels = Scripted("desktop", "fail"), Scripted("bell"), Scripted("mail")
    run(_delivered(post_of(shop, *channels)))
    assert [len(channel.keys) for channel in channels] == [0, 1, 1]


async def _delivered(post: Post) -> None:
    assert await post.deliver(parcel(hold=True), message(parcel()))


def test_a_hold_with_one_channel_goes_out_on_it_and_that_is_said(shop: Shop) -> None:
    async def work() -> None:
        post = post_of(shop, Scripted("bell"))
        assert await post.deliver(parcel(hold=True), message(parcel()))
        (trouble,) = post.troubles
        assert trouble.startswith("A hold went out on one channel only")
        await post.settle([Settled("bench/strip/ready", "bench/strip", "done")])
        assert post.troubles == ()  # it was done: nothing is left to warn of

    run(work())


def test_a_second_channel_for_the_hold_comes_up(shop: Shop) -> None:
    async def work() -> None:
        mail = Scripted("mail", up=False)
        post = post_of(shop, Scripted("bell"), mail)
        await post.deliver(parcel(hold=True), message(parcel()))
        assert post.troubles[-1].startswith("A hold went out on one channel only")
        mail.up = True
        await post.deliver(parcel(hold=True, attempt=2), message(parcel()))
        assert post.troubles == ()

    run(work())


def test_nobody_takes_it(shop: Shop) -> None:
    """It is written down, said, and counted as untold, so that it comes again."""

    async def work() -> None:
        post = post_of(shop, Scripted("desktop", "fail"), Scripted("bell", up=False))
        await post.open()
        assert await post.deliver(parcel(), message(parcel())) is False
        assert post.carried_by == ""
        why = "the desktop: the desktop says no; the bell: no bell is there"
        assert post.troubles[0] == f"Not delivered: Title of bench/strip/ready ({why})"
        assert post.troubles[1].startswith("No channel carries nudges now")
        told = post.log.told("bench/strip/ready")
        assert told is not None
        assert (told.open, told.vain, told.tried_at) == (False, 1, NOW)

    run(work())
    assert phases(shop.nudges())[-1] == "failed"


def test_no_channel_at_all(shop: Shop) -> None:
    async def work() -> None:
        post = post_of(shop)
        await post.open()
        assert not await post.deliver(parcel(), message(parcel()))
        assert post.troubles[0] == "Not delivered: Title of bench/strip/ready (no channel is set up)"

    run(work())


def test_an_error_nobody_thought_of_stops_nothing_and_tells_no_secret(shop: Shop) -> None:
    first, second = Scripted("hook", "break"), Scripted("bell")

    async def work() -> None:
        post = post_of(shop, first, second)
        assert await post.deliver(parcel(), message(parcel()))
        assert "ValueError" in post.troubles[0]

    run(work())
    assert second.keys == ["bench/strip/ready"]
    assert "secret" not in repr(shop.nudges())


# --- slow and hanging channels ---------------------------------------------------------------------------------------


def test_a_slow_channel_is_not_waited_for(shop: Shop) -> None:
    slow, quick = Scripted("mail", 20.0), Scripted("bell")

    async def work() -> None:
        assert await post_of(shop, slow, quick).deliver(parcel(), message(parcel()))

    run(work())
    assert [at for at, _ in quick.taken] == [SOON_s]
    assert [at for at, _ in slow.taken] == [20.0]  # it came all the same, and that is written down
    assert sorted(phases(shop.nudges())) == ["intent bell", "intent mail", "sent bell", "sent mail"]


def test_a_channel_that_hangs_is_given_up(shop: Shop) -> None:
    hanging, quick = Scripted("desktop", "hang"), Scripted("bell")

    async def work() -> None:
        loop = asyncio.get_running_loop()
        post = post_of(shop, hanging, quick)
        started = loop.time()
        assert await post.deliver(parcel(), message(parcel()))
        assert loop.time() - started == pytest.approx(PATIENCE_s)
        assert post.carried_by == "the bell"

    run(work())
    assert quick.taken[0][0] == SOON_s
    assert "failed desktop" in phases(shop.nudges())


def test_one_that_hangs_holds_up_no_other_parcel(shop: Shop) -> None:
    """Ten parcels at once behind a channel that hangs: the second channel has them all within seconds."""
    hanging, quick = Scripted("desktop", "hang"), Scripted("bell")

    async def work() -> None:
        post = post_of(shop, hanging, quick)
        for number in range(10):
            one = parcel(f"step-{number}")
            post.start(one, message(one))
        assert set(post.in_flight) == {f"bench/step-{number}/ready" for number in range(10)}
        await post.landed()
        assert post.in_flight == {}

    run(work())
    assert sorted(quick.keys) == [f"bench/step-{number}/ready" for number in range(10)]
    assert max(at for at, _ in quick.taken) <= SOON_s


def test_a_channel_that_hangs_when_it_is_opened(shop: Shop) -> None:
    class Stuck(Scripted):
        async def open(self) -> None:
            await asyncio.Event().wait()

    async def work() -> None:
        post = post_of(shop, Stuck("desktop"), Scripted("bell"))
        await post.open()
        assert asyncio.get_running_loop().time() <= 10.0
        assert post.troubles == ("No nudges by the desktop: it does not answer",)

    run(work())


def test_one_channel_gets_one_message_at_a_time(shop: Shop) -> None:
    slow = Scripted("mail", 2.0)

    async def work() -> None:
        post = post_of(shop, slow)
        for step in ("a", "b", "c"):
            post.start(parcel(step), message(parcel(step)))
        await post.landed()

    run(work())
    assert [at for at, _ in slow.taken] == [2.0, 4.0, 6.0]
    assert slow.most_at_once == 1


# --- up and down -----------------------------------------------------------------------------------------------------


def test_one_that_comes_up_later(shop: Shop) -> None:
    desktop, heard = Scripted("desktop", up=False), list[str]()

    async def work() -> None:
        post = Post(shop, [desktop], clock, heard=lambda: heard.append(""))
        await post.open()
        assert post.troubles[-1] == "No nudges by the desktop: no desktop is there"
        assert await post.reopen() is False
        desktop.up = True
        count = len(heard)
        assert await post.reopen() is True
        assert len(heard) == count + 1
        assert await post.reopen() is False  # it is up already
        assert (post.troubles, post.carried_by) == ((), "the desktop")

    run(work())


def test_one_that_opens_but_does_not_send_has_not_come_up(shop: Shop) -> None:
    """Else what nobody took would be tried again at each look, for ever."""

    async def work() -> None:
        post = post_of(shop, Scripted("hook", "fail"))
        await post.open()
        await post.deliver(parcel(), message(parcel()))
        assert await post.reopen() is False
        assert post.carried_by == ""

    run(work())


def test_other_channels_from_now_on(shop: Shop) -> None:
    old, new = Scripted("desktop", 3.0), Scripted("bell")

    async def work() -> None:
        post = post_of(shop, old)
        post.start(parcel(), message(parcel()))
        await asyncio.sleep(0)
        await post.use([new])
        assert old.keys == ["bench/strip/ready"]  # what was in flight has landed
        await post.deliver(parcel("mist"), message(parcel("mist")))
        assert post.carried_by == "the bell"

    run(work())
    assert new.keys == ["bench/mist/ready"]


def test_closing_lets_it_land_but_not_for_ever(shop: Shop) -> None:
    quick, hanging = Scripted("bell", 1.0), Scripted("desktop", "hang")

    async def work() -> None:
        post = post_of(shop, quick)
        post.start(parcel(), message(parcel()))
        await asyncio.sleep(0)
        await post.close()
        stuck = post_of(shop, hanging)
        stuck.start(parcel("mist"), message(parcel("mist")))
        await asyncio.sleep(0)
        before = asyncio.get_running_loop().time()
        await stuck.close()
        assert asyncio.get_running_loop().time() - before <= 5.0

    run(work())
    assert quick.keys == ["bench/strip/ready"]
    assert phases(shop.nudges())[-1] == "intent desktop"  # untold: it comes again


# --- what stands where -----------------------------------------------------------------------------------------------


def test_a_later_rung_takes_the_place_of_the_earlier(shop: Shop) -> None:
    desktop = Scripted()

    async def work() -> None:
        post = post_of(shop, desktop)
        for rung in ("ready", "late"):
            one = parcel(rung=rung)
            await post.deliver(one, message(one))

    run(work())
    assert [shown.key for shown in desktop.screen.values()] == ["bench/strip/late"]


def test_two_rungs_at_once_end_with_one_notification(shop: Shop) -> None:
    """The mark to replace is looked up when it is its turn, not when it was set off."""
    desktop = Scripted("desktop", 1.0)

    async def work() -> None:
        post = post_of(shop, desktop)
        post.start(parcel(), message(parcel()))
        post.start(parcel(rung="late"), message(parcel(rung="late")))
        await post.landed()

    run(work())
    assert [shown.key for shown in desktop.screen.values()] == ["bench/strip/late"]


def test_settled_is_taken_back(shop: Shop) -> None:
    desktop, mail = Scripted("desktop"), Scripted("mail")

    async def work() -> None:
        post = post_of(shop, desktop, mail)
        await post.deliver(parcel(hold=True), message(parcel()))
        await post.settle(
            [Settled("bench/strip/ready", "bench/strip", "done"), Settled("no/such/key", "no/such", "done")]
        )
        assert post.log.open_keys == []

    run(work())
    assert (desktop.screen, mail.screen) == ({}, {})
    last = shop.nudges()[-1]
    assert (last.phase, last.key, last.body["how"]) == ("answered", "bench/strip/ready", "done")


def test_settled_but_something_newer_stands_there(shop: Shop) -> None:
    desktop = Scripted()

    async def work() -> None:
        post = post_of(shop, desktop)
        for rung in ("ready", "late"):
            await post.deliver(parcel(rung=rung), message(parcel(rung=rung)))
        await post.settle([Settled("bench/strip/ready", "bench/strip", "superseded")])

    run(work())
    assert [shown.key for shown in desktop.screen.values()] == ["bench/strip/late"]


def test_a_digest_stands_until_all_of_it_is_settled(shop: Shop) -> None:
    desktop = Scripted()
    both = digest_of(parcel("strip"), parcel("mist"))

    async def work() -> None:
        post = post_of(shop, desktop)
        await post.deliver(both, message(both))
        await post.settle([Settled("bench/strip/ready", "bench/strip", "done")])
        assert len(desktop.screen) == 1
        await post.settle([Settled("bench/mist/ready", "bench/mist", "seen")])

    run(work())
    assert desktop.screen == {}


def test_what_a_digest_tells_again_does_not_stand_twice(shop: Shop) -> None:
    desktop = Scripted()
    again = digest_of(parcel("strip", attempt=2), parcel("mist"))

    async def work() -> None:
        post = post_of(shop, desktop)
        await post.deliver(parcel("strip"), message(parcel("strip")))
        await post.deliver(again, message(again))
        await post.landed()
        assert [shown.key for shown in desktop.screen.values()] == [again.key]
        for step in ("strip", "mist"):  # and each by itself once more: the digest goes with the last of it
            one = parcel(step, attempt=3)
            await post.deliver(one, message(one))
        await post.landed()

    run(work())
    assert sorted(shown.key for shown in desktop.screen.values()) == ["bench/mist/ready", "bench/strip/ready"]


def test_a_taking_back_that_comes_late_spares_what_came_in_between(shop: Shop) -> None:
    """The channel is busy when the nudge is settled; when it is free again, a new one stands in that place."""
    desktop = Scripted("desktop", "ok", 30.0, "ok")

    async def work() -> None:
        post = post_of(shop, desktop)
        await post.deliver(parcel(), message(parcel()))
        post.start(parcel("mist"), message(parcel("mist")))  # 30 s
        await asyncio.sleep(1.0)
        await post.settle([Settled("bench/strip/ready", "bench/strip", "moved")])
        assert asyncio.get_running_loop().time() <= 5.0  # settling does not wait for the channel
        post.start(parcel(rung="late"), message(parcel(rung="late")))
        await post.landed()

    run(work())
    assert "bench/strip/late" in [shown.key for shown in desktop.screen.values()]


def test_a_question_stands_in_the_place_of_its_nudge(shop: Shop) -> None:
    desktop = Scripted()
    asked = Message("bench/strip/ready", "bench/strip", "Passed?", ())

    async def work() -> None:
        post = post_of(shop, Scripted("bell", marks=False), desktop)
        assert await post.show(asked) is False  # nothing was told yet: nobody to ask
        await post.deliver(parcel(hold=True), message(parcel()))
        assert await post.show(asked)
        assert [shown.title for shown in desktop.screen.values()] == ["Passed?"]
        assert await post.show(Message("answer/x", "answer/bench", "Done", ()), beside="bench/strip")
        assert len(desktop.screen) == 2
        await post.settle([Settled("bench/strip/ready", "bench/strip", "done")])

    run(work())
    assert [shown.title for shown in desktop.screen.values()] == ["Done"]
    assert len(shop.nudges()) == 5  # two intents, two sent, one answered: a question is no nudge


def test_on_a_desktop_that_numbers_everything_anew(shop: Shop) -> None:
    """Question and nudge follow one another in one place, each by the newest mark."""
    desktop = Scripted(fresh=True)
    asked = Message("bench/strip/ready", "bench/strip", "Passed?", ())

    async def work() -> None:
        post = post_of(shop, desktop)
        await post.deliver(parcel(), message(parcel()))
        for number in (2, 3):
            await post.show(asked)
            assert list(desktop.screen) == [f"desktop:{number}"]
        await post.deliver(parcel(rung="late"), message(parcel(rung="late")))
        assert list(desktop.screen) == ["desktop:4"]
        await post.deliver(parcel(rung="late", attempt=2), message(parcel(rung="late")))
        assert list(desktop.screen) == ["desktop:5"]
        await post.show(asked)
        late, ready = ("bench/strip/late", "bench/strip/ready")
        await post.settle([Settled(key, "bench/strip", "done") for key in (late, ready)])

    run(work())
    assert desktop.screen == {}


# --- crashes and disks -----------------------------------------------------------------------------------------------


def test_a_crash_between_intent_and_outcome(tmp_path: Path) -> None:
    """The process is gone while the channel has it: a fresh post on the same ledger takes it for untold, and what it
    sends then carries the same key and place."""

    async def crashes() -> None:
        post = post_of(Shop(tmp_path, settings=Settings()), Scripted("desktop", "hang"))
        task = post.start(parcel(), message(parcel()))
        await asyncio.sleep(1.0)
        task.cancel()

    run(crashes())
    shop = Shop(tmp_path, settings=Settings())
    assert phases(shop.nudges()) == ["intent desktop"]
    desktop = Scripted()

    async def comes_back() -> None:
        post = post_of(shop, desktop)
        told = post.log.told("bench/strip/ready")
        assert told is not None
        assert (told.open, told.vain) == (False, 0)
        await post.deliver(parcel(), message(parcel()))

    run(comes_back())
    assert [(shown.key, shown.group) for _, shown in desktop.taken] == [("bench/strip/ready", "bench/strip")]
    assert phases(shop.nudges()) == ["intent desktop", "intent desktop", "sent desktop"]


def test_after_a_restart_the_old_notification_is_replaced_and_taken_back(tmp_path: Path) -> None:
    desktop = Scripted()

    async def first() -> None:
        post = post_of(Shop(tmp_path, settings=Settings()), desktop)
        await post.deliver(parcel(), message(parcel()))
        await post.close()

    async def second() -> None:
        post = post_of(Shop(tmp_path, settings=Settings()), desktop)
        await post.deliver(parcel(attempt=2), message(parcel()))
        assert len(desktop.screen) == 1
        await post.settle([Settled("bench/strip/ready", "bench/strip", "done")])

    run(first())
    run(second())
    assert desktop.screen == {}


def test_a_ledger_that_cannot_be_written(tmp_path: Path) -> None:
    """Its folder cannot be made, since a file is in the way; later it can. The nudges go out all the same, and their
    rows are on disk as soon as that is possible."""
    in_the_way = tmp_path / "home"
    in_the_way.write_text("not a folder")
    shop = Shop(in_the_way / "curetrack", settings=Settings())
    with pytest.raises(StoreTrouble):
        shop.log_nudges([NudgeFact(0, "k", "intent", "", "", "", NOW, NOW, {})])
    desktop = Scripted()

    async def work() -> None:
        post = Post(shop, [desktop], clock, log=read_log([]))
        assert await post.deliver(parcel(), message(parcel()))
        assert any(text.startswith("What is told cannot be written down") for text in post.troubles)
        assert [told.key for told in post.log.open_keys] == ["bench/strip/ready"]  # remembered: it is not told twice
        in_the_way.unlink()
        post.write_rest()
        assert post.troubles == ()
        await post.deliver(parcel("mist"), message(parcel("mist")))

    run(work())
    assert desktop.keys == ["bench/strip/ready", "bench/mist/ready"]
    rows = shop.nudges()
    assert phases(rows) == ["intent desktop", "sent desktop"] * 2
    assert [fact.id for fact in rows] == [1, 2, 3, 4]


def test_a_ledger_that_fails_in_a_way_nobody_thought_of(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(facts: object) -> list[NudgeFact]:
        raise RuntimeError("what a library does")

    desktop = Scripted()

    async def work() -> None:
        post = post_of(shop, desktop)
        with monkeypatch.context() as patched:
            patched.setattr(shop, "log_nudges", broken)
            assert await post.deliver(parcel(), message(parcel()))
            assert "RuntimeError" in post.troubles[0]
        await post.close()

    run(work())
    assert phases(shop.nudges()) == ["intent desktop", "sent desktop"]


def test_rows_of_another_process_are_not_passed_over(shop: Shop, tmp_path: Path) -> None:
    """A dashboard beside the service says "seen" just before the service writes: the service's log knows it."""
    other = Shop(tmp_path, settings=Settings())

    async def work() -> None:
        post = post_of(shop, Scripted())
        await post.deliver(parcel(), message(parcel()))
        body: dict[str, object] = {"how": "seen", "group": "bench/strip"}
        other.log_nudges([NudgeFact(0, "bench/strip/ready", "answered", "", "bench", "strip", NOW, NOW, body)])
        await post.deliver(parcel("mist"), message(parcel("mist")))
        told = post.log.told("bench/strip/ready")
        assert told is not None
        assert told.seen
        assert post.log.last_id == shop.nudges()[-1].id

    run(work())


def test_rows_say_what_went_out(shop: Shop) -> None:
    """The columns that the contract of the log asks for."""
    due_at = NOW - timedelta(minutes=5)

    async def work() -> None:
        one = parcel(at=due_at, kind="ready")
        await post_of(shop, Scripted()).deliver(one, message(one))

    run(work())
    intent, sent = shop.nudges()
    assert (intent.key, intent.piece, intent.step, intent.at, intent.recorded_at) == (
        "bench/strip/ready", "bench", "strip", due_at, NOW,
    )  # fmt: skip
    assert intent.body == {
        "attempt": 1, "group": "bench/strip", "place": "bench/strip", "kind": "ready", "rung": "ready",
        "parcel": "bench/strip/ready", "missed": False, "over": [], "pieces": [], "grade": "step",
        "title": "Title of bench/strip/ready",
    }  # fmt: skip
    assert sent.body == {"attempt": 1, "group": "bench/strip", "place": "bench/strip", "mark": "desktop:1"}
