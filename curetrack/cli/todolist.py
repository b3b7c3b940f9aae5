"""The to-do list: looked at, agreed to, connected, brought in step."""

import sys
from argparse import Namespace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from curetrack.cli.context import Context
from curetrack.cli.layout import Span, row
from curetrack.errors import BadInput, Refused
from curetrack.words.clean import clean

if TYPE_CHECKING:
    from curetrack.phone.caldav.run import FirstLook
    from curetrack.phone.caldav.sync import Synced

__all__ = ["connect_list", "sync_now"]

OFF = "off"


def connect_list(args: Namespace, context: Context) -> int:
    """First looks, then asks, then writes."""
    if args.todos == OFF:
        return _disconnect(context)
    from curetrack.credentials import check_credential, keep_credential
    from curetrack.phone.caldav.discover import LIST_NAME
    from curetrack.phone.caldav.run import connect, first_look
    from curetrack.phone.caldav.store import only_one
    from curetrack.phone.caldav.wire import Account, Wire, checked_url

    address = checked_url(args.todos)
    if not args.user:
        raise BadInput("whose list is it", where="--user", remedy="add --user NAME, as at the server")
    name = args.on or LIST_NAME
    account = Account(address, args.user, _password(args.user))
    check_credential("todo_password", account.password)
    wire = Wire(account)
    try:
        look = first_look(context.shop.home, wire, context.now, name)
        if not _agreed(context, look, name, yes=args.yes):
            raise Refused("nothing was connected, and nothing written", rule="agreed")
        with only_one(context.shop.home) as alone:  # else a sync in between would send the old password there
            if not alone:
                raise Refused("the bench is syncing just now; try again in a moment", rule="sync")
            connect(context.shop.home, wire, account, name)
            keep_credential(context.shop.home, "todo_password", account.password)
    finally:
        wire.close()
    return sync_now(args, context)


def sync_now(_args: Namespace, context: Context) -> int:
    """One sync, told."""
    from curetrack.credentials import read_credentials
    from curetrack.phone.caldav.run import Syncer
    from curetrack.phone.caldav.store import kept

    home = context.shop.home
    if kept(home) is None:
        raise BadInput("no to-do list is connected", remedy="connect one: curetrack phone --todos ADDRESS --user NAME")
    syncer = Syncer(home, lambda: read_credentials(home).todo_password, lambda: datetime.now(UTC))
    try:
        done = syncer.run()
    finally:
        syncer.close()
    if done is None:
        raise Refused("the bench is syncing just now: nothing is left to do here", rule="sync")
    return _tell(context, done)


def _tell(context: Context, done: "Synced") -> int:
    heard = [f"{fact.what}: {clean(fact.step)} · {clean(fact.piece)}" for fact in done.facts]
    if context.screen.as_json:
        context.screen.json({
            "format": 1, "heard": heard, "refused": list(done.refusals), "written": done.written,
            "troubles": list(done.troubles),
        })  # fmt: skip
        return 1 if done.troubles else 0
    rows = [row(Span("heard", "head"), f" {text}", flat=True) for text in heard]
    rows += [row(Span("not taken", "alarm"), f" {clean(text)}", flat=True) for text in done.refusals]
    rows += [row(Span("trouble", "alarm"), f" {clean(text)}", flat=True) for text in done.troubles]
    count = done.written
    rows.append(row(f"In step: {count} to-do{'' if count == 1 else 's'} written.", flat=True))
    context.screen.show(rows)
    return 1 if done.troubles else 0


def _disconnect(context: Context) -> int:
    from curetrack.credentials import keep_credential
    from curetrack.phone.caldav.store import forget, only_one

    with only_one(context.shop.home) as alone:  # else a sync at its end would write down the list once more
        if not alone:
            raise Refused("the bench is syncing just now; try again in a moment", rule="sync")
        there = forget(context.shop.home)
        keep_credential(context.shop.home, "todo_password", "")
    text = "disconnected; what is on the server stays there" if there else "no to-do list was connected"
    if context.screen.as_json:
        context.screen.json({"format": 1, "text": text})
    else:
        context.screen.write(f"{text}\n")
    return 0


def _password(user: str) -> str:
    """Without an echo, or one line of what is piped in. Never an argument: those can be read by others."""
    from getpass import getpass

    try:
        if sys.stdin is not None and sys.stdin.isatty():
            typed = getpass(f"Password of {clean(user)} (an app password, if the server has such): ")
        else:
            typed = sys.stdin.readline() if sys.stdin is not None else ""
    except (EOFError, UnicodeDecodeError):
        typed = ""
    if not typed.strip("\r\n"):
        raise BadInput("no password was given", where="standard input", remedy="type it, or pipe one line in")
    return typed.strip("\r\n")


def _agreed(context: Context, look: "FirstLook", name: str, *, yes: bool) -> bool:
    """Says what would be written, and where, before anything is."""
    said = _first(look, name)
    if yes:
        if not context.screen.as_json:
            context.screen.write(f"{said}\n")
        return True
    if context.screen.as_json or sys.stdin is None or not sys.stdin.isatty():
        raise BadInput(f"that would write to a server: {said.rstrip('.')}", remedy="add --yes to agree")
    context.screen.write(f"{said}\n")
    try:
        return input("Go on? [y/N] ").strip().casefold() in ("y", "yes")
    except EOFError:
        return False


def _first(look: "FirstLook", name: str) -> str:
    if look.place is None:
        where = f"A new list {clean(name)} is made"
    else:
        where = f"The list {clean(look.place.name or name)} is used ({clean(look.place.url)})"
    parts = [where, f"{look.coming} to-do{'' if look.coming == 1 else 's'} would be put on it"]
    if look.ours:
        parts.append(f"{look.ours} of an earlier connection are taken up")
    if look.foreign:
        parts.append(f"{look.foreign} that are not curetrack's stay as they are")
    others = [clean(place.name) for place in look.others if place != look.place and place.name]
    text = "; ".join(parts) + "."
    return f"{text} Other lists there: {', '.join(others[:8])} (--on NAME takes one)." if others else text
