"""From the graph of one piece to jobs: what the walk knows already, and the rules of deeper steps in numbers."""

import math

from msgspec.structs import replace

from curetrack.instants import or_never
from curetrack.profile.types import Rules
from curetrack.timeline.crew import crew_needed
from curetrack.timeline.drying import FACES_OPEN
from curetrack.timeline.graph import POUR, Graph, Node
from curetrack.timeline.placed import Basis, Placed, gone_h, is_lost
from curetrack.timeline.planning.calendar import Need
from curetrack.timeline.planning.job import Drying, Job, needs_of
from curetrack.timeline.planning.limits import closes_h, ends_h
from curetrack.timeline.planning.links import ancestors, followers, mark_just_in_time, passed, tied
from curetrack.timeline.rules import Situation, air, cool_gap, dew_margin, slab
from curetrack.timeline.walk import Walk

__all__ = ["Compiled"]


class Compiled:
    """The jobs of one piece. What hangs on no time is worked out once, what counts from the pour again for each."""

    def __init__(self, basis: Basis, graph: Graph, *, untouched: bool) -> None:
        self.basis = basis
        self._graph, self._untouched = graph, untouched
        self.jobs: list[Job] = []
        self.number: dict[str, int] = {}
        self._before: list[int] = []  # of each job all that come before it, as bits
        self._settle()
        self.successors = followers(self.jobs, self.number)
        mark_just_in_time(self.jobs, self._before)
        self.passed = [passed(self.jobs, row) for row in self.successors]
        self.tied = [tied(self.jobs, self.successors, row) for row in self.successors]

    def is_early(self, job: Job) -> bool:
        """Whether it comes before the pour."""
        return job.id in self._graph.before_pour

    def retime(self, basis: Basis, *, slow: bool) -> None:
        """All that counts from the pour, for another pour. `slow`: by the slow side of every band."""
        self.basis = basis
        for job in self.jobs:
            job.slow = slow or (job.node.step.hold == "yes" and not job.node.step.check)
            job.drying = None if job.drying is None else replace(job.drying, slow=job.slow)
            if job.id == POUR:
                job.start_h = job.count_h = job.end_h = basis.pour_h
            elif job.ok and not job.closed:
                job.base_h = self._base_h(job.node)
                if job.lost:  # for another pour
                    (job.need, job.nobody), job.lost = self._work_of(job.node), False
                self._time(job)

    def _settle(self) -> None:
        """The walk's answer for all that hangs on no plan; the rest compiled."""
        walk, history = Walk(self.basis, self._graph, only_next=True), self.basis.history
        settled: set[str] = set() if POUR in self._graph.nodes else {POUR}
        for node in self._graph.nodes.values():
            job = self._new_job(node)
            first = not self._untouched and settled.issuperset(node.after) and all(n in settled for n, _ in node.leads)
            if node.id == POUR or first or node.id in history.done or node.id in history.skipped:
                placed = walk.placed[node.id] = walk.place(node)
                self._from_walk(job, placed)
                if node.id == POUR or not placed.is_open or placed.passes_through:
                    settled.add(node.id)
            else:
                self._compile(job)
            self.number[node.id] = job.index
            self.jobs.append(job)

    def _new_job(self, node: Node) -> Job:
        step = node.step
        number = self.number
        need, nobody = self._work_of(node)
        after = tuple([number[other] for other in node.after if other in number])
        leads = tuple([(number[other], lead_h) for other, lead_h in node.leads if other in number])
        job = Job(
            len(self.jobs), node.id, node, need, after, leads, base_h=self._base_h(node), nobody=nobody,
            is_window=step.no_later is not None or (step.recoat is not None and step.recoat.to_h is not None),
            later_h=self.basis.history.later_h.get(node.id, -math.inf),
        )  # fmt: skip
        self._before.append(ancestors(self._before, job))
        return job

    def _work_of(self, node: Node) -> tuple[Need, bool]:
        """What a step wants of the calendar; and whether it is a rest that wants nobody."""
        step = node.step
        need = Need(self.basis.hands_h(step), crew_needed(step, self.basis.slab, self.basis.mix), step.loud)
        return need, step.kind in ("rest", "dry") and need.hands_h <= 0.0 and not step.check and need.people <= 1

    def _base_h(self, node: Node) -> float:
        """Where a step counts from that follows none of the others."""
        if not node.after:
            early = node.id in self._graph.before_pour
            return self.basis.created_h if early else or_never(self.basis.pour_h)
        pour_alone = POUR in node.after and POUR not in self._graph.nodes
        return or_never(self.basis.pour_h) if pour_alone else -math.inf

    def _from_walk(self, job: Job, placed: Placed) -> None:
        job.closed = not placed.is_open
        job.through = placed.passes_through
        job.start_h, job.count_h, job.end_h = placed.done_h, placed.count_h, placed.end_h
        if job.id == POUR:
            job.closed, job.start_h = True, placed.plan_h if placed.plan_h is not None else self.basis.pour_h
            return
        if job.closed:
            lasted = job.node.step.until is not None and not placed.recorded and placed.end_h == placed.closed_h
            job.start_h = placed.done_h if placed.done_h is not None else placed.end_h if lasted else None
            return
        job.start_h = None
        job.ok = placed.plan_h is not None and placed.moment_h is not None
        job.moment_h = placed.moment_h if placed.moment_h is not None else -math.inf
        job.late_h = placed.late_h
        if placed.is_lost(self.basis.now_h):
            _lose(job)
        if job.node.step.until is not None and placed.end_h is not None:
            job.until_h = placed.end_h
        since_h = max(self.basis.now_h, placed.floor_h if placed.floor_h is not None else self.basis.now_h)
        job.spans = tuple(tuple(met.spans(since_h, "centre")) for met, _ in placed.mets if met.spans is not None)
        if job.through:
            job.count_h = job.end_h = None

    def _compile(self, job: Job) -> None:
        """What hangs on no time at all; then what hangs on the pour."""
        basis, step, node = self.basis, job.node.step, job.node
        rules = step.not_before
        job.through = step.optional
        job.slow = step.hold == "yes" and not step.check
        if not basis.course.has_temperature and _wants_warmth(rules):
            job.ok = False
            return
        job.wait_h = rules.wait_h
        if rules.hardening is not None:
            since = self.number.get(node.since) if rules.hardening.since else None
            clocks = basis.materials.get(rules.hardening.of, basis.clocks)
            job.hardening = clocks, rules.hardening.time_h, since
        if step.recoat is not None:
            job.recoat_h, job.recoat_to_h = step.recoat.from_h, step.recoat.to_h
            job.coats = tuple(other for other in job.after if self.jobs[other].node.step.kind == "coat")
        if step.every is not None and node.occurrence:
            job.row_h = step.every.most_h
        if step.no_later is not None:
            job.late_wait_h = step.no_later.wait_h
        job.needs = needs_of(rules, basis)
        if rules.drying_h is not None and basis.course.has_humidity and basis.course.has_temperature:
            job.drying = self._drying(job, rules.drying_h)
        if rules.air or rules.slab or rules.dew_margin or rules.cool_gap_K is not None:
            job.spans = self._spans_of(rules)
        job.hangs = any(rule is not None for rule in (job.wait_h, job.hardening, job.recoat_h, job.drying))
        self._time(job)

    def _time(self, job: Job) -> None:
        """What counts from the pour."""
        basis, step = self.basis, job.node.step
        pour_h, first_h = basis.pour_h, basis.first_h
        if pour_h is None or first_h is None:
            job.ok = job.ok and job.id in self._graph.before_pour
            return
        job.moment_h = -math.inf
        for need in job.needs:
            job.moment_h = max(job.moment_h, need(basis, pour_h, slow=job.slow))
        if step.not_before.age_h is not None:
            job.moment_h = max(job.moment_h, pour_h + step.not_before.age_h)
        if step.no_later is not None:
            job.late_h = closes_h(step.no_later, basis, first_h)
            job.late_from_h = first_h if job.node.after == (POUR,) else self._gone_h(job)
            if is_lost(step, _own_late_h(job), basis.now_h):
                _lose(job)
        if step.until is not None:
            job.until_h = ends_h(step.until, basis, pour_h)
        if job.drying is not None:
            job.drying = replace(job.drying, pour_h=pour_h)

    def _gone_h(self, job: Job) -> float | None:
        """As the walk has it (`Placed.gone_h`): when the steps before would have been over at the latest, if concrete
        has waited for none of them."""
        ends: list[float] = []
        for other in job.after:
            pred = self.jobs[other]
            step = pred.node.step
            end_h = gone_h(step, _own_late_h(pred), self.basis.hands_h(step), self.basis.now_h)
            if pred.closed or end_h is None:
                return None
            ends.append(end_h)
        return max(ends, default=None)

    def _spans_of(self, rules: Rules) -> tuple[tuple[tuple[float, float], ...], ...]:
        basis = self.basis
        at = Situation(
            basis.now_h, basis.course, basis.mix, basis.clocks, basis.set_clocks, basis.materials, basis.slab,
            basis.now_h, None, None, None, None, None,
        )  # fmt: skip
        mets = [met for rule in (air, slab, dew_margin, cool_gap) if (met := rule(at, rules)) is not None]
        return tuple(tuple(met.spans(basis.now_h, "centre")) for met in mets if met.spans is not None)

    def _drying(self, job: Job, need_h: float) -> Drying:
        basis, ahead, seen = self.basis, [], self._before[job.index]
        wet_h, changes = basis.now_h if basis.pour_h is None else -math.inf, []
        for other in self.jobs:
            step = other.node.step
            if not step.wets and step.leaves is None:
                continue
            share = None if step.leaves is None else FACES_OPEN[step.leaves]
            if other.closed:
                if other.start_h is None:
                    continue
                wet_h = max(wet_h, other.start_h) if step.wets else wet_h
                changes += [(other.start_h, share)] if share is not None else []
            elif seen >> other.index & 1 and not step.optional:
                ahead.append((other.index, step.wets, other.until_h, share))
        return Drying(need_h, wet_h, tuple(changes), tuple(ahead), job.slow)


def _own_late_h(job: Job) -> float | None:
    """The latest moment as far as it hangs on no plan."""
    known = [job.late_h] if job.late_h is not None else []
    if job.late_from_h is not None and job.late_wait_h is not None:
        known.append(job.late_from_h + job.late_wait_h)
    return min(known, default=None)


def _lose(job: Job) -> None:
    """It is too late for it: it is asked for, and wants neither hands nor a crew."""
    job.need, job.nobody, job.lost = Need(0.0), True, True


def _wants_warmth(rules: Rules) -> bool:
    """Whether one of the rules asks for a temperature."""
    needs = (rules.maturity_h, rules.set, rules.strength_MPa, rules.handling)
    return any(need is not None for need in needs) or bool(rules.hardening or rules.air or rules.slab)
