"""`curetrack takeoff --size S`: what a piece takes of mix, water, sealer and hands."""

from argparse import ArgumentParser, Namespace
from typing import Any

from curetrack.cli.context import Context
from curetrack.cli.layout import Row, Span, row, table
from curetrack.cli.parser import Command, add_json, pair, text
from curetrack.concrete.slab import Slab
from curetrack.concrete.takeoff import WASTE, Takeoff, takeoff
from curetrack.errors import BadInput
from curetrack.profile.folders import DEFAULT_PROFILE
from curetrack.profile.types import Mix, Profile
from curetrack.units import System, format_quantity

__all__ = ["COMMANDS"]

SEALERS = ("penetrating", "film", "resin")
AID = "By published team factors they should not lift it unaided: wheels, slides, a cart or a tilting frame come first."
UNDER = "under"  # a step with this in its id coats the underside


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("--size", metavar="S", type=text, required=True, help="length x width x thickness, like 6ftx3.5ftx1.5in")
    add(
        "--profile",
        metavar="P",
        type=text,
        default=DEFAULT_PROFILE,
        help=f"its mix and coats (default: {DEFAULT_PROFILE})",
    )
    add("--cutout", metavar="LxW@X,Y", type=text, action="append", default=[], help="an opening, from the lower left")
    add("--outline", metavar="FILE", type=text, help="corners of another outline, x,y a line")
    add(
        "--set", metavar="K=V", type=pair, action="append", default=[], help="another value, like mix.density=2300kg/m3"
    )
    add_json(parser)


def _run(args: Namespace, context: Context) -> int:
    from curetrack.cli.shapes import shape_of
    from curetrack.profile.shelf import found
    from curetrack.shop.plausible import check_shape
    from curetrack.timeline.crew import slab_of

    shape = shape_of(args.size, args.cutout, args.outline)
    if shape is None:  # argparse asks for --size
        raise BadInput("a size is missing", where="--size", remedy="write it like 1800x1050x38mm")
    check_shape(shape)
    profile = found(args.profile).compiled(args.set)
    slab = slab_of(shape)
    taken = _of(slab, profile.mix)
    liquids = _liquids(slab, profile)
    if context.screen.as_json:
        context.screen.json(_json(taken, liquids, profile.id))
    else:
        context.screen.show(_rows(taken, liquids, profile, context))
    return 0


def _of(slab: Slab, mix: Mix, coats: int = 0, coats_under: int = 0, coverage_m2_L: float | None = None) -> Takeoff:
    return takeoff(
        slab, density_kg_m3=mix.density_kg_m3, density_lift_kg_m3=mix.density_lift_kg_m3,
        bag_mass_kg=mix.bag.mass_kg if mix.bag else None, bag_yield_m3=mix.bag.yield_m3 if mix.bag else None,
        bag_water_kg=mix.bag.water_kg if mix.bag else None, coats=coats, coats_under=coats_under,
        coverage_m2_L=coverage_m2_L,
    )  # fmt: skip


def _liquids(slab: Slab, profile: Profile) -> dict[str, float]:
    """Litres by family, over all coats of the profile; a step without `coats` is one."""
    found: dict[str, float] = {}
    for step in profile.steps:
        if step.coverage_m2_per_L is None or step.family is None or step.optional:
            continue
        coats = max(1, step.coats)
        under = UNDER in step.id
        one = _of(slab, profile.mix, 0 if under else coats, coats if under else 0, step.coverage_m2_per_L)
        family = "sealer" if step.family in SEALERS else step.family
        found[family] = found.get(family, 0.0) + (one.sealer_L or 0.0)
    return found


def _json(taken: Takeoff, liquids: dict[str, float], profile_id: str) -> dict[str, Any]:
    from curetrack.words.jsons import FORMAT, rounded

    return {
        "format": FORMAT,
        "profile": profile_id,
        "volume_m3": round(taken.volume_m3, 6),
        "mass_kg": rounded(taken.mass_kg),
        "mass_lift_kg": rounded(taken.mass_lift_kg),
        "bags": rounded(taken.bags),
        "bags_to_buy": taken.bags_to_buy,
        "water_kg": None if taken.water_kg is None else [rounded(kg) for kg in taken.water_kg],
        "crew": {"flip": taken.crew_flip, "carry": taken.crew_carry},
        "aid": taken.aid,
        "area_m2": rounded(taken.area_m2),
        "perimeter_m": rounded(taken.perimeter_m),
        "slurry_kg": rounded(taken.slurry_kg),
        "sealer_L": rounded(liquids.get("sealer")),
        "densifier_L": rounded(liquids.get("densifier")),
    }


def _rows(taken: Takeoff, liquids: dict[str, float], profile: Profile, context: Context) -> list[Row]:
    system = context.settings.units

    def show(value: float, dim: str, digits: int = 3) -> str:
        return format_quantity(value, dim, system, digits)

    told = [("volume", show(taken.volume_m3, "volume")), ("face", show(taken.area_m2, "area")),
            ("edge all round", show(taken.perimeter_m, "length")),
            ("weight", show(taken.mass_kg, "mass")),
            ("weight to lift", f"{show(taken.mass_lift_kg, 'mass')}, on the heavy side")]  # fmt: skip
    told += _mix_rows(taken, profile.mix, system)
    told.append(("dry mix for slurry", f"{show(taken.slurry_kg, 'mass', 2)}, sieved and kept aside, in the bags above"))
    told += [(name, f"{_litres(litres, system)} over all coats") for name, litres in liquids.items()]
    told.append(("people", f"{taken.crew_flip} to flip it, {taken.crew_carry} to carry it"))
    rows = [row(Span(profile.name, "title"), flat=True), row(), *table(("", ""), told, context.screen.width)]
    if taken.aid:
        rows += [row(), row(Span(AID, "alarm"), flat=True)]
    return rows


def _mix_rows(taken: Takeoff, mix: Mix, system: System) -> list[tuple[str, str]]:
    if taken.bags is None or mix.bag is None:
        return []
    bag = format_quantity(mix.bag.mass_kg, "mass", system, 2)
    rows = [
        (
            "bags",
            f"{taken.bags:.1f} of {bag}; buy {taken.bags_to_buy} (with {WASTE * 100:.0f} % for waste, and the slurry)",
        )
    ]
    if taken.water_kg is not None:
        low, high = (format_quantity(kg, "water", system, 2) for kg in taken.water_kg)
        rows.append(("water", f"{low} to {high} in all, never beyond the bag's label"))
    return rows


def _litres(litres: float, system: System) -> str:
    return format_quantity(litres, "water", system, 2)


COMMANDS = {
    "takeoff": Command(
        _configure,
        _run,
        (
            "curetrack takeoff --size 1800x1050x38mm",
            "curetrack takeoff --size 6ftx3.5ftx1.5in --json",
            "curetrack takeoff --size 1.2x0.6x0.04m --cutout 400x300mm@400,150mm --profile bagged-polished",
        ),
    )
}
