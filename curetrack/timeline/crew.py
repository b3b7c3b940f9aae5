"""Who is needed: people for a flip or a carry by the piece's weight, and whether a grip bears it."""

from msgspec import Struct

from curetrack.concrete.handling import GRIPS, crew_for, rupture_needed_MPa, strength_needed_MPa
from curetrack.concrete.slab import Slab
from curetrack.concrete.tension import modulus_of_rupture_MPa
from curetrack.facts import Grip, Shape
from curetrack.profile.types import Mix, Profile, Step
from curetrack.timeline.types import Timeline

__all__ = ["GripAnswer", "GripRow", "crew_needed", "grip_answer", "grip_rows", "slab_of"]


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


class GripRow(Struct, frozen=True):
    """One grip on a cure sheet, with its reason: what the piece bends to, what strength that asks for, what is there.

    need_MPa   compressive strength at which 0.62 sqrt(fc) bears the stress with both factors
    from_h     equivalent age at which the mix has it; None: never
    breaks_free    the profile lifts it off a smooth base by this grip, which counts besides
    """

    answer: GripAnswer
    need_MPa: float
    have_MPa: float
    from_h: float | None
    breaks_free: bool

    @property
    def factors(self) -> tuple[float, float, float]:
        """How many times its own still bending it bears now: by the estimate, and over the mix's spread."""
        answer = self.answer
        ruptures = (answer.rupture_MPa, answer.rupture_low_MPa, answer.rupture_high_MPa)
        return ruptures[0] / answer.stress_MPa, ruptures[1] / answer.stress_MPa, ruptures[2] / answer.stress_MPa

    @property
    def wanted(self) -> float:
        """The factor that is wanted: 3 (2 for a jolt, 1.5 on cracking), 4.2 where it breaks free."""
        return self.answer.needed_MPa / self.answer.stress_MPa


def grip_rows(timeline: Timeline, slab: Slab, profile: Profile) -> tuple[GripRow, ...]:
    """Every grip, while a lift lies ahead and the strength is known; else none. Cut-outs and outline count."""
    ahead = {line.step for line in timeline.lines if line.kind == "lift" and line.state not in ("done", "skipped")}
    if not ahead or timeline.strength_MPa is None:
        return ()
    rules = [step.not_before.handling for step in profile.steps if step.id in ahead]
    free = {rule.grip for rule in rules if rule is not None and rule.breaks_free}
    return tuple(_row(grip, slab, profile.mix, timeline.strength_MPa, breaks_free=grip in free) for grip in GRIPS)


def _row(grip: Grip, slab: Slab, mix: Mix, strength_MPa: float, *, breaks_free: bool) -> GripRow:
    answer = grip_answer(grip, slab, mix, strength_MPa, breaks_free=breaks_free)
    need = strength_needed_MPa(answer.stress_MPa, breaks_free=breaks_free)
    return GripRow(answer, need, strength_MPa, mix.growth.age_h(need), breaks_free)
