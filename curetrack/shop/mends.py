"""Clashes of one piece with the cheapest mend that the planner's net finds; looked for when the piece is looked at."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from curetrack.instants import from_h
from curetrack.shop.planner import log_fault, shared_of

if TYPE_CHECKING:
    from curetrack.settings import Settings
    from curetrack.timeline.planning.plan import Plan
    from curetrack.timeline.solve import Prepared
    from curetrack.timeline.types import Mend, Timeline

__all__ = ["Again", "mended"]

MOST = 2  # clashes of a piece that a mend is looked for
Again = Callable[[float | None, datetime | None], "Prepared"]  # the shop's temperature, the pour; None: as it is


def mended(timeline: "Timeline", plan: "Plan", prepared: "Prepared", settings: "Settings", again: Again) -> "Timeline":
    """The same timeline, its clashes with their mends. `again`: the piece under other conditions.

    What fails here leaves the warnings as they were, and goes to the log.
    """
    steps = [alert.step for alert in timeline.alerts if alert.rule == "clash"][:MOST]
    if not steps:
        return timeline
    try:
        found = _mends(steps, plan, prepared, settings, again)
    except Exception as error:  # whatever it is: a warning must not hang on its remedy
        log_fault(f"no mend was looked for: {', '.join(steps)}", error)
        return timeline
    alerts = (
        replace(alert, mend=found.get(alert.step)) if alert.rule == "clash" else alert for alert in timeline.alerts
    )
    return replace(timeline, alerts=tuple(alerts))


def _mends(
    steps: list[str], plan: "Plan", prepared: "Prepared", settings: "Settings", again: Again
) -> "dict[str, Mend | None]":
    from curetrack.hours.rota import rota_of
    from curetrack.timeline.planning.mend import Tools, find_mend
    from curetrack.timeline.planning.net import Net
    from curetrack.timeline.planning.sharing import taken_before, wait_for_shared

    shared, basis = shared_of(settings), prepared.basis
    held = taken_before(plan.nets, plan.found.spots, shared, prepared.piece.name)
    may_move = not basis.poured and basis.pour_h is not None

    def net(made: "Prepared") -> Net:
        """What waits for a form that others have waits for it under other conditions, too."""
        found = Net(made.piece.name, made.basis, made.graph)
        wait_for_shared(found, held, shared)
        return found

    tools = Tools(
        net(prepared),
        lambda temp_degC: net(again(temp_degC, None)),
        (lambda at_h: net(again(None, from_h(at_h)))) if may_move else None,
    )
    taken = plan.taken_beside(prepared.piece.name)
    return {step: find_mend(step, tools, rota_of(settings), taken) for step in steps}
