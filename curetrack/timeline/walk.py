"""The forward pass: every node placed once, predecessors first.

A node that was done or skipped keeps its facts; an open one gets its rules' moment, its plan and its latest moment.
Steps that only have to come before another (`before`) are planned just in time, once that other step is placed.
"""

import math
from collections.abc import Callable

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.concrete.slab import Slab
from curetrack.instants import to_h
from curetrack.profile.types import HandsOn, Mix, Step
from curetrack.timeline.checks import Gate, gate_for, passed_since
from curetrack.timeline.clocks import Clocks, When
from curetrack.timeline.combine import binding_first, known_part, together
from curetrack.timeline.drying import FACES_OPEN, Faces
from curetrack.timeline.graph import POUR, Graph, Node
from curetrack.timeline.history import Answer, History
from curetrack.timeline.limits import latest_start
from curetrack.timeline.needed import followers_of, wanted_for_next, with_all_before
from curetrack.timeline.rules import RULES, Met, Situation, set_when

__all__ = ["Basis", "NEXT_h", "Placed", "Walk"]

NEXT_h = 24.0  # "next": what can be done now, and what is planned within a day


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


class Placed(Struct):
    """One node with its times, POSIX hours; None: not known, inf: not within sight.

    from_h    what `wait` counts from: the predecessors' done times, else their plans
    floor_h   the first moment that the predecessors leave
    count_h   what a follower's `wait` counts from: done time, else plan
    end_h     the hands are free again
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
    redo_h: float | None = None  # a pass recorded after late_at: the `else` was done
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

    @property
    def is_open(self) -> bool:
        """Neither done nor skipped nor ended."""
        return self.closed_h is None


class Walk:
    """The workspace of one pass; `placed` is filled in the graph's order."""

    def __init__(self, basis: Basis, graph: Graph, *, only_next: bool = False) -> None:
        """`only_next`: work out no more than what can be done now, or is planned within a day, hangs on."""
        self.basis, self.graph, self.only_next = basis, graph, only_next
        self.placed: dict[str, Placed] = {}

    def run(self) -> dict[str, Placed]:
        """Place every node, or those that are wanted."""
        nodes = self.graph.nodes
        if not self.only_next:
            self._through(set(nodes))
            return self.placed
        wanted = wanted_for_next(self.graph, self.basis.history, poured=self.basis.poured)
        if not self.basis.poured and POUR not in nodes:  # planned by the pour, which no step describes
            wanted = with_all_before(self.graph, wanted, self.graph.before_pour)
        followers = followers_of(self.graph)
        while True:
            self.placed = {}
            self._through(wanted)
            soon = self.placed.keys() - wanted
            missing = {name for node_id in soon for name in followers.get(node_id, ())} - wanted
            if not missing:
                return self.placed
            wanted = with_all_before(self.graph, wanted | soon, missing)

    def _through(self, wanted: set[str]) -> None:
        for node in self.graph.nodes.values():
            if node.id in wanted or self._soon(node):
                self.placed[node.id] = self._pour(node) if node.id == POUR else self._place(node)
        if POUR not in self.graph.nodes and not self.basis.poured:
            leads = [(p.node.id, p.node.step.lead_h) for p in self.placed.values() if POUR in p.node.step.before]
            self._plan_before(Node(POUR, Step(POUR, POUR), leads=tuple(leads)), self.basis.pour_h)

    def _soon(self, node: Node) -> bool:
        """Whether the steps before it leave it a plan within `NEXT_h`."""
        before = [*node.after, *(lead for lead, _ in node.leads)]
        ends = [self.placed[name].end_h if name in self.placed else self.basis.pour_h for name in before]
        if any(name not in self.placed and name in self.graph.nodes for name in before):
            return False
        return all(end_h is not None and end_h <= self.basis.now_h + NEXT_h for end_h in ends)

    # --- what comes before ---------------------------------------------------------------------------------------

    def _before(self, node: Node) -> tuple[float | None, float | None, tuple[str, ...]]:
        """(from_h, floor_h, blockers) of a node. With no predecessor it starts from the pour, or before it from the
        moment the piece was written down."""
        froms: list[float | None] = []
        floors: list[float | None] = []
        blockers: list[str] = []
        for other in node.after:
            if other == POUR and other not in self.placed:
                froms.append(self.basis.pour_h)
                floors.append(self.basis.pour_h)
                if not self.basis.poured:
                    blockers.append(POUR)
            elif other in self.placed:
                pred = self.placed[other]
                froms.append(pred.count_h)
                floors.append(pred.end_h)
                blockers += pred.blockers if pred.passes_through else [other] if pred.is_open else []
        if not node.after:
            early = node.id in self.graph.before_pour
            start_h = self.basis.created_h if early else self.basis.pour_h
            froms, floors = [start_h], [start_h]
            if not early and not self.basis.poured:
                blockers.append(POUR)
        for other, _ in node.leads:
            if other in self.placed:
                pred = self.placed[other]
                blockers += pred.blockers if pred.passes_through else [other] if pred.is_open else []
        return _latest_known(froms), _latest_known(floors), tuple(dict.fromkeys(blockers))

    # --- the pour ------------------------------------------------------------------------------------------------

    def _pour(self, node: Node) -> Placed:
        basis = self.basis
        _, _, blockers = self._before(node)
        when = None if basis.pour_h is None else When(basis.pour_h)
        placed = Placed(node, basis.pour_h, basis.pour_h, blockers, [], when, hands_h=self._hands(node.step))
        if basis.poured:
            placed.done_h = placed.closed_h = placed.plan_h = placed.count_h = placed.end_h = basis.pour_h
            placed.blockers = ()
        elif basis.pour_h is not None:
            self._plan_before(node, basis.pour_h)
            placed.plan_h = placed.count_h = placed.end_h = basis.pour_h
        return placed

    # --- any other step ------------------------------------------------------------------------------------------

    def _place(self, node: Node) -> Placed:
        basis, step = self.basis, node.step
        from_h, floor_h, blockers = self._before(node)
        event = basis.history.done.get(node.id)
        skip = basis.history.skipped.get(node.id)
        closed_h = to_h(event.at) if event else to_h(skip.at) if skip else None
        if closed_h is None and basis.poured and node.id in self.graph.before_pour:
            closed_h = basis.pour_h
        if closed_h is None and node.ended:
            closed_h = floor_h if floor_h is not None else basis.now_h
        at = self._situation(node, from_h, closed_h) if closed_h is None or not self.only_next else None
        mets = self._mets(node, at) if at is not None else []
        since_h = -math.inf if floor_h is None else floor_h
        now_h = basis.now_h if closed_h is None else -math.inf
        when = together(mets, since_h, now_h) if at is not None else None
        timed = binding_first(mets, since_h, now_h)
        placed = Placed(node, from_h, floor_h, blockers, timed, when, hands_h=self._hands(step), closed_h=closed_h)
        placed.recorded = bool(event or skip)
        placed.stopped_by = self._stopped_by(step)
        if at is not None:
            placed.late_h = latest_start(node, at, basis.first_h, floor_h, when)
        if event is not None:
            placed.done_h = placed.plan_h = placed.count_h = placed.end_h = closed_h
            return placed
        if closed_h is not None or step.optional:
            placed.passes_through = True
        if closed_h is not None:
            placed.count_h, placed.end_h, placed.blockers = from_h, floor_h, ()
            return placed
        self._close_repeat(placed, at)
        if placed.is_open:
            self._open(placed, at, mets)
        return placed

    def _close_repeat(self, placed: Placed, at: Situation | None) -> None:
        """A repeat with `until` ends by itself; its followers count from that moment."""
        until = placed.node.step.until
        if until is None or at is None:
            return
        ends = [at.pour_h + until.age_h] if until.age_h is not None else []
        if at.course.has_temperature:
            ends += [at.clocks.reach(at.pour_h, until.maturity_h).centre] if until.maturity_h is not None else []
            ends += [set_when(at, until.set).centre] if until.set is not None else []
        if not ends:
            return
        end_h = max(ends)
        placed.count_h = placed.end_h = max(end_h, placed.floor_h) if placed.floor_h is not None else end_h
        if end_h <= self.basis.now_h and not placed.blockers:
            placed.closed_h, placed.recorded = end_h, False

    def _open(self, placed: Placed, at: Situation | None, mets: list[Met]) -> None:
        basis, node, step = self.basis, placed.node, placed.node.step
        if at is None or placed.floor_h is None:
            return
        start = placed.when if placed.when is not None else known_part(mets, placed.floor_h, basis.now_h)
        answers = basis.history.answers.get(node.id, [])
        placed.last_answer = max((a for a in answers if a.at_h <= basis.now_h), key=lambda a: a.at_h, default=None)
        when, floor_h = placed.when, placed.floor_h

        def gate() -> Gate:
            return gate_for(step, when, self._with_check(node, at, floor_h), floor_h)

        placed.ask_gate = gate
        if answers:
            placed.passed_h = passed_since(answers, placed.gate.check_from_h, basis.now_h)
        if step.hold == "no" and when is not None:
            placed.ask_gate = None  # it opens by its rules
        if placed.late_h is not None:
            placed.redo_h = passed_since(answers, placed.late_h, basis.now_h)
        moment_h = start.centre
        if step.hold == "yes" and not step.check and placed.when is not None:
            moment_h = start.slow
        if placed.passed_h is not None:
            moment_h = min(moment_h, placed.passed_h)
        self._plan(placed, moment_h, start.centre)

    def _plan(self, placed: Placed, moment_h: float, ready_h: float) -> None:
        basis, node = self.basis, placed.node
        if any(met.missing == "temperature" for met, _ in placed.mets) and placed.passed_h is None:
            return
        placed.plan_h = None
        self._plan_before(node, ready_h if math.isfinite(ready_h) else placed.floor_h)
        floors = [placed.floor_h or -math.inf, basis.now_h, moment_h, basis.history.later_h.get(node.id, -math.inf)]
        for other, lead_h in node.leads:
            pred = self.placed.get(other)
            if pred is not None and pred.end_h is not None and not (pred.passes_through and pred.done_h is None):
                floors.append(pred.end_h + lead_h)
        plan_h = max(floors)
        if plan_h == math.inf:
            return
        placed.plan_h = plan_h
        if placed.node.step.until is not None and placed.end_h is not None:
            return  # followers count from the end of the repeat
        if placed.passes_through:
            placed.count_h, placed.end_h = placed.from_h, placed.floor_h
        else:
            placed.count_h, placed.end_h = plan_h, plan_h + placed.hands_h

    def _plan_before(self, follower: Node, ready_h: float | None) -> None:
        """Steps that must come before `follower`: at the latest `lead` before it is ready, planned just in time."""
        if ready_h is None:
            return
        leads = [(self.placed[other], lead_h) for other, lead_h in follower.leads if other in self.placed]
        for pred, lead_h in reversed(leads):
            if pred.done_h is not None:
                continue
            limits = [ready_h - lead_h]
            limits += [
                other.late_h - other.hands_h
                for other, _ in leads
                if pred.node.id in other.node.after and other.late_h is not None
            ]
            pred.late_h = min([*limits, *([pred.late_h] if pred.late_h is not None else [])])
        for pred, lead_h in leads:
            if not pred.is_open or pred.late_h is None or pred.plan_h is None:
                continue
            if lead_h <= 0.0 and follower.id != POUR:
                continue  # part of the chain: nothing is gained by waiting
            earliest = max(
                [pred.plan_h] + [p.end_h for a in pred.node.after if (p := self.placed.get(a)) and p.end_h is not None]
            )
            pred.plan_h = max(earliest, pred.late_h - pred.hands_h)
            if not pred.passes_through:
                pred.count_h, pred.end_h = pred.plan_h, pred.plan_h + pred.hands_h

    # --- the rules of one node -----------------------------------------------------------------------------------

    def _situation(self, node: Node, from_h: float | None, closed_h: float | None) -> Situation | None:
        """None for steps before the pour (their clock has not begun) and while no pour is planned."""
        basis = self.basis
        if basis.pour_h is None and node.id not in self.graph.before_pour:
            return None
        since = self.placed.get(node.since) if node.since else None
        wanted = node.step.not_before.drying_h is not None
        wanted = wanted or (node.step.with_check is not None and node.step.with_check.drying_h is not None)
        return Situation(
            basis.now_h, basis.course, basis.mix, basis.clocks, basis.set_clocks, basis.materials, basis.slab,
            basis.pour_h if basis.pour_h is not None else basis.now_h, from_h,
            since.count_h if since else None,
            self._faces(node, math.inf if closed_h is None else closed_h) if wanted else Faces(-math.inf),
        )  # fmt: skip

    def _mets(self, node: Node, at: Situation) -> list[Met]:
        rules = node.step.not_before
        mets = [met for rule in RULES if (met := rule(at, rules)) is not None]
        mets += [met for met in (self._repeat(node, at), self._recoat(node, at)) if met is not None]
        if not mets:
            if at.after_h is None:
                return [Met("predecessor", None, missing="predecessor")]
            mets.append(Met("predecessor", When(at.after_h)))
        return mets

    def _repeat(self, node: Node, at: Situation) -> Met | None:
        """The next of a row is due so long after the last; the first one is due as soon as its rules hold."""
        every = node.step.every
        if every is None or node.occurrence < 2 or at.after_h is None:
            return None
        due_h = at.after_h + every.most_h
        if every.drying_kg_m2 is not None:
            dry_h = at.course.evaporated(at.after_h, every.drying_kg_m2)
            if dry_h is not None:
                due_h = min(due_h, max(at.after_h + every.least_h, dry_h))
        return Met("every", When(due_h), due_h - at.after_h, max(0.0, at.now_h - at.after_h), "h")

    def _recoat(self, node: Node, at: Situation) -> Met | None:
        """The next coat waits for the window that the last one opens."""
        recoat = node.step.recoat
        if recoat is None:
            return None
        if at.after_h is None:
            return Met("recoat", None, recoat.from_h, unit="h", missing="predecessor")
        have = max(0.0, at.now_h - at.after_h)
        return Met("recoat", When(at.after_h + recoat.from_h), recoat.from_h, have, "h")

    def _with_check(self, node: Node, at: Situation, floor_h: float) -> When | None:
        rules = node.step.with_check
        if rules is None:
            return None
        return together([met for rule in RULES if (met := rule(at, rules)) is not None], floor_h, self.basis.now_h)

    def _stopped_by(self, step: Step) -> str:
        if self.basis.spoilt and step.kind in ("lift", "coat"):
            return "frost"
        if step.family in ("film", "resin") and self._waxed():
            return "wax"
        return ""

    def _waxed(self) -> bool:
        """Wax went on, wherever its step stands, and nothing was ground off since."""
        events = self.basis.history.done
        done = [(to_h(events[node.id].at), node.step) for node in self.graph.nodes.values() if node.id in events]
        waxed_h = max((at_h for at_h, step in done if step.family == "wax"), default=None)
        return waxed_h is not None and not any(at_h > waxed_h and step.kind == "grind" for at_h, step in done)

    # --- drying ---------------------------------------------------------------------------------------------------

    def _faces(self, node: Node, until_h: float) -> Faces:
        """Wettings and covers up to an instant: what was done, and what is planned among the steps that it follows."""
        basis = self.basis
        ahead = self._ancestors(node)
        wet_h = [basis.pour_h if basis.pour_h is not None else basis.now_h]
        changes: list[tuple[float, float]] = []
        for other in self.graph.nodes.values():
            step = other.step
            at_h = self._happens(other, ahead) if step.wets or step.leaves is not None else None
            if at_h is None or at_h > until_h:
                continue
            if step.wets:  # a repeat that is still open wets until it ends
                placed = self.placed.get(other.id)
                ends_h = placed.end_h if placed is not None and placed.done_h is None and step.until else None
                wet_h.append(at_h if ends_h is None else ends_h)
            if step.leaves is not None:
                changes.append((at_h, FACES_OPEN[step.leaves]))
        return Faces(max(wet_h), tuple(sorted(changes, key=lambda change: change[0])))

    def _happens(self, node: Node, ahead: set[str]) -> float | None:
        """When a step was done, wherever it stands; one of those ahead: its plan, or when it ended by itself."""
        event = self.basis.history.done.get(node.id)
        if event is not None:
            return to_h(event.at)
        placed = self.placed.get(node.id)
        if placed is None or placed.done_h is not None:
            return placed.done_h if placed is not None else None
        if node.id not in ahead or node.step.optional:
            return None
        if placed.is_open:
            return placed.plan_h
        lasted = node.step.until is not None and placed.end_h is not None and placed.end_h == placed.closed_h
        return placed.end_h if lasted and not placed.recorded else None

    def _ancestors(self, node: Node) -> set[str]:
        seen: set[str] = set()
        todo = [*node.after, *(lead for lead, _ in node.leads)]
        while todo:
            other = todo.pop()
            if other in self.placed and other not in seen:
                seen.add(other)
                todo += self.placed[other].node.after
        return seen

    def _hands(self, step: Step) -> float:
        return hands_on_h(step.hands_on, self.basis.face_m2, self.basis.perimeter_m, self.basis.bags)


def hands_on_h(hands_on: HandsOn, area_m2: float, edge_m: float, bags: float) -> float:
    """Hours for the hands: fixed, and by face, edge and bags."""
    return (
        hands_on.fixed_h + hands_on.per_m2_h * area_m2 + hands_on.per_m_h * edge_m + hands_on.per_bag_h * bags
    )  # fmt: skip


def _latest_known(times: list[float | None]) -> float | None:
    known = [at_h for at_h in times if at_h is not None]
    return max(known) if known and len(known) == len(times) else None
