"""Is what reminders need in working order? Each channel is tried for real; the rest is looked at."""

import asyncio
import logging
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import datetime, timedelta

from msgspec import Struct
from msgspec.structs import replace

from curetrack import __version__
from curetrack.nudge.channels.base import Channel, Message, Undelivered
from curetrack.nudge.due import due
from curetrack.nudge.log import Told, read_log
from curetrack.nudge.quiet import quiet_of
from curetrack.service.beat import SILENT, Beat, read_beat
from curetrack.service.lease import is_held
from curetrack.service.outlook import Outlook
from curetrack.service.power import Sleep, this_machine
from curetrack.shop import Shop, View
from curetrack.words.moments import duration

__all__ = ["Found", "channels_found", "service_found", "sleep_found", "undelivered_found"]

TRY_s = 30.0
MOST_SHOWN = 5
TEST = "A test nudge of curetrack: nothing is to be done."
START = "start it: curetrack bench (or --headless; examples/bench.md starts it with the computer)"
ANSWERS = {True: "sent, and seen", False: "sent, but not seen", None: "sent; nobody was asked whether it came"}
REMEDIES = {
    "desktop": "run it in your desktop's session, and let it show notifications from curetrack",
    "bell": "run it in a terminal, or rely on another channel",
    "hook": "look at the address and the token: curetrack shop --secret hook_url",
    "mail": "look at mail_server, mail_user and mail_tls (curetrack shop), and the password (shop --secret)",
}

Asks = Callable[[Channel], bool | None]  # whether it was seen; None: nobody can be asked


class Found(Struct, frozen=True):
    """One thing looked at. `remedy` is empty where nothing is to be done; what is not `needed` may fail."""

    name: str
    ok: bool
    text: str
    remedy: str = ""
    needed: bool = True


# --- the bench -----------------------------------------------------------------------------------------------------


def service_found(shop: Shop, now: datetime) -> Found:
    """Whether the bench runs, if anything is curing. That its lock is held says so, whatever the clock says; where no
    lock can be read its beat does."""
    beat, held = read_beat(shop.home), is_held(shop.home)
    curing = any(timeline.poured_at is not None for timeline in shop.timelines(View(now), only_next=True))
    if beat is None and not held:
        text = "it has never run" if curing else "not needed: nothing is curing"
        return Found("bench", not curing, text, START if curing else "")
    age = None if beat is None else now - beat.at
    if held is False or (held is None and (beat is None or abs(now - beat.at) > SILENT or not _alive(beat.pid))):
        last = f"; it last did {_ago(age)}" if age is not None else ""
        return Found("bench", not curing, f"it does not run{last}", START if curing else "")
    if beat is None or age is None:
        return Found("bench", False, "it runs, but leaves no sign of life", "see that its folder can be written")
    if age > SILENT:
        since = duration(age / timedelta(hours=1))
        text = f"process {beat.pid} has given no sign of life for {since}: it hangs, or the computer has just woken"
        return Found("bench", False, text, "look again in a minute; if it stays so, stop it and start it anew")
    return _running(beat)


def _running(beat: Beat) -> Found:
    by = f", nudges by {beat.carried_by}" if beat.carried_by else ""
    text, remedy = f"runs (process {beat.pid}){by}", ""
    if beat.version != __version__:
        text += f"; it is version {beat.version or '?'}, {__version__} is installed"
        remedy = "stop it and start it anew"
    if not beat.troubles:
        return Found("bench", True, text, remedy)
    more = len(beat.troubles) - MOST_SHOWN
    troubles = "; ".join(trouble.rstrip(".") for trouble in beat.troubles[:MOST_SHOWN])
    return Found("bench", False, f"{text}: {troubles}{f'; and {more} more' if more > 0 else ''}", "mend what it says")


def _ago(age: timedelta) -> str:
    """In words; a beat of the future, by a clock that was set back, was just now."""
    return "a moment ago" if age < timedelta(minutes=1) else f"{duration(age / timedelta(hours=1))} ago"


