"""Warnings of the conditions that a maker should hear of wherever they are, over all pieces at once. Pure."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from msgspec.structs import replace

from curetrack.nudge.moments import hangs_on_overdue
from curetrack.nudge.types import Grade, Moment
from curetrack.timeline.types import Alert, Timeline

__all__ = ["conditions_of"]

NIGHT = time(20, 0)  # the evening before a frost: time to cover and to warm (case C2)
STALE_FROM_h = 12.0
ACT_kg_m2_h = 1.0  # evaporation at which something must be done (timeline/alerts.py)
TOLD: dict[str, Grade] = {
    "frost": "ruin", "frost_unknown": "step", "suspect": "step", "placing": "step", "mix_hot": "step",
    "cold_cure": "step", "cooling": "step", "evaporation": "step", "condensation": "step", "clash": "step",
    "no_temperature": "step", "stale": "info",
}  # fmt: skip
OF_A_STEP = ("condensation", "clash")
# What goes on for days is told once a day, and not at midnight: a day begins in the morning; a night of frost ends
# at noon, and has the date of its morning (common practice, no source).
DAY_BEGINS, NIGHT_ENDS = timedelta(hours=8), timedelta(hours=12)


def conditions_of(timelines: Iterable[Timeline], zone: tzinfo) -> list[Moment]:
    """One moment for each condition of one day (the frost also on the evening before), with all pieces it concerns."""
    found: dict[str, Moment] = {}
    for timeline in timelines:
        for alert in timeline.alerts:
            if not timeline.dropped and _worth_telling(alert, timeline):
                for moment in _of_alert(alert, timeline, zone):
                    found[moment.key] = _joined(found.get(moment.key), moment)
    return list(found.values())


def _worth_telling(alert: Alert, timeline: Timeline) -> bool:
    if alert.rule == "stale":
        return alert.value is None or alert.value >= STALE_FROM_h
    if alert.rule == "clash" and (line := timeline.line(alert.step)) is not None and hangs_on_overdue(line, timeline):
        return False
    return alert.rule in TOLD


def _of_alert(alert: Alert, timeline: Timeline, zone: tzinfo) -> list[Moment]:
    now = timeline.now
    when = alert.at if alert.at is not None and alert.rule not in ("stale", "no_temperature") else now
    day = _occasion(alert, when.astimezone(zone)).isoformat()
    of_step = alert.rule in OF_A_STEP and alert.step
    group = f"{alert.rule}/{timeline.piece}/{alert.step}/{day}" if of_step else f"{alert.rule}/{day}"
    line = timeline.line(alert.step) if of_step else None
    known = Moment(
        key=group, group=group, kind="conditions", rung="known", grade=_grade(alert), at=now, piece=timeline.piece,
        step=alert.step if of_step else "", alert=alert, pieces=(timeline.piece,), line=line,
    )  # fmt: skip
    night = _night_before(alert, zone) if alert.rule == "frost" else None
    if night is None:
        return [known]
    return [known, replace(known, key=f"{group}/night", rung="night", at=night)]


def _occasion(alert: Alert, local: datetime) -> date:
    """The date by which it is known: the same from when it comes into sight until it is over."""
    return (local + NIGHT_ENDS if alert.rule == "frost" else local - DAY_BEGINS).date()


def _grade(alert: Alert) -> Grade:
    if alert.rule == "frost" and alert.subject == "maybe":
        return "step"
    if alert.rule == "evaporation" and (alert.value or 0.0) >= ACT_kg_m2_h:
        return "ruin"
    return TOLD[alert.rule]


def _night_before(alert: Alert, zone: tzinfo) -> datetime | None:
    """The last evening before it comes."""
    if alert.at is None:
        return None
    day = alert.at.astimezone(zone).date()
    for each in (day, day - timedelta(days=1)):
        evening = datetime.combine(each, NIGHT, zone).astimezone(UTC)
        if evening < alert.at:
            return evening
    return None


def _joined(first: Moment | None, more: Moment) -> Moment:
    """The graver of two, for both pieces."""
    if first is None:
        return more
    pieces = tuple(dict.fromkeys((*first.pieces, *more.pieces)))
    graver = more if more.grade == "ruin" and first.grade != "ruin" else first
    return replace(graver, pieces=pieces, at=min(first.at, more.at))
