"""The laws of growth in logarithms, as a fit takes them: value, slopes, bounds, starts, and the law itself again.

A law's parameters begin with ln S28; then ln k and t0 [h] (hyperbola), s (EN 1992-1-1), ln r (ACI 209, r = a/b [d]).
"""

from collections.abc import Callable, Sequence
from math import exp, inf, log, sqrt
from typing import Literal, get_args

from msgspec import Struct

from curetrack.concrete.strength import DAYS_28_H, Aci209Growth, En1992Growth, Growth, Hyperbola

__all__ = ["LAWS", "MODELS", "Law", "Model"]

Law = Literal["hyperbola", "en1992", "aci209"]
LAWS: tuple[Law, ...] = get_args(Law)
Slopes = tuple[float, ...]
At = Sequence[float]


class Model(Struct, frozen=True):
    """One law. `names`: of each parameter, its unit, and whether it stands as a logarithm. `starts` takes ln of the
    greatest strength and the first age [h]; `bounds` the first age."""

    names: tuple[tuple[str, str, bool], ...]
    value: Callable[[At, float], tuple[float, Slopes]]
    bounds: Callable[[float], tuple[list[float], list[float]]]
    starts: Callable[[float, float], list[list[float]]]
    growth: Callable[[At], Growth]


_S28 = ("strength_28d", "MPa", True)
_LOW, _HIGH = -7.0, 9.0  # of ln S28: no bound at all
_NEAREST = 0.999  # of the first age: the law has no strength at its start


def _hyperbola(at: At, age_h: float) -> tuple[float, Slopes]:
    log_s28, log_k, t0 = at
    k = exp(log_k) / 24.0
    x, x28 = k * (age_h - t0), k * (DAYS_28_H - t0)
    if x <= 0.0:
        return -inf, (1.0, 0.0, 0.0)
    value = log_s28 + log(x / (1.0 + x)) - log(x28 / (1.0 + x28))
    by_k = 1.0 / (1.0 + x) - 1.0 / (1.0 + x28)
    by_t0 = -k / (x * (1.0 + x)) + k / (x28 * (1.0 + x28))
    return value, (1.0, by_k, by_t0)


def _en1992(at: At, age_h: float) -> tuple[float, Slopes]:
    root = 1.0 - sqrt(DAYS_28_H / age_h)  # eq. 3.2
    return at[0] + at[1] * root, (1.0, root)


def _aci209(at: At, age_h: float) -> tuple[float, Slopes]:
    r, days = exp(at[1]), age_h / 24.0
    value = at[0] + log(days / (r + days)) - log(28.0 / (r + 28.0))  # eq. 2-1, scaled to 28 days
    return value, (1.0, r / (r + 28.0) - r / (r + days))


def _latest(first_h: float) -> float:
    return min(100.0, _NEAREST * first_h)


def _s28(at: At) -> float:
    return min(max(exp(at[0]), 1.0), 200.0)


def _aci209_growth(at: At) -> Growth:
    b = 28.0 / (exp(at[1]) + 28.0)  # so that the printed form gives 1 at 28 days
    return Aci209Growth(_s28(at), exp(at[1]) * b, b)


MODELS: dict[Law, Model] = {
    "hyperbola": Model(
        (_S28, ("rate", "/day", True), ("start", "h", False)),
        _hyperbola,
        lambda first_h: ([_LOW, log(0.01), 0.0], [_HIGH, log(10.0), _latest(first_h)]),
        lambda top, first_h: [
            [top, log(k), share * _latest(first_h)] for k in (0.1, 0.3, 1.0) for share in (0.1, 0.6, 0.95)
        ],
        lambda at: Hyperbola(_s28(at), min(max(exp(at[1]), 0.01), 10.0), at[2]),
    ),
    "en1992": Model(
        (_S28, ("s", "", False)),
        _en1992,
        lambda _first_h: ([_LOW, 0.1], [_HIGH, 0.6]),
        lambda top, _first_h: [[top, 0.25]],
        lambda at: En1992Growth(_s28(at), min(max(at[1], 0.1), 0.6)),
    ),
    "aci209": Model(
        (_S28, ("a/b", "d", True)),
        _aci209,
        lambda _first_h: ([_LOW, log(0.2)], [_HIGH, log(25.0)]),  # where a and b stay within their own ranges
        lambda top, _first_h: [[top, log(1.0)], [top, log(5.0)]],
        _aci209_growth,
    ),
}
