"""For a list of what is next, most of a timeline need not be worked out: which nodes must be, all the same?"""

from collections.abc import Iterable

from curetrack.timeline.graph import POUR, Graph, Node
from curetrack.timeline.history import History

__all__ = ["followers_of", "wanted_for_next", "with_all_before"]


def wanted_for_next(graph: Graph, history: History, *, poured: bool) -> set[str]:
    """The nodes that may come next, all that are closed, and whatever either of them is computed from.

    A step that must be done some hours before another one (`before`) is planned by that other one, which again hangs on
    the steps before it.
    """
    look = _Look(graph, history, poured=poured)
    closed = {node.id for node in graph.nodes.values() if look.closed(node)}
    free = [node.id for node in graph.nodes.values() if node.id not in closed and not look.blocked(node)]
    return with_all_before(graph, set(), [*closed, *free], closed)


def followers_of(graph: Graph) -> dict[str, list[str]]:
    """Of a step with `before`: the steps that it must precede."""
    found: dict[str, list[str]] = {}
    for node in graph.nodes.values():
        for lead, _ in node.leads:
            found.setdefault(lead, []).append(node.id)
    return found


def with_all_before(
    graph: Graph, wanted: set[str], more: Iterable[str], closed: frozenset[str] | set[str] = frozenset()
) -> set[str]:
    """`wanted`, with `more` and everything that those are computed from. A closed step needs no follower to plan it."""
    todo, followers, wanted = list(more), followers_of(graph), set(wanted)
    while todo:
        node_id = todo.pop()
        if node_id in wanted or node_id not in graph.nodes:
            continue
        wanted.add(node_id)
        node = graph.nodes[node_id]
        todo += [
            *node.after,
            *(lead for lead, _ in node.leads),
            *(() if node_id in closed else followers.get(node_id, ())),
        ]
        todo += [node.since] if node.since else []
    return wanted


class _Look:
    """Which nodes are closed and which wait for another, by the facts alone. Where only the clock can tell (a repeat
    that ends by maturity), it says "not blocked": one node too many does no harm."""

    def __init__(self, graph: Graph, history: History, *, poured: bool) -> None:
        self.graph, self.history, self.poured = graph, history, poured
        self.seen: dict[str, bool] = {}

    def closed(self, node: Node) -> bool:
        if node.id in self.history.done or node.id in self.history.skipped or node.ended:
            return True
        return self.poured and (node.id == POUR or node.id in self.graph.before_pour)

    def blocked(self, node: Node) -> bool:
        known = self.seen.get(node.id)
        if known is None:
            self.seen[node.id] = False  # a circle cannot come this far; the entry ends any
            names = [*node.after, *(lead for lead, _ in node.leads)]
            known = self.seen[node.id] = any(self._blocks(name) for name in names) or (
                not node.after and not self.poured and node.id not in self.graph.before_pour and node.id != POUR
            )
        return known

    def _blocks(self, name: str) -> bool:
        node = self.graph.nodes.get(name)
        if node is None:
            return name == POUR and not self.poured
        if self.closed(node) or node.step.until is not None:
            return False
        return self.blocked(node) if node.step.optional else True
