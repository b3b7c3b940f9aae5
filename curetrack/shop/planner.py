"""The plan of a shop: all its pieces on one calendar. Only where hours, days away, a crew's or quiet hours,
or what pieces share are set."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from curetrack.errors import fault_said

if TYPE_CHECKING:
    from datetime import datetime

    from curetrack.hours.shared import Shared
    from curetrack.settings import Settings
    from curetrack.timeline.planning.plan import Plan
    from curetrack.timeline.solve import Prepared

__all__ = ["is_planned", "log_fault", "plan_of", "plan_or_none", "shared_of"]


def is_planned(settings: "Settings") -> bool:
    """Whether anything is set that a plan has to fit."""
    hours = settings.hours or settings.away or settings.extra or settings.crew_hours or settings.quiet_hours
    return bool(hours or settings.shared)


def plan_of(
    pieces: "Sequence[Prepared]", settings: "Settings", now: "datetime", *, people: int | None = None
) -> "Plan":
    """Of pieces that are prepared for the same moment. `people`: so many can be called, whatever the settings say."""
    from curetrack.hours.rota import rota_of
    from curetrack.instants import to_h
    from curetrack.timeline.planning.called import called
    from curetrack.timeline.planning.net import Net
    from curetrack.timeline.planning.plan import plan_nets

    nets = [Net(each.piece.name, each.basis, each.graph) for each in pieces]
    rota = rota_of(settings)
    return plan_nets(nets, rota if people is None else called(rota, people), to_h(now), shared_of(settings))


def shared_of(settings: "Settings") -> "tuple[Shared, ...]":
    """What the pieces share."""
    from curetrack.hours.shared import read_shared

    return read_shared(settings.shared)[0] if settings.shared else ()


def plan_or_none(
    pieces: "Sequence[Prepared]", settings: "Settings", now: "datetime", *, people: int | None = None
) -> "Plan | None":
    """The same; None if the planner fails.

    Reminders must not hang on it: the times are then those of the rules alone, a warning on each piece says so, and the
    fault goes to the log with where it was.
    """
    try:
        return plan_of(pieces, settings, now, people=people)
    except Exception as error:  # whatever it is: no piece may be forgotten for it
        log_fault("the plan failed; times are those of the rules alone", error)
        return None


def log_fault(what: str, error: Exception) -> None:
    """A fault of the program to the log, with all of its trace; where no log is open, one line on standard error, with
    where it was."""
    import logging

    log = logging.getLogger("curetrack")
    if log.hasHandlers():
        log.error(what, exc_info=error)
    else:
        log.error("curetrack: %s (%s)", what, fault_said(error))
