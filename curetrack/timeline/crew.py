"""Who is needed: people for a flip or a carry by the piece's weight, and whether a grip bears it."""

from msgspec import Struct

from curetrack.concrete.handling import crew_for, rupture_needed_MPa
from curetrack.concrete.slab import Slab
from curetrack.concrete.tension import modulus_of_rupture_MPa
from curetrack.facts import Grip, Shape
from curetrack.profile.types import Mix, Step

__all__ = ["GripAnswer", "crew_needed", "grip_answer", "slab_of"]


STRONGEST_MPa = 200.0  # the relation is known up to here, and no more is credited


def slab_of(shape: Shape) -> Slab:
    """The shape as the physics takes it."""
    cutouts = tuple((c.length_m, c.width_m, c.x_m, c.y_m) for c in shape.cutouts)
    return Slab(shape.length_m, shape.width_m, shape.thickness_m, cutouts, shape.outline)


def crew_needed(step: Step, slab: Slab, mix: Mix) -> int:
    """People for a step: its own number, or by weight."""
    if isinstance(step.crew, int):
        return step.crew
    return crew_for(step.crew, slab.mass_kg(mix.density_lift_kg_m3))


class GripAnswer(Struct, frozen=True):
    """Whether a grip bears the piece now. `needed` is stress x 2 (jolt) x 1.5 (cracking), x 1.4 if breaking free."""

    grip: Grip
    stress_MPa: float
    needed_MPa: float
    rupture_MPa: float
    rupture_low_MPa: float
    rupture_high_MPa: float

    @property
    def bears(self) -> bool:
        """By the estimate itself, without its spread: the lift's own gate takes care of that."""
        return self.rupture_MPa >= self.needed_MPa


def grip_answer(grip: Grip, slab: Slab, mix: Mix, strength_MPa: float, *, breaks_free: bool = False) -> GripAnswer:
    """Self-weight bending of a grip against the modulus of rupture that the strength gives (concrete/handling.py)."""
    stress = slab.stress_MPa(grip, mix.density_lift_kg_m3)
    needed = rupture_needed_MPa(stress, breaks_free=breaks_free)
    low, high = strength_MPa * (1.0 - mix.spread), strength_MPa * (1.0 + mix.spread)
    rupture, rupture_low, rupture_high = (
        modulus_of_rupture_MPa(min(fc, STRONGEST_MPa)) for fc in (strength_MPa, low, high)
    )
    return GripAnswer(grip, stress, needed, rupture, rupture_low, rupture_high)
