"""Student's t against an independent library and the printed table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as scipy_t

from curetrack.concrete.student import t_cdf, t_quantile
from curetrack.units import OutOfRange


@given(st.floats(-60.0, 60.0), st.integers(1, 200))
def test_the_distribution_agrees_with_scipy(t: float, freedom: int) -> None:
    assert t_cdf(t, freedom) == pytest.approx(scipy_t.cdf(t, freedom), abs=1e-12)


@given(st.floats(0.001, 0.999), st.integers(1, 200))
def test_the_quantile_agrees_with_scipy(share: float, freedom: int) -> None:
    assert t_quantile(share, freedom) == pytest.approx(scipy_t.ppf(share, freedom), rel=1e-7, abs=1e-9)


@pytest.mark.parametrize(("freedom", "printed"), [(1, 6.314), (2, 2.920), (5, 2.015), (10, 1.812), (30, 1.697)])
def test_five_percent_points_as_every_table_prints_them(freedom: int, printed: float) -> None:
    """From memory of the usual table, one-sided 5 %."""
    assert t_quantile(0.95, freedom) == pytest.approx(printed, abs=0.0006)


@pytest.mark.parametrize("bad", [math.nan, -1.0, 0.0, 1.0, 2.0])
def test_a_share_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="share out of range"):
        t_quantile(bad, 5)


@pytest.mark.parametrize("bad", [0, -3, 1001])
def test_degrees_of_freedom_out_of_range_are_refused(bad: int) -> None:
    with pytest.raises(OutOfRange, match="degrees of freedom out of range"):
        t_cdf(1.0, bad)
    with pytest.raises(OutOfRange, match="t out of range"):
        t_cdf(math.inf, 3)
