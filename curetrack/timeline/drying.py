"""The drying clock: hours of open faces since the last wetting. It starts again after every wet step."""

import math

from msgspec import Struct

from curetrack.climate.course import Course, Side
from curetrack.timeline.clocks import SIGHT_h, When, by_side

__all__ = ["FACES_OPEN", "Faces", "dried_h", "drying_when"]

# The share of the drying that counts: both faces, one of two, none (common practice, no source: faces are counted).
FACES_OPEN = {"open": 1.0, "one-face": 0.5, "covered": 0.0}


class Faces(Struct, frozen=True):
    """Since when the piece dries, and how open it lies: (instant, share) from the first to the last change."""

    wet_h: float
    changes: tuple[tuple[float, float], ...] = ()

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
