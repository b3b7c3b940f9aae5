"""Timelines for many phones: never older than the newest fact, whoever wrote it."""

from curetrack.shop import Shop, View
from tests.phone.looking import Looking
from tests.shop.conftest import SHAPE, T0, Bench, hours


def test_it_is_what_the_shop_would_say_after_each_fact(warm: Bench) -> None:
    at = [1.0]
    looking = Looking(warm.shop, lambda: hours(at[0]))

    def same() -> bool:
        seen = {timeline.piece: timeline for timeline in looking.timelines()}
        known = {timeline.piece: timeline for timeline in warm.shop.timelines(View(hours(at[0])))}
        return seen.keys() == known.keys() and all(
            [(line.state, line.plan_at) for line in seen[name].lines if line.open_to_do]
            == [(line.state, line.plan_at) for line in known[name].lines if line.open_to_do]
            for name in known
        )

    assert same()
    warm.done("cover", 1)
    assert same()
    with Shop(warm.home) as other:
        other.pour("second", profile=str(warm.profile), shape=SHAPE, at=T0, now=hours(1))
        assert same()
        other.undo("top", now=hours(1))
        assert same()
        other.drop("second", "broke", now=hours(1))
        assert same()
        other.undo("second", now=hours(1))
        assert same()
    warm.shop.add_reading(temp_degC=5.0, now=hours(1))
    assert same()
    at[0] = 40.0
    assert same()


def test_one_answer_serves_many(warm: Bench) -> None:
    looking = Looking(warm.shop, lambda: hours(1))
    first = looking.timelines()
    assert all(one is other for one, other in zip(first, looking.timelines(), strict=True))
