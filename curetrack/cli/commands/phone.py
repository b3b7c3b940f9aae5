"""`curetrack phone`: pair a phone, list or revoke what may come in, feed and to-do list."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable

from curetrack.cli.context import Context, home_folder
from curetrack.cli.parser import Command, add_json, text
from curetrack.cli.where import add_where, where_of
from curetrack.errors import BadInput

__all__ = ["COMMANDS"]

Do = Callable[[Namespace, Context], int]
DEVICE, LIST = "DEVICE", "LIST"
DO = ("list", "revoke", "rename", "feed", "sensor", "todos", "sync", "serve")
GO_ALONG = {
    "user": "todos",
    "on": "todos",
    "yes": "todos",
    "lan": "serve",
    "port": "serve",
    "cert": "serve",
    "key": "serve",
    "name": "serve",
}


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("--list", action="store_true", help="what may come in; without a new code")
    add(
        "--revoke",
        metavar=DEVICE,
        type=text,
        help="a phone, feed or sensor, by its id or name: it may no longer come in",
    )
    add("--rename", metavar=(DEVICE, "NAME"), nargs=2, type=text, help="call it otherwise")
    add(
        "--feed",
        metavar="NAME",
        nargs="?",
        const="calendar",
        type=text,
        help="an address for a calendar to subscribe to",
    )
    add("--sensor", metavar="NAME", type=text, help="a token with which a sensor may send temperatures")
    add("--todos", metavar="ADDRESS", type=text, help="connect a to-do list on a CalDAV server; off: no longer")
    add("--user", metavar="NAME", type=text, help="with --todos: whose list it is")
    add(
        "--on",
        metavar=LIST,
        type=text,
        help="with --todos: the list's name (default: curetrack; made if it is not there)",
    )
    add("--yes", action="store_true", help="with --todos: do not ask before writing")
    add("--sync", action="store_true", help="bring the to-do list in step now")
    add("--serve", action="store_true", help="the page alone, without a bench: it nudges nobody")
    add_where(parser)
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    chosen = [name for name in DO if getattr(args, name) not in (None, False)]
    if len(chosen) > 1:
        said = " and ".join(f"--{name}" for name in chosen)
        raise BadInput("one thing at a time", found=said, remedy="call phone once for each")
    what = chosen[0] if chosen else ""
    for option, of in GO_ALONG.items():
        if getattr(args, option) not in (None, False, []) and what != of:
            raise BadInput(f"--{option} says nothing here", remedy=f"it goes with --{of}, or with bench")
    return _doing(what)(args, context)


def _doing(what: str) -> Do:
    """Each with the modules that it needs."""
    if what in ("list", "revoke", "rename", "feed", "sensor"):
        from curetrack.cli import devices

        named: dict[str, Do] = {
            "list": devices.show, "revoke": devices.revoke, "rename": devices.rename, "feed": devices.feed,
            "sensor": devices.sensor,
        }  # fmt: skip
        return named[what]
    if what in ("todos", "sync"):
        from curetrack.cli import todolist

        return todolist.connect_list if what == "todos" else todolist.sync_now
    if what == "serve":
        return _serve
    from curetrack.cli import pairing

    return pairing.pair


def _serve(args: Namespace, context: Context) -> int:
    import sys

    from curetrack.service.run import run_page

    def say(text: str) -> None:
        context.screen.write(text + "\n")
        sys.stdout.flush()  # who reads a service's output reads it while it runs

    return run_page(home_folder(), where_of(args, context), say=say)


COMMANDS = {
    "phone": Command(
        _configure,
        _run,
        (
            "curetrack phone",
            "curetrack phone --list",
            "curetrack phone --feed",
            'curetrack phone --sensor "shop wall"',
            "curetrack phone --todos https://dav.example.org/ --user maker",
        ),
        "Show a code to be scanned with a phone: it pairs one phone with the page that the bench serves (start it with "
        "curetrack bench --lan), and is void after ten minutes or once it is used. With --json, what is paired.",
    )
}
