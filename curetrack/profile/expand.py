"""A profile's steps for one shape: cases applied; coats, grits, timed tests and their neighbours made single steps.

Pure. What hangs on events (rounds of `again`, repeats of `during`) is left to the timeline.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from msgspec.structs import replace

from curetrack.facts import Shape
from curetrack.profile.types import HandsOn, If, Limit, Profile, Recoat, Rules, Step

__all__ = ["expand"]

Parts = dict[str, list[Step]]  # of each step id of the profile, the steps made of it, in order


def expand(profile: Profile, shape: Shape, *, pour_air_degC: float | None = None) -> tuple[Step, ...]:
    """The steps of one piece. `pour_air_degC`: the air at the pour, None if not known (then `air_over` does not hold).

    Coats and grits become ID-1, ID-2, ...: each follows the one before it; the first keeps all rules, the others
    those that open and close (air, slab, dew margin, cool gap), and coats from the second on the recoat window. A
    step with `takes` becomes ID, and ID-read with the check, so many hours later. A step with `each` becomes one for
    each coat or grit of its neighbour. In the `after` of the result the coat or grit before comes first. Names of
    steps that were expanded lead to the last (after, since) or the first (before, again) of what became of them.
    """
    rail_m = _narrowest_rail_m(profile, shape)
    cases = tuple(_holds(case, shape, rail_m, pour_air_degC) for step in profile.steps for case in step.ifs)
    return _expanded(_Same(profile), cases)


class _Same:
    """A profile as the key of a memo: frozen, so the very same object always expands alike."""

    __slots__ = ("profile",)

    def __init__(self, profile: Profile) -> None:
        self.profile = profile

    def __hash__(self) -> int:
        return id(self.profile)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.profile is self.profile


@lru_cache(maxsize=32)
def _expanded(same: _Same, cases: tuple[bool, ...]) -> tuple[Step, ...]:
    """The steps, given which of the profile's cases hold, in their order."""
    told = iter(cases)
    steps = [_in_case(step, [case for case in step.ifs if next(told)]) for step in same.profile.steps]
    if not any(step.coats or step.grits or step.takes_h is not None for step in steps):
        return tuple(steps)
    parts: Parts = {step.id: _parts(step) for step in steps if not step.each}
    ordered: list[Step] = [step for made in parts.values() for step in made]
    for step in steps:
        if step.each:
            ordered = _beside(step, parts, ordered)
    ends = {name: (made[0].id, made[-1].id) for name, made in parts.items() if made[-1].id != name}
    return tuple(_renamed(step, ends) for step in ordered)


# --- cases -------------------------------------------------------------------------------------------------------


def _narrowest_rail_m(profile: Profile, shape: Shape) -> float | None:
    if not shape.cutouts or not any(case.rail_under_m is not None for step in profile.steps for case in step.ifs):
        return None
    from curetrack.concrete.handling import Slab

    cutouts = tuple((c.length_m, c.width_m, c.x_m, c.y_m) for c in shape.cutouts)
    return Slab(shape.length_m, shape.width_m, shape.thickness_m, cutouts, shape.outline).narrowest_rail_m


def _in_case(step: Step, cases: Sequence[If]) -> Step:
    """The step after those of its cases that hold."""
    changed = step
    for case in cases:
        fields = {name: _merged(getattr(step, name), new, getattr(changed, name)) for name, new in case.changes}
        changed = replace(changed, **fields)
    return replace(changed, ifs=()) if step.ifs else step


def _holds(case: If, shape: Shape, rail_m: float | None, air_degC: float | None) -> bool:
    if case.cutout is not None and case.cutout != bool(shape.cutouts):
        return False
    if case.rail_under_m is not None and (rail_m is None or rail_m >= case.rail_under_m):
        return False
    if case.length_over_m is not None and shape.length_m <= case.length_over_m:
        return False
    return case.air_over_degC is None or (air_degC is not None and air_degC > case.air_over_degC)


def _merged(written: Any, new: Any, now: Any) -> Any:
    """A field after a case: of rules and limits only what the case changes, so that two cases can hold together."""
    if not (isinstance(new, Rules | Limit | Recoat) and type(written) is type(new) is type(now)):
        return new
    names = [name for name in new.__struct_fields__ if getattr(new, name) != getattr(written, name)]
    return replace(now, **{name: getattr(new, name) for name in names})


# --- coats, grits, timed tests -----------------------------------------------------------------------------------


def _parts(step: Step) -> list[Step]:
    if step.coats:
        titles = [f"{step.title} (coat {n} of {step.coats})" for n in range(1, step.coats + 1)]
        return _chain(replace(step, coats=1), titles if step.coats > 1 else [step.title])
    if step.grits:
        made = _chain(replace(step, grits=()), [f"{step.title} (grit {grit})" for grit in step.grits])
        return [replace(one, grit=grit) for one, grit in zip(made, step.grits, strict=True)]
    if step.takes_h is not None:
        return _timed(step)
    return [step]


