"""Whether a piece is finished, by its ticks alone, without any temperatures."""

from collections.abc import Sequence

from curetrack.facts import Event, Shape
from curetrack.profile.expand import expand
from curetrack.profile.types import Profile
from curetrack.timeline.graph import POUR, build_graph
from curetrack.timeline.history import read_history

__all__ = ["over_by_ticks"]


def over_by_ticks(shape: Shape, profile: Profile, events: Sequence[Event]) -> bool:
    """Poured, the profile's last step done or skipped, and so is every other that is neither optional nor a repeat.

    Says "no" when in doubt: a step that only some air at the pour makes optional, or a check that has run out since.
    """
    history = read_history(events)
    last = profile.steps[-1].id if profile.steps else ""
    if history.last_batch_h is None or history.closed_h(last) is None:
        return False
    graph = build_graph(expand(profile, shape), history, history.last_batch_h)
    waived = {POUR, *graph.before_pour}
    waived |= {node.id for node in graph.nodes.values() if node.ended or node.step.optional or node.step.until}
    return all(node_id in waived or history.closed_h(node_id) is not None for node_id in graph.nodes)
