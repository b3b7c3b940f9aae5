"""Hand-made lines and reasons; the moment of speaking is Saturday 10 January 2026, 10:00 in Berlin (09:00 UTC)."""

import inspect
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from curetrack.timeline.types import Line, Timeline
from curetrack.units import System
from curetrack.words.voice import Voice

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 1, 10, 9, tzinfo=UTC)

__all__ = ["BERLIN", "NOW", "after", "documented", "line_with", "timeline_with", "voice"]


def after(hours: float) -> datetime:
    """So many hours after the moment of speaking."""
    return NOW + timedelta(hours=hours)


def voice(system: System = "metric") -> Voice:
    """A voice at that moment."""
    return Voice(NOW, BERLIN, system)


def line_with(*reasons: Any, **changes: Any) -> Line:
    """A waiting line of the step `strip` of the piece `bench`, open to do."""
    values: dict[str, Any] = {
        "piece": "bench", "step": "strip", "title": "Strip the side forms", "kind": "form", "state": "waiting",
        "hold": False, "check": None, "round": 1, "ready_at": None, "plan_at": None, "late_at": None, "done_at": None,
        "band": None, "band_method": None, "check_from": None, "opens_at": None, "reasons": reasons, "cautions": (),
        "crew": 1, "hands_on_h": 0.5, "open_to_do": True,
    }  # fmt: skip
    return Line(**{**values, **changes})


def timeline_with(*lines: Line, **changes: Any) -> Timeline:
    """A timeline of these lines, poured a day ago."""
    values: dict[str, Any] = {
        "piece": "bench", "profile_id": "bagged-tabletop", "now": NOW, "poured_at": after(-24), "planned_pour_at": None,
        "age_h": 24.0, "equivalent_age_h": 12.0, "strength_MPa": 2.1, "strength_band_MPa": (1.5, 2.8),
        "slab_degC": 11.0, "last_reading_at": after(-0.5), "mass_lift_kg": 175.0, "lines": lines, "alerts": (),
    }  # fmt: skip
    return Timeline(**{**values, **changes})


def documented(struct: type, label: str) -> set[str]:
    """The rules that a type's docstring lists behind `label`, up to the next label: the list that words must cover."""
    text = inspect.cleandoc(struct.__doc__ or "")  # 3.13 strips the indentation by itself
    _, found, rest = text.partition(label)
    assert found, f"{struct.__name__} no longer documents its rules"
    listed = rest.split("\nvalue,")[0].split("\nneed,")[0].rstrip(".")
    words = listed.replace("(subject: the input; source: the rule)", "").replace("\n", " ").split(",")
    return {word.strip() for word in words}
