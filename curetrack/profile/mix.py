"""Reading [mix] and [material]: growth of strength, rate law, set times, densities, the bag."""

from collections.abc import Callable
from datetime import date
from typing import Any

from curetrack.concrete.maturity import Arrhenius, ColdSide, En1992, MixLaw, NurseSaul, q_from_energy_K
from curetrack.concrete.strength import Aci209Growth, En1992Growth, Growth, Hyperbola, Table
from curetrack.errors import BadInput
from curetrack.profile.faulty import Wrong, bad, said
from curetrack.profile.rules import TIME
from curetrack.profile.types import Bag, Fit, Mix
from curetrack.profile.values import Reader, choice, quantity, read_table, text

__all__ = ["BAG", "FIT", "FROST", "GROWTH_KEYS", "MATERIAL", "MATURITY_KEYS", "MIX", "material", "mix"]

_STRENGTH = quantity("pressure", 0.1, 150.0, "MPa", "27 MPa")
_MEAN = quantity("pressure", 1.0, 200.0, "MPa", "27 MPa")
_DENSITY = quantity("density", 300.0, 6000.0, "kg/m3", "2240 kg/m3")
_CEMENT = quantity("density", 0.0, 800.0, "kg/m3", "350 kg/m3")
_SET = quantity("time", 0.05, 96.0, "h", "4 h")
_REFERENCE = quantity("temperature", 10.0, 40.0, "degC", "20 degC")
REFERENCE_DEGC = 20.0


def _number(low: float, high: float) -> Reader:
    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise bad("a number without quotes is wanted", value, f"use {low:g} to {high:g}")
        if not low <= value <= high:
            raise bad("not plausible", value, f"use {low:g} to {high:g}")
        return float(value)

    return read


def _points(value: object) -> tuple[tuple[float, float], ...]:
    like = 'write it like [["24 h", "5 MPa"], ["72 h", "12 MPa"]]'
    if not isinstance(value, list) or not 1 <= len(value) <= 200:
        raise bad("a list of 1 to 200 points is wanted", value, like)
    found = []
    for pair in value:
        if not isinstance(pair, list) or len(pair) != 2:
            raise bad("a point is an age and a strength", pair, like)
        found.append((TIME(pair[0]), _STRENGTH(pair[1])))
    return tuple(found)


# A law's keys, the required ones among them (in the order its maker takes them), and its maker.
Law = tuple[dict[str, Reader], tuple[str, ...], Callable[..., Any]]
_GROWTHS: dict[str, Law] = {
    "hyperbola": (
        {"rate": quantity("rate_per_time", 0.01, 10.0, "/day", "0.25 /day"),
         "start": quantity("time", 0.0, 100.0, "h", "7 h")},
        ("rate", "start"), Hyperbola,
    ),
    "table": ({"points": _points}, ("points",), lambda _mean, points: Table(points)),
    "en1992": ({"s": _number(0.1, 0.6)}, ("s",), En1992Growth),
    "aci209": (
        {"a": _number(0.1, 20.0), "b": _number(0.5, 1.2)}, ("a", "b"), Aci209Growth
    ),
}  # fmt: skip
_Q = quantity("kelvin", 1000.0, 12000.0, "K", "5000 K")
_ENERGY = quantity("energy", 8400.0, 99000.0, "J/mol", "33.5 kJ/mol")
_DATUM = quantity("temperature", -20.0, 5.0, "degC", "-10 degC")


def _arrhenius(reference: float, q: float | None = None, energy: float | None = None) -> Arrhenius:
    if (q is None) == (energy is None):
        raise BadInput("arrhenius takes q or energy, one of them", remedy='write q = "5000 K" or energy = "40 kJ/mol"')
    return Arrhenius(q if q is not None else q_from_energy_K(energy or 0.0), reference)


_MATURITIES: dict[str, Law] = {
    "arrhenius": ({"q": _Q, "energy": _ENERGY}, (), _arrhenius),
    "nurse-saul": ({"datum": _DATUM}, ("datum",), lambda reference, datum: NurseSaul(datum, reference)),
    "en1992": ({}, (), En1992),
    "cold-side": ({}, (), ColdSide),
}


def _law(value: object, laws: dict[str, Law], common: dict[str, Reader]) -> tuple[Law, dict[str, Any]]:
    """The named law and its keys, read."""
    if not isinstance(value, dict):
        raise bad("a table with a law is wanted", value, f'write {{ law = "{next(iter(laws))}", ... }}')
    if "law" not in value:
        raise BadInput("missing law", remedy="one of " + ", ".join(laws))
    name = choice(*laws)
    try:
        law = laws[name(value["law"])]
    except BadInput as error:
        raise Wrong([("law", error)]) from None
    return law, read_table(value, {"law": name, **common, **law[0]}, law[1])


def _maturity(value: object) -> MixLaw:
    law, got = _law(value, _MATURITIES, {"reference": _REFERENCE})
    got.pop("law")
    made: MixLaw = law[2](got.pop("reference", REFERENCE_DEGC), **got)
    return made


