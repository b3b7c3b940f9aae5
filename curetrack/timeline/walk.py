"""The forward pass: every node placed once, predecessors first.

A node that was done or skipped keeps its facts; an open one gets its rules' moment, its plan and its latest moment.
Steps that only have to come before another (`before`) are planned just in time, once that other step is placed.
"""

import math

from curetrack.instants import or_never, to_h
from curetrack.profile.types import Step
from curetrack.timeline.asked import answers_of, with_check
from curetrack.timeline.before import plan_before
from curetrack.timeline.checks import Gate, gate_for, passed_since
from curetrack.timeline.clocks import When
from curetrack.timeline.combine import binding_first, known_part, together, window_of
from curetrack.timeline.drying import Faces
from curetrack.timeline.faces import faces_of
from curetrack.timeline.graph import POUR, Graph, Node
from curetrack.timeline.limits import latest_start
from curetrack.timeline.needed import followers_of, wanted_for_next, with_all_before
from curetrack.timeline.placed import Basis, NEXT_h, Placed
from curetrack.timeline.rules import Met, Situation, set_when
from curetrack.timeline.stops import stopped_by

__all__ = ["Walk"]


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
                self.placed[node.id] = self.place(node)
        if POUR not in self.graph.nodes and not self.basis.poured:
            leads = [(p.node.id, p.node.step.lead_h) for p in self.placed.values() if POUR in p.node.step.before]
            plan_before(Node(POUR, Step(POUR, POUR), leads=tuple(leads)), self.basis.pour_h, self.placed)

    def place(self, node: Node) -> Placed:
        """One node, whose predecessors are in `placed`."""
        return self._pour(node) if node.id == POUR else self._place(node)

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

    def _fresh_floor_h(self, node: Node, floor_h: float | None) -> float | None:
        """What a window counts from. Open steps are planned now at the earliest; but concrete has not waited for those
        whose window has passed."""
        before = [self.placed[name] for name in node.after if name in self.placed]
        ends = [pred.gone_h(self.basis.now_h) for pred in before]
        known = [end_h for end_h in ends if end_h is not None]
        return max(known) if known and len(known) == len(node.after) else floor_h

    # --- the pour ------------------------------------------------------------------------------------------------

    def _pour(self, node: Node) -> Placed:
        basis = self.basis
        _, _, blockers = self._before(node)
        when = None if basis.pour_h is None else When(basis.pour_h)
        placed = Placed(node, basis.pour_h, basis.pour_h, blockers, [], when, hands_h=basis.hands_h(node.step))
        if basis.poured:
            placed.done_h = placed.closed_h = placed.plan_h = placed.count_h = placed.end_h = basis.pour_h
            placed.blockers = ()
        elif basis.pour_h is not None:
            plan_before(node, basis.pour_h, self.placed)
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
        mets = answers_of(node, at) if at is not None else []
        since_h = -math.inf if floor_h is None else floor_h
        now_h = basis.now_h if closed_h is None else -math.inf
        when = together(mets, since_h, now_h) if at is not None else None
        timed = binding_first(mets, since_h, now_h)
        placed = Placed(node, from_h, floor_h, blockers, timed, when, hands_h=basis.hands_h(step), closed_h=closed_h)
        placed.recorded = bool(event or skip)
        placed.stopped_by = stopped_by(step, basis, self.graph)
        if at is not None:
            placed.late_h = latest_start(node, at, basis.first_h, self._fresh_floor_h(node, floor_h), when)
        if event is not None:
            placed.done_h = placed.plan_h = placed.count_h = placed.end_h = closed_h
            return placed
        if skip is not None and node.occurrence:  # the next of a row counts from here
            placed.count_h = placed.end_h = closed_h
            return placed
        if closed_h is not None or step.optional:  # what stands before it still stands before its followers
            placed.passes_through = True
            placed.count_h, placed.end_h = from_h, floor_h
        if closed_h is not None:
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
        placed.last_answer = next((a for a in reversed(answers) if a.at_h <= basis.now_h), None)
        when, floor_h = placed.when, placed.floor_h

        window = window_of(mets, floor_h, basis.now_h)
        placed.window_h = window.open_h

        def gate() -> Gate:
            return gate_for(step, when, with_check(node, at, floor_h), floor_h, window.check_h)

        placed.ask_gate = gate
        if answers:
            placed.passed_h = passed_since(answers, placed.gate.counts_from_h, basis.now_h)
        if step.hold == "no" and when is not None:
            placed.ask_gate = None  # it opens by its rules
        if placed.late_h is not None:
            placed.redo_h = passed_since(answers, placed.late_h, basis.now_h)
        moment_h = start.centre
        if step.hold == "yes" and not step.check and placed.when is not None:
            moment_h = start.slow
        if placed.passed_h is not None:
            moment_h = max(min(moment_h, placed.passed_h), window.open_h)
        placed.moment_h = moment_h
        self._plan(placed, moment_h, start.centre)

    def _plan(self, placed: Placed, moment_h: float, ready_h: float) -> None:
        basis, node = self.basis, placed.node
        if any(met.missing == "temperature" for met, _ in placed.mets) and placed.passed_h is None:
            return
        if placed.stopped_by:
            return
        placed.plan_h = None
        placed.agreed = basis.agreed.get(node.id)
        plan_before(node, ready_h if math.isfinite(ready_h) else placed.floor_h, self.placed)
        floors = [placed.floor_h or -math.inf, basis.now_h, moment_h, basis.history.later_h.get(node.id, -math.inf)]
        for other, lead_h in node.leads:
            pred = self.placed.get(other)
            if pred is not None and pred.end_h is not None and not (pred.passes_through and pred.done_h is None):
                floors.append(pred.end_h + lead_h)
        if placed.agreed is not None:
            floors.append(placed.agreed.start_h)
        plan_h = max(floors)
        if plan_h == math.inf:
            return
        placed.plan_h = plan_h
        if placed.node.step.until is not None and placed.end_h is not None:  # followers count from its end
            if node.occurrence <= 1:
                placed.count_h = placed.end_h = max(placed.end_h, plan_h)
        elif placed.passes_through:
            placed.count_h, placed.end_h = placed.from_h, placed.floor_h
        else:
            placed.count_h, placed.end_h = plan_h, plan_h + (0.0 if placed.is_lost(basis.now_h) else placed.hands_h)

    def _situation(self, node: Node, from_h: float | None, closed_h: float | None) -> Situation | None:
        """None for steps before the pour (their clock has not begun) and while no pour is planned."""
        basis = self.basis
        if basis.pour_h is None and node.id not in self.graph.before_pour:
            return None
        since = self.placed.get(node.since) if node.since else None
        before = node.after if node.step.recoat is not None else ()
        coats = [p for name in before if (p := self.placed.get(name)) and p.node.step.kind == "coat"]
        every = node.step.every
        wanted = node.step.not_before.drying_h is not None or (every is not None and every.drying_kg_m2 is not None)
        wanted = wanted or (node.step.with_check is not None and node.step.with_check.drying_h is not None)
        return Situation(
            basis.now_h, basis.course, basis.mix, basis.clocks, basis.set_clocks, basis.materials, basis.slab,
            basis.pour_h if basis.pour_h is not None else basis.now_h, from_h,
            since.count_h if since else None,
            _latest_known([p.count_h for p in coats]) if coats else from_h,
            _latest_known([p.end_h for p in coats]) if coats else from_h,
            faces_of(node, or_never(closed_h), basis, self.graph, self.placed) if wanted else Faces(-math.inf),
        )  # fmt: skip


def _latest_known(times: list[float | None]) -> float | None:
    known = [at_h for at_h in times if at_h is not None]
    return max(known) if known and len(known) == len(times) else None
