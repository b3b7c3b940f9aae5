"""What keeps a step shut whatever its own rules say."""

from curetrack.instants import to_h
from curetrack.profile.types import Step
from curetrack.timeline.graph import Graph
from curetrack.timeline.placed import Basis

__all__ = ["stopped_by"]


def stopped_by(step: Step, basis: Basis, graph: Graph) -> str:
    """frost: a lift or a coat of a piece that froze young; wax: a film on a waxed face; empty: nothing."""
    if basis.spoilt and step.kind in ("lift", "coat"):
        return "frost"
    if step.family in ("film", "resin") and _waxed(basis, graph):
        return "wax"
    return ""


def _waxed(basis: Basis, graph: Graph) -> bool:
    """Wax went on, wherever its step stands, and nothing was ground off since."""
    events = basis.history.done
    done = [(to_h(events[node.id].at), node.step) for node in graph.nodes.values() if node.id in events]
    waxed_h = max((at_h for at_h, step in done if step.family == "wax"), default=None)
    return waxed_h is not None and not any(at_h > waxed_h and step.kind == "grind" for at_h, step in done)
