"""Steps that only have to come before another one (`before`, `lead`): planned just in time, once that one is placed."""

from curetrack.timeline.graph import POUR, Node
from curetrack.timeline.placed import Placed

__all__ = ["plan_before"]


def plan_before(follower: Node, ready_h: float | None, placed: dict[str, Placed]) -> None:
    """Steps that must come before `follower`: at the latest `lead` before it is ready, planned just in time."""
    if ready_h is None:
        return
    leads = [(placed[other], lead_h) for other, lead_h in follower.leads if other in placed]
    for pred, lead_h in reversed(leads):
        if pred.done_h is not None:
            continue
        limits = [ready_h - lead_h]
        limits += [
            other.late_h - other.hands_h - _rests_h(pred, other)
            for other, _ in leads
            if pred.node.id in other.node.after and other.late_h is not None
        ]
        if pred.agreed is not None and pred.agreed.over_by_h is not None:
            limits = [max(limits[0], pred.agreed.over_by_h)]  # in the plan the follower comes later than it could
        pred.late_h = min([*limits, *([pred.late_h] if pred.late_h is not None else [])])
    for pred, lead_h in leads:
        if not pred.is_open or pred.late_h is None or pred.plan_h is None or pred.agreed is not None:
            continue  # closed, or a plan has chosen its moment
        if lead_h <= 0.0 and follower.id != POUR:
            continue  # part of the chain: nothing is gained by waiting
        earliest = max(
            [pred.plan_h] + [p.end_h for a in pred.node.after if (p := placed.get(a)) and p.end_h is not None]
        )
        pred.plan_h = max(earliest, pred.late_h - pred.hands_h)
        if not pred.passes_through:
            pred.count_h, pred.end_h = pred.plan_h, pred.plan_h + pred.hands_h


def _rests_h(pred: Placed, other: Placed) -> float:
    """How long a step is left alone before the next one, over its own hands: a `wait` counts from its start."""
    wait_h = other.node.step.not_before.wait_h
    return 0.0 if wait_h is None else max(0.0, wait_h - pred.hands_h)
