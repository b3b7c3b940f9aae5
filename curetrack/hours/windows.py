"""Windows: sorted, disjoint intervals of POSIX hours; work may end at the end of one. Plain tuples, since a plan asks
for them often."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from heapq import merge

__all__ = [
    "ALWAYS", "Window", "Windows", "common", "covered_h", "holds", "joined", "staffed", "without",
]  # fmt: skip

Window = tuple[float, float]
Windows = tuple[Window, ...]

ALWAYS: Windows = ((-math.inf, math.inf),)


def joined(windows: Iterable[Window]) -> Windows:
    """The union; windows that touch become one, empty ones vanish."""
    found: list[Window] = []
    for start_h, end_h in sorted(window for window in windows if window[0] < window[1]):
        if found and start_h <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end_h))
        else:
            found.append((start_h, end_h))
    return tuple(found)


def common(first: Sequence[Window], second: Sequence[Window]) -> Windows:
    """What lies in both."""
    found: list[Window] = []
    i = j = 0
    while i < len(first) and j < len(second):
        start_h, end_h = max(first[i][0], second[j][0]), min(first[i][1], second[j][1])
        if start_h < end_h:
            found.append((start_h, end_h))
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)


def without(windows: Sequence[Window], taken: Sequence[Window]) -> Windows:
    """What is left of `windows` when `taken` is cut out."""
    edges = (-math.inf, *(edge for window in taken for edge in window), math.inf)
    gaps = [(edges[n], edges[n + 1]) for n in range(0, len(edges), 2) if edges[n] < edges[n + 1]]
    return common(windows, gaps)


def staffed(people: Iterable[Sequence[Window]], need: int) -> Windows:
    """When at least `need` of these people are there at once."""
    if need <= 0:
        return ALWAYS
    edges = merge(*(((start_h, 1), (end_h, -1)) for windows in people for start_h, end_h in windows))
    found: list[Window] = []
    there, since_h = 0, math.nan
    for at_h, change in sorted(edges):
        before, there = there, there + change
        if before < need <= there:
            since_h = at_h
        elif there < need <= before:
            found.append((since_h, at_h))
    return joined(found)


def holds(windows: Sequence[Window], start_h: float, end_h: float) -> bool:
    """Whether one window contains the whole stretch (an instant, where both are the same)."""
    return any(first_h <= start_h and end_h <= last_h for first_h, last_h in windows)


def covered_h(windows: Sequence[Window], start_h: float, end_h: float) -> float:
    """Hours of a stretch that lie in windows."""
    total = 0.0
    for first_h, last_h in windows[max(0, bisect_right(windows, (start_h, math.inf)) - 1) :]:
        if first_h > end_h:
            break
        total += max(0.0, min(end_h, last_h) - max(start_h, first_h))
    return total
