"""The steps of a profile behind the lines of a timeline, and the line that a typed step name means. Pure."""

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from curetrack.errors import UnknownName
from curetrack.timeline.types import Line, Timeline

if TYPE_CHECKING:
    from curetrack.profile.types import Profile, Step

__all__ = ["POUR", "before_pour", "follows_pour", "later_for", "line_named", "round_of", "step_behind", "without_round"]

POUR = "pour"


def without_round(step_id: str) -> str:
    """`mist` of `mist.3`: rounds and repeats are numbered behind a dot."""
    return re.sub(r"\.\d+$", "", step_id)


def step_behind(profile: "Profile", step_id: str) -> "Step | None":
    """The profile's step that a line comes from: itself, a round (.2), a coat or grit (-2), the reading of a test."""
    plain = without_round(step_id)
    for name in (step_id, plain, re.sub(r"-\d+$", "", plain), plain.removesuffix("-read")):
        found = profile.step(name)
        if found is not None:
            return found
    return None


def before_pour(profile: "Profile") -> frozenset[str]:
    """Ids of the profile's steps that come before the pour: those that say so, and what leads to them."""
    found: set[str] = set()
    todo = {step.id for step in profile.steps if POUR in step.before}
    while todo:
        found |= todo
        after = {name for step in profile.steps if step.id in todo for name in step.after}
        leading = {step.id for step in profile.steps if todo & set(step.before)}
        todo = (after | leading) - found - {POUR}
    return frozenset(found)


def follows_pour(profile: "Profile", step_id: str) -> bool:
    """The step comes after the pour."""
    step = step_behind(profile, step_id)
    return step is not None and step.id != POUR and step.id not in before_pour(profile)


def line_named(timeline: Timeline, typed: str) -> Line:
    """The line that is meant: the step of that id, the open one of its rounds or repeats, the next of its coats.

    Raises UnknownName with the ids there are.
    """
    wanted = typed.strip().casefold()
    exact = next((line for line in timeline.lines if line.step.casefold() == wanted), None)
    if exact is not None and (_is_open(exact) or "." in wanted):
        return exact
    pattern = re.compile(rf"{re.escape(wanted)}(?:{'' if exact else '|-[0-9]+'})(?:\.[0-9]+)?")
    family = [line for line in timeline.lines if pattern.fullmatch(line.step.casefold())]
    if not family:
        raise UnknownName("step", typed.strip()[:60], [line.step for line in timeline.lines])
    to_do = [line for line in family if line.open_to_do] or [line for line in family if _is_open(line)]
    return to_do[0] if to_do else exact or family[-1]


def round_of(timeline: Timeline, typed: str) -> list[Line]:
    """The lines that end a round which `typed` belongs to (the step that offers another round), oldest first."""
    wanted = without_round(typed.strip().casefold())
    return [
        line for line in timeline.lines
        if line.again and wanted in (without_round(line.step).casefold(), line.again.casefold())
    ]  # fmt: skip


def _is_open(line: Line) -> bool:
    return line.state not in ("done", "skipped")


def later_for(line: Line | None) -> timedelta:
    """For how long one tap or key puts a step off: fresh concrete and closing windows do not wait an hour."""
    pressing = line is not None and (line.kind == "place" or line.closes == "window")
    return timedelta(minutes=15) if pressing else timedelta(hours=1)
