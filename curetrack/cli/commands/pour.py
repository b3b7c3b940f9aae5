"""`curetrack pour NAME`: start the clock of a piece, or plan its pour."""

from argparse import ArgumentParser, Namespace
from datetime import datetime

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_json, name, pair, text

__all__ = ["COMMANDS"]


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("name", metavar="NAME", type=name, help="what the piece is called, 1 to 60 characters")
    add("--profile", metavar="P", type=text, help="a rule profile: its name or a file")
    add("--size", metavar="S", type=text, help="length x width x thickness, like 1800x600x40mm or 6ftx3.5ftx1.5in")
    add("--cutout", metavar="LxW@X,Y", type=text, action="append", default=[], help="an opening, from the lower left")
    add(
        "--outline",
        metavar="FILE",
        type=text,
        help="corners of another outline, x,y a line, in metres or by its header",
    )
    add("--at", metavar="T", type=text, help="when it was poured (default: now); with --planned when it will be")
    add("--batch", metavar="T", type=text, nargs="+", action="extend", default=[], help="when each batch went in")
    add("--temp", metavar="T", type=text, help="the slab's temperature at the pour")
    add("--need-by", metavar="T", type=text, help="when it is needed: warns if the plan ends later")
    add("--planned", action="store_true", help="not poured yet: plan the steps before the pour")
    add("--set", metavar="K=V", type=pair, action="append", default=[], help="another value for this piece")
    add("--override", metavar="WHY", type=text, help="pour against a hold, with the reason")
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    from curetrack.cli.shapes import shape_of

    shape = shape_of(args.size, args.cutout, args.outline)
    if args.planned:
        return _plan(args, context, shape)
    temp_degC = None
    if args.temp is not None:
        from curetrack.cli.typed import temperature

        read = temperature(args.temp, context.settings.units, "--temp")
        temp_degC = read.value
        if read.remark:
            context.screen.remark(read.remark)
    receipt = context.shop.pour(
        args.name, profile=args.profile, shape=shape, at=context.time_or_none(args.at, "--at"),
        batches=[context.time(batch, "--batch") for batch in args.batch], temp_degC=temp_degC,
        need_by=context.time_or_none(args.need_by, "--need-by", "future", "last"), sets=args.set,
        override=args.override, now=context.now,
    )  # fmt: skip
    from curetrack.cli.answers import answer
    from curetrack.words.clean import clean
    from curetrack.words.moments import moment

    at = receipt.event.at if receipt.event else context.now
    said = f"Poured: {clean(args.name)}, {moment(at, context.voice)}"
    return answer(context, args.name, said, receipt, all_warnings=True)


def _plan(args: Namespace, context: Context, shape: object) -> int:
    from curetrack.errors import BadInput
    from curetrack.facts import Shape

    for option in ("batch", "temp", "override"):
        if getattr(args, option):
            raise BadInput(f"--{option} belongs to a pour", where="--planned", remedy="leave one of the two out")
    at: datetime | None = context.time_or_none(args.at, "--at", "future")
    piece = context.shop.plan(
        args.name, args.profile, shape if isinstance(shape, Shape) else None, at=at,
        need_by=context.time_or_none(args.need_by, "--need-by", "future", "last"), sets=args.set, now=context.now,
    )  # fmt: skip
    from curetrack.cli.answers import answer
    from curetrack.shop import Receipt
    from curetrack.words.clean import clean
    from curetrack.words.moments import moment

    planned = piece.planned_pour_at
    when = f", pour {moment(planned, context.voice)}" if planned else ", no time yet"
    said = f"Planned: {clean(piece.name)}{when}"
    return answer(context, piece.name, said, Receipt(written=True), all_warnings=True)


COMMANDS = {
    "pour": Command(
        _configure,
        _run,
        (
            "curetrack pour hearth --profile bagged-tabletop --size 1800x600x40mm",
            "curetrack pour vanity --profile bagged-tabletop --size 900x500x40mm --cutout 400x300mm@250,100mm",
            'curetrack pour table --profile bagged-tabletop --size 6ftx3.5ftx1.5in --temp 64F --at "2h ago"',
            "curetrack pour shelf --profile bagged-tabletop --size 1.2x0.3x0.04m --set seal-top.recoat.from=2h",
            'curetrack pour counter --planned --at "tomorrow 9:00" --profile bagged-tabletop --size 1.2x0.6x0.04m',
        ),
        "Say that a piece was poured: every later step is timed from this moment. With --planned the steps before "
        "the "
        "pour are timed; the same name is then poured without --planned.",
    )
}
