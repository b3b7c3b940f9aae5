"""How the steps of a profile hang together: names that exist, no circle, what comes before the pour."""

from collections.abc import Iterable, Sequence

from curetrack.errors import BadInput
from curetrack.profile.faulty import Near, said
from curetrack.profile.steps import POUR
from curetrack.profile.types import Hardening, Step

__all__ = ["ancestors", "edges", "order_faults", "walking_order"]

Fault = tuple[str, str, BadInput]  # step id, key, what is wrong
_FROM_POUR = {
    "age_h": "age", "maturity_h": "maturity", "set": "set", "strength_MPa": "strength", "handling": "handling",
}  # fmt: skip


def edges(steps: Iterable[Step]) -> dict[str, set[str]]:
    """Of each step id ("pour" too) the ids that come right before it; cases count as if they all held."""
    found: dict[str, set[str]] = {POUR: set()}
    for step in steps:
        for variant in _variants(step):
            found.setdefault(step.id, set()).update(variant.after, variant.during)
            for follower in variant.before:
                found.setdefault(follower, set()).add(step.id)
    return found


def _variants(step: Step) -> list[Step]:
    from msgspec.structs import replace

    if not step.ifs:
        return [step]
    moved = [{k: v for k, v in case.changes if k in ("after", "before", "during")} for case in step.ifs]
    return [step, *(replace(step, **fields) for fields in moved if fields)]


def ancestors(step_id: str, before: dict[str, set[str]]) -> set[str]:
    """Everything that comes before a step, itself left out (unless it stands in a circle)."""
    seen: set[str] = set()
    todo = list(before.get(step_id, ()))
    while todo:
        other = todo.pop()
        if other not in seen:
            seen.add(other)
            todo.extend(before.get(other, ()))
    return seen


