"""The JSON contract: format 1, ISO 8601 times with offset in the shop's zone, SI numbers with units in keys."""

from collections.abc import Iterable
from datetime import datetime, tzinfo
from typing import Any

from curetrack.timeline.crew import GripRow
from curetrack.timeline.types import Alert, Band, Line, Mend, Timeline
from curetrack.words.alerts import alert_said
from curetrack.words.cautions import caution_text
from curetrack.words.clean import clean
from curetrack.words.reasons import check_text, why_said
from curetrack.words.voice import Voice

__all__ = ["FORMAT", "grip_json", "iso", "sheet_json", "step_json", "today_json", "warning_json"]

FORMAT = 1


def iso(at: datetime | None, zone: tzinfo) -> str | None:
    """A time with its offset in the shop's zone, to the second; None stays None."""
    return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")


def step_json(line: Line, voice: Voice) -> dict[str, Any]:
    """STEP: one line of a timeline."""
    zone = voice.zone
    return {
        "piece": line.piece,
        "step": line.step,
        "title": clean(line.title),
        "kind": line.kind,
        "state": line.state,
        "hold": line.hold,
        "check": check_text(line),
        "round": line.round,
        "ready_at": iso(line.ready_at, zone),
        "plan_at": iso(line.plan_at, zone),
        "late_at": iso(line.late_at, zone),
        "done_at": iso(line.done_at, zone),
        "band": _band(line.band, zone),
        "band_method": _band(line.band_method, zone),
        "band_weather": _band(line.band_weather, zone),
        "check_from": iso(line.check_from, zone),
        "opens_at": iso(line.opens_at, zone),
        "why": why_said(line, voice),
        "cautions": [caution_text(key) for key in line.cautions],
        "crew": line.crew,
    }


def today_json(lines: Iterable[Line], voice: Voice) -> dict[str, Any]:
    """What is next, the most pressing first."""
    return {"format": FORMAT, "now": iso(voice.now, voice.zone), "steps": [step_json(line, voice) for line in lines]}


def sheet_json(timeline: Timeline, voice: Voice, grips: Iterable[GripRow] = ()) -> dict[str, Any]:
    """The cure sheet of one piece, done steps included; `grips` while a lift lies ahead."""
    return {
        "format": FORMAT,
        "piece": timeline.piece,
        "profile": timeline.profile_id,
        "poured_at": iso(timeline.poured_at, voice.zone),
        "age_h": rounded(timeline.age_h),
        "equivalent_age_h": rounded(timeline.equivalent_age_h),
        "strength_MPa": rounded(timeline.strength_MPa),
        "steps": [step_json(line, voice) for line in timeline.lines],
        "warnings": [warning_json(alert, voice, timeline.line(alert.step)) for alert in timeline.alerts],
        "handling": [grip_json(grip) for grip in grips],
    }


def grip_json(grip: GripRow) -> dict[str, Any]:
    """What a grip asks of the piece, and what is there; factors over the still bending."""
    centre, low, high = (rounded(factor) for factor in grip.factors)
    return {
        "grip": grip.answer.grip,
        "stress_MPa": rounded(grip.answer.stress_MPa),
        "rupture_needed_MPa": rounded(grip.answer.needed_MPa),
        "rupture_MPa": rounded(grip.answer.rupture_MPa),
        "strength_needed_MPa": rounded(grip.need_MPa),
        "strength_MPa": rounded(grip.have_MPa),
        "equivalent_age_needed_h": rounded(grip.from_h),
        "factor": centre,
        "factor_band": [low, high],
        "factor_needed": rounded(grip.wanted),
        "breaks_free": grip.breaks_free,
    }


def warning_json(alert: Alert, voice: Voice, line: Line | None = None) -> dict[str, Any]:
    """A warning with its number and its words."""
    return {
        "grade": alert.grade,
        "rule": alert.rule,
        "text": alert_said(alert, voice, line),
        "value": rounded(alert.value),
        "need": rounded(alert.need),
        "unit": alert.unit or None,
        "at": iso(alert.at, voice.zone),
        "until": iso(alert.until, voice.zone),
        "step": alert.step or None,
        **({"heavy": _heavy_json(alert.heavy)} if alert.rule == "short_crew" else {}),
        **({"mend": _mend_json(alert.mend, voice)} if alert.rule == "clash" else {}),
    }


def _heavy_json(lift: Alert | None) -> dict[str, Any] | None:
    """What a step that wants more people puts on their hands, and what is too much, in kg."""
    return None if lift is None else {"value": rounded(lift.value), "need": rounded(lift.need), "unit": lift.unit}


def _mend_json(mend: Mend | None, voice: Voice) -> dict[str, Any] | None:
    if mend is None:
        return None
    return {
        "rule": mend.rule, "value": rounded(mend.value), "unit": mend.unit or None, "at": iso(mend.at, voice.zone),
        "step": mend.step or None,
    }  # fmt: skip


def rounded(value: float | None) -> float | None:
    """To a thousandth: finer than that nothing here is known."""
    return None if value is None else round(value, 3)


def _band(band: Band | None, zone: tzinfo) -> list[str | None] | None:
    return None if band is None else [iso(band[0], zone), iso(band[1], zone)]
