"""From the steps of a profile and what was done to the nodes of one timeline, in an order that can be walked once.

Coats and grits are expanded before (profile.expand). Here come the rounds (`again`, and a check that has expired)
and the repeats (`during`, `every`), whose number depends on the events.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from curetrack.facts import Event
from curetrack.instants import to_h
from curetrack.profile.types import Step
from curetrack.timeline.history import History

__all__ = ["POUR", "Graph", "Node", "build_graph"]

POUR = "pour"


class Node(Struct, frozen=True):
    """One line to be. `after`: ids of predecessors; `leads`: predecessors that must be done some hours earlier.

    occurrence   for a repeating step, 1 for the first, else 0
    ended        a planned round that a passed check has made needless, or a repeat that its end has closed
    closes_with  for a repeating step: the node whose doing ends it ("" if time does, or nothing)
    """

    id: str
    step: Step
    round: int = 1
    after: tuple[str, ...] = ()
    leads: tuple[tuple[str, float], ...] = ()
    occurrence: int = 0
    ended: bool = False
    closes_with: str = ""
    since: str = ""  # the node that hardening counts from, if not `after`


class Graph(Struct, frozen=True):
    """Nodes by id, in walking order. `last` maps a step id of the profile to the node that followers wait for."""

    nodes: dict[str, Node]
    last: dict[str, str]
    before_pour: frozenset[str]


def build_graph(steps: Sequence[Step], history: History, now_h: float) -> Graph:
    """The nodes of one piece. Steps come expanded; ids that no step has are left out of the edges."""
    by_id = {step.id: step for step in steps}
    rounds = _rounds(steps, by_id, history, now_h)
    nodes: list[Node] = []
    last: dict[str, str] = {}
    for step in steps:
        total, kept, group = rounds.get(step.id, (1, 1, frozenset()))
        nodes += [_round_node(step, number, group, by_id, ended=number > kept) for number in range(1, total + 1)]
        last[step.id] = _round_id(step.id, min(total, max(kept, 1)))
    nodes = [_follow_last(node, last, rounds, by_id) for node in nodes]
    nodes = [repeat for node in nodes for repeat in _repeats(node, last, history)]
    nodes = _with_leads(nodes, last, by_id)
    ordered = _walking_order(nodes)
    return Graph({node.id: node for node in ordered}, last, _ancestors_of_pour(ordered))


def _round_id(step_id: str, number: int) -> str:
    return step_id if number == 1 else f"{step_id}.{number}"


# --- rounds ------------------------------------------------------------------------------------------------------

Rounds = dict[str, tuple[int, int, frozenset[str]]]  # step id -> rounds shown, rounds wanted, the group's ids


def _rounds(steps: Sequence[Step], by_id: dict[str, Step], history: History, now_h: float) -> Rounds:
    found: Rounds = {}
    for step in steps:
        if step.again in by_id:
            group = _between(step.again, step.id, steps)
            found.update(dict.fromkeys(group, (*_count_rounds(step, history), group)))
        elif step.expires is not None:
            starter = step.id.removesuffix("-read")
            group = frozenset({step.id, starter} & by_id.keys())
            count = 1 + _times_expired(step, steps, history, now_h)
            found.update(dict.fromkeys(group, (count, count, group)))
    return found


def _between(first: str, last: str, steps: Sequence[Step]) -> frozenset[str]:
    """The steps from `first` to `last` along the predecessors, both included; repeating steps stay outside."""
    down, up = _reach(first, steps, forward=True), _reach(last, steps, forward=False)
    repeating = {step.id for step in steps if step.every is not None}
    return frozenset(((down & up) | {first, last}) - repeating)


def _reach(start: str, steps: Sequence[Step], *, forward: bool) -> set[str]:
    edges: dict[str, list[str]] = {}
    for step in steps:
        for other in step.after:
            edges.setdefault(*((other, []) if forward else (step.id, []))).append(step.id if forward else other)
    seen, todo = {start}, [start]
    while todo:
        for other in edges.get(todo.pop(), ()):
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


def _count_rounds(step: Step, history: History) -> tuple[int, int]:
    """Rounds shown and rounds wanted: as many as planned, fewer after a passed check, more when asked for."""
    said: list[tuple[float, str]] = [(at_h, "again") for at_h, step_id in history.again if _base(step_id) == step.id]
    said += [
        (to_h(event.at), "pass" if _passed(step_id, event, history) else "done")
        for step_id, event in history.done.items()
        if _base(step_id) == step.id
    ]
    wanted, done = step.rounds, 0
    for _, what in sorted(said, key=lambda s: (s[0], s[1] == "again")):
        if what == "again":
            wanted = max(wanted, done + 1)
            continue
        done += 1
        wanted = done if what == "pass" else max(wanted, done)
    return max(step.rounds, wanted), wanted


def _passed(step_id: str, event: Event, history: History) -> bool:
    """Whether the tick brought a pass along, or the last answer before it was one."""
    answers = [answer for answer in history.answers.get(step_id, []) if answer.at_h <= to_h(event.at)]
    return bool(answers) and answers[-1].passed


def _base(step_id: str) -> str:
    head, _, tail = step_id.rpartition(".")
    return head if head and tail.isdigit() else step_id


def _times_expired(step: Step, steps: Sequence[Step], history: History, now_h: float) -> int:
    """How often a passed check lost its worth before a follower was done: each time calls for one more round."""
    expiry = step.expires
    if expiry is None:
        return 0
    wets = {other.id for other in steps if other.wets}
    wet_h = sorted(to_h(event.at) for step_id, event in history.done.items() if _base(step_id) in wets)
    followers = [other.id for other in steps if step.id in other.after and other.id != f"{step.id}-read"]
    started_h = min((to_h(history.done[f].at) for f in followers if f in history.done), default=float("inf"))
    count = 0
    while True:
        done = history.done.get(_round_id(step.id, count + 1))
        if done is None:
            return count
        passed_h = to_h(done.at)
        wetted = expiry.after_wet and any(passed_h < wet < started_h for wet in wet_h)
        too_old = expiry.wait_h is not None and passed_h + expiry.wait_h < min(started_h, now_h)
        if not (wetted or too_old):
            return count
        count += 1


def _round_node(step: Step, number: int, group: frozenset[str], by_id: dict[str, Step], *, ended: bool) -> Node:
    if number == 1:
        since = step.not_before.hardening.since if step.not_before.hardening else ""
        return Node(step.id, step, 1, step.after, since=since)
    inner = tuple(_round_id(other, number) for other in step.after if other in group)
    outer = tuple(other for other in step.after if other not in group)
    if not inner:  # the group's first step: it follows the end of the round before
        enders = [other for other in group if by_id[other].again in group] or [
            other for other in group if by_id[other].expires is not None
        ]
        inner = tuple(_round_id(other, number - 1) for other in enders)
    since = step.not_before.hardening.since if step.not_before.hardening else ""
    if since in group:
        since = _round_id(since, number)
    return Node(_round_id(step.id, number), step, number, inner + outer, ended=ended, since=since)


def _follow_last(node: Node, last: dict[str, str], rounds: Rounds, by_id: dict[str, Step]) -> Node:
    """Steps outside a group wait for its last round."""
    own = rounds.get(node.step.id, (1, 1, frozenset()))[2]
    after = [last[other] if other in last and other not in own else other for other in node.after]
    known = tuple(dict.fromkeys([other for other in after if other == POUR or other in by_id or _base(other) in by_id]))
    since = last[node.since] if node.since in last and node.since not in own else node.since
    if known == node.after and since == node.since:
        return node
    return replace(node, after=known, since=since)


# --- repeats -----------------------------------------------------------------------------------------------------


def _repeats(node: Node, last: dict[str, str], history: History) -> Iterable[Node]:
    """A repeating step becomes one node for each time it was done, and one that is open; others stay one."""
    step = node.step
    if not step.during:
        yield node
        return
    start = last.get(step.during[0], step.during[0])
    closes_with = last.get(step.during[1], "") if len(step.during) > 1 else ""
    ended = bool(closes_with) and history.closed_h(closes_with) is not None
    number = 1
    while True:
        node_id = _round_id(step.id, number)
        before = _round_id(step.id, number - 1)
        after = (start, *node.after) if number == 1 else (before,)
        closed = history.closed_h(node_id) is not None
        again = step.every is not None
        yield replace(
            node, id=node_id, round=number, after=tuple(dict.fromkeys(after)), occurrence=number,
            ended=ended and not closed, closes_with=closes_with,
        )  # fmt: skip
        if not closed or not again:
            break
        number += 1
    last[step.id] = node_id


# --- edges and order ---------------------------------------------------------------------------------------------


def _with_leads(nodes: list[Node], last: dict[str, str], by_id: dict[str, Step]) -> list[Node]:
    leads: dict[str, list[tuple[str, float]]] = {}
    for node in nodes:
        if node.occurrence and node.id != last[node.step.id]:
            continue
        for follower in node.step.before:
            if follower == POUR or follower in by_id:
                leads.setdefault(follower, []).append((node.id, node.step.lead_h))
    return [_joined(node, tuple(leads.get(node.id, ())), _repeat_ends(node, last, by_id)) for node in nodes]


def _joined(node: Node, leads: tuple[tuple[str, float], ...], after: tuple[str, ...]) -> Node:
    if not leads and after == node.after:
        return node
    return replace(node, leads=leads, after=after)


def _repeat_ends(node: Node, last: dict[str, str], by_id: dict[str, Step]) -> tuple[str, ...]:
    """A follower of a repeating step waits for its open occurrence, which closes with the repeat."""
    if node.occurrence > 1:
        return node.after
    return tuple([last[o] if o in by_id and by_id[o].during and o != node.step.id else o for o in node.after])


def _walking_order(nodes: list[Node]) -> list[Node]:
    """Predecessors first, the profile's order otherwise. A repeat that ends with a node is walked after it."""
    waiting: dict[str, set[str]] = {}
    known = {node.id for node in nodes}
    for node in nodes:
        needs = {*node.after, *(lead for lead, _ in node.leads)} & known
        if node.closes_with in known:
            needs.add(node.closes_with)
        waiting[node.id] = needs
    ordered: list[Node] = []
    placed: set[str] = set()
    rest = nodes
    while rest:
        later: list[Node] = []
        for node in rest:
            if waiting[node.id] <= placed:
                ordered.append(node)
                placed.add(node.id)
            else:
                later.append(node)
        if len(later) == len(rest):  # the loader refuses circles; `pour` may be a step that others name
            ordered.extend(later)
            break
        rest = later
    return ordered


def _ancestors_of_pour(nodes: list[Node]) -> frozenset[str]:
    """Steps that come before the pour: those with `before = "pour"` and what they follow."""
    by_id = {node.id: node for node in nodes}
    found: set[str] = set()
    todo = [node.id for node in nodes if POUR in node.step.before]
    while todo:
        node_id = todo.pop()
        if node_id in by_id and node_id not in found and node_id != POUR:
            found.add(node_id)
            todo += [*by_id[node_id].after, *(lead for lead, _ in by_id[node_id].leads)]
    return frozenset(found)
