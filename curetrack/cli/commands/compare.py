"""`curetrack compare NAME ...`: what if it were warmer, later, another profile, more hands, side by side."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_view, count, name, pair, text
from curetrack.errors import BadInput, OutOfRange, raise_all

if TYPE_CHECKING:
    from curetrack.shop.compared import Outcome, Variant

__all__ = ["COMMANDS"]

LOWEST_degC, HIGHEST_degC = -30.0, 50.0
MOST = 6  # columns that can be read side by side


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("names", metavar="NAME", type=name, nargs="+", help="a piece on the go, or planned; several stand side by side")
    add("--temp", metavar="T", type=text, action="append", default=[], help="the shop at T from now on")
    add("--pour-at", metavar="T", type=text, action="append", default=[], help="poured then (a planned piece)")
    add("--profile", metavar="P", type=text, action="append", default=[], help="by another profile, so another sealer")
    add("--set", metavar="K=V", type=pair, action="append", default=[], help="another value of its profile")
    add("--crew", metavar="N", type=count, action="append", default=[], help="people who can be called, you included")
    add("--crew-hours", metavar="H", type=text, action="append", default=[], help="when they can come")
    add("--hours", metavar="H", type=text, action="append", default=[], help="when you can work")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    variants, faults = _variants(args, context)
    faults += context.shop.variant_faults(args.names, variants, context.view)
    if len(args.names) * (1 + len(variants)) > MOST:
        faults.append(BadInput(f"more than {MOST} columns", where="compare", remedy="ask for fewer at once"))
    if len(args.names) == 1 and not variants and not faults:
        remedy = "name another piece, or --temp 20C, --pour-at, --profile ..."
        faults.append(BadInput("nothing to compare with", where="compare", remedy=remedy))
    raise_all("compare", faults)
    found = [outcome for each in args.names for outcome in context.shop.outcomes(each, variants, context.view)]
    if context.screen.as_json:
        context.screen.json(_json(found, context))
    else:
        from curetrack.cli.views.compare import compare_rows

        context.screen.show(compare_rows(found, context.voice, context.screen.width))
    return 0


def _variants(args: Namespace, context: Context) -> "tuple[tuple[Variant, ...], list[BadInput]]":
    """One for each option, in the order of the help; and what is wrong with them."""
    from curetrack.shop.compared import Variant

    found: list[Variant] = []
    faults: list[BadInput] = []
    for option, read in (("temp", _at_temp), ("pour_at", _poured_at)):
        for typed in getattr(args, option):
            try:
                found.append(read(typed, context))
            except BadInput as error:
                faults.append(error)
    found += [Variant(profile, profile=profile) for profile in args.profile]
    found += [Variant(f"{key}={value}", sets=((key, value),)) for key, value in args.set]
    found += [Variant(f"crew {people}", settings=(("crew", str(people)),)) for people in args.crew]
    found += [Variant(f"crew {hours}", settings=(("crew_hours", hours),)) for hours in args.crew_hours]
    found += [Variant(f"hours {hours}", settings=(("hours", hours),)) for hours in args.hours]
    return tuple(found), faults


def _at_temp(typed: str, context: Context) -> "Variant":
    from curetrack.cli.typed import temperature
    from curetrack.shop.compared import Variant

    read = temperature(typed, context.settings.units, "--temp")
    if not LOWEST_degC <= read.value <= HIGHEST_degC:
        raise OutOfRange("shop temperature", read.value, LOWEST_degC, HIGHEST_degC, "degC", where="--temp")
    return Variant(f"at {typed}", temp_degC=read.value)


def _poured_at(typed: str, context: Context) -> "Variant":
    from curetrack.shop.compared import Variant

    return Variant(f"poured {typed}", pour_at=context.time_ahead(typed, "--pour-at"))


def _json(found: "list[Outcome]", context: Context) -> dict[str, Any]:
    """{"format","variants":[{"piece","label","done_at","steps":{...},"warnings":[rules]}]}: as it is comes first."""
    from curetrack.words.jsons import FORMAT, iso
    from curetrack.words.outcomes import done_at

    return {
        "format": FORMAT,
        "variants": [
            {
                "piece": each.timeline.piece,
                "label": each.variant.label,
                "done_at": iso(done_at(each.timeline), context.zone),
                "steps": {
                    line.step: iso(line.plan_at, context.zone)
                    for line in each.timeline.lines
                    if line.state not in ("done", "skipped")
                },
                "warnings": [
                    {"grade": alert.grade, "rule": alert.rule, "step": alert.step or None}
                    for alert in each.timeline.alerts
                ],
            }
            for each in found
        ],
    }


COMMANDS = {
    "compare": Command(
        _configure,
        _run,
        (
            "curetrack compare bench --temp 20C",
            "curetrack compare bench --temp 12C --temp 20C --profile fast-tabletop",
            'curetrack compare bench --crew 4 --crew-hours "Sat-Sun 9:00-17:00"',
            "curetrack compare bench --set cure-both.until.maturity=168h --json",
        ),
        "What if: the piece as it is beside what would follow if the shop were warmer, the pour later, the profile or "
        "sealer another, or more people came. Nothing is written.",
    )
}