def walking_order(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps, predecessors first, in the profile's order otherwise. There must be no circle."""
    before = edges(steps)
    known = {step.id for step in steps}
    placed: set[str] = set()
    ordered: list[Step] = []
    rest = list(steps)
    while rest:
        later = []
        for step in rest:
            if before[step.id] & known <= placed | {step.id}:
                ordered.append(step)
                placed.add(step.id)
            else:
                later.append(step)
        if len(later) == len(rest):
            return tuple(ordered + later)
        rest = later
    return tuple(ordered)


def order_faults(steps: Sequence[Step], known: set[str], materials: Iterable[str]) -> list[Fault]:
    """All that is wrong between steps. `known`: the ids of all steps, those that could not be read included."""
    names = dict.fromkeys(sorted(known | {POUR}))
    faults = [fault for step in steps for fault in _unknown_names(step, names, tuple(materials))]
    before = edges(steps)
    circle = _circle(before)
    if circle:
        shown = " after ".join((*circle, circle[0])) if len(circle) < 12 else f"{len(circle)} steps, {circle[0]} first"
        remedy = "take one after, before or during away"
        return [*faults, (circle[0], "after", BadInput("a circle among the steps", found=said(shown), remedy=remedy))]
    early = ancestors(POUR, before)
    by_id = {step.id: step for step in steps}
    for step in steps:
        faults += _too_early(step) if step.id in early else []
        faults += _rounds(step, before, early)
        faults += _neighbours(step, by_id)
    return faults


def _unknown_names(step: Step, known: dict[str, None], materials: tuple[str, ...]) -> Iterable[Fault]:
    for prefix, variant in [("", step), *((f"if {n}: ", v) for n, v in enumerate(_variants(step)[1:], 1))]:
        for key in ("after", "before", "during"):
            for name in getattr(variant, key):
                yield from _one_name(step, prefix + key, name, known)
    if step.again:
        yield from _one_name(step, "again", step.again, known)
    tables = [("not_before", step.not_before), ("with_check", step.with_check)]
    for number, case in enumerate(step.ifs, 1):
        tables += [(f"if {number}: {key}", item) for key, item in case.changes if key in ("not_before", "with_check")]
    for key, rules in tables:
        hardening = rules.hardening if rules is not None else None
        if hardening is None or (key == "with_check" and _same(hardening, step.not_before.hardening)):
            continue
        if hardening.since:
            yield from _one_name(step, f"{key}.hardening.since", hardening.since, known)
        if hardening.of and hardening.of not in materials:
            instead = "" if materials else f"add [material.{hardening.of}]"
            fault = Near("no such material", hardening.of, materials, found=hardening.of, instead=instead)
            yield step.id, f"{key}.hardening.of", fault


def _same(one: Hardening, other: Hardening | None) -> bool:
    """Written short, the rule beside a check names what the long one names: said once is enough."""
    return other is not None and (one.of, one.since) == (other.of, other.since)


def _one_name(step: Step, key: str, name: str, known: dict[str, None]) -> Iterable[Fault]:
    if name == step.id and key != "again":
        yield step.id, key, BadInput("a step cannot wait for itself", found=name, remedy="name another step")
    elif name not in known:
        yield step.id, key, Near("no such step", name, known, found=name)


def _circle(before: dict[str, set[str]]) -> list[str]:
    """One circle, each step followed by the one it waits for; empty if there is none."""
    state: dict[str, int] = {}  # 1: being walked, 2: free of circles
    for start in before:
        path: list[str] = []
        todo = [(start, False)]
        while todo:
            name, leaving = todo.pop()
            if leaving:
                state[name] = 2
                path.pop()
            elif state.get(name) == 1:
                return path[path.index(name) :]
            elif name not in state:
                state[name] = 1
                path.append(name)
                todo.append((name, True))
                todo.extend((other, False) for other in sorted(before.get(name, ())) if other != name)
    return []


def _too_early(step: Step) -> Iterable[Fault]:
    remedy = "use lead, or air and slab, for what is done before the pour"
    for key, table in (("not_before", step.not_before), ("with_check", step.with_check), ("no_later", step.no_later)):
        for field, name in _FROM_POUR.items():
            if table is not None and getattr(table, field, None) is not None:
                what = "counts from the pour, and this step comes before it"
                yield step.id, f"{key}.{name}", BadInput(what, remedy=remedy)


def _rounds(step: Step, before: dict[str, set[str]], early: set[str]) -> Iterable[Fault]:
    """`again` leads back along the predecessors, never beyond the pour."""
    if step.again in ("", step.id) or (step.again not in before and step.again != POUR):
        return
    if step.again in early or step.again == POUR or step.again not in ancestors(step.id, before):
        remedy = "again names a step that this one follows, after the pour"
        yield step.id, "again", BadInput("no way from there to here", found=step.again, remedy=remedy)


def _made_ids(step: Step, by_id: dict[str, Step]) -> list[str]:
    """The ids that expansion makes of a step, its cases included."""
    if not (step.coats or step.grits or step.takes_h is not None or step.each or step.ifs):
        return []
    fields = [dict(case.changes) for case in step.ifs]
    count = max([step.coats, len(step.grits), *(max(f.get("coats", 0), len(f.get("grits", ()))) for f in fields)])
    if step.each:
        beside = [by_id[name] for name in (*step.before, *step.after) if name in by_id and not by_id[name].each]
        count = max([count, *(max(other.coats, len(other.grits)) for other in beside)])
    made = [f"{step.id}-{n}" for n in range(1, count + 1)]
    timed = step.takes_h is not None or any(f.get("takes_h") is not None for f in fields)
    return [*made, f"{step.id}-read"] if timed else made


def _neighbours(step: Step, by_id: dict[str, Step]) -> Iterable[Fault]:
    """`each` needs a neighbour of several coats or grits; ids made by expansion must be free."""
    if step.each and not any(
        by_id[name].coats or by_id[name].grits for name in (*step.before, *step.after) if name in by_id
    ):
        remedy = "name in before (or after) a step with coats or grits"
        yield step.id, "each", BadInput("no neighbour with coats or grits", remedy=remedy)
    for name in _made_ids(step, by_id):
        if name in by_id:
            yield name, "id", BadInput(f"this id is made from the step {step.id}", found=name, remedy="choose another")
