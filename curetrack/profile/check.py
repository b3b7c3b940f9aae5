"""Reading a profile for sense: what can be solved but would not make a good piece. Warnings, never faults.

What the warnings rest on is common practice, no source, unless one says more.
"""

from collections.abc import Callable, Iterable
from itertools import pairwise

from msgspec import Struct

from curetrack.profile.order import ancestors, edges, walking_order
from curetrack.profile.types import Profile, Step

__all__ = ["sense"]

BURNISHED = 220  # beyond this grit a film finds no key
FILMS = ("film", "resin")
REPELS = ("wax", "penetrating")  # nothing bonds to them


class _Steps(Struct, frozen=True):
    """A profile's steps in walking order, and of each the steps that come before it, in that order."""

    profile: Profile
    order: tuple[Step, ...]
    ahead: dict[str, tuple[Step, ...]]


def sense(profile: Profile) -> tuple[str, ...]:
    """Warnings, in the order of the steps; empty if there is nothing to say."""
    order, before = walking_order(profile.steps), edges(profile.steps)
    ahead = {}
    for step in order:
        found = ancestors(step.id, before)
        ahead[step.id] = tuple(other for other in order if other.id in found)
    steps = _Steps(profile, order, ahead)
    said = [f"step {step.id}: {text}" for step in order for rule in _RULES for text in rule(step, steps)]
    return tuple(dict.fromkeys([*said, *_whole(steps)]))


Rule = Callable[[Step, _Steps], Iterable[str]]


def _grits(step: Step, steps: _Steps) -> Iterable[str]:
    """Each grit at most double the one before. The trade's own ladders stay within it: paper 120 to 220, pads 800 to
    1500; so there is no tolerance."""
    row = _grits_of(step)
    if not row:
        return
    last = next((_grits_of(other)[-1] for other in reversed(steps.ahead[step.id]) if _grits_of(other)), None)
    row = ((last,) if last is not None else ()) + row
    for coarse, fine in pairwise(row):
        if fine > 2 * coarse:
            yield f"grit {fine} after {coarse} more than doubles, the coarser scratches stay; put one between"


def _grits_of(step: Step) -> tuple[int, ...]:
    return step.grits or ((step.grit,) if step.grit is not None else ())


def _film(step: Step, steps: _Steps) -> Iterable[str]:
    """What spoils a film: wax or a repellent under it, a burnished face, no dry test, water after the test."""
    if step.family not in FILMS:
        return
    ahead = steps.ahead[step.id]
    ground = [number for number, other in enumerate(ahead) if _grits_of(other)]
    for other in ahead[ground[-1] if ground else 0 :]:
        if other.family in REPELS:
            yield f"a {step.family} over {other.id} ({other.family}) does not bond; strip and hone first"
    if ground and _grits_of(ahead[ground[-1]])[-1] > BURNISHED:
        grit = _grits_of(ahead[ground[-1]])[-1]
        yield f"a {step.family} on a face burnished to {grit} peels; end at 200 to 220, wet or with fresh paper"
    tests = [other for other in ahead if other.expires is not None]
    if not tests:
        yield f"a {step.family} without a moisture test before it; add one with expires = {{ after_wet = true }}"
        return
    for other in ahead:
        if other.wets and tests[-1] in steps.ahead[other.id]:
            yield f"{other.id} wets the face between {tests[-1].id} and this {step.family}; test after the last water"


def _hold(step: Step, _steps: _Steps) -> Iterable[str]:
    if step.hold == "yes" and not step.check:
        yield "a hold with no check: it opens only at the band's late end; say in check what the maker looks at"


def _drying(step: Step, steps: _Steps) -> Iterable[str]:
    """Only open faces dry: the last step that says how the faces lie must not cover them."""
    if step.not_before.drying_h is None:
        return
    last = next((other for other in reversed(steps.ahead[step.id]) if other.leaves and not other.optional), None)
    if last is not None and last.leaves == "covered":
        yield f'drying can never be met: {last.id} leaves the faces covered; add a step with leaves = "open" between'


