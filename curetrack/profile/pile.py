"""What has been gathered of a profile while it is built: a mix, materials and steps, and which file said each."""

from collections.abc import Iterator
from typing import Any

__all__ = ["Origins", "Pile", "Table", "names_in"]

Table = dict[str, Any]
Origins = dict[str, str]  # "mix.density", "material.slurry", "cast", "strip", "strip.not_before": the file it is in


class Pile:
    """Mutable while it is being built. The place of a step that was left out is kept for another of its id."""

    def __init__(self) -> None:
        self.cast: Any = None
        self.mix: Table = {}
        self.material: Table = {}
        self.steps: dict[str, Table] = {}
        self.order: list[str] = []
        self.gone: set[str] = set()
        self.fresh: set[str] = set()  # ids that the file in hand has added
        self.origins: Origins = {}

    def document(self, head: Table) -> Table:
        """The whole document; what the head says besides is taken as it stands, for the checker to read."""
        made = {key: item for key, item in head.items() if key not in ("build_on", "leave_out", "change")}
        if self.cast is not None:
            made["cast"] = self.cast
        for key, table in (("mix", self.mix), ("material", self.material)):
            if table:
                made[key] = dict(table)
        made["step"] = [self.steps[name] for name in self.order if name in self.steps]
        return made

    def common(self, other: "Pile") -> list[str]:
        """What both say, by its name among the origins."""
        found = ["cast"] if self.cast is not None and other.cast not in (None, self.cast) else []
        found += [f"mix.{key}" for key in other.mix if key in self.mix]
        found += [f"material.{key}" for key in other.material if key in self.material]
        return found + [name for name in other.steps if name in self.steps]

    def join(self, other: "Pile") -> None:
        """Puts another after this one."""
        self.cast = other.cast if other.cast is not None else self.cast
        self.mix |= other.mix
        self.material |= other.material
        self.steps |= other.steps
        self.order += [name for name in other.order if name not in self.order]
        self.gone = (self.gone | other.gone) - set(self.steps)
        self.origins |= other.origins

    def lay(self, key: str, table: Table, label: str) -> None:
        """Keys of the mix, or materials, over those that are there."""
        (self.mix if key == "mix" else self.material).update(table)
        self.origins |= {f"{key}.{name}": label for name in table if isinstance(name, str)}

    def leave_out(self, name: str) -> None:
        """Takes a step away, and keeps its place."""
        del self.steps[name]
        self.gone.add(name)

    def change(self, name: str, table: Table, changes: Table, label: str) -> None:
        """Another table for a step; `changes` names the keys that this file has changed."""
        self.steps[name] = table
        self.origins |= {f"{name}.{key}": label for key in changes}

    def add(self, name: str, table: Table, label: str, *, beside: bool) -> None:
        """A new step: in the place of the one of its id that was left out, else right behind those it comes after, else
        before the first that it comes before, else last. `beside`: look for such a place at all."""
        if name not in self.order:
            self.order.insert(self._place(table) if beside else len(self.order), name)
            self.fresh.add(name)
        self.steps[name] = table
        self.gone.discard(name)
        self.origins = {key: file for key, file in self.origins.items() if not key.startswith(f"{name}.")}
        self.origins[name] = label

    def _place(self, table: Table) -> int:
        at = {name: number for number, name in enumerate(self.order)}
        behind = [at[name] for key in ("after", "during") for name in _listed(table.get(key))[:20] if name in at]
        if "during" in table and len(behind) > 1:
            behind = behind[:1]
        if behind:
            place = max(behind) + 1
            while place < len(self.order) and self.order[place] in self.fresh:
                place += 1
            return place
        return min((at[name] for name in _listed(table.get("before")) if name in at), default=len(self.order))


def _listed(value: object) -> list[str]:
    names = [value] if isinstance(value, str) else value if isinstance(value, list) else []
    return [name for name in names if isinstance(name, str)]


def names_in(table: Table) -> Iterator[tuple[str, str]]:
    """(key, step id) of each step that a step names; keys of cases begin with `if`."""
    for key in ("after", "before", "during", "again"):
        yield from ((key, name) for name in _listed(table.get(key)))
    for key in ("not_before", "with_check"):
        rules = table.get(key)
        hardening = rules.get("hardening") if isinstance(rules, dict) else None
        since = hardening.get("since") if isinstance(hardening, dict) else None
        if isinstance(since, str):
            yield f"{key}.hardening.since", since
    cases = table.get("if")
    for case in cases if isinstance(cases, list) else []:
        if isinstance(case, dict):
            yield from (("if", name) for _, name in names_in(case))
