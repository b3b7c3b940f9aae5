"""Which faces lay open since when, and when the piece was wetted last: what the drying clock of one step counts."""

from curetrack.instants import to_h
from curetrack.timeline.drying import FACES_OPEN, Faces
from curetrack.timeline.graph import Graph, Node
from curetrack.timeline.placed import Basis, Placed

__all__ = ["faces_of"]


def faces_of(node: Node, until_h: float, basis: Basis, graph: Graph, placed: dict[str, Placed]) -> Faces | None:
    """Wettings and covers up to an instant: what was done, and what is planned among the steps that it follows. None if
    one of these will wet the piece and nobody can say when."""
    ahead = _ancestors(node, placed)
    wet_h = [basis.pour_h if basis.pour_h is not None else basis.now_h]
    changes: list[tuple[float, float]] = []
    for other in graph.nodes.values():
        step = other.step
        at_h = _happens(other, ahead, basis, placed) if step.wets or step.leaves is not None else None
        if at_h is None and step.wets and other.id in ahead and not step.optional and placed[other.id].is_open:
            return None
        if at_h is None or at_h > until_h:
            continue
        if step.wets:  # a repeat that is still open wets until it ends
            known = placed.get(other.id)
            ends_h = known.end_h if known is not None and known.done_h is None and step.until else None
            wet_h.append(at_h if ends_h is None else ends_h)
        if step.leaves is not None:
            changes.append((at_h, FACES_OPEN[step.leaves]))
    return Faces(max(wet_h), tuple(sorted(changes, key=lambda change: change[0])))


def _happens(node: Node, ahead: set[str], basis: Basis, placed: dict[str, Placed]) -> float | None:
    """When a step was done, wherever it stands; one of those ahead: its plan, or when it ended by itself."""
    event = basis.history.done.get(node.id)
    if event is not None:
        return to_h(event.at)
    known = placed.get(node.id)
    if known is None or known.done_h is not None:
        return known.done_h if known is not None else None
    if node.id not in ahead or node.step.optional:
        return None
    if known.is_open and node.step.until is not None and known.plan_h is not None and known.end_h is not None:
        return min(known.plan_h, known.end_h)  # of a row that ends before its next one is due that one never comes
    if known.is_open:
        return known.plan_h
    lasted = node.step.until is not None and known.end_h is not None and known.end_h == known.closed_h
    return known.end_h if lasted and not known.recorded else None


def _ancestors(node: Node, placed: dict[str, Placed]) -> set[str]:
    seen: set[str] = set()
    todo = [*node.after, *(lead for lead, _ in node.leads)]
    while todo:
        other = todo.pop()
        if other in placed and other not in seen:
            seen.add(other)
            todo += placed[other].node.after
    return seen
