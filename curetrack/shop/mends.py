"""Clashes of one piece with the cheapest mend that the planner's net finds; looked for when the piece is looked at."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from curetrack.instants import from_h, or_never
from curetrack.shop.planner import shared_of

if TYPE_CHECKING:
    from curetrack.hours.shared import Shared
    from curetrack.settings import Settings
    from curetrack.timeline.planning.job import Taken
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
    except Exception:  # whatever it is: a warning must not hang on its remedy
        import logging

        logging.getLogger("curetrack").exception("no mend was looked for: %s", ", ".join(steps))
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
    from curetrack.timeline.planning.sharing import hold_back

    shared, basis = shared_of(settings), prepared.basis
    held = _taken(plan, prepared, shared)
    may_move = not basis.poured and basis.pour_h is not None

    def net(made: "Prepared") -> Net:
        """What waits for a form that others have waits for it under other conditions, too."""
        found = Net(made.piece.name, made.basis, made.graph)
        hold_back(found, held, shared)
        return found

    tools = Tools(
        net(prepared),
        lambda temp_degC: net(again(temp_degC, None)),
        (lambda at_h: net(again(None, from_h(at_h)))) if may_move else None,
    )
    taken = plan.taken_beside(prepared.piece.name)
    return {step: find_mend(step, tools, rota_of(settings), taken) for step in steps}


def _taken(plan: "Plan", prepared: "Prepared", shared: "Sequence[Shared]") -> "dict[str, Taken]":
    """What the pieces that are poured before it have, and until when."""
    from curetrack.timeline.planning.sharing import taken_by

    before = [
        number
        for number, net in enumerate(plan.nets)
        if net.name != prepared.piece.name and or_never(net.basis.pour_h) < or_never(prepared.basis.pour_h)
    ]
    places = {number: place for place, number in enumerate(before)}
    spots = {(places[piece], job): spot for (piece, job), spot in plan.found.spots.items() if piece in places}
    return taken_by([plan.nets[number] for number in before], spots, shared)
