"""The command line's door: finds the command, runs it, and turns every error into one line and an exit code."""

import gc
import os
import sys
from collections.abc import Sequence
from types import SimpleNamespace
from typing import TYPE_CHECKING, NoReturn, cast

from curetrack.cli.context import Clock, Context
from curetrack.cli.screen import say_error
from curetrack.errors import BadInput, CuretrackError, UnknownName

if TYPE_CHECKING:
    from argparse import Namespace

    from curetrack.cli.command import Command

__all__ = ["COMMANDS", "command_of", "entry", "main"]

GARBAGE_AT = 100_000  # objects; below it nothing is worth looking for what hangs in circles: a command soon ends
STEPS, FACTS = "curetrack.cli.commands.steps", "curetrack.cli.commands.facts"
COMMANDS: dict[str, tuple[str, str]] = {
    "rehearse": ("curetrack.cli.commands.rehearse", "time-lapse of a whole piece in seconds: try this first"),
    "profiles": ("curetrack.cli.commands.profiles", "list, show, check or copy rule profiles"),
    "takeoff": ("curetrack.cli.commands.takeoff", "volume, bags, water, weight, crew, sealer of a size"),
    "pour": ("curetrack.cli.commands.pour", "start the clock of a piece, or plan its pour"),
    "when": ("curetrack.cli.commands.when", "the best moments to pour, and what each costs"),
    "compare": ("curetrack.cli.commands.compare", "what if: warmer, later, another profile, more hands"),
    "today": ("curetrack.cli.commands.today", "what is next, all pieces, most pressing first"),
    "sheet": ("curetrack.cli.commands.sheet", "the cure sheet of one piece"),
    "done": (STEPS, "a step is done"),
    "later": (STEPS, "put a step off"),
    "check": (STEPS, "record what a hand check showed"),
    "skip": (STEPS, "leave a step out"),
    "again": (STEPS, "one more round of a group of steps"),
    "undo": (FACTS, "take back what was said last"),
    "note": (FACTS, "write something down about a piece"),
    "change": (FACTS, "give a piece another profile or other values"),
    "drop": (FACTS, "end a piece that broke or was given up"),
    "temp": ("curetrack.cli.commands.temp", "enter, import, list or withdraw temperatures"),
    "shop": ("curetrack.cli.commands.shop", "show or set the shop: time zone, units, hours, forecast"),
    "fit": ("curetrack.cli.commands.fit", "fit a mix's growth to broken bars, cylinders or cubes of your own"),
    "bench": ("curetrack.cli.commands.bench", "keep watch: nudges, and a dashboard for the wall"),
    "phone": ("curetrack.cli.commands.phone", "pair a phone; calendar feed, to-do list, sensors"),
    "selfcheck": ("curetrack.cli.commands.selfcheck", "is everything in working order"),
    "completion": ("curetrack.cli.commands.completion", "shell completion"),
}


def entry() -> NoReturn:
    """The console script."""
    gc.set_threshold(GARBAGE_AT, 20, 20)
    _fill_closed_streams()
    _leave(main())


