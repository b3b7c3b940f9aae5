"""Invented lines and timelines for tests of what is due: only what matters is said."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from curetrack.facts import NudgeFact
from curetrack.nudge.log import Log
from curetrack.nudge.types import Due, Nudge
from curetrack.timeline.types import Alert, Line, Timeline

__all__ = ["T0", "crash", "fail", "hours", "line", "settle_all", "tell", "timeline"]

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)


def hours(count: float) -> datetime:
    """So many hours after T0."""
    return T0 + timedelta(hours=count)


def line(step: str = "ease", **more: Any) -> Line:
    """A step that can be done since T0, unless more is said."""
    usual: dict[str, Any] = {
        "piece": "bench", "step": step, "title": step.capitalize(), "kind": "form", "state": "ready", "hold": False,
        "check": None, "round": 1, "ready_at": T0, "plan_at": T0, "late_at": None, "done_at": None, "band": None,
        "band_method": None, "check_from": None, "opens_at": None, "reasons": (), "cautions": (), "crew": 1,
        "hands_on_h": 0.5, "open_to_do": True, "floor_at": T0, "opened_at": T0,
    }  # fmt: skip
    return Line(**{**usual, **more})


def timeline(now: datetime, *lines: Line, alerts: Sequence[Alert] = (), piece: str = "bench", **more: Any) -> Timeline:
    """A poured piece with these lines."""
    usual: dict[str, Any] = {
        "piece": piece, "profile_id": "p", "now": now, "poured_at": T0 - timedelta(hours=24), "planned_pour_at": None,
        "age_h": 24.0, "equivalent_age_h": 24.0, "strength_MPa": 5.0, "strength_band_MPa": None, "slab_degC": 20.0,
        "last_reading_at": now, "mass_lift_kg": 100.0, "lines": tuple(lines), "alerts": tuple(alerts),
    }  # fmt: skip
    return Timeline(**{**usual, **more})


def tell(log: Log, nudges: Sequence[Nudge], now: datetime) -> Log:
    """All of them went out."""
    return log.with_facts(
        fact
        for nudge in nudges
        for fact in (
            _intent(nudge, now),
            _fact(nudge, "sent", now, {"mark": "1"}),
        )
    )


def fail(log: Log, nudges: Sequence[Nudge], now: datetime) -> Log:
    """Nobody took them: the channel says so, and then there is none left."""
    why: dict[str, object] = {"why": "no bus"}
    return crash(log, nudges, now).with_facts(
        _fact(nudge, "failed", now, why, channel) for nudge in nudges for channel in ("desktop", "")
    )


def crash(log: Log, nudges: Sequence[Nudge], now: datetime) -> Log:
    """They were in flight when the service was killed."""
    return log.with_facts(_intent(nudge, now) for nudge in nudges)


def settle_all(log: Log, found: Due, now: datetime) -> Log:
    """What needs no answer any more is written down."""
    return log.with_facts(
        NudgeFact(0, one.key, "answered", "", "", "", now, now, {"how": one.how, "group": one.group})
        for one in found.settled
    )


def _intent(nudge: Nudge, now: datetime) -> NudgeFact:
    told = nudge.moment
    return _fact(
        nudge, "intent", now, {"pieces": list(told.pieces), "grade": told.grade, "over": list(nudge.over)}
    )  # fmt: skip


def _fact(nudge: Nudge, phase: Any, now: datetime, body: dict[str, object], channel: str = "desktop") -> NudgeFact:
    told = nudge.moment
    both = {"attempt": nudge.attempt, "group": told.group, "kind": told.kind, "place": told.group}
    return NudgeFact(0, told.key, phase, channel, told.piece, told.step, nudge.due_at, now, {**both, **body})