def _chain(step: Step, titles: Sequence[str]) -> list[Step]:
    """One step for each title, each after the one before."""
    later = Rules(
        air=step.not_before.air, slab=step.not_before.slab, dew_margin=step.not_before.dew_margin,
        cool_gap_K=step.not_before.cool_gap_K,
    )  # fmt: skip
    made: list[Step] = []
    for number, title in enumerate(titles, 1):
        first, last = number == 1, number == len(titles)
        one = replace(step, id=f"{step.id}-{number}", title=title)
        if first and step.coats:
            one = replace(one, recoat=None)
        if not first:
            one = replace(
                one, after=(made[-1].id,), not_before=later, with_check=None, no_later=None, checkin=None,
            )  # fmt: skip
        if not last:
            one = replace(one, before=(), lead_h=0.0, again="", rounds=1)
        made.append(one)
    return made


def _timed(step: Step) -> list[Step]:
    """Starting it, and reading it so many hours later; nobody is needed between."""
    start = replace(
        step, title=f"{step.title} (start)", hold="no", check="", fail="", expires=None, again="", rounds=1, before=(),
        lead_h=0.0, takes_h=None,
    )  # fmt: skip
    read = replace(
        step, id=f"{step.id}-read", title=f"{step.title} (read)", after=(step.id,), during=(),
        not_before=Rules(wait_h=step.takes_h), no_later=None, recoat=None, crew=1, hands_on=HandsOn(), takes_h=None,
        wets=False, loud=False, leaves=None, checkin=None, cautions=(),
    )  # fmt: skip
    return [start, read]


# --- neighbours --------------------------------------------------------------------------------------------------


def _beside(step: Step, parts: Parts, ordered: list[Step]) -> list[Step]:
    """A step with `each`, once for each part of its neighbour, put into the order before or after that part."""
    ahead = next((name for name in step.before if _chained(parts, name)), None)
    behind = next((name for name in step.after if _chained(parts, name)), None)
    neighbour = ahead if ahead is not None else behind
    if neighbour is None:  # the loader refuses this; a case may still have taken the coats away
        parts[step.id] = [replace(step, each=False)]
        return [*ordered, *parts[step.id]]
    made: list[Step] = []
    out = list(ordered)
    beside = parts[neighbour]
    labels = _labels(beside)
    for number, part in enumerate(beside, 1):
        one = replace(step, id=f"{step.id}-{number}", title=step.title + labels[number - 1], each=False)
        if ahead is not None:
            others = tuple(name for name in step.before if name != neighbour)
            one = replace(one, before=(part.id, *others))
            if number > 1:
                one = replace(one, after=(beside[number - 2].id,), not_before=_later(step), no_later=None)
            out.insert(_index(out, part.id), one)
        else:
            others = tuple(name for name in step.after if name != neighbour)
            one = replace(one, after=(part.id, *others))
            if number < len(beside):
                one = replace(one, before=(), lead_h=0.0)
                after = beside[number].id
                at = _index(out, after)
                out[at] = replace(out[at], after=(*out[at].after, one.id))
            out.insert(_index(out, part.id) + 1, one)
        made.append(one)
    parts[step.id] = made
    parts[neighbour] = [out[_index(out, part.id)] for part in beside]
    return out


def _chained(parts: Parts, name: str) -> bool:
    """Whether a step was made into coats or grits."""
    made = parts.get(name)
    return made is not None and made[0].id == f"{name}-1"


def _labels(beside: Sequence[Step]) -> list[str]:
    """ "(coat 2 of 4)" or "(grit 120)", as in the titles of the neighbour's parts."""
    if beside[0].grit is not None and beside[0].coats == 0:
        return [f" (grit {part.grit})" for part in beside]
    return [f" (coat {n} of {len(beside)})" for n in range(1, len(beside) + 1)] if len(beside) > 1 else [""]


def _later(step: Step) -> Rules:
    """What holds for the second and later ones: nothing that counts from the predecessors of the first."""
    return replace(step.not_before, wait_h=None, hardening=None)


def _index(steps: Sequence[Step], step_id: str) -> int:
    return next(number for number, step in enumerate(steps) if step.id == step_id)


# --- names -------------------------------------------------------------------------------------------------------


def _renamed(step: Step, ends: dict[str, tuple[str, str]]) -> Step:
    """The same step, naming what became of the steps it names."""

    own = step.id.removesuffix("-read")  # a reading follows its own start

    def last(names: Iterable[str]) -> tuple[str, ...]:
        return tuple(ends[name][1] if name in ends and name != own else name for name in names)

    def first(name: str) -> str:
        return ends[name][0] if name in ends else name

    during = step.during
    if during:
        during = (*last(during[:1]), *(first(name) for name in during[1:]))
    changes: dict[str, Any] = {
        "after": last(step.after), "before": tuple(first(name) for name in step.before), "during": during,
        "again": first(step.again),
    }  # fmt: skip
    changes = {name: new for name, new in changes.items() if new != getattr(step, name)}
    for name in ("not_before", "with_check"):
        rules = getattr(step, name)
        if rules is not None and rules.hardening is not None and rules.hardening.since in ends:
            changes[name] = replace(rules, hardening=replace(rules.hardening, since=ends[rules.hardening.since][1]))
    return replace(step, **changes) if changes else step
