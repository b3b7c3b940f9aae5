"""`curetrack compare NAME ...`: what if it were warmer, later, another profile, more hands, side by side."""

from argparse import SUPPRESS, Action, ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, add_view, count, name, pair, text
from curetrack.errors import BadInput, OutOfRange, raise_all

if TYPE_CHECKING:
    from curetrack.shop.compared import Outcome, Variant

__all__ = ["COMMANDS"]

LOWEST_degC, HIGHEST_degC = -30.0, 50.0
MOST = 6  # columns that can be read side by side


class _InOrder(Action):
    """Keeps options of several kinds in the order in which they were typed."""

    def __call__(self, _parser: ArgumentParser, namespace: Namespace, values: Any, _option: str | None = None) -> None:
        namespace.variants = [*namespace.variants, (self.dest, values)]


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("names", metavar="NAME", type=name, nargs="+", help="a piece on the go, or planned; several stand side by side")
    parser.set_defaults(variants=[])
    for option, letter, kind, what in (
        ("--temp", "T", text, "the shop at T from now on"),
        ("--pour-at", "T", text, "poured then (a planned piece)"),
        ("--profile", "P", text, "by another profile, so another sealer"),
        ("--set", "K=V", pair, "another value of its profile"),
        ("--crew", "N", count, "people who can be called, you included"),
        ("--crew-hours", "H", text, "when they can come"),
        ("--hours", "H", text, "when you can work"),
    ):
        add(option, metavar=letter, type=kind, action=_InOrder, default=SUPPRESS, help=what)
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
    """One for each option, in the order in which they were typed; and what is wrong with them."""
    found: list[Variant] = []
    faults: list[BadInput] = []
    for option, typed in args.variants:
        try:
            found.append(_variant(option, typed, context))
        except BadInput as error:
            faults.append(error)
    return tuple(found), faults


def _variant(option: str, typed: Any, context: Context) -> "Variant":
    from curetrack.shop.compared import Variant

    match option:
        case "temp":
            return _at_temp(typed, context)
        case "pour_at":
            return Variant(f"poured {typed}", pour_at=context.time_ahead(typed, "--pour-at"))
        case "profile":
            return Variant(typed, profile=typed)
        case "set":
            return Variant("=".join(typed), sets=(typed,))
        case _:  # crew, crew_hours, hours: settings, the first word of which heads the column
            return Variant(f"{option.partition('_')[0]} {typed}", settings=((option, str(typed)),))


def _at_temp(typed: str, context: Context) -> "Variant":
    from curetrack.cli.typed import temperature
    from curetrack.shop.compared import Variant

    read = temperature(typed, context.settings.units, "--temp")
    if not LOWEST_degC <= read.value <= HIGHEST_degC:
        raise OutOfRange("shop temperature", read.value, LOWEST_degC, HIGHEST_degC, "degC", where="--temp")
    return Variant(f"at {typed}", temp_degC=read.value)


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
