"""From the answers of a step's rules to its moment: when all of them hold together for the first time."""

import math
from collections.abc import Sequence

from msgspec import Struct

from curetrack.climate.course import Side
from curetrack.timeline.clocks import AT_ONCE, Ends, When, latest
from curetrack.timeline.rules import Met, Spans

__all__ = ["Window", "binding_first", "first_common", "known_part", "together", "window_of"]

SIDES: tuple[Side, ...] = ("centre", "warm", "cold")


def together(mets: list[Met], floor_h: float, now_h: float) -> When | None:
    """When all rules hold; None if an input is not known. A warm hour that is past, or that lies before `floor_h`, when
    the predecessors are done, helps nobody; one that lasts until now counts from when it began."""
    whens = [met.when for met in mets]
    if any(when is None for when in whens):
        return None
    thresholds = latest([when for when in whens if when is not None])
    spans = [met.spans for met in mets if met.spans is not None]
    if not spans:
        return thresholds
    return _opened(thresholds, spans, floor_h, now_h)


class Window(Struct, frozen=True):
    """What opens and closes again (air, dew point) is not for a hand check to say: from when a passed one may count,
    and from when on it is open now or next. By the centre; `-inf` where the step has no such rule."""

    check_h: float
    open_h: float


def window_of(mets: list[Met], floor_h: float, now_h: float) -> Window:
    """The window of the rules that open and close, of those whose input is known."""
    spans = [met.spans for met in mets if met.spans is not None]
    if not spans:
        return Window(-math.inf, -math.inf)
    early_h = latest([met.when for met in mets if met.when is not None]).fast
    check_h = _first_usable(spans, max(early_h, floor_h), now_h, "centre")
    return Window(check_h, _first_common(spans, max(now_h, floor_h), "centre"))


def known_part(mets: list[Met], floor_h: float, now_h: float) -> When:
    """The same, of those rules alone whose input is known: good for a plan, never for opening a step."""
    return together([met for met in mets if met.when is not None], floor_h, now_h) or AT_ONCE


def _opened(thresholds: When, spans: list[Spans], floor_h: float, now_h: float) -> When:
    def first(at_h: float, side: Side) -> float:
        return _first_usable(spans, max(at_h, floor_h), now_h, side)

    centre = first(thresholds.centre, "centre")

    def ends() -> Ends:
        fast = min(centre, *(first(thresholds.fast, side) for side in SIDES))
        slow = max(centre, *(first(thresholds.slow, side) for side in SIDES))
        fast_method = min(centre, first(thresholds.ends[2], "centre"))
        slow_method = max(centre, first(thresholds.ends[3], "centre"))
        fast_weather = min(centre, *(first(thresholds.ends[4], side) for side in SIDES))
        slow_weather = max(centre, *(first(thresholds.ends[5], side) for side in SIDES))
        return (
            fast, slow, max(fast, fast_method), min(slow, slow_method), max(fast, fast_weather), min(slow, slow_weather)
        )  # fmt: skip

    return When(centre, ends)


def _first_usable(spans: list[Spans], from_h: float, now_h: float, side: Side) -> float:
    """The start of the first stretch from `from_h` on, not over before now, in which the spans of all rules lie: what
    is open now is asked since when."""
    if from_h >= now_h:
        return _first_common(spans, from_h, side)
    first_h = _first_common(spans, now_h, side)
    if first_h > now_h or from_h == -math.inf:
        return first_h
    return max(next((start for start, end in ask(from_h, side) if end >= now_h), now_h) for ask in spans)


def _first_common(spans: list[Spans], from_h: float, side: Side) -> float:
    """The first instant from `from_h` on that lies in a span of each rule; inf if there is none in sight."""
    return first_common([ask(from_h, side) for ask in spans] if math.isfinite(from_h) else [[]], from_h)


def first_common(lists: Sequence[Sequence[tuple[float, float]]], from_h: float) -> float:
    """The same, for spans that are at hand."""
    at_h = from_h
    while True:
        moved = at_h
        for found in lists:
            inside = next((max(start, moved) for start, end in found if end >= moved), None)
            if inside is None:
                return math.inf
            moved = inside
        if moved == at_h:
            return at_h
        at_h = moved


def binding_first(mets: list[Met], floor_h: float, now_h: float) -> list[tuple[Met, float | None]]:
    """The rules with the moment each is met by the centre, the one that holds longest first; unknown ones lead."""

    def moment(met: Met) -> float | None:
        if met.when is None:
            return None
        if met.spans is None:
            return met.when.centre
        return _first_usable([met.spans], floor_h, now_h, "centre")

    timed = [(met, moment(met)) for met in mets]
    return sorted(timed, key=lambda item: (item[1] is not None, -(item[1] or 0.0)))