def _growth(value: object) -> tuple[Law, dict[str, Any]]:
    law, got = _law(value, _GROWTHS, {})
    got.pop("law")
    return law, got


def _water(value: object) -> tuple[float, float]:
    like = 'write it like ["2.8 kg", "4.3 kg"]'
    if not isinstance(value, list) or len(value) != 2:
        raise bad("the least and the most water is wanted", value, like)
    low, high = (quantity("water", 0.1, 500.0, "kg", "2.8 kg")(item) for item in value)
    if low > high:
        raise BadInput("the least is above the most", found=said(f"{low:g} to {high:g} kg"), remedy=like)
    return low, high


BAG: dict[str, Reader] = {
    "mass": quantity("mass", 1.0, 2000.0, "kg", "80 lb"), "yield": quantity("volume", 0.0004, 1.0, "m3", "0.6 ft3"),
    "water": _water,
}  # fmt: skip


def _bag(value: object) -> Bag:
    got = read_table(value, BAG, ("mass", "yield"))
    bag = Bag(got["mass"], got["yield"], got.get("water"))
    if not 300.0 <= bag.mass_kg / bag.yield_m3 <= 6000.0:
        raise BadInput(
            "mass and yield do not fit", found=said(f"{bag.mass_kg / bag.yield_m3:.0f} kg/m3"),
            remedy="concrete is 300 to 6000 kg/m3",
        )  # fmt: skip
    return bag


def _day(value: object) -> str:
    like = 'write it like "2026-01-10"'
    try:
        return date.fromisoformat(value if isinstance(value, str) else "").isoformat()
    except ValueError:
        raise bad("no day", value, like) from None


def _breaks(value: object) -> tuple[tuple[float, float], ...]:
    found = _points(value)
    if list(found) != sorted(found, key=lambda point: point[0]):
        raise BadInput("ages that fall", remedy="sort the points by their age")
    return found


def _limits(value: object) -> tuple[float, float]:
    like = 'write it like ["25 MPa", "30 MPa"]'
    if not isinstance(value, list) or len(value) != 2:
        raise bad("the lower and the upper limit are wanted", value, like)
    low, high = (_MEAN(item) for item in value)
    if low > high:
        raise BadInput("the lower limit is above the upper", found=said(f"{low:g} to {high:g} MPa"), remedy=like)
    return low, high


FIT: dict[str, Reader] = {
    "date": _day, "source": text(100), "points": _breaks, "strength_28d": _limits,
    "scatter": quantity("ratio", 0.0, 1.0, "", "7 %", "0 to 100 %"),
}  # fmt: skip


def _fit(value: object) -> Fit:
    got = read_table(value, FIT, ("date", "source", "points", "scatter"))
    return Fit(got["date"], got["source"], got["points"], got["scatter"], got.get("strength_28d"))


FROST: dict[str, Reader] = {"strength": _STRENGTH, "maturity": TIME}
MIX: dict[str, Reader] = {
    "strength_28d": _MEAN, "growth": _growth, "maturity": _maturity, "initial_set": _SET, "final_set": _SET,
    "spread": quantity("ratio", 0.0, 0.6, "", "25 %", "0 to 60 %"), "density": _DENSITY, "density_lift": _DENSITY,
    "bag": _bag, "cement": _CEMENT, "frost_safe": lambda value: read_table(value, FROST), "fit": _fit,
}  # fmt: skip
MATERIAL: dict[str, Reader] = {"maturity": _maturity}
GROWTH_KEYS = ("law", *(key for law in _GROWTHS.values() for key in law[0]))
MATURITY_KEYS = ("law", "reference", *(key for law in _MATURITIES.values() for key in law[0]))
_REQUIRED = ("strength_28d", "growth", "maturity", "initial_set", "final_set", "density")


def mix(value: object) -> Mix:
    """The concrete of a profile."""
    got = read_table(value, MIX, _REQUIRED)
    if got["initial_set"] >= got["final_set"]:
        found = said(f"{got['initial_set']:g} h and {got['final_set']:g} h")
        raise BadInput("initial_set is not before final_set", found=found, remedy="final set comes later")
    law, keys = got["growth"]
    growth: Growth = law[2](got["strength_28d"], *(keys[name] for name in law[1]))
    frost = got.get("frost_safe", {})
    return Mix(
        got["strength_28d"], growth, got["maturity"], got["maturity"].reference_degC, got["initial_set"],
        got["final_set"], got.get("spread", 0.25), got["density"], got.get("density_lift", 2350.0), got.get("bag"),
        frost.get("strength", 3.5), frost.get("maturity", 24.0), got.get("cement", 0.0), got.get("fit"),
    )  # fmt: skip


def material(value: object) -> MixLaw:
    """Something else that hardens: its rate law."""
    law: MixLaw = read_table(value, MATERIAL, ("maturity",))["maturity"]
    return law
