"""`curetrack today`: what is next, all pieces, most pressing first."""

from typing import TYPE_CHECKING

from curetrack.cli.command import Command
from curetrack.words.pressing import next_lines

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from curetrack.cli.context import Context

__all__ = ["COMMANDS"]


def _configure(parser: "ArgumentParser") -> None:
    from curetrack.cli.parser import add_view

    parser.add_argument("--all", action="store_true", help="everything, also where the screen is too small for it")
    add_view(parser)


def _run(args: "Namespace", context: "Context") -> int:
    timelines = context.seen.timelines(context.view, only_next=True)
    lines = next_lines(timelines)
    if context.screen.as_json:
        from curetrack.words.jsons import today_json

        context.screen.json(today_json(lines, context.voice))
        return 0
    if not timelines:
        context.screen.write(
            "No piece is on the go. The first one:\n  curetrack pour bench --profile bagged-tabletop --size "
            "1800x600x40mm\n"
        )
        return 0
    from curetrack.cli.views.today import fitted_rows, today_rows

    screen = context.screen
    if screen.terminal and not args.all:  # the next step must not scroll away
        screen.show(fitted_rows(lines, timelines, context.voice, screen.width, screen.height - 1))
    else:
        screen.show(today_rows(lines, timelines, context.voice))
    return 0


COMMANDS = {
    "today": Command(
        _configure,
        _run,
        (
            "curetrack today",
            "curetrack today --all",
            "curetrack today --json",
            'curetrack today --as-of "yesterday 18:30"',
        ),
        "What is next over all pieces, the most pressing first: what is late or ready, what is planned within a "
        "day, and at least the next step of each piece. On a terminal as much of it as the screen holds.",
        plainly={"all": False, "json": False, "as_of": None, "known_at": None},
    )
}
