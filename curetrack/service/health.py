"""Is what reminders need in working order? Each channel is tried for real; the rest is looked at."""

import asyncio
import os
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from msgspec import Struct

from curetrack.nudge.channels.base import Channel, Message, Undelivered
from curetrack.nudge.log import read_log
from curetrack.service.beat import read_beat
from curetrack.service.power import Sleep, this_machine
from curetrack.shop import Shop, View
from curetrack.words.moments import duration

__all__ = ["Found", "channels_found", "service_found", "sleep_found", "undelivered_found"]

FRESH = timedelta(seconds=150)  # a beat comes each minute
TRY_s = 30.0
TEST = "A test nudge of curetrack: nothing is to be done."

ANSWERS = {True: "sent, and seen", False: "sent, but not seen", None: "sent; nobody was asked whether it came"}

Asks = Callable[[Channel], bool | None]  # whether it was seen; None: nobody can be asked


class Found(Struct, frozen=True):
    """One thing looked at. `remedy` is empty where nothing is to be done."""

    name: str
    ok: bool
    text: str
    remedy: str = ""


def service_found(shop: Shop, now: datetime) -> Found:
    """Whether the bench runs, if anything is curing."""
    beat = read_beat(shop.home)
    curing = any(timeline.poured_at is not None for timeline in shop.timelines(View(now), only_next=True))
    start = "start it: curetrack bench (or --headless; examples/bench.md starts it with the computer)"
    if beat is None:
        text = "it has never run" if curing else "not needed: nothing is curing"
        return Found("bench", not curing, text, start if curing else "")
    age = now - beat.at
    if abs(age) > FRESH or not _alive(beat.pid):
        ago = duration(max(0.0, age / timedelta(hours=1)))
        return Found("bench", not curing, f"it does not run; it last did {ago} ago", start if curing else "")
    troubles = "; ".join(beat.troubles)
    by = f", nudges by {beat.carried_by}" if beat.carried_by else ""
    text = f"runs (process {beat.pid}){by}{f': {troubles}' if troubles else ''}"
    return Found("bench", not beat.troubles, text, "mend what it says" if troubles else "")


def undelivered_found(shop: Shop) -> Found:
    """Nudges that nobody took."""
    waiting = read_log(shop.nudges()).undelivered
    if not waiting:
        return Found("nudges", True, "none is undelivered")
    names = ", ".join(told.title or told.key for told in waiting[:5])
    text = f"undelivered: {names} ({waiting[0].why})"
    return Found("nudges", False, text, "see the channels below, and curetrack today")


def sleep_found(read: Callable[[], Sleep] = this_machine) -> Found:
    """Whether the computer falls asleep by itself: no fault, but good to know."""
    sleep = read()
    return Found("sleep", True, sleep.text, sleep.remedy)


def channels_found(channels: Sequence[Channel], asks: Asks, *, wanted: Sequence[str]) -> list[Found]:
    """A test nudge through each channel. One that was not asked for (`wanted`: those named in the settings) and is not
    there is no fault as long as another works."""
    return asyncio.run(_tried(channels, asks, set(wanted)))


async def _tried(channels: Sequence[Channel], asks: Asks, wanted: set[str]) -> list[Found]:
    found, working = [], 0
    for channel in channels:
        try:
            async with asyncio.timeout(TRY_s):
                await channel.open()
                sent = await channel.send(Message("selfcheck", "selfcheck", "Selfcheck", (TEST,), "low"))
        except (Undelivered, TimeoutError) as error:
            text = f"{channel.reaches}: {str(error) or 'it does not answer'}"
            found.append(Found(channel.name, channel.name not in wanted, text, _remedy(channel)))
            continue
        seen = await asyncio.to_thread(asks, channel)
        await channel.withdraw(sent.mark)
        await channel.close()
        working += seen is not False
        said = f"{channel.reaches}: {ANSWERS[seen]}"
        found.append(Found(channel.name, seen is not False, said, _remedy(channel) if seen is False else ""))
    if not working:
        nobody = "none works: nudges would reach nobody"
        return [*found, Found("channels", False, nobody, "set one up: curetrack shop --help")]
    two = "" if working > 1 else "a nudge for a hold wants two: set up another, curetrack shop --help"
    return [*found, Found("channels", True, f"{working} work{'s' if working == 1 else ''}", two)]


def _remedy(channel: Channel) -> str:
    return {
        "desktop": "run it in your desktop's session, and let it show notifications from curetrack",
        "bell": "run it in a terminal, or rely on another channel",
        "hook": "look at the address and the token: curetrack shop --secret hook_url",
        "mail": "look at mail_server, mail_user and mail_tls (curetrack shop), and the password (shop --secret)",
    }.get(channel.name, "")


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
