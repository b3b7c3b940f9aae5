"""Drying: the drying clock (hours of open faces since the last wetting, again from zero after every wet step), and
what a wet face gives off between mistings."""

import math

from msgspec import Struct

from curetrack.climate.course import Course, Side
from curetrack.timeline.clocks import SIGHT_h, When, by_side

__all__ = ["FACES_OPEN", "UNDER_COVER", "Faces", "dried_h", "drying_when", "given_off_when"]

# The share of the drying that counts: both faces, one of two, none (common practice, no source: faces are counted).
FACES_OPEN = {"open": 1.0, "one-face": 0.5, "covered": 0.0}

# What a wet face gives off under a sheet, as a share of what it would in the open air around it (common practice, no
# source: it makes of 0.15 kg/m2 the usual two to six hours by day at 20 to 30 degC, and a night in a cool shop).
UNDER_COVER = 0.25


class Faces(Struct, frozen=True):
    """Since when the piece dries, and how open it lies: (instant, share) from the first to the last change."""

    wet_h: float
    changes: tuple[tuple[float, float], ...] = ()

    def share_at(self, at_h: float) -> float:
        """The share at an instant; open before the first change."""
        return next((share for since_h, share in reversed(self.changes) if since_h <= at_h), 1.0)

    def stretches(self) -> list[tuple[float, float, float]]:
        """(from, to, share) from the last wetting on; the last one is endless."""
        share = 1.0
        edges: list[tuple[float, float]] = []
        for at_h, new in self.changes:
            if at_h <= self.wet_h:
                share = new
            else:
                edges.append((at_h, new))
        found, start = [], self.wet_h
        for at_h, new in edges:
            if at_h > start:
                found.append((start, at_h, share))
            start, share = at_h, new
        found.append((start, math.inf, share))
        return found


def drying_when(course: Course, faces: Faces, need_h: float) -> When:
    """When so many drying hours are reached."""
    return by_side(lambda side: _reach(course, faces, need_h, side))


def dried_h(course: Course, faces: Faces, now_h: float) -> float:
    """Drying hours up to now."""
    total = 0.0
    for start, end, share in faces.stretches():
        if share > 0.0 and now_h > start:
            total += share * (course.dried_h(start, min(end, now_h)) or 0.0)
    return total


def given_off_when(course: Course, faces: Faces, amount_kg_m2: float) -> float | None:
    """When so much water has left each m2 of a wet face since `faces.wet_h`: at the full rate of evaporation where a
    face lies open, at UNDER_COVER of it under a cover. None: not within sight, or humidity is not known."""
    left = amount_kg_m2
    for start, end, share in faces.stretches():
        part = 1.0 if share > 0.0 else UNDER_COVER
        at_h = course.evaporated(start, left / part)
        if at_h is not None and at_h <= end:
            return at_h
        if end == math.inf:
            break
        left -= part * _given_off(course, start, end, left / part)
    return None


def _given_off(course: Course, start_h: float, end_h: float, most_kg_m2: float) -> float:
    """What left an open wet face between two instants, less than `most_kg_m2`: by bisection of when that is."""
    low, high = 0.0, most_kg_m2
    for _ in range(40):
        middle = (low + high) / 2.0
        at_h = course.evaporated(start_h, middle)
        if at_h is not None and at_h <= end_h:
            low = middle
        else:
            high = middle
    return low


def _reach(course: Course, faces: Faces, need_h: float, side: Side) -> float:
    left = need_h
    for start, end, share in faces.stretches():
        if share <= 0.0:
            continue
        at_h = course.dry_reach(start, left / share, side)
        if at_h is not None and at_h <= min(end, start + SIGHT_h):
            return at_h
        if end == math.inf:
            break
        left -= share * (course.dried_h(start, end, side) or 0.0)
    return math.inf
