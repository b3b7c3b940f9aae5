"""The chart's numbers against the laws' closed forms, and against the timeline that stands beside it."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from curetrack.errors import UnknownName
from curetrack.facts import Forecast, Shape
from curetrack.instants import to_h
from curetrack.ledger import Ledger
from curetrack.settings import Settings
from curetrack.shop import Shop, View

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SHAPE = Shape(1.2, 0.6, 0.04)


def after(count: float) -> datetime:
    return T0 + timedelta(hours=count)


def shop_at(temp_degC: float, until_h: int = 48) -> Shop:
    """A piece poured at T0; readings each hour from a day before it, then a forecast of the same."""
    shop = Shop("nowhere", ledger=Ledger.in_memory(), settings=Settings())
    rows = [(int(after(h).timestamp() * 1000), temp_degC, 50.0, None) for h in range(-24, until_h + 1)]
    shop.import_readings(rows, now=after(until_h))
    shop.set_forecast(Forecast("steady", to_h(T0), temp_degC), now=after(until_h))
    shop.pour("bench", profile="bagged-tabletop", shape=SHAPE, at=T0, now=after(until_h))
    return shop


def test_at_the_reference_temperature_the_equivalent_age_is_the_age() -> None:
    """By definition of the equivalent age: at 20 °C, the profile's reference, one hour counts as one."""
    curve = shop_at(20.0).curve("bench", View(after(48)), after(-2), after(46), count=25)
    assert [after(h) for h in range(-2, 47, 2)] == list(curve.at)
    assert curve.equivalent_age_h[0] is None
    assert curve.strength_MPa[0] is None
    assert curve.equivalent_age_h[1:] == pytest.approx([2.0 * n for n in range(24)])
    assert curve.temp_degC == pytest.approx([20.0] * 25)
    assert (curve.measured_until, curve.poured_at) == (after(48), T0)


def test_colder_is_slower_by_the_arrhenius_factor() -> None:
    """ASTM C1074's equivalent age with Q = 5000 K: exp(-5000 (1/283.15 - 1/293.15)) = 0.5475 at 10 °C."""
    curve = shop_at(10.0).curve("bench", View(after(48)), T0, after(40), count=3)
    assert curve.equivalent_age_h == pytest.approx([0.0, 20 * 0.5475, 40 * 0.5475], rel=1e-3)


def test_strength_lies_in_its_band_and_grows() -> None:
    curve = shop_at(20.0).curve("bench", View(after(48)), T0, after(300), count=61)
    rows = list(zip(curve.strength_low_MPa, curve.strength_MPa, curve.strength_high_MPa, strict=True))
    for low, middle, high in rows:
        assert low is not None and middle is not None and high is not None  # noqa: PT018 -- for the type checker
        assert low <= middle <= high
    for column in zip(*rows, strict=True):
        assert all(one <= other for one, other in pairwise(column))


def test_sides_part_where_nothing_is_measured() -> None:
    """2 K at once, growing by 1 K a day to 5 K (DEVELOPERS.md, bands)."""
    curve = shop_at(20.0).curve("bench", View(after(48)), after(0), after(192), count=9)
    widths = [
        (high - low) / 2.0
        for low, high in zip(curve.temp_low_degC, curve.temp_high_degC, strict=True)
        if low is not None and high is not None
    ]
    assert widths[:2] == pytest.approx([0.0, 0.0])
    assert widths[3:] == pytest.approx([3.0, 4.0, 5.0, 5.0, 5.0, 5.0])


def test_the_thresholds_meet_the_curve_where_the_timeline_says() -> None:
    """A chart beside a card must not contradict it: the strength is there when the step's own reason says so."""
    shop = shop_at(15.0)
    view = View(after(30))
    timeline = shop.timeline("bench", view)
    curve = shop.curve("bench", view, T0, after(200), count=2001)
    assert {one.step for one in curve.thresholds} >= {"strip", "flip"}
    for one in curve.thresholds:
        line = timeline.line(one.step)
        assert line is not None
        assert (one.title, one.plan_at) == (line.title, line.plan_at)
        (reason,) = [each for each in line.reasons if each.rule == "strength"]
        assert reason.need == one.strength_MPa
        reached = next(
            at for at, value in zip(curve.at, curve.strength_MPa, strict=True) if (value or 0.0) >= one.strength_MPa
        )
        assert reason.at is not None
        assert abs(reached - reason.at) <= timedelta(hours=0.1), one.step


def test_a_step_that_is_done_needs_no_strength_and_each_step_stands_once() -> None:
    shop = shop_at(20.0)
    steps = [one.step for one in shop.curve("bench", View(after(30)), T0, after(99)).thresholds]
    assert len(steps) == len(set(steps))
    assert "strip" in steps
    shop.done("bench", "strip", at=after(41), check="pass", earlier=True, now=after(41))
    assert "strip" not in [one.step for one in shop.curve("bench", View(after(42)), T0, after(99)).thresholds]


def test_without_a_pour_or_a_temperature_there_is_nothing_to_draw() -> None:
    shop = Shop("nowhere", ledger=Ledger.in_memory(), settings=Settings())
    shop.plan("bench", profile="bagged-tabletop", shape=SHAPE, at=after(24), now=T0)
    curve = shop.curve("bench", View(T0), T0, after(24), count=5)
    for values in (curve.temp_degC, curve.equivalent_age_h, curve.strength_MPa, curve.strength_low_MPa):
        assert values == (None,) * 5
    assert (curve.measured_until, curve.poured_at) == (None, None)
    shop.add_reading(temp_degC=14.0, now=T0)
    curve = shop.curve("bench", View(T0), T0, after(24), count=5)
    assert curve.temp_degC == pytest.approx([14.0] * 5)
    assert curve.strength_MPa == (None,) * 5


def test_what_cannot_be_drawn_is_refused() -> None:
    shop = shop_at(20.0)
    with pytest.raises(UnknownName):
        shop.curve("nobody", View(T0), T0, after(1))
    with pytest.raises(ValueError, match="two instants"):
        shop.curve("bench", View(after(48)), T0, T0)
    with pytest.raises(ValueError, match="two instants"):
        shop.curve("bench", View(after(48)), T0, after(1), count=1)
