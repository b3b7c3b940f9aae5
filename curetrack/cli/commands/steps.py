"""What is said about a step: `done`, `later`, `check`, `skip`, `again`."""

from argparse import ArgumentParser, Namespace

from curetrack.cli.answers import answer
from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_json, count, name, text
from curetrack.shop import Receipt
from curetrack.words.clean import clean
from curetrack.words.moments import moment

__all__ = ["COMMANDS"]


def _piece_and_step(parser: ArgumentParser, step_help: str = "the step's word, as `today` shows it") -> None:
    parser.add_argument("name", metavar="NAME", type=name, help="the piece")
    parser.add_argument("step", metavar="STEP", type=text, help=step_help)


def _configure_done(parser: ArgumentParser) -> None:
    _piece_and_step(parser)
    parser.add_argument("--at", metavar="T", type=text, help="when it was done (default: now)")
    parser.add_argument("--check", choices=("pass", "fail"), help="what the hand check showed")
    parser.add_argument("--crew", metavar="N", type=count, help="how many people did it")
    parser.add_argument(
        "--grip", choices=("long-edge", "on-edge", "flat-quarter", "flat-ends"), help="how it was lifted"
    )
    parser.add_argument("--earlier", action="store_true", help="the open steps before it were done too (never a hold)")
    parser.add_argument(
        "--override", metavar="WHY", type=text, help="done against a hold, with the reason; it stays shown"
    )
    add_json(parser)


def _done(args: Namespace, context: Context) -> int:
    receipt = context.shop.done(
        args.name, args.step, at=context.time_or_none(args.at, "--at"), check=args.check, crew=args.crew,
        grip=args.grip, earlier=args.earlier, override=args.override, now=context.now,
    )  # fmt: skip
    return answer(context, args.name, f"Done: {_what(args, context, receipt)}", receipt)


def _configure_later(parser: ArgumentParser) -> None:
    _piece_and_step(parser)
    parser.add_argument("until", metavar="WHEN", type=text, help="for how long or until when: 2h, tomorrow 7:00")
    add_json(parser)


def _later(args: Namespace, context: Context) -> int:
    from curetrack.cli.times import parse_until

    typed = parse_until(args.until, now=context.now, zone=context.zone, where="later")
    if typed.remark:
        context.screen.remark(typed.remark)
    receipt = context.shop.later(args.name, args.step, typed.at, now=context.now)
    until = moment(typed.at, context.voice)
    return answer(context, args.name, f"Put off: {_title(args, context, receipt)}, until {until}", receipt)


def _configure_check(parser: ArgumentParser) -> None:
    _piece_and_step(parser, "the step's word, or `hardness` after a frost")
    parser.add_argument("answer", metavar="ANSWER", choices=("pass", "fail"), help="pass or fail")
    parser.add_argument("--at", metavar="T", type=text, help="when you looked (default: now)")
    add_json(parser)


def _check(args: Namespace, context: Context) -> int:
    receipt = context.shop.check(
        args.name, args.step, args.answer, at=context.time_or_none(args.at, "--at"), now=context.now
    )
    word = "passed" if args.answer == "pass" else "failed"
    return answer(context, args.name, f"Check {word}: {_what(args, context, receipt)}", receipt)


def _configure_skip(parser: ArgumentParser) -> None:
    _piece_and_step(parser)
    parser.add_argument("--at", metavar="T", type=text, help="when that was decided (default: now)")
    add_json(parser)


def _skip(args: Namespace, context: Context) -> int:
    at = context.time_or_none(args.at, "--at")
    receipt = context.shop.skip(args.name, args.step, at=at, now=context.now)
    return answer(context, args.name, f"Skipped: {_title(args, context, receipt)}", receipt)


def _configure_again(parser: ArgumentParser) -> None:
    _piece_and_step(parser)
    add_json(parser)


def _again(args: Namespace, context: Context) -> int:
    receipt = context.shop.again(args.name, args.step, now=context.now)
    return answer(context, args.name, f"One more round from {clean(args.step)}", receipt)


def _what(args: Namespace, context: Context, receipt: Receipt) -> str:
    """ "Strip the side forms, Sun 16:05" """
    at = receipt.event.at if receipt.event else context.now
    return f"{_title(args, context, receipt)}, {moment(at, context.voice)}"


def _title(args: Namespace, context: Context, receipt: Receipt) -> str:
    step = receipt.event.step if receipt.event else args.step
    if step == "hardness":
        return "hardness"
    line = context.shop.timeline(args.name, context.view).line(step)
    return clean(line.title) if line is not None else clean(step)


COMMANDS = {
    "done": Command(
        _configure_done,
        _done,
        (
            "curetrack done bench vibrate",
            'curetrack done bench screed --earlier --at "30 min ago"',
            "curetrack done bench strip --check pass",
            "curetrack done bench flip --check pass --crew 4 --grip long-edge",
            'curetrack done bench strip --override "form was needed, edge looked sound"',
        ),
        "Say that a step is done. A hold answers no (exit 1) with the reason, and when it opens, unless its hand "
        "check "
        "has passed. What was done against a hold stays on the record.",
    ),
    "later": Command(
        _configure_later,
        _later,
        ("curetrack later bench vibrate 10min", 'curetrack later bench mist "tomorrow 7:00"'),
        "Put a step off. Its window does not move: what is late stays late.",
    ),
    "check": Command(
        _configure_check,
        _check,
        ("curetrack check bench strip pass", "curetrack check bench strip fail", "curetrack check bench hardness pass"),
        "Record what a hand check showed. A passed one opens a step from the moment that `sheet` names.",
    ),
    "skip": Command(
        _configure_skip,
        _skip,
        ("curetrack skip bench knock-outs", 'curetrack skip bench knock-outs --at "2h ago"'),
        "Leave a step out; it stays on the record.",
    ),
    "again": Command(
        _configure_again,
        _again,
        ("curetrack again bench look",),
        "One more round of the steps that the profile lets you repeat, like fill and sand.",
    ),
}
