"""Student's t for whole degrees of freedom, exact: how far a mean of few may be off."""

from math import atan, cos, pi, sin, sqrt

from curetrack.units import require

__all__ = ["t_cdf", "t_quantile"]


def t_cdf(t: float, freedom: int) -> float:
    """P(T <= t) for 1 to 1000 degrees of freedom: the finite sums in the angle atan(t/sqrt(n)), one for odd and one for
    even n (Abramowitz & Stegun 26.7.3 and 26.7.4, from memory)."""
    n = int(require("degrees of freedom", freedom, 1, 1000, ""))
    angle = atan(require("t", t, -1e12, 1e12, "") / sqrt(n))
    c2 = cos(angle) ** 2
    term, total = 1.0, 0.0
    if n % 2 == 0:
        for k in range(n // 2):
            total += term
            term *= c2 * (2 * k + 1) / (2 * k + 2)
        inside = sin(angle) * total
    else:
        for k in range(n // 2):
            total += term
            term *= c2 * (2 * k + 2) / (2 * k + 3)
        inside = 2.0 / pi * (angle + sin(angle) * cos(angle) * total)
    return 0.5 + inside / 2.0


def t_quantile(share: float, freedom: int) -> float:
    """The t below which a share (0.0005 to 0.9995) of the distribution lies, by bisection of `t_cdf`."""
    wanted = require("share", share, 0.0005, 0.9995, "")
    low, high = -1000.0, 1000.0
    for _ in range(80):
        middle = (low + high) / 2.0
        if t_cdf(middle, freedom) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