def _reached(step: Step, steps: _Steps) -> Iterable[str]:
    """Strengths that the mix never has, or may never have."""
    need, mix = step.not_before.strength_MPa, steps.profile.mix
    if need is None:
        return
    if mix.growth.age_h(need) is None:
        yield f"{need:g} MPa is never reached: the mix is known up to {mix.growth.strength_MPa(1e5):.1f} MPa"
    elif step.hold == "yes" and not step.check and mix.growth.age_h(need / (1.0 - mix.spread)) is None:
        yield f"{need:g} MPa is never sure with this mix's spread, and no check opens the hold; add one"


def _contrary(step: Step, steps: _Steps) -> Iterable[str]:
    """Too early until after it is too late."""
    rules, limit = step.not_before, step.no_later
    if limit is None:
        return
    for name, unit in (("wait_h", "wait"), ("age_h", "age"), ("maturity_h", "maturity")):
        least, most = getattr(rules, name), getattr(limit, name)
        if least is not None and most is not None and least > most:
            yield f"not before {unit} {least:g} h, no later than {most:g} h: there is no such moment"
    if rules.set is not None and limit.set is not None:
        mix = steps.profile.mix
        hours = {"initial": mix.initial_set_h, "final": mix.final_set_h}
        start, end = (hours[rule.point] + rule.plus_h for rule in (rules.set, limit.set))
        if start > end:
            yield f"not before {start:g} h, no later than {end:g} h by the set times: there is no such moment"


def _coats(step: Step, _steps: _Steps) -> Iterable[str]:
    if step.coats > 1 and step.recoat is None:
        yield "several coats without a recoat window; the label gives one"
    if step.family in ("penetrating", *FILMS) and step.not_before.air is None and step.not_before.slab is None:
        yield "a sealer without temperature limits; the label gives them (air, with for = the night after)"
    if step.family in FILMS and step.not_before.dew_margin is None:
        yield f"a {step.family} without a dew margin whitens on a damp night; 3 K is usual"


def _lift(step: Step, steps: _Steps) -> Iterable[str]:
    if step.crew not in ("flip", "carry"):
        return
    rules = [other.not_before for other in (*steps.ahead[step.id], step) if other.kind == "lift"]
    if not any(rule.strength_MPa is not None or rule.handling is not None for rule in rules):
        yield 'a lift at any strength; add strength, or handling = "long-edge"'


def _fill(step: Step, steps: _Steps) -> Iterable[str]:
    """A fill hardens on a clock of its own."""
    if step.kind != "grind" or step.not_before.hardening is not None:
        return
    last = next((other for other in reversed(steps.ahead[step.id]) if other.kind in ("fill", "grind")), None)
    if last is not None and last.kind == "fill":
        yield f"grinds {last.id} without asking whether it has hardened; add hardening"


_RULES: tuple[Rule, ...] = (_grits, _film, _hold, _drying, _reached, _contrary, _coats, _lift, _fill)


def _whole(steps: _Steps) -> Iterable[str]:
    """What is missing from the profile as a whole."""
    profile, order = steps.profile, steps.order
    coats = {step.id for step in order if step.kind == "coat" and not step.optional and step.family is not None}
    ends = [step for step in order if step.kind == "rest" and coats <= {other.id for other in steps.ahead[step.id]}]
    if not ends:
        yield 'no end: add a step of kind "rest" after the last coat that says when the piece may be used'
    if not any(step.leaves == "covered" or step.wets for step in order):
        yield "nothing covers or wets the piece: it dries before it has hardened; add a cover"
    used = {s.not_before.hardening.of for s in order if s.not_before.hardening is not None}
    for name in profile.materials:
        if name not in used:
            yield f"material {name}: no step waits for it to harden"
