"""`curetrack fit FILE`: a mix's growth from broken bars, cylinders or cubes; with --write, a profile that has it."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from curetrack.cli.context import Context
from curetrack.cli.files import new_toml, read_bytes, write_new
from curetrack.cli.parser import Command, add_json, text
from curetrack.cli.views.fit import Answer, fit_json, fit_rows
from curetrack.concrete.fitting import LAWS
from curetrack.errors import BadInput, Faults
from curetrack.fit.ages import Weather, equivalent_ages
from curetrack.fit.document import own_document, written
from curetrack.fit.mix import own_mix
from curetrack.fit.table import LARGEST_BYTES, read_breaks
from curetrack.profile.check import sense
from curetrack.profile.folders import DEFAULT_PROFILE
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import find

if TYPE_CHECKING:
    from curetrack.climate.course import Course

__all__ = ["COMMANDS"]

OWN = "-own-mix"  # behind the base's name, where a folder is named to write to


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("file", metavar="FILE", type=text, help="the table: age, strength, specimen, temp; or age, load, span, ...")
    add("--law", choices=LAWS, default=LAWS[0], help=f"the law of growth (default: {LAWS[0]})")
    add(
        "--profile", metavar="BASE", type=text, default=DEFAULT_PROFILE,
        help=f"whose rate law, steps and all else are taken (default: {DEFAULT_PROFILE})",
    )  # fmt: skip
    add(
        "--write",
        metavar="FILE",
        type=text,
        help="write BASE with the fitted mix to this new file, or into this folder",
    )
    add("--temp", metavar="T", type=text, help="one temperature for all specimens that have none, like 20C")
    add("--temps", metavar="FILE", type=text, help="a logger's file beside the specimens; with --cast")
    add("--cast", metavar="T", type=text, help="when the specimens were cast: for --temps, and for a column time")
    add("--dates", choices=("dmy", "mdy", "ymd"), help="the order of day, month and year in --temps")
    add("--unit", choices=("C", "F", "K"), help="the unit of its temperatures")
    add("--column", metavar="NAME", type=text, help="the column of its temperatures, by heading or number from 1")
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    name = Path(args.file).name
    base_id, document = find(args.profile)
    base = compile_profile(document, base_id, args.profile)
    weather, keep = _weather(args, context)
    breaks = read_breaks(_table(args.file), name, lambda typed: context.time(typed, ""))
    aged = equivalent_ages(breaks, base.mix, weather, name)
    own = own_mix(breaks, aged, base, args.law, name)
    made, warnings = _written(args.write, own_document(document, own, _today(context), name), base_id)
    keep()
    answer = Answer(own, base, made, warnings, context.settings.units)
    if context.screen.as_json:
        context.screen.json(fit_json(answer))
    else:
        context.screen.show(fit_rows(answer, context.screen.width))
    return 0


def _today(context: Context) -> date:
    return context.now.astimezone(context.zone).date()


def _table(path: str) -> str:
    raw = read_bytes(path, LARGEST_BYTES)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput("not UTF-8 text", where=path, remedy="save it as CSV, UTF-8") from None


def _weather(args: Namespace, context: Context) -> tuple[Weather, Callable[[], None]]:
    """What the options say of the temperatures; and what remembers the answers about a logger's file."""
    cast = context.time_or_none(args.cast, "--cast")
    if args.temps is None and (args.dates or args.unit or args.column):
        raise BadInput("an option of --temps, without it", where="fit", remedy="add --temps FILE")
    if args.temps is not None:
        if cast is None:
            raise BadInput("readings without the cast's time", where="--temps", remedy="add --cast T")
        if args.temp is not None:
            raise BadInput("--temp and --temps both", where="fit", remedy="give one of them")
        course, keep = _course(args, context)
        return Weather(cast, course), keep
    if args.temp is None:
        return Weather(cast), _nothing
    from curetrack.cli.typed import temperature
    from curetrack.units import require

    read = temperature(args.temp, context.settings.units, "--temp")
    if read.remark:
        context.screen.remark(read.remark)
    return Weather(cast, temp_degC=require("temperature", read.value, -10.0, 60.0, "degC", "--temp")), _nothing


def _nothing() -> None:
    """Where no answer is to be remembered."""


def _course(args: Namespace, context: Context) -> tuple["Course", Callable[[], None]]:
    from curetrack.cli.importing import opened, read_rows
    from curetrack.cli.progress import Bar
    from curetrack.climate.course import build_course
    from curetrack.facts import Reading

    asked = {"file": args.temps, "place": "slab", "piece": ""}
    answers = {"dates": args.dates, "unit": args.unit, "column": args.column}
    file, keep = opened(Namespace(**asked, **answers), context)
    with Bar() as bar:
        rows, _ = read_rows(file, bar)
    readings = [Reading(at_ms / 3_600_000.0, temp) for at_ms, temp, _, _ in rows if temp is not None]
    if not readings:
        raise BadInput("no temperatures in it", where=args.temps, remedy="name a logger's file")
    return build_course(readings, None, context.zone), keep


def _written(target: str | None, document: dict[str, Any], base_id: str) -> tuple[Path | None, tuple[str, ...]]:
    """The new file, if one is wanted, and what makes no sense in it. It is compiled before it is written."""
    if target is None:
        return None, ()
    path = new_toml(target, f"{base_id.removesuffix(OWN)}{OWN}", "--write")
    made = written(document, base_id)
    try:
        profile = compile_profile(load_document(made), path.stem, path.name)
    except Faults as error:  # a base at the limits of the format
        raise BadInput("the profile would not be right", where="--write", found=str(error)) from error
    write_new(path, made, "--write")
    return path, sense(profile)


COMMANDS = {
    "fit": Command(
        _configure,
        _run,
        (
            "curetrack fit breaks.csv",
            "curetrack fit breaks.csv --temp 20C --json",
            'curetrack fit breaks.csv --temps logger.csv --cast "2026-01-10 10:00"',
            "curetrack fit breaks.csv --profile bagged-tabletop --write my-mix.toml",
        ),
        "Fit a mix's growth to broken bars, cylinders or cubes, say how well it holds, and write a profile with it.",
    )
}
