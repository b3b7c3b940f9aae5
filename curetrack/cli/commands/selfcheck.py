"""`curetrack selfcheck`: is everything in working order, and what to do if not."""

import os
import sqlite3
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from signal import SIGINT, default_int_handler, signal
from typing import TYPE_CHECKING

from curetrack.cli.context import Context, home_folder
from curetrack.cli.layout import Span, row
from curetrack.cli.parser import Command, add_json
from curetrack.errors import CuretrackError
from curetrack.service.doubts import clock_doubt
from curetrack.service.health import Found as Item
from curetrack.service.health import channels_found, service_found, sleep_found, undelivered_found

if TYPE_CHECKING:
    from curetrack.nudge.channels.base import Channel

__all__ = ["COMMANDS"]

LEAST_FREE_BYTES = 50_000_000
FRESH_h = 12.0


def _configure(parser: ArgumentParser) -> None:
    parser.add_argument("--quiet", action="store_true", help="send no test nudges")
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    context.shop.settings_as_far_as_read()  # what is wrong with them is one item's to say
    items = [_asked(name, look, context) for name, look in LOOKS]
    items += [Item("channels", True, "not tried (--quiet)")] if args.quiet else _channels(context)
    ok = all(item.ok or not item.needed for item in items)
    if context.screen.as_json:
        told = [{"name": i.name, "ok": i.ok, "text": i.text, "remedy": i.remedy} for i in items]
        context.screen.json({"format": 1, "ok": ok, "items": told})
        return 0 if ok else 1
    rows = []
    for item in items:
        mark = Span("ok", "dim") if item.ok else Span("NOT OK", "alarm") if item.needed else Span("no", "dim")
        rows.append(row(Span(f"{item.name}: ", "head"), item.text, gutter=mark))
        rows += [row(item.remedy, indent=2)] if item.remedy else []
    context.screen.show(rows)
    return 0 if ok else 1


def _asked(name: str, look: Callable[[Context], Item], context: Context) -> Item:
    """What cannot even be asked is not in order."""
    try:
        return look(context)
    except CuretrackError as error:
        return Item(name, False, str(error).replace("\n", "; "), "mend what it names")
    except (OSError, sqlite3.Error) as error:
        return Item(name, False, f"cannot be looked at: {error}", "see that the folder can be read and written")


def _clock(context: Context) -> Item:
    from curetrack.service.beat import read_beat

    beat, last_ms = read_beat(home_folder()), context.shop.ledger.last_recorded_ms()
    last = None if last_ms is None else datetime.fromtimestamp(last_ms / 1000.0, UTC)
    doubt = clock_doubt(context.now, last, beat.at if beat is not None else None)
    if doubt:
        return Item("clock", False, doubt.partition(". ")[0], "set the computer's clock")
    return Item("clock", True, f"{context.now:%Y-%m-%d %H:%M} UTC")


def _channels(context: Context) -> list[Item]:
    """A test nudge through each; on a terminal whether it was seen."""
    from curetrack.credentials import open_to_others, read_credentials
    from curetrack.nudge.channels.all import channels_of
    from curetrack.nudge.channels.bell import ring_terminal

    async def nothing(_key: str, _button: str) -> None:
        """A button of a test nudge means nothing."""

    try:
        credentials = read_credentials(home_folder())
        channels = channels_of(context.settings, credentials, nothing, ring_terminal())
    except CuretrackError as error:
        return [Item("channels", False, str(error), "mend what it names")]
    named = context.settings.channels.split(",") if context.settings.channels else ["hook", "mail"]
    found = channels_found(channels, _asks(context), wanted=named)
    missing = [name for name in named if context.settings.channels and name not in {each.name for each in channels}]
    found += [Item(name, False, "named in channels, but not set up", "see curetrack shop --help") for name in missing]
    if open_to_others(home_folder()):
        found.append(Item("secrets", False, "others can read secrets.toml", "chmod 600 it"))
    return found


def _asks(context: Context) -> "Callable[[Channel], bool | None]":
    """Asks on a terminal; elsewhere nobody can be asked."""

    def asks(channel: "Channel") -> bool | None:
        if not context.screen.terminal or sys.stdin is None or not sys.stdin.isatty():
            return None
        question = f"A test nudge went out by {channel.reaches}. Did it reach you? [y/n] "
        with _stopped_by_ctrl_c():
            while True:
                try:
                    said = input(question).strip().casefold()
                except EOFError:
                    return None
                if said[:1] in ("y", "n"):
                    return said[0] == "y"

    return asks


@contextmanager
def _stopped_by_ctrl_c() -> Iterator[None]:
    """The channels' loop would wait for the answer first."""
    before = signal(SIGINT, default_int_handler)
    try:
        yield
    finally:
        signal(SIGINT, before)