def _alive(pid: int) -> bool:
    """Whether a process of that number is there; where it cannot be asked, the beat alone counts."""
    if os.name != "posix":
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


# --- nudges --------------------------------------------------------------------------------------------------------


def undelivered_found(shop: Shop, now: datetime) -> Found:
    """Nudges that nobody took, and whose reason lasts."""
    failed = _undelivered(shop, now)
    if not failed:
        return Found("nudges", True, "none is undelivered")
    names = list(dict.fromkeys(told.title or told.key for told in failed))  # a digest's nudges have its title
    more = f" and {len(names) - MOST_SHOWN} more" if len(names) > MOST_SHOWN else ""
    text = f"undelivered: {', '.join(names[:MOST_SHOWN])}{more} ({failed[0].why})"
    return Found("nudges", False, text, "see the channels below, and curetrack today")


def _undelivered(shop: Shop, now: datetime) -> list[Told]:
    log = read_log(shop.nudges())
    failed = log.undelivered
    if not failed:
        return []
    outlook = Outlook(shop, lambda: now, logging.getLogger("curetrack"))
    asyncio.run(outlook.renew())
    if outlook.trouble:  # which reasons last cannot be said
        return failed
    wanted = due(outlook.moments, log, quiet_of(shop.settings), now, closed=outlook.closed).waiting
    keys = {moment.key for moment in wanted}
    return [told for told in failed if told.key in keys]


def sleep_found(read: Callable[[], Sleep] = this_machine) -> Found:
    """Whether the computer falls asleep by itself: no fault, but good to know."""
    sleep = read()
    return Found("sleep", True, sleep.text, sleep.remedy)


# --- channels ------------------------------------------------------------------------------------------------------


def channels_found(channels: Sequence[Channel], asks: Asks, *, wanted: Sequence[str]) -> list[Found]:
    """A test nudge through each channel. One that was not asked for (`wanted`: those named in the settings) and is not
    there is not needed as long as another works."""
    return asyncio.run(_tried(channels, asks, set(wanted)))


async def _tried(channels: Sequence[Channel], asks: Asks, wanted: set[str]) -> list[Found]:
    found = [await _one_tried(channel, asks, needed=channel.name in wanted) for channel in channels]
    working = sum(each.ok for each in found)
    if not working:
        nobody, found = "none works: nudges would reach nobody", [replace(each, needed=True) for each in found]
        return [*found, Found("channels", False, nobody, "set one up: curetrack shop --help")]
    two = "" if working > 1 else "a nudge for a hold wants two: set up another, curetrack shop --help"
    return [*found, Found("channels", True, f"{working} work{'s' if working == 1 else ''}", two)]


async def _one_tried(channel: Channel, asks: Asks, *, needed: bool) -> Found:
    remedy = REMEDIES.get(channel.name, "")
    try:
        seen = await _carried(channel, asks)
    except (Undelivered, TimeoutError) as error:
        return Found(channel.name, False, f"{channel.reaches}: {str(error) or 'it does not answer'}", remedy, needed)
    except Exception as error:  # the other channels are to be tried all the same
        text = f"{channel.reaches}: it fails in a way nobody thought of ({type(error).__name__})"
        return Found(channel.name, False, text, remedy, needed)
    finally:
        with suppress(Exception):
            await asyncio.wait_for(channel.close(), TRY_s)
    said = f"{channel.reaches}: {ANSWERS[seen]}"
    return Found(channel.name, seen is not False, said, remedy if seen is False else "")


async def _carried(channel: Channel, asks: Asks) -> bool | None:
    """Sends the test nudge. Once somebody has said whether it came it is taken back; else it stays to be found."""
    async with asyncio.timeout(TRY_s):
        await channel.open()
        sent = await channel.send(Message("selfcheck", "selfcheck", "Selfcheck", (TEST,), "low"))
    seen: bool | None = None
    try:
        seen = asks(channel)  # in this thread: a question that waits in another could not be broken off
    finally:
        if seen is not None:
            await channel.withdraw(sent.mark)
    return seen
