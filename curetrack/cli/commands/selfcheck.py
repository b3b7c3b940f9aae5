"""`curetrack selfcheck`: is everything in working order, and what to do if not."""

import os
import sqlite3
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime

from msgspec import Struct

from curetrack.cli.context import Context, home_folder
from curetrack.cli.layout import Span, row
from curetrack.cli.parser import Command, add_json
from curetrack.errors import CuretrackError

__all__ = ["COMMANDS"]

LEAST_FREE_BYTES = 50_000_000
FRESH_h = 12.0
EARLIEST, LATEST = datetime(2025, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)


class Item(Struct, frozen=True):
    """One thing looked at. `remedy` is empty where nothing is to be done."""

    name: str
    ok: bool
    text: str
    remedy: str = ""


def _configure(parser: ArgumentParser) -> None:
    add_json(parser)


def _run(_args: Namespace, context: Context) -> int:
    items = [_asked(name, look, context) for name, look in LOOKS]
    ok = all(item.ok for item in items)
    if context.screen.as_json:
        told = [{"name": i.name, "ok": i.ok, "text": i.text, "remedy": i.remedy} for i in items]
        context.screen.json({"format": 1, "ok": ok, "items": told})
        return 0 if ok else 1
    rows = []
    for item in items:
        mark = Span("ok", "dim") if item.ok else Span("NOT OK", "alarm")
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
    now = context.now
    if not EARLIEST <= now <= LATEST:
        return Item("clock", False, f"it says {now:%Y-%m-%d %H:%M} UTC", "set the computer's clock")
    last = _last_recorded(context)
    if last is not None and last > now:
        text = f"it says {now:%Y-%m-%d %H:%M} UTC, before the last fact ({last:%Y-%m-%d %H:%M} UTC)"
        return Item("clock", False, text, "set the computer's clock")
    return Item("clock", True, f"{now:%Y-%m-%d %H:%M} UTC")


def _last_recorded(context: Context) -> datetime | None:
    path = context.shop.ledger.path
    if path is None or not path.exists():
        return None
    with closing(_read_only(str(path))) as connection:
        found = connection.execute("SELECT max(recorded_at) FROM event").fetchone()[0]
    return None if found is None else datetime.fromtimestamp(found / 1000.0, UTC)


def _settings(context: Context) -> Item:
    settings = context.settings
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
    path = context.shop.ledger.path
    if path is None or not path.exists():
        return Item("ledger", True, "nothing is recorded yet")
    with closing(_read_only(str(path))) as connection:
        said = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if said != "ok":
        return Item("ledger", False, f"damaged: {said}", f"keep a copy of {path}, then restore a backup")
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


def _read_only(path: str) -> sqlite3.Connection:
    from urllib.parse import quote

    return sqlite3.connect(f"file:{quote(path)}?mode=ro", uri=True)


LOOKS: tuple[tuple[str, Callable[[Context], Item]], ...] = (
    ("clock", _clock), ("settings", _settings), ("time zone", _zone), ("folder", _folder), ("disk space", _space),
    ("ledger", _ledger), ("readings", _readings), ("profiles", _profiles),
)  # fmt: skip

COMMANDS = {
    "selfcheck": Command(
        _configure,
        _run,
        ("curetrack selfcheck", "curetrack selfcheck --json"),
        "Look whether everything that right times need is in working order; says what to do if not (then exit 1).",
    )
}
