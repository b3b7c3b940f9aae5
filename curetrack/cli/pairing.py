"""Pairing: a code for the phone's camera, and the wait for the phone."""

import os
import time
from argparse import Namespace
from datetime import UTC, datetime
from io import StringIO
from typing import TYPE_CHECKING

from curetrack.cli.context import Context
from curetrack.cli.devices import NO_PAGE, list_rows, page_of, show
from curetrack.cli.layout import Span, row
from curetrack.errors import Refused
from curetrack.words.clean import clean

if TYPE_CHECKING:
    from curetrack.service.served import Served

__all__ = ["pair"]

LOOK_s = 0.5
PAIR = "/pair/"


def pair(args: Namespace, context: Context) -> int:
    """A code, and what is paired; for programs the list alone, since a code that nobody sees should not lie around."""
    if context.screen.as_json:
        return show(args, context)
    page = page_of(context)
    if page is None:
        context.screen.show([*list_rows(context), row()])
        raise Refused(NO_PAGE, rule="page")
    from curetrack.phone.pairing import LASTS, invite

    address = f"{(page.others or (page.url,))[0]}{PAIR}{invite(context.shop.home, context.now)}"
    _show_code(context, page, address, minutes=round(LASTS.total_seconds() / 60.0))
    if not page.lan:
        context.screen.remark("only this machine reaches that address: start the bench with --lan to let a phone in")
    elif not page.https:
        from curetrack.service.page import PLAIN_HTTP

        context.screen.remark(PLAIN_HTTP)
    if context.screen.terminal:
        return _wait(context)
    context.screen.show(list_rows(context))
    return 0


def _show_code(context: Context, page: "Served", address: str, minutes: int) -> None:
    screen = context.screen
    if screen.terminal and not screen.ascii_only and os.environ.get("TERM") != "dumb":
        screen.write(f"\n{_code(address)}\n")
    rows = [
        row(Span("Scan it with the phone's camera" if page.lan else "Open on this machine", "head"),
            f": it pairs one phone, within {minutes} minutes, once.", flat=True),
    ]  # fmt: skip
    screen.show(rows)
    screen.write(f"{address}\n\n")  # to be copied: on one line, however wide
    if len(page.others) > 1:
        screen.show([row(f"The phone may reach the bench at another address: {', '.join(page.others[1:])}", flat=True)])


def _code(address: str) -> str:
    """Half blocks in fixed colours, dark on light as cameras want it, whatever the terminal's own are."""
    import segno

    out = StringIO()
    segno.make(address, error="m", micro=False).terminal(out, compact=True, border=2)
    return "\n".join(f"\x1b[97;40m{line}\x1b[0m" for line in out.getvalue().splitlines())


def _wait(context: Context) -> int:
    """Until a phone is paired, the code is void, or Ctrl-C."""
    from curetrack.phone.pairing import invited_until, withdraw_invitation

    home, known = context.shop.home, {device.id for device in context.shop.devices()}
    context.screen.write("Waiting for the phone. Ctrl-C ends it, and the code is void.\n")
    try:
        while True:
            fresh = [d for d in context.shop.devices() if d.kind == "phone" and d.id not in known]
            if fresh:
                context.screen.write(f"Paired: {clean(fresh[0].name)}. curetrack phone --rename gives it a name.\n")
                return 0
            if invited_until(home, datetime.now(UTC)) is None:
                raise Refused("no phone came in time; the code is void", rule="pairing")
            time.sleep(LOOK_s)
    except KeyboardInterrupt:
        withdraw_invitation(home)
        context.screen.write("\nThe code is void.\n")
        return 0
