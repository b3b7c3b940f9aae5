"""`when`: the best three pours side by side, why each, and why the obvious ones are worse."""

from collections.abc import Mapping

from curetrack.cli.layout import Row, Span, row, table
from curetrack.instants import from_h
from curetrack.settings import Settings
from curetrack.shop.foresight import ASSUMED_degC, ASSUMED_pct, Prospects
from curetrack.timeline.planning.choice import Choice
from curetrack.words.amounts import size, temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, brief, duration, moment
from curetrack.words.pours import few_text, why_pour
from curetrack.words.voice import Voice

__all__ = ["when_rows"]

BEST = 3
LABELS = {"now": "Now", "saturday": "Saturday morning"}


def when_rows(found: Prospects, voice: Voice, settings: Settings, width: int) -> list[Row]:
    """The whole screen."""
    best = found.days[:BEST]
    if not best:
        return [row("No pour is in sight.", flat=True)]
    shape = found.outlined.shape
    sized = size((shape.length_m, shape.width_m, shape.thickness_m), voice.system)
    what = clean(found.outlined.name) or "A piece"
    rows = [
        row(
            Span(f"When to pour: {what}", "title"), Span(f" · {clean(found.outlined.profile.name)}, {sized}"), flat=True
        )
    ]
    rows += [row(Span(text, "dim"), flat=True) for text in _assumed(found, voice, settings)]
    few = few_text(best[0], found.people)
    rows += [row(Span(few, "alarm"), flat=True)] if few else []
    rows.append(row())
    rows += table(("", *(_rank(number) for number in range(len(best)))), _side_by_side(found, best, voice), width)
    for number, choice in enumerate(best):
        rows += [row(), _why(f"{_rank(number)}: {_at(choice.pour_h, voice)}. ", choice, best[0], voice, settings)]
    for label, choice in found.obvious:
        rows += [row(), _why(f"{LABELS[label]}, {_at(choice.pour_h, voice)}: ", choice, best[0], voice, settings)]
    need_by = found.outlined.need_by
    if need_by is not None and not any(c.done_h is not None and from_h(c.done_h) <= need_by for c in found.days):
        rows += [row(), row(Span("No pour of that stretch is done in time. ", "alarm"), _sooner(), flat=True)]
    return rows


def _sooner() -> str:
    return "Sooner by a faster mix, a warmer shop, more hours or another sealer: curetrack compare shows by how much."


def _rank(number: int) -> str:
    return ("best", "second", "third")[number]


def _why(head: str, choice: Choice, best: Choice, voice: Voice, settings: Settings) -> Row:
    return row(Span(head, "head"), why_pour(choice, best, voice, hours=bool(settings.hours)), flat=True, hang=2)


def _at(at_h: float | None, voice: Voice) -> str:
    return "not in sight" if at_h is None else moment(about(from_h(at_h)), voice)


def _brief(at_h: float | None, voice: Voice) -> str:
    return "not in sight" if at_h is None else brief(about(from_h(at_h)), voice)


def _side_by_side(found: Prospects, best: "tuple[Choice, ...]", voice: Voice) -> list[tuple[str, ...]]:
    rows = [("pour", *(brief(from_h(choice.pour_h), voice) for choice in best))]
    for label, step in _milestones(found):
        rows.append((label, *(_brief(dict(choice.marks).get(step), voice) for choice in best)))
    rows.append(("all done", *(_brief(choice.done_h, voice) for choice in best)))
    rows.append(("at the latest", *(_brief(choice.slow_h, voice) for choice in best)))
    if found.outlined.need_by is not None:
        rows.append(("to spare", *(_spare(choice, found) for choice in best)))
    rows.append(("visits", *(str(choice.cost.visits) for choice in best)))
    for label, hours in (
        ("windows missed", [c.cost.late_h for c in best]), ("at night", [c.cost.night_h for c in best]),
        ("outside hours", [c.cost.outside_h for c in best]), ("band outside hours", [c.watch_h for c in best]),
    ):  # fmt: skip
        if any(hour >= 1.0 / 60.0 for hour in hours):
            rows.append((label, *(duration(hour) if hour >= 1.0 / 60.0 else "-" for hour in hours)))
    return rows


def _spare(choice: Choice, found: Prospects) -> str:
    need_by = found.outlined.need_by
    if need_by is None or choice.done_h is None:
        return "?"
    hours = (need_by - from_h(choice.done_h)).total_seconds() / 3600.0
    return duration(hours) if hours >= 0.0 else f"{duration(-hours)} too late"


def _milestones(found: Prospects) -> list[tuple[str, str]]:
    """The strip, the flip, the first fill and the first coat, as far as the profile has them."""
    marks = [step for step, _ in sorted(found.days[0].marks, key=lambda mark: mark[1])]
    kinds = {step.id: step.kind for step in found.outlined.profile.steps}
    crews = {step.id for step in found.outlined.profile.steps if step.crew == "flip" and not step.optional}
    shown: list[tuple[str, str]] = [("strip", "strip")] if "strip" in marks else []
    shown += [("flip", step) for step in marks if step in crews][:1]
    for label, kind in (("first fill", "fill"), ("first coat", "coat")):
        named = [step for step in marks if _kind(step, kinds) == kind and not step.startswith(("try", "colour"))]
        shown += [(label, step) for step in named[:1]]
    return shown


def _kind(step: str, kinds: Mapping[str, str]) -> str:
    """Of a step, of one of its coats, or of a round."""
    return next((kinds[name] for name in (step, step.rpartition("-")[0], step.partition(".")[0]) if name in kinds), "")


def _assumed(found: Prospects, voice: Voice, settings: Settings) -> list[str]:
    said = [f"hours {settings.hours or 'any time'}", f"crew {found.people}"]
    said += [f"crew comes {clean(settings.crew_hours)}"] if settings.crew_hours and found.people > 1 else []
    said += [f"away {settings.away}"] if settings.away else []
    if "temperature" in found.assumed:
        said.append(f"{temperature(ASSUMED_degC, voice.system)} (nothing measured, no forecast)")
    if "humidity" in found.assumed:
        said.append(f"humidity {ASSUMED_pct:.0f} % (nothing measured)")
    said.append(f"{found.others} other piece{'' if found.others == 1 else 's'} on the go")
    lines = [f"Assumed: {'; '.join(said)}."]
    named = [word for word in ("profile", "size") if word in found.assumed]
    if named:
        options = " and ".join(f"--{word}" for word in named)
        lines.append(f"No {' and no '.join(named)} named: the default is taken ({options}).")
    return lines
