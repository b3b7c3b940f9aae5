"""What one solve works from (Basis), and one node with its times (Placed)."""

import math
from collections.abc import Callable

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.concrete.slab import Slab
from curetrack.profile.types import Mix, Step
from curetrack.timeline.checks import Gate
from curetrack.timeline.clocks import Clocks, When
from curetrack.timeline.graph import Node
from curetrack.timeline.history import Answer, History
from curetrack.timeline.planning.agreed import Agreed
from curetrack.timeline.rules import Met

__all__ = ["Basis", "LOST_h", "NEXT_h", "Placed", "gone_h", "is_lost"]

NEXT_h = 24.0  # "next": what can be done now, and what is planned within a day
LOST_h = 1.0  # so long after its window nobody works fresh concrete any more: it was done, or it is lost (judgement)


class Basis(Struct, frozen=True):
    """What one solve works from."""

    now_h: float
    course: Course
    mix: Mix
    slab: Slab
    clocks: Clocks
    set_clocks: Clocks
    materials: dict[str, Clocks]
    history: History
    pour_h: float | None  # the last batch; before the pour the planned one; None: not planned
    first_h: float | None  # the first batch, likewise
    poured: bool
    created_h: float
    face_m2: float = 0.0
    bags: float = 0.0
    perimeter_m: float = 0.0
    spoilt: bool = False  # froze young and no hardness check since
    agreed: dict[str, Agreed] = {}  # by node, where a plan says when it is to be done; it only delays
    need_by_h: float | None = None
    people: int = 1  # who can be called, the maker included; 1: not said

    def hands_h(self, step: Step) -> float:
        """Hours for the hands: fixed, and by face, edge and bags."""
        hands = step.hands_on
        by_size = hands.per_m2_h * self.face_m2 + hands.per_m_h * self.perimeter_m + hands.per_bag_h * self.bags
        return hands.fixed_h + by_size


class Placed(Struct):
    """One node with its times, POSIX hours; None: not known, inf: not within sight.

    from_h    what `wait` counts from: the predecessors' done times, else their plans
    floor_h   the first moment that the predecessors leave
    count_h   what a follower's `wait` counts from: done time, else plan
    end_h     the hands are free again
    moment_h  when the rules let an open one start, a passed check counted, now and the steps before it aside
    """

    node: Node
    from_h: float | None
    floor_h: float | None
    blockers: tuple[str, ...]
    mets: list[tuple[Met, float | None]]
    when: When | None
    done_h: float | None = None
    closed_h: float | None = None
    passes_through: bool = False
    plan_h: float | None = None
    late_h: float | None = None
    count_h: float | None = None
    end_h: float | None = None
    hands_h: float = 0.0
    ask_gate: Callable[[], Gate] | None = None
    passed_h: float | None = None
    last_answer: Answer | None = None
    window_h: float = -math.inf  # from when on air and dew point allow it, now or next
    redo_h: float | None = None  # a pass recorded after late_at: the `else` was done
    moment_h: float | None = None
    agreed: Agreed | None = None
    stopped_by: str = ""  # frost, wax
    recorded: bool = True

    @property
    def gate(self) -> Gate:
        """How the step opens; worked out when asked, since it hangs on the band's ends."""
        if self.ask_gate is None:
            return Gate(None, None)
        gate = self.ask_gate()
        self.ask_gate = lambda: gate
        return gate

    def is_next(self, now_h: float) -> bool:
        """Open, and either waiting for no other step or planned within a day."""
        soon = self.plan_h is not None and self.plan_h <= now_h + NEXT_h
        return self.is_open and (soon or not self.blockers)

    def gone_h(self, now_h: float) -> float | None:
        """When it would have been over at the latest, if it is still open fresh work whose window has passed."""
        return gone_h(self.node.step, self.late_h, self.hands_h, now_h) if self.is_open else None

    def is_lost(self, now_h: float) -> bool:
        """Whether it, still open, wants no hands any more, only an answer."""
        return self.is_open and is_lost(self.node.step, self.late_h, now_h)

    @property
    def is_open(self) -> bool:
        """Neither done nor skipped nor ended."""
        return self.closed_h is None


def gone_h(step: Step, late_h: float | None, hands_h: float, now_h: float) -> float | None:
    """When work on fresh concrete would have been over at the latest; None: its window has not passed. Only for that
    kind: a lid can be taken off later, concrete that has stiffened can not be vibrated."""
    return late_h + hands_h if step.kind == "place" and late_h is not None and late_h < now_h else None


def is_lost(step: Step, late_h: float | None, now_h: float) -> bool:
    """Whether the window of work on fresh concrete passed so long ago that nobody works it any more."""
    return step.kind == "place" and late_h is not None and late_h + LOST_h < now_h