def main(argv: Sequence[str] | None = None, *, clock: Clock | None = None) -> int:
    """Runs one command and returns its exit code: 0 ok, 1 the answer is no, 2 wrong use or bad input."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        code = _run(arguments, clock)
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        _close_stdout()
        return 0  # who reads has seen enough
    except OSError as error:
        _close_stdout()
        say_error(f"cannot go on: {error.strerror or error}{f' ({error.filename})' if error.filename else ''}")
        return 2
    except KeyboardInterrupt:
        say_error("stopped; what was acknowledged is written, nothing else")
        return 130
    return code


def command_of(name: str) -> "Command":
    """A command by its name; its module is imported now."""
    module = COMMANDS[name][0]
    __import__(module)
    found: Command = sys.modules[module].COMMANDS[name]
    return found


def _run(arguments: list[str], clock: Clock | None) -> int:
    context: Context | None = None
    try:
        _check_readable(arguments)
        if not arguments or arguments[0] in ("-h", "--help"):
            return _help()
        if arguments[0] == "--version":
            return _version()
        name = arguments[0]
        if name not in COMMANDS:
            raise _unknown(name)
        command = command_of(name)
        args = _understood(name, command, arguments[1:])
        args.command = name
        context = Context(args, clock)
        return command.run(args, context)
    except SystemExit as stop:  # argparse, after --help
        return stop.code if isinstance(stop.code, int) else 0
    except CuretrackError as error:
        return _say(error, context)
    finally:
        if context is not None:
            context.close()


def _understood(name: str, command: "Command", arguments: list[str]) -> "Namespace":
    """What was asked for."""
    if command.plainly is not None and set(arguments) <= {"--json"}:
        return cast("Namespace", SimpleNamespace(**{**command.plainly, "json": bool(arguments)}))
    from curetrack.cli.parser import build, protect_minus

    return build(name, command, COMMANDS[name][1]).parse_args(protect_minus(arguments))


def _say(error: CuretrackError, context: Context | None) -> int:
    """An error in words, and its exit code. Where the settings that the words hang on cannot be read, that is said."""
    try:
        text = _text_of(error, context)
    except CuretrackError as first:
        text, error = str(first), first
    say_error(text)
    return error.exit_code


def _text_of(error: CuretrackError, context: Context | None) -> str:
    """Refusals in the shop's units and zone, as of the time that was said; everything else says itself."""
    if error.exit_code != 1 or context is None:
        return str(error)
    from curetrack.words.refusals import refusal_text

    said = getattr(context.args, "at", None)
    if said is None:
        return refusal_text(error, context.voice)
    from curetrack.cli.times import parse_time
    from curetrack.words.voice import Voice

    at = parse_time(said, now=context.now, zone=context.zone, where="--at").at
    return refusal_text(error, Voice(at, context.zone, context.settings.units))


def _check_readable(arguments: list[str]) -> None:
    for argument in arguments:
        if any("\udc80" <= ch <= "\udcff" for ch in argument) or "\0" in argument:
            raise BadInput("an argument is not readable text", found=argument, remedy="write it in UTF-8")


def _unknown(name: str) -> CuretrackError:
    if name.startswith("-"):
        return BadInput("the command comes first", found=name, remedy="see curetrack --help")
    from difflib import get_close_matches

    near = get_close_matches(name, COMMANDS, n=3)
    return UnknownName("command", name[:40], near or list(COMMANDS))


def _help() -> int:
    width = max(len(name) for name in COMMANDS)
    lines = [f"  {name:<{width}}  {summary}" for name, (_, summary) in COMMANDS.items()]
    sys.stdout.write(
        "usage: curetrack COMMAND [...]\n\n"
        "From the pour to the last coat: when each step of a cast concrete piece may start, and why.\n\n"
        "commands:\n" + "\n".join(lines) + "\n\n"
        "examples:\n  curetrack rehearse\n  curetrack pour bench --profile bagged-tabletop --size 1800x600x40mm\n"
        "  curetrack temp 14C --humidity 60\n  curetrack today\n\n"
        "curetrack COMMAND --help shows the options of one, with examples.\n"
        "Everything is kept in the folder that CURETRACK_HOME names, else in the platform's usual one.\n"
    )
    return 0


def _version() -> int:
    from curetrack import __version__

    sys.stdout.write(f"curetrack {__version__}\n")
    return 0


def _fill_closed_streams() -> None:
    """A closed descriptor 0 to 2 would go to the next file that is opened: the ledger must never be standard output."""
    for descriptor in (0, 1, 2):
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number, this one
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 -- it is open as long as we are


def _leave(code: int) -> NoReturn:
    """Ends the process at once. The ledger is closed by now; what is left of an orderly exit is to take every module
    apart, which lasts longer than making a short answer."""
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):  # nobody reads any more
            continue
    os._exit(code)


def _close_stdout() -> None:
    """So that the interpreter does not complain at exit about what can no longer be written."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        return
