"""What a profile says, in SI units and with every default filled in. The loader makes these from TOML."""

from typing import Any, Literal

from msgspec import Struct

from curetrack.concrete.maturity import MixLaw
from curetrack.concrete.strength import Growth
from curetrack.facts import Grip

__all__ = [
    "KINDS", "Bag", "Cast", "Every", "Expiry", "Faces", "Family", "Fit", "Handling", "HandsOn", "Hardening", "If",
    "Kind", "Limit", "LookIn", "Margin", "Mix", "Profile", "Recoat", "Rules", "SetRule", "Span", "Step",
]  # fmt: skip

Cast = Literal["face-down", "face-up", "in-place"]
Kind = Literal["form", "place", "wet", "cover", "lift", "grind", "fill", "dry", "coat", "rest"]
KINDS: tuple[Kind, ...] = ("form", "place", "wet", "cover", "lift", "grind", "fill", "dry", "coat", "rest")
Faces = Literal["covered", "one-face", "open"]
Family = Literal["penetrating", "film", "densifier", "wax", "resin"]


class Bag(Struct, frozen=True):
    """One bag of dry mix: its mass, the volume it yields, and the label's water (lowest, highest), if given."""

    mass_kg: float
    yield_m3: float
    water_kg: tuple[float, float] | None = None


class Fit(Struct, frozen=True):
    """Where a mix's growth was fitted from: the day, the file, the breaks as (equivalent age [h], strength [MPa]) in
    order of age, their scatter about the law (a share), and the limits of the strength at 28 days (90 %)."""

    date: str
    source: str
    points: tuple[tuple[float, float], ...]
    scatter: float
    strength_28d_MPa: tuple[float, float] | None = None


class Mix(Struct, frozen=True):
    """The concrete: growth of strength, rate law, set times at the reference temperature, densities."""

    strength_28d_MPa: float
    growth: Growth
    maturity: MixLaw  # the mix's own law, not capped
    reference_degC: float
    initial_set_h: float
    final_set_h: float
    spread: float = 0.25
    density_kg_m3: float = 2240.0
    density_lift_kg_m3: float = 2350.0
    bag: Bag | None = None
    frost_strength_MPa: float = 3.5
    frost_maturity_h: float = 24.0
    cement_kg_m3: float = 0.0  # its heat, where the slab is computed from the air (only that measured); 0: never
    fit: Fit | None = None


class SetRule(Struct, frozen=True):
    """A set reached, and so many clock hours more (less, if negative)."""

    point: Literal["initial", "final"]
    plus_h: float = 0.0


class Handling(Struct, frozen=True):
    """Strong enough to be lifted by this grip."""

    grip: Grip
    breaks_free: bool = False


class Hardening(Struct, frozen=True):
    """Equivalent hours of `of` (a [material] name; empty: the mix) since `since` (a step id; empty: `after`)."""

    time_h: float
    of: str = ""
    since: str = ""


class Span(Struct, frozen=True):
    """Temperature between the two, now and for so many hours ahead."""

    from_degC: float | None = None
    to_degC: float | None = None
    for_h: float = 0.0


class Margin(Struct, frozen=True):
    """Slab at least so much warmer than the dew point, now and for so many hours ahead."""

    least_K: float
    for_h: float = 0.0


class Rules(Struct, frozen=True):
    """The conditions of a step's start; those given must all hold. None: not given."""

    wait_h: float | None = None
    age_h: float | None = None
    maturity_h: float | None = None
    set: SetRule | None = None
    strength_MPa: float | None = None
    handling: Handling | None = None
    hardening: Hardening | None = None
    drying_h: float | None = None
    air: Span | None = None
    slab: Span | None = None
    dew_margin: Margin | None = None
    cool_gap_K: float | None = None


class Limit(Struct, frozen=True):
    """The latest moment of a step's start, counted like the rules of the same names; `missed` says what then."""

    wait_h: float | None = None
    age_h: float | None = None
    maturity_h: float | None = None
    set: SetRule | None = None
    missed: str = ""


class Recoat(Struct, frozen=True):
    """The window of the next coat after the last one; `missed` becomes its hand check once it has closed."""

    from_h: float
    to_h: float | None = None
    missed: str = ""


class Every(Struct, frozen=True):
    """A repeat: each so many hours (least_h == most_h), or when so much water has dried, but within the two."""

    least_h: float
    most_h: float
    drying_kg_m2: float | None = None


class Expiry(Struct, frozen=True):
    """When a passed check is no longer worth anything: after any wet step, or after so many hours."""

    after_wet: bool = False
    wait_h: float | None = None


class LookIn(Struct, frozen=True):
    """Short looks: each so many hours, from a moment counted from a set."""

    every_h: float
    since: SetRule


class HandsOn(Struct, frozen=True):
    """Time for the hands, hours: fixed, plus so much for each m2 of face, m of edge, bag."""

    fixed_h: float = 0.0
    per_m2_h: float = 0.0
    per_m_h: float = 0.0
    per_bag_h: float = 0.0


class If(Struct, frozen=True):
    """Fields of a step that are replaced in a case. A condition that is None is not asked; those given must all hold.

    cutout: the shape has one (or not). rail_under_m: its narrowest rail is narrower. length_over_m: longer than.
    air_over_degC: the air at the pour is warmer than. `changes` are fields of Step, ready to replace.
    """

    changes: tuple[tuple[str, Any], ...]
    cutout: bool | None = None
    rail_under_m: float | None = None
    length_over_m: float | None = None
    air_over_degC: float | None = None


class Step(Struct, frozen=True):
    """One operation. See DEVELOPERS.md for the words; `hold`: no, yes, or check (only a passed check opens it)."""

    id: str
    title: str
    kind: Kind = "form"
    after: tuple[str, ...] = ()  # step ids, or "pour"
    before: tuple[str, ...] = ()
    lead_h: float = 0.0
    during: tuple[str, ...] = ()  # one id (with until) or two: from that done until that done
    until: Limit | None = None  # closes a repeating step by maturity, set or age
    every: Every | None = None
    not_before: Rules = Rules()
    with_check: Rules | None = None  # the full set of rules that hold once the check has passed
    no_later: Limit | None = None
    recoat: Recoat | None = None
    hold: Literal["no", "yes", "check"] = "no"
    check: str = ""
    fail: str = ""
    crew: int | Literal["flip", "carry"] = 1
    hands_on: HandsOn = HandsOn()
    takes_h: float | None = None
    coats: int = 0  # 0: not a coated step
    grits: tuple[int, ...] = ()
    each: bool = False
    optional: bool = False
    wets: bool = False
    loud: bool = False
    leaves: Faces | None = None  # None: the faces stay as they were
    expires: Expiry | None = None
    checkin: LookIn | None = None
    again: str = ""
    rounds: int = 1  # rounds planned from `again` to here
    say: str = ""
    cautions: tuple[str, ...] = ()
    basis: str = ""
    family: Family | None = None
    coverage_m2_per_L: float | None = None
    grit: int | None = None
    ifs: tuple[If, ...] = ()


class Profile(Struct, frozen=True):
    """A rule profile, ready to be solved. `materials` holds other things that harden, with their own rate law."""

    id: str
    name: str
    summary: str
    cast: Cast
    mix: Mix
    materials: dict[str, MixLaw]
    steps: tuple[Step, ...]

    def step(self, step_id: str) -> Step | None:
        """The step of that id as the profile writes it, or None."""
        return next((step for step in self.steps if step.id == step_id), None)
