"""A pour into a frost: refused, or made on the maker's word (the design; acceptance case C2)."""

from datetime import timedelta

import pytest

from curetrack.facts import DayRange, Event, Forecast
from curetrack.instants import to_h
from curetrack.shop import View
from curetrack.shop.refusals import HeldPour
from tests.shop.conftest import SHAPE, T0, Bench, hours


def expect_frost(bench: Bench) -> None:
    days = tuple(DayRange(day, -4.0, 5.0) for day in range(4))
    bench.shop.set_forecast(Forecast("days", to_h(T0), days=days), now=T0)
    bench.shop.add_reading(temp_degC=8.0, at=T0, now=T0)


def pour(bench: Bench, **more: object) -> Event:
    receipt = bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, now=T0, **more)  # type: ignore[arg-type]
    assert receipt.event is not None
    return receipt.event


def test_a_forecast_frost_before_it_bears_one_holds_the_pour(bench: Bench) -> None:
    expect_frost(bench)
    with pytest.raises(HeldPour, match="top: better not poured now: frost -4 degC") as caught:
        pour(bench)
    assert (caught.value.exit_code, caught.value.rule) == (1, "frost")
    assert bench.shop.pieces(View(T0)) == []


def test_an_override_is_recorded_with_its_reason(bench: Bench) -> None:
    expect_frost(bench)
    assert pour(bench, override="the heater is on").override == "the heater is on"


def test_an_override_that_was_not_needed_is_not_recorded_but_said(bench: Bench) -> None:
    bench.warm()
    receipt = bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, override="just so", now=T0)
    assert receipt.event is not None
    assert (receipt.event.override, receipt.text_key) == (None, "no_override")


def test_it_is_judged_by_the_forecast_of_the_pours_own_time(bench: Bench) -> None:
    bench.warm(until_h=0)
    days = tuple(DayRange(day, -4.0, 5.0) for day in range(4))
    bench.shop.set_forecast(Forecast("days", to_h(hours(5)), days=days), now=hours(5))
    receipt = bench.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, now=hours(6))
    assert receipt.written  # at the time of the pour nothing spoke of frost


def test_without_any_temperature_a_pour_is_a_warning_only(bench: Bench) -> None:
    assert pour(bench)
    alerts = bench.shop.timeline("top", View(T0 + timedelta(hours=1))).alerts
    assert [(alert.grade, alert.rule) for alert in alerts if alert.rule == "no_temperature"]
    assert not [alert for alert in alerts if alert.grade == "hold"]
