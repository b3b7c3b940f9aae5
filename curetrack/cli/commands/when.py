"""`curetrack when`: the best moments to pour, with what each costs, and why the obvious ones are worse."""

from argparse import ArgumentParser, Namespace
from datetime import timedelta

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_view, count, name, pair, text

__all__ = ["COMMANDS"]

AHEAD = timedelta(days=14)


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("name", metavar="NAME", type=name, nargs="?", help="a planned piece; else one that is described here")
    add("--need-by", metavar="T", type=text, help="when it must be finished")
    add("--from", dest="start", metavar="T", type=text, help="the first moment to look at (default: now)")
    add("--to", dest="end", metavar="T", type=text, help="the last one (default: two weeks on)")
    add("--profile", metavar="P", type=text, help="its profile (default: the shop's, else bagged-tabletop)")
    add("--size", metavar="S", type=text, help="length x width x thickness (default: 1200x600x40mm)")
    add("--cutout", metavar="LxW@X,Y", type=text, action="append", default=[], help="an opening, from the lower left")
    add("--crew", metavar="N", type=count, help="people who can be called, you included (default: the shop's)")
    add("--set", metavar="K=V", type=pair, action="append", default=[], help="another value for this piece")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    from curetrack.cli.progress import Bar
    from curetrack.cli.shapes import shape_of

    view = context.view
    shape = shape_of(args.size, args.cutout)
    if shape is not None:
        from curetrack.shop.plausible import check_shape

        check_shape(shape)
    need_by = context.time_ahead(args.need_by, "--need-by", "last")
    outlined = context.shop.outlined(
        args.name, profile=args.profile, shape=shape, need_by=need_by, sets=args.set, view=view
    )  # fmt: skip
    start = context.time_ahead(args.start, "--from", "first") or view.now
    end = context.time_ahead(args.end, "--to", "last") or max(start, view.now) + AHEAD
    with Bar() as bar:
        found = context.shop.pours_ahead(
            outlined, start=start, end=end, people=args.crew, view=view, tell=bar.part("pours judged")
        )  # fmt: skip
    if context.screen.as_json:
        from curetrack.words.pours_json import pours_json

        context.screen.json(pours_json(found, context.voice, context.settings))
    else:
        from curetrack.cli.views.when import when_rows

        context.screen.show(when_rows(found, context.voice, context.settings, context.screen.width))
    return 0 if found.holds else 1


COMMANDS = {
    "when": Command(
        _configure,
        _run,
        (
            "curetrack when",
            'curetrack when --size 1800x600x40mm --profile bagged-tabletop --need-by "10 Feb 18:00"',
            'curetrack when --from "tomorrow 8:00" --to "in 6 d" --crew 3',
            "curetrack when --json",
        ),
        "The best moments to pour: each half-hour is judged by the whole timeline that would follow, on the hours that "
        "your other pieces leave. Exit code 1: none can be recommended (too late, windows missed, frost ...).",
    )
}
