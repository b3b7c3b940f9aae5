"""`when`: the best three pours side by side, why each, and why the obvious ones are worse."""

from collections.abc import Mapping

from curetrack.cli.layout import Row, Span, row, stacked
from curetrack.instants import from_h
from curetrack.settings import Settings
from curetrack.shop.foresight import BEST, ASSUMED_degC, ASSUMED_pct, Prospects
from curetrack.timeline.planning.choice import Choice
from curetrack.words.amounts import size, temperature
from curetrack.words.clean import clean
from curetrack.words.helps import ask_text, few_text, helps_text
from curetrack.words.moments import about, brief, duration, moment
from curetrack.words.pours import WEEKS_h, why_pour
from curetrack.words.voice import Voice

__all__ = ["when_rows"]

LABELS = {"now": "Now", "saturday": "Saturday morning"}


def when_rows(found: Prospects, voice: Voice, settings: Settings, width: int) -> list[Row]:
    """The whole screen."""
    best = found.best
    heads = _heads(found)
    rows = [*_title(found, voice)]
    rows += [row(Span(text, "dim"), flat=True) for text in _assumed(found, voice, settings)]
    rows += _few(found)
    rows += _barred(found)
    rows.append(row())
    rows += stacked(("", *heads), _side_by_side(found, best, voice), width)
    for head, choice in zip(heads, best, strict=True):
        rows += [row(), _why(f"{head}: {_at(choice.pour_h, voice)}. ", choice, best[0], voice, settings)]
        if found.holds and choice is best[0] and (ask := ask_text(choice)):
            rows.append(row(Span(ask, "alarm"), flat=True, indent=2))
    if found.holds and len(best) < min(BEST, len(found.days)):
        rows += [row(), row("No other day of that stretch holds.", flat=True)]
    for label, choice in found.obvious:
        rows += [row(), _why(f"{LABELS[label]}, {_at(choice.pour_h, voice)}: ", choice, best[0], voice, settings)]
    return rows


def _title(found: Prospects, voice: Voice) -> list[Row]:
    shape, what = found.outlined.shape, clean(found.outlined.name) or "a piece"
    sized = size((shape.length_m, shape.width_m, shape.thickness_m), voice.system)
    profile = clean(found.outlined.profile.name)
    return [row(Span(f"When to pour: {what}", "title"), flat=True), row(f"{profile} · {sized}", flat=True)]


def _few(found: Prospects) -> list[Row]:
    lifts = {step.id for step in found.outlined.profile.steps if step.kind == "lift"}
    said = few_text(found.best[0], found.people, lifts)
    return [row(Span(said, "alarm" if found.counted else "dim"), flat=True)] if said else []


def _barred(found: Prospects) -> list[Row]:
    """Where no pour can be recommended: what stands in the way of the least bad, and what would help."""
    if found.holds:
        return []
    least = found.best[0]
    if any(fault.rule == "past_need" for fault in least.faults):
        said = "No pour of that stretch is done in time. "
    else:
        said = "No pour of that stretch can be recommended. "
    return [row(), row(Span(said, "alarm"), helps_text(least), flat=True)]


def _heads(found: Prospects) -> tuple[str, ...]:
    first = "best" if found.holds else "least bad"
    return (first, "second", "third")[: len(found.best)]


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
    rows.append(("at the latest", *(_slow(choice, voice) for choice in best)))
    rows += _full_use(found, best, voice)
    if found.outlined.need_by is not None:
        rows.append(("to spare", *(_spare(choice, found) for choice in best)))
    rows.append(("visits", *(str(choice.cost.visits) for choice in best)))
    for label, hours in (
        ("windows missed", [c.cost.late_h for c in best]),
        ("short of people", [c.alone_h for c in best]),
        ("at night", [c.cost.night_h for c in best]),
        ("outside hours", [c.cost.outside_h for c in best]),
        ("band outside hours", [c.watch_h for c in best]),
    ):
        if any(hour >= 1.0 / 60.0 for hour in hours):
            rows.append((label, *(duration(hour) if hour >= 1.0 / 60.0 else "-" for hour in hours)))
    return rows


def _full_use(found: Prospects, best: "tuple[Choice, ...]", voice: Voice) -> list[tuple[str, ...]]:
    """When the last step allows it, where that one is a rest: the work is done by then."""
    last = found.outlined.profile.steps[-1]
    ats = [dict(choice.marks).get(last.id) for choice in best]
    if last.kind != "rest" or all(at_h is None for at_h in ats):
        return []
    return [("full use", *(_brief(at_h, voice) for at_h in ats))]


def _slow(choice: Choice, voice: Voice) -> str:
    """By the slow side of every band."""
    if choice.slow_h is not None and choice.done_h is not None and choice.slow_h - choice.done_h > WEEKS_h:
        return "weeks later"
    return _brief(choice.slow_h, voice)


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
    said = [f"hours {settings.hours or 'any time'}", f"crew {found.people if found.counted else 'not counted'}"]
    said += [f"crew comes {clean(settings.crew_hours)}"] if settings.crew_hours and found.people > 1 else []
    said += [f"away {settings.away}"] if settings.away else []
    said += [f"extra hours {settings.extra}"] if settings.extra else []
    said += [f"quiet {settings.quiet_hours}"] if settings.quiet_hours else []
    if "temperature" in found.assumed:
        said.append(f"{temperature(ASSUMED_degC, voice.system)} (nothing measured, no forecast)")
    if "humidity" in found.assumed:
        said.append(f"humidity {ASSUMED_pct:.0f} % (nothing measured)")
    if found.held_degC is not None:
        said.append(f"{temperature(found.held_degC, voice.system)} as last measured, and no forecast")
    said.append(f"{found.others or 'no'} other piece{'' if found.others == 1 else 's'} on the go")
    lines = [f"Assumed: {'; '.join(said)}."]
    named = [word for word in ("profile", "size") if word in found.assumed]
    if named:
        options = " and ".join(f"--{word}" for word in named)
        lines.append(f"No {' and no '.join(named)} named: the default is taken ({options}).")
    return lines
