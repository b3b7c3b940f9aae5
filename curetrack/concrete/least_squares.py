"""Nonlinear least squares for a handful of parameters within bounds: Levenberg-Marquardt, with the slopes given.

Levenberg 1944 and Marquardt 1963, with Marquardt's scaling by the diagonal. A parameter that rests on a bound and whose
slope points outward is held there for the step.
"""

from collections.abc import Callable, Sequence
from math import isfinite

from msgspec import Struct

__all__ = ["Found", "Row", "inverse", "least_squares", "solved"]

Row = tuple[float, tuple[float, ...]]  # a residual, and its slope by each parameter
MOST_STEPS = 300
_STILL = 1e-13  # of the sum: below it a step changes nothing


class Found(Struct, frozen=True):
    """The parameters, the sum of squared residuals, the residuals with their slopes, and whether it came to rest."""

    at: tuple[float, ...]
    total: float
    rows: tuple[Row, ...]
    settled: bool


def least_squares(
    rows: Callable[[Sequence[float]], list[Row]], start: Sequence[float], low: Sequence[float], high: Sequence[float]
) -> Found:
    """The nearest minimum of the sum of squared residuals, from a start within the bounds. `rows` may give residuals
    that are not finite where the model has no value: such a step is not taken, but the start must be finite."""
    at = [min(max(value, least), most) for value, least, most in zip(start, low, high, strict=True)]
    here = rows(at)
    total = _total(here)
    if not isfinite(total):
        raise ValueError("the start has no value")
    damping = 1e-3
    settled = False
    for _ in range(MOST_STEPS):
        step = _step(here, at, low, high, damping)
        if step is None:
            settled = True
            break
        tried = [
            min(max(value + move, least), most) for value, move, least, most in zip(at, step, low, high, strict=True)
        ]
        there = rows(tried)
        better = _total(there)
        if isfinite(better) and better <= total:
            settled = total - better <= _STILL * total
            at, here, total = tried, there, better
            damping = max(damping / 5.0, 1e-12)
            if settled:
                break
        else:
            damping *= 4.0
            if damping > 1e12:
                settled = True  # no way down is left
                break
    return Found(tuple(at), total, tuple(here), settled)


def _total(rows: Sequence[Row]) -> float:
    return sum(residual * residual for residual, _ in rows)


def _step(
    rows: Sequence[Row], at: Sequence[float], low: Sequence[float], high: Sequence[float], damping: float
) -> list[float] | None:
    """The damped step, 0 for what a bound holds; None where nothing pulls any more."""
    count = len(at)
    pull = [-sum(residual * slopes[i] for residual, slopes in rows) for i in range(count)]
    free = [
        i for i in range(count) if not ((at[i] <= low[i] and pull[i] <= 0.0) or (at[i] >= high[i] and pull[i] >= 0.0))
    ]
    if not free or all(pull[i] == 0.0 for i in free):
        return None
    normal = [[sum(slopes[i] * slopes[j] for _, slopes in rows) for j in free] for i in free]
    for k in range(len(free)):
        normal[k][k] += damping * max(normal[k][k], 1e-12)
    moves = solved(normal, [pull[i] for i in free])
    if moves is None:
        return None
    step = [0.0] * count
    for i, move in zip(free, moves, strict=True):
        step[i] = move
    return step


def solved(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float] | None:
    """x of A x = b by elimination with pivots; None if A is singular to working precision."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    largest = max((abs(value) for row in matrix for value in row), default=0.0)
    for column in range(size):
        pivot = max(range(column, size), key=lambda r: abs(rows[r][column]))
        if abs(rows[pivot][column]) <= 1e-14 * largest or largest == 0.0:
            return None
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for below in range(column + 1, size):
            factor = rows[below][column] / rows[column][column]
            rows[below] = [a - factor * b for a, b in zip(rows[below], rows[column], strict=True)]
    found = [0.0] * size
    for i in reversed(range(size)):
        rest = sum(rows[i][j] * found[j] for j in range(i + 1, size))
        found[i] = (rows[i][size] - rest) / rows[i][i]
    return found


def inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """The inverse of a small matrix; None if it is singular."""
    size = len(matrix)
    columns = [solved(matrix, [1.0 if i == k else 0.0 for i in range(size)]) for k in range(size)]
    found = [column for column in columns if column is not None]
    return [list(row) for row in zip(*found, strict=True)] if len(found) == size else None
