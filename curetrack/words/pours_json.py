"""The JSON of `when`: format 1; costs in hours."""

from typing import Any

from curetrack.instants import from_h
from curetrack.settings import Settings
from curetrack.shop.foresight import ASSUMED_degC, ASSUMED_pct, Prospects
from curetrack.timeline.planning.choice import Choice
from curetrack.words.jsons import FORMAT, iso, rounded
from curetrack.words.pours import RISKS, why_pour
from curetrack.words.voice import Voice

__all__ = ["pours_json"]


def pours_json(found: Prospects, voice: Voice, settings: Settings) -> dict[str, Any]:
    """`options`: the best pour of each day, the best first; `obvious`: now and Saturday morning, where they are not
    among the best three."""
    best = found.days[0] if found.days else None
    return {
        "format": FORMAT,
        "assumed": _assumed(found, voice, settings),
        "options": [_option(choice, best, voice, settings) for choice in found.days],
        "obvious": [{"label": label, **_option(choice, best, voice, settings)} for label, choice in found.obvious],
    }


def _assumed(found: Prospects, voice: Voice, settings: Settings) -> dict[str, Any]:
    shape = found.outlined.shape
    return {
        "profile": found.outlined.profile.id,
        "size_m": [shape.length_m, shape.width_m, shape.thickness_m],
        "from": iso(found.start, voice.zone),
        "to": iso(found.end, voice.zone),
        "need_by": iso(found.outlined.need_by, voice.zone),
        "hours": settings.hours or None,
        "away": settings.away or None,
        "quiet_hours": settings.quiet_hours or None,
        "extra": settings.extra or None,
        "crew": found.people if found.counted else None,
        "crew_hours": settings.crew_hours or None if found.people > 1 else None,
        "crew_short": _crew_short(found),
        "temp_degC": ASSUMED_degC if "temperature" in found.assumed else rounded(found.held_degC),
        "humidity_pct": ASSUMED_pct if "humidity" in found.assumed else None,
        "other_pieces": found.others,
        "defaults": list(found.assumed),
        "judged": found.judged,
    }


def _crew_short(found: Prospects) -> dict[str, Any] | None:
    """The step that wants most, if it wants more people than can be called."""
    few = next(
        (fault for choice in found.days[:1] for fault in choice.faults if fault.rule == "few" and not fault.way), None
    )
    return None if few is None or few.value is None else {"step": few.step, "people": round(few.value)}


def _option(choice: Choice, best: Choice | None, voice: Voice, settings: Settings) -> dict[str, Any]:
    cost = choice.cost
    return {
        "pour_at": iso(from_h(choice.pour_h), voice.zone),
        "done_at": None if choice.done_h is None else iso(from_h(choice.done_h), voice.zone),
        "done_slow_at": None if choice.slow_h is None else iso(from_h(choice.slow_h), voice.zone),
        "holds": choice.holds,
        "why": why_pour(choice, best or choice, voice, hours=bool(settings.hours)),
        "costs": {
            "late_h": rounded(cost.late_h),
            "night_h": rounded(cost.night_h),
            "outside_h": rounded(cost.outside_h),
            "past_need_h": rounded(cost.past_need_h),
            "watch_h": rounded(choice.watch_h),
            "alone_h": rounded(choice.alone_h),
            "visits": cost.visits,
            "risks": [fault.rule for fault in choice.faults if fault.rule in RISKS],
        },
        "steps": {step: iso(from_h(at_h), voice.zone) for step, at_h in choice.marks},
    }
