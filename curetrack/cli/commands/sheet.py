"""`curetrack sheet NAME`: the cure sheet of one piece, on the screen or to hang at the form."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_view, name

if TYPE_CHECKING:
    from curetrack.timeline.types import Timeline

__all__ = ["COMMANDS"]


def _configure(parser: ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", type=name, help="the piece")
    parser.add_argument("--all", action="store_true", help="done steps and all cautions too")
    parser.add_argument("--crew", action="store_true", help="only what to write to those who come to help, to copy")
    parser.add_argument("--bands", action="store_true", help="of what each band is made, and what would narrow it")
    parser.add_argument("--print", action="store_true", help="plain text with boxes to tick and lines for notes")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    from curetrack.timeline.crew import grip_rows, slab_of

    timeline = context.shop.timeline(args.name, context.view)
    piece = context.shop.piece(args.name, context.view)
    profile = context.shop.profile_of(args.name, context.view)
    grips = grip_rows(timeline, slab_of(piece.shape), profile)
    if context.screen.as_json:
        from curetrack.words.jsons import sheet_json

        context.screen.json(sheet_json(timeline, context.voice, grips))
        return 0
    if args.crew:
        return _crew(timeline, context)
    from curetrack.cli.views.sheet_head import Heading

    heading = Heading(profile.name, piece.shape, piece.need_by)
    if args.print:
        from curetrack.cli.views.printed import printed_rows

        context.screen.show(printed_rows(timeline, heading, context.voice))
        return 0
    from curetrack.cli.views.sheet import sheet_rows

    context.screen.show(sheet_rows(timeline, heading, context.voice, grips, unfold=args.all, bands=args.bands))
    return 0


def _crew(timeline: "Timeline", context: Context) -> int:
    from curetrack.words.crew import asks_for_crew, crew_text
    from curetrack.words.plans import planned_lines

    asked = [(line, plan) for line, plan in planned_lines(timeline) if asks_for_crew(line, context.voice.now)]
    texts = [crew_text(line, context.voice, plan) for line, plan in asked]
    context.screen.write("\n\n".join(texts) + "\n" if texts else "Nobody is needed any more.\n")
    return 0


COMMANDS = {
    "sheet": Command(
        _configure,
        _run,
        (
            "curetrack sheet bench",
            "curetrack sheet bench --all",
            "curetrack sheet bench --bands",
            "curetrack sheet bench --print",
            "curetrack sheet bench --crew",
            'curetrack sheet bench --as-of "2h ago" --json',
        ),
    )
}
