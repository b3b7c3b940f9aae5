"""`curetrack bench`: the service that never forgets, with the dashboard or without."""

import os
import sys
from typing import TYPE_CHECKING

from curetrack.cli.command import Command
from curetrack.cli.context import home_folder
from curetrack.cli.where import add_where, where_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from curetrack.cli.context import Context

__all__ = ["COMMANDS"]


def _configure(parser: "ArgumentParser") -> None:
    parser.add_argument("--headless", action="store_true", help="without the dashboard: for a service, or a closed lid")
    parser.add_argument("--no-page", action="store_true", help="without the phones' page, their feed and to-do list")
    add_where(parser)


def _run(args: "Namespace", context: "Context") -> int:
    from curetrack.service.run import run_bench

    headless = args.headless
    if not headless and not _terminal():
        context.screen.remark("no terminal is there for the dashboard: running without it, as with --headless")
        headless = True

    def say(text: str) -> None:
        context.screen.write(text + "\n")
        sys.stdout.flush()  # who reads a service's output reads it while it runs

    where = None if args.no_page else where_of(args, context)
    return run_bench(home_folder(), headless=headless, where=where, say=say)


def _terminal() -> bool:
    """A terminal that can show a dashboard, at every end."""
    streams = (sys.stdin, sys.stdout, sys.stderr)  # the dashboard is drawn on standard error
    return all(stream is not None and stream.isatty() for stream in streams) and os.environ.get("TERM") != "dumb"


COMMANDS = {
    "bench": Command(
        _configure,
        _run,
        ("curetrack bench", "curetrack bench --headless", "curetrack bench --lan"),
        "Keep watch beside the work: nudges at the right moments, a dashboard to be read from two metres, and a page "
        "for phones that are paired (curetrack phone), on this machine only unless --lan lets the network in. It runs "
        "until it is stopped (q, Ctrl-C); what it missed while it was off comes as one card when it starts. Of several "
        "on one ledger one nudges.",
    )
}
