"""One step as the planner sees it: what it wants of the calendar, and what its start hangs on, in numbers."""

import math

from msgspec import Struct

from curetrack.concrete.handling import strength_needed_MPa
from curetrack.instants import or_never
from curetrack.profile.types import Rules, SetRule
from curetrack.timeline.clocks import Clocks
from curetrack.timeline.graph import Node
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.calendar import Need
from curetrack.timeline.rules import set_of

__all__ = ["Ask", "Drying", "Job", "Taken", "Time", "needs_of"]

Time = float | None
Ask = tuple[float, float | None]  # the earliest start, the latest one (None: there is none)


class Taken(Struct, frozen=True, gc=False):
    """What a step waits for that pieces share: the thing, the piece that has it, until when (None: not in sight)."""

    thing: str
    piece: str
    until_h: Time


class Drying(Struct, frozen=True, gc=False):
    """What a drying rule hangs on: facts, and the planned wettings and covers among the steps before."""

    need_h: float
    wet_h: float
    changes: tuple[tuple[float, float], ...]
    ahead: tuple[tuple[int, bool, Time, float | None], ...]  # job, wets, until when, share of open faces
    slow: bool
    pour_h: float = -math.inf


class Job(Struct, gc=False):
    """One node. Times are POSIX hours; `after` and the like are numbers of jobs in the net.

    through   its followers do not wait for it: optional, or closed without having been done
    nobody    a rest that needs no hands, no look and no crew: it happens by itself
    is_window its latest moment is a window that closes for good
    hangs     its moment hangs on the steps before it, beyond their end
    lost      work on fresh concrete that it is too late for: only an answer is wanted
    just_in_time  a step that only has to come before another one: placed with that one, which `pulls` it
    """

    index: int
    id: str
    node: Node
    need: Need
    after: tuple[int, ...] = ()
    leads: tuple[tuple[int, float], ...] = ()
    closed: bool = False
    through: bool = False
    nobody: bool = False
    lost: bool = False
    just_in_time: bool = False
    pulls: bool = False
    is_window: bool = False
    hangs: bool = False
    ok: bool = True  # it can be planned: no missing temperature, nothing that stops it
    start_h: Time = None  # of what is closed, or of the pour
    count_h: Time = None
    end_h: Time = None
    base_h: float = -math.inf  # where it has no predecessors
    moment_h: float = -math.inf
    wait_h: Time = None
    hardening: tuple[Clocks, float, int | None] | None = None
    recoat_h: Time = None
    recoat_to_h: Time = None
    coats: tuple[int, ...] = ()
    drying: Drying | None = None
    spans: tuple[tuple[tuple[float, float], ...], ...] = ()
    slow: bool = False
    needs: "tuple[Needed, ...]" = ()
    late_h: Time = None
    late_wait_h: Time = None
    late_from_h: Time = None  # where `late_wait_h` counts from, if not from the steps before
    row_h: Time = None  # the next of a row is due so long after
    until_h: Time = None
    later_h: float = -math.inf
    taken: Taken | None = None  # what the plan of the other pieces leaves it waiting for

    @property
    def is_tied(self) -> bool:
        """Whether the window hangs on the step before it."""
        return self.late_wait_h is not None or self.recoat_to_h is not None

    @property
    def takes_hands(self) -> bool:
        """Whether somebody has to be there for it."""
        return not (self.through or self.nobody)

    @property
    def is_fresh(self) -> bool:
        """Work on fresh concrete, which waits for nobody."""
        return self.node.step.kind in ("place", "cover")


def needs_of(rules: Rules, basis: Basis) -> "tuple[Needed, ...]":
    """Each rule that counts from the pour, as what gives its moment."""
    found: list[Needed] = []
    if rules.maturity_h is not None:
        found.append(_Ripe(rules.maturity_h, rules.maturity_h))
    if rules.set is not None:
        found.append(_Set(rules.set))
    if rules.strength_MPa is not None:
        found.append(_ripe_for(rules.strength_MPa, basis))
    if rules.handling is not None:
        stress = basis.slab.stress_MPa(rules.handling.grip, basis.mix.density_lift_kg_m3)
        found.append(_ripe_for(strength_needed_MPa(stress, breaks_free=rules.handling.breaks_free), basis))
    return tuple(found)


def _ripe_for(need_MPa: float, basis: Basis) -> "_Ripe":
    growth = basis.mix.growth
    return _Ripe(or_never(growth.age_h(need_MPa)), or_never(growth.age_h(need_MPa / (1.0 - basis.mix.spread))))


class _Ripe(Struct, frozen=True):
    """Equivalent hours since the pour; those of the weakest mix for the slow side."""

    need_h: float
    slow_h: float

    def __call__(self, basis: Basis, pour_h: float, *, slow: bool) -> float:
        when = basis.clocks.reach(pour_h, self.need_h, self.need_h, self.slow_h)
        return when.slow if slow else when.centre


class _Set(Struct, frozen=True):
    """A set, and so many clock hours more."""

    rule: SetRule

    def __call__(self, basis: Basis, pour_h: float, *, slow: bool) -> float:
        when = set_of(basis.mix, basis.set_clocks, self.rule, pour_h)
        return when.slow if slow else when.centre


Needed = _Ripe | _Set
