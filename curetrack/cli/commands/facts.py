"""What is said about a piece: `undo`, `note`, `change`, `drop`."""

from argparse import ArgumentParser, Namespace

from curetrack.cli.answers import answer
from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_json, name, pair, text, whole
from curetrack.words.clean import clean

__all__ = ["COMMANDS"]


def _name(parser: ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", type=name, help="the piece")


def _configure_undo(parser: ArgumentParser) -> None:
    _name(parser)
    parser.add_argument(
        "--event", metavar="ID", type=whole, help="a certain fact (default: the last that still stands)"
    )
    add_json(parser)


def _undo(args: Namespace, context: Context) -> int:
    receipt = context.shop.undo(args.name, event_id=args.event, now=context.now)
    still = any(piece.name == args.name for piece in context.shop.pieces(context.view, dropped=True))
    return answer(context, args.name, f"Taken back, {clean(args.name)}", receipt, show_next=still)


def _configure_note(parser: ArgumentParser) -> None:
    _name(parser)
    parser.add_argument("text", metavar="TEXT", type=text, help="what is worth remembering")
    add_json(parser)


def _note(args: Namespace, context: Context) -> int:
    receipt = context.shop.note(args.name, args.text, now=context.now)
    return answer(context, args.name, f"Noted, {clean(args.name)}", receipt, show_next=False)


def _configure_change(parser: ArgumentParser) -> None:
    _name(parser)
    parser.add_argument("--profile", metavar="P", type=text, help="another profile: its name or a file")
    parser.add_argument(
        "--set", metavar="K=V", type=pair, action="append", default=[], help="another value for this piece"
    )
    add_json(parser)


def _change(args: Namespace, context: Context) -> int:
    receipt = context.shop.change(args.name, profile=args.profile, sets=args.set, now=context.now)
    return answer(context, args.name, f"Changed, {clean(args.name)}", receipt, all_warnings=True)


def _configure_drop(parser: ArgumentParser) -> None:
    _name(parser)
    parser.add_argument("why", metavar="WHY", type=text, help="what happened")
    add_json(parser)


def _drop(args: Namespace, context: Context) -> int:
    receipt = context.shop.drop(args.name, args.why, now=context.now)
    return answer(context, args.name, f"Given up: {clean(args.name)}; the record stays", receipt, show_next=False)


COMMANDS = {
    "undo": Command(
        _configure_undo,
        _undo,
        ("curetrack undo bench", "curetrack undo bench --event 1"),
        "Take back the last fact of a piece that still stands, or a certain one. Undoing an undo brings it back.",
    ),
    "note": Command(_configure_note, _note, ('curetrack note bench "a little wet, second batch"',)),
    "change": Command(
        _configure_change,
        _change,
        ("curetrack change bench --set seal-top.recoat.from=2h",),
        "Give a piece in progress another profile or other values: a label's numbers, for instance. Nothing that "
        "was done "
        "is lost.",
    ),
    "drop": Command(_configure_drop, _drop, ('curetrack drop bench "cracked at the basin"',)),
}
