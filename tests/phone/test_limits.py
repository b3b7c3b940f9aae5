"""Rate limits: a bucket of so many at once, filling steadily."""

from hypothesis import given
from hypothesis import strategies as st

from curetrack.phone.limits import KEPT_AT_MOST, Limit, Limits


def test_a_burst_then_one_each_so_often() -> None:
    limits = Limits(Limit(per_minute=6.0, burst=3))  # one each 10 s: 60 / 6
    assert [limits.wait_s("a", 0.0) for _ in range(3)] == [0.0, 0.0, 0.0]
    assert limits.wait_s("a", 0.0) == 10.0
    assert limits.wait_s("a", 4.0) == 6.0
    assert limits.wait_s("a", 10.0) == 0.0
    assert limits.wait_s("a", 10.0) == 10.0


def test_who_asks_is_kept_apart() -> None:
    limits = Limits(Limit(per_minute=1.0, burst=1))
    assert limits.wait_s("a", 0.0) == 0.0
    assert limits.wait_s("b", 0.0) == 0.0
    assert limits.wait_s("a", 0.0) == 60.0


def test_a_refusal_costs_nothing() -> None:
    limits = Limits(Limit(per_minute=60.0, burst=1))
    assert limits.wait_s("a", 0.0) == 0.0
    for tenth in range(1, 10):
        assert limits.wait_s("a", tenth / 10.0) > 0.0
    assert limits.wait_s("a", 1.0) == 0.0


@given(st.lists(st.floats(0.0, 600.0), max_size=200), st.integers(1, 20), st.floats(1.0, 600.0))
def test_never_more_than_the_burst_and_the_rate(moments: list[float], burst: int, per_minute: float) -> None:
    limits = Limits(Limit(per_minute, burst))
    passed = [at for at in sorted(moments) if limits.wait_s("a", at) == 0.0]
    for first in range(len(passed)):
        for last in range(first, len(passed)):
            allowed = burst + (passed[last] - passed[first]) * per_minute / 60.0
            assert last - first + 1 <= allowed + 1e-6


def test_ever_new_addresses_do_not_fill_the_memory() -> None:
    limits = Limits(Limit(per_minute=1.0, burst=1))
    for number in range(3 * KEPT_AT_MOST):
        limits.wait_s(str(number), number / 1000.0)
    assert len(limits._buckets) <= KEPT_AT_MOST + 1