def _settings(context: Context) -> Item:
    from curetrack.settings import readable_settings

    if wrong := readable_settings(home_folder())[1]:
        return Item("settings", False, "; ".join(wrong).replace("\n", "; "), "mend what it names")
    settings, folder = context.settings, context.settings.watch_folder
    if folder and not Path(folder).expanduser().is_dir():
        return Item("settings", False, f"watch_folder: {folder} is no folder", "make it, or name another")
    return Item("settings", True, f"readable, units {settings.units}")


def _zone(context: Context) -> Item:
    settings = context.settings
    local = context.now.astimezone(settings.zone)
    text = f"{settings.timezone}, it is {local:%a %H:%M} there"
    if settings.timezone_from == "assumed":
        return Item(
            "time zone",
            False,
            f"not known, {settings.timezone} is assumed",
            "curetrack shop --set timezone=Europe/Berlin",
        )
    return Item("time zone", True, text)


def _folder(_context: Context) -> Item:
    home = home_folder()
    stands = home
    while not stands.exists() and stands != stands.parent:
        stands = stands.parent
    if not stands.is_dir() or not os.access(stands, os.W_OK | os.X_OK):
        return Item(
            "folder", False, f"{home} cannot be written", "make it writable, or name another with CURETRACK_HOME"
        )
    return Item("folder", True, f"{home}{'' if home.exists() else ', made with the first fact'}")


def _space(_context: Context) -> Item:
    from shutil import disk_usage

    stands = home_folder()
    while not stands.exists() and stands != stands.parent:
        stands = stands.parent
    free = disk_usage(stands).free
    text = f"{free / 1e6:.0f} MB free"
    return Item("disk space", free >= LEAST_FREE_BYTES, text, "" if free >= LEAST_FREE_BYTES else "free some space")


def _ledger(context: Context) -> Item:
    ledger = context.shop.ledger
    path = ledger.path
    if path is None or not ledger.exists:
        return Item("ledger", True, "nothing is recorded yet")
    damage = ledger.damage()
    if damage:
        return Item("ledger", False, f"damaged: {damage}", f"keep a copy of {path}, then restore a backup")
    if not os.access(path, os.W_OK):
        return Item("ledger", False, f"{path} cannot be written", "make it writable")
    return Item("ledger", True, "whole, and can be written")


def _readings(context: Context) -> Item:
    from curetrack.shop import View
    from curetrack.words.moments import duration

    timelines = [timeline for timeline in context.shop.timelines(View(context.now)) if timeline.poured_at is not None]
    if not timelines:
        return Item("readings", True, "no piece is curing")
    old = []
    for timeline in timelines:
        last = timeline.last_reading_at
        hours = (context.now - last).total_seconds() / 3600.0 if last else None
        if hours is None or hours > FRESH_h:
            old.append(f"{timeline.piece} has {'none' if hours is None else f'none for {duration(hours)}'}")
    if old:
        return Item("readings", False, "; ".join(old), "enter one: curetrack temp 14C, or temp --from FILE")
    return Item("readings", True, "fresh for each piece")


def _profiles(_context: Context) -> Item:
    from curetrack.profile.load import compile_profile, load_document
    from curetrack.profile.shelf import shipped

    names = []
    for profile_id, path in shipped():
        compile_profile(load_document(path), profile_id, path.name)
        names.append(profile_id)
    if not names:
        return Item("profiles", False, "none are installed", "install curetrack anew")
    return Item("profiles", True, f"{len(names)} load: {', '.join(names)}")


def _bench(context: Context) -> Item:
    return service_found(context.shop, context.now)


def _undelivered(context: Context) -> Item:
    return undelivered_found(context.shop, context.now)


def _sleep(_context: Context) -> Item:
    return sleep_found()


def _page(context: Context) -> Item:
    from curetrack.service.reach import page_found

    return page_found(context.shop)


def _todos(context: Context) -> Item:
    from curetrack.service.reach import todos_found

    return todos_found(context.shop.home)


def _export(context: Context) -> Item:
    from curetrack.service.reach import export_found

    return export_found(context.settings.export_folder)


LOOKS: tuple[tuple[str, Callable[[Context], Item]], ...] = (
    ("clock", _clock), ("settings", _settings), ("time zone", _zone), ("folder", _folder), ("disk space", _space),
    ("ledger", _ledger), ("readings", _readings), ("profiles", _profiles),
    ("bench", _bench), ("nudges", _undelivered), ("sleep", _sleep),
    ("page", _page), ("to-do list", _todos), ("export", _export),
)  # fmt: skip

COMMANDS = {
    "selfcheck": Command(
        _configure,
        _run,
        ("curetrack selfcheck", "curetrack selfcheck --quiet", "curetrack selfcheck --json"),
        "Look whether everything that right times and reminders need is in working order; says what to do if not (then "
        "exit 1). Sends a test nudge through every channel, and on a terminal asks whether it came.",
    )
}
