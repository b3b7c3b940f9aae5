"""--lan, --port, --cert, --key, --name: where the phones' page is served."""

import re
from typing import TYPE_CHECKING

from curetrack.cli.parser import text
from curetrack.errors import BadInput

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from curetrack.cli.context import Context
    from curetrack.service.page import Where

__all__ = ["add_where", "where_of"]

LOWEST, HIGHEST = 1024, 65535  # below, only root may listen


def add_where(parser: "ArgumentParser") -> None:
    """The options."""
    add = parser.add_argument
    add("--lan", action="store_true", help="let phones on the same network reach the page; without, this machine only")
    add("--port", metavar="N", type=text, help="where the page is served, 0 for any (default: 8377, or one after it)")
    add("--cert", metavar="FILE", type=text, help="a certificate in PEM: the page is served by https")
    add("--key", metavar="FILE", type=text, help="its key, if it is not in the same file")
    add(
        "--name",
        metavar="HOST",
        type=text,
        action="append",
        default=[],
        help="a name of this machine, as the certificate has it",
    )


def where_of(args: "Namespace", context: "Context") -> "Where":
    """What was asked for; the danger of plain http is said. Raises BadInput."""
    from pathlib import Path

    from curetrack.phone.server import DEFAULT_PORT
    from curetrack.service.page import PLAIN_HTTP, Where

    port = DEFAULT_PORT if args.port is None else _port(args.port)
    if args.key is not None and args.cert is None:
        raise BadInput("a key without its certificate", where="--key", remedy="name the certificate with --cert")
    cert, key = (None if name is None else Path(name).expanduser() for name in (args.cert, args.key))
    where = Where(args.lan, port, cert, key, tuple(_name(name) for name in args.name))
    where.check()
    if where.lan and where.cert is None:
        context.screen.remark(PLAIN_HTTP)
    return where


def _name(typed: str) -> str:
    if len(typed) <= 253 and re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?", typed):
        return typed.casefold()
    raise BadInput(
        "that is no name of a machine", where="--name", found=typed, remedy="use one like bench.home.example"
    )


def _port(typed: str) -> int:
    if typed.isascii() and typed.isdigit() and len(typed) <= 5 and (int(typed) == 0 or LOWEST <= int(typed) <= HIGHEST):
        return int(typed)
    raise BadInput("that is no port", where="--port", found=typed, remedy=f"use {LOWEST} to {HIGHEST}, or 0 for any")
