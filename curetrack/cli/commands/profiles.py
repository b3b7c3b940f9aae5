"""`curetrack profiles`: list, show, check or copy rule profiles."""

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import Any

from curetrack.cli.context import Context
from curetrack.cli.files import new_toml, write_new
from curetrack.cli.layout import Row, Span, row, table
from curetrack.cli.parser import Command, add_json, text
from curetrack.errors import BadInput, Faults
from curetrack.profile.shelf import Found, found, parts, shipped
from curetrack.profile.types import Fit, Profile, Step
from curetrack.words.clean import clean
from curetrack.words.jsons import FORMAT
from curetrack.words.kinds import SHAPES

__all__ = ["COMMANDS"]


def _configure(parser: ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", nargs="?", type=text, help="show this one: a name or a file")
    group = parser.add_mutually_exclusive_group()
    group.add_argument(
        "--check", metavar="NAME-OR-FILE", type=text, help="look for faults, and for what makes no sense"
    )
    group.add_argument(
        "--copy", metavar=("NAME", "FILE"), nargs=2, type=text, help="start an own profile from one that ships"
    )
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    if args.name is not None and (args.check or args.copy):
        raise BadInput("one thing at a time", where="profiles", found=args.name, remedy="leave NAME out")
    if args.check is not None:
        return _check(args.check, context)
    if args.copy is not None:
        return _copy(args.copy[0], args.copy[1], context)
    return _show(args.name, context) if args.name is not None else _list(context)


def _list(context: Context) -> int:
    profiles = [found(profile_id).compiled() for profile_id, _ in shipped()]
    if context.screen.as_json:
        context.screen.json({"format": FORMAT, "profiles": [_brief(profile) for profile in profiles]})
        return 0
    rows: list[Row] = []
    for profile in profiles:
        rows += [row(Span(profile.id, "title"), flat=True), row(clean(profile.name), indent=2)]
        rows += [row(Span(clean(profile.summary), "dim"), indent=2)] if profile.summary else []
    rows += [row(), row(f"Parts to build on: {', '.join(name for name, _ in parts())}.", flat=True)]
    context.screen.show(rows)
    return 0


def _show(name: str, context: Context) -> int:
    wanted = found(name)
    profile = wanted.compiled(where=name)
    if context.screen.as_json:
        steps = [{"id": step.id, "title": clean(step.title), "kind": step.kind} for step in profile.steps]
        context.screen.json({"format": FORMAT, "profiles": [_brief(profile)], "steps": steps, **_fit_json(profile)})
        return 0
    head = [row(Span(clean(profile.name), "title"), flat=True), row(f"{profile.id}, cast {profile.cast}", flat=True)]
    head += [row(clean(profile.summary), flat=True)] if profile.summary else []
    bases = _bases(wanted)
    head += [row(Span(clean(f"built on {', '.join(bases)}"), "dim"), flat=True)] if bases else []
    head += [row(_fit_text(profile.mix.fit, context), flat=True)] if profile.mix.fit else []
    told = [(f"{SHAPES[step.kind].glyph} {step.id}", f"{clean(step.title)}{_marks(step)}") for step in profile.steps]
    context.screen.show([*head, row(), *table(("", ""), told, context.screen.width)])
    return 0


def _check(name: str, context: Context) -> int:
    """Exit 1 if it has faults: the answer is no."""
    from curetrack.profile.check import sense

    faults: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    profile_id, built = Path(name).stem, ""
    try:
        wanted = found(name)
        profile_id, built = wanted.id, _building(wanted)
        warnings = sense(wanted.compiled(where=Path(name).name))
    except Faults as error:
        faults = error.faults
    if context.screen.as_json:
        told: dict[str, Any] = {"format": FORMAT, "id": profile_id, "faults": list(faults), "warnings": list(warnings)}
        context.screen.json(told)
        return 1 if faults else 0
    rows = [row(Span("FAULT", "alarm"), " ", clean(fault), hang=6) for fault in faults]
    rows += [row("warning ", clean(warning), hang=8) for warning in warnings]
    rows += [row(f"{clean(profile_id)}: no faults" + ("" if warnings else ", and nothing that makes no sense"))] * (
        not faults
    )
    rows += [row(Span(built, "dim"), flat=True)] if built else []
    context.screen.show(rows)
    return 1 if faults else 0


def _building(wanted: Found) -> str:
    """Of a profile that builds on others: which, and what it makes of them itself."""
    document = wanted.built.sources[0].document
    if not (bases := _bases(wanted)):
        return ""
    mine = [f"mix.{key}" for key in document.get("mix", {})] + list(document.get("change", {}))
    left = document.get("leave_out", [])
    told = {"changes": mine, "leaves out": [left] if isinstance(left, str) else left,
            "adds": [step["id"] for step in document.get("step", [])]}  # fmt: skip
    rest = "; ".join(f"{word} {', '.join(names)}" for word, names in told.items() if names)
    return clean(f"built on {', '.join(bases)}" + (f"; {rest}" if rest else ""))


def _bases(wanted: Found) -> list[str]:
    """The names that a profile's own `build_on` lists."""
    names = wanted.built.sources[0].document.get("build_on", [])
    return [names] if isinstance(names, str) else names


def _copy(name: str, target: str, context: Context) -> int:
    """A file that stands on its own, whatever the profile builds on; never over another file."""
    from curetrack.profile.whole import whole_text

    sources = dict(shipped())
    if name not in sources:
        from curetrack.errors import UnknownName

        raise UnknownName("profile that ships", name[:60], list(sources))
    text, path = whole_text(found(name).built), new_toml(target, name, "--copy")
    write_new(path, text, "--copy")
    if context.screen.as_json:
        context.screen.json({"format": FORMAT, "id": path.stem, "file": str(path)})
    else:
        context.screen.show([row(f"Copied to {path}. Change it, then: curetrack profiles --check {path}", flat=True)])
    return 0


def _brief(profile: Profile) -> dict[str, str]:
    return {"id": profile.id, "name": clean(profile.name), "summary": clean(profile.summary)}


def _fit_text(fit: Fit, context: Context) -> str:
    """ "Mix fitted on 2026-01-10 to 14 breaks (breaks.csv), 28 to 31 MPa at 28 days, scatter 4 %" """
    from curetrack.words.amounts import strength

    text = f"Mix fitted on {fit.date} to {len(fit.points)} breaks ({clean(fit.source)})"
    if fit.strength_28d_MPa is not None:
        low, high = (strength(end, context.settings.units) for end in fit.strength_28d_MPa)
        text += f", {low} to {high} at 28 days"
    return f"{text}, scatter {fit.scatter * 100:.2g} %"


def _fit_json(profile: Profile) -> dict[str, Any]:
    """Only where there is one."""
    fit = profile.mix.fit
    if fit is None:
        return {}
    points = [{"equivalent_age_h": age, "strength_MPa": strength} for age, strength in fit.points]
    limits = None if fit.strength_28d_MPa is None else list(fit.strength_28d_MPa)
    told = {"date": fit.date, "source": clean(fit.source), "scatter": fit.scatter, "strength_28d_MPa": limits}
    return {"fit": {**told, "points": points}}


def _marks(step: Step) -> str:
    words = [f"{step.coats} coats"] * (step.coats > 1) + [f"grits {', '.join(map(str, step.grits))}"] * bool(step.grits)
    words += ["hold"] * (step.hold != "no") + ["optional"] * step.optional
    return f" ({', '.join(words)})" if words else ""


COMMANDS = {
    "profiles": Command(
        _configure,
        _run,
        (
            "curetrack profiles",
            "curetrack profiles bagged-tabletop",
            "curetrack profiles --check bagged-tabletop --json",
            "curetrack profiles --copy bagged-tabletop my-tabletop.toml",
        ),
        "List the rule profiles that ship, or show one; read one for faults and for sense; copy one to start your own.",
    )
}
