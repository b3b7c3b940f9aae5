"""Readings and forecasts: what may be true, what is in force, what changes nothing."""

from datetime import timedelta
from typing import Any

import pytest

from curetrack.errors import BadInput, OutOfRange, UnknownName
from curetrack.facts import DayRange, Forecast, ForecastPoint
from curetrack.instants import to_h
from curetrack.shop import View
from tests.shop.conftest import T0, Bench, hours


def test_a_reading_is_kept_once(bench: Bench) -> None:
    first = bench.shop.add_reading(temp_degC=14.0, humidity_pct=60, wind_m_s=2.5, place="air", at=hours(-1), now=T0)
    again = bench.shop.add_reading(
        temp_degC=14.0, humidity_pct=60, wind_m_s=2.5, place="air", at=hours(-1), now=hours(1)
    )
    assert (first.written, again.written) == (True, False)
    (reading,) = bench.shop.readings()
    assert (reading.at, reading.temp_degC, reading.humidity_pct, reading.wind_m_s) == (hours(-1), 14.0, 60.0, 2.5)


def test_a_mistyped_reading_is_withdrawn_and_said_anew_brought_back(bench: Bench) -> None:
    said = bench.shop.add_reading(temp_degC=41.0, now=T0).reading
    assert said is not None
    assert bench.shop.undo_reading(said.id, now=T0).written
    assert bench.shop.undo_reading(said.id, now=T0).written is False
    assert bench.shop.readings() == []
    assert bench.shop.add_reading(temp_degC=41.0, at=T0, now=hours(1)).written
    assert [reading.id for reading in bench.shop.readings()] == [said.id]
    with pytest.raises(UnknownName, match="no reading is named '77'; known: 1"):
        bench.shop.undo_reading(77, now=T0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"temp_degC": 81.0, "place": "air"}, "air temperature out of range, found '81 °C'; use -60 to 80 °C"),
        ({"temp_degC": 71.0}, "slab temperature out of range, found '71 °C'; use -30 to 70 °C"),
        ({"temp_degC": float("nan")}, "out of range, found 'nan"), ({"temp_degC": 1e9}, "out of range"),
        ({"temp_degC": float("inf")}, "out of range"),
        ({"humidity_pct": 106.0}, "humidity out of range"), ({"humidity_pct": -1.0}, "humidity out of range"),
        ({"wind_m_s": 61.0}, "wind out of range"), ({}, "a reading says nothing"),
        ({"temp_degC": 8.0, "place": "cellar"}, "no such place, found 'cellar'; use slab, air, outside, water"),
        ({"temp_degC": 8.0, "at": T0 + timedelta(minutes=2)}, "lies in the future"),
        ({"temp_degC": 8.0, "piece": "top"}, "no piece is named 'top'"),
    ],
)  # fmt: skip
def test_readings_that_cannot_be(bench: Bench, words: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        bench.shop.add_reading(now=T0, **words)
    assert not bench.home.exists()


def test_a_little_over_full_humidity_is_full(bench: Bench) -> None:
    bench.shop.add_reading(humidity_pct=103.0, now=T0)
    assert bench.shop.readings()[0].humidity_pct == 100.0


def test_a_leap_that_looks_like_fahrenheit_asks_for_the_unit(bench: Bench) -> None:
    """57 F is 13.9 °C; typed without its unit and taken for °C it leaps by 43 K."""
    bench.shop.add_reading(temp_degC=14.0, at=hours(-3), now=T0)
    with pytest.raises(BadInput, match=r"leaps from 14 °C within 6 h.*if the thermometer shows 57 °F, write 57F"):
        bench.shop.add_reading(temp_degC=57.0, at=T0, now=T0)
    bench.shop.add_reading(temp_degC=57.0, place="air", at=T0, now=T0)  # of another place nothing is known
    bench.shop.add_reading(temp_degC=57.0, at=hours(4), now=hours(4))  # 7 h later
    bench.shop.add_reading(temp_degC=53.9, at=hours(-2), now=T0)  # 39.9 K


def test_a_file_twice_changes_nothing(bench: Bench) -> None:
    rows = [(int(hours(h).timestamp() * 1000), 8.0, 61.0, None) for h in range(-30, 0)]
    first = bench.shop.import_readings(rows, now=T0)
    again = bench.shop.import_readings(rows, now=hours(1))
    assert (first.added, first.already_there, first.first_at, first.last_at) == (30, 0, hours(-30), hours(-1))
    assert (again.added, again.already_there) == (0, 30)
    assert bench.shop.import_readings([], now=T0).first_at is None


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ((0, 200.0, None, None), "slab temperature out of range"),
        ((0, float("nan"), None, None), "no number in some row"),
        ((0, None, 200.0, None), "humidity out of range"), ((0, None, None, -1.0), "wind out of range"),
        ((int(hours(1).timestamp() * 1000), 8.0, None, None), "a reading lies in the future"),
    ],
)  # fmt: skip
def test_a_file_with_a_row_that_cannot_be_writes_nothing(bench: Bench, row: Any, said: str) -> None:
    rows = [(1000, 8.0, 50.0, 1.0), row, (2000, None, None, 0.0)]
    with pytest.raises(BadInput, match=said):
        bench.shop.import_readings(rows, now=T0)
    assert not bench.home.exists()


def test_a_files_dampness_over_full_is_full(bench: Bench) -> None:
    bench.shop.import_readings([(1000, 8.0, 101.5, None), (2000, 8.0, None, None)], now=T0)
    assert [reading.humidity_pct for reading in bench.shop.readings()] == [None, 100.0]


def test_a_pieces_own_readings_are_its_own(warm: Bench) -> None:
    warm.pour("bench")
    before = warm.shop.timeline("top", View(hours(12)))
    warm.shop.add_reading(temp_degC=5.0, piece="bench", at=hours(12), now=hours(12))
    assert warm.shop.timeline("top", View(hours(12))) == before
    slab = warm.shop.timeline("bench", View(hours(12))).slab_degC
    assert slab is not None
    assert slab < 20.0
    by_name = {timeline.piece: timeline for timeline in warm.shop.timelines(View(hours(12)))}
    assert by_name["top"] == before
    assert by_name["bench"] == warm.shop.timeline("bench", View(hours(12)))


def test_the_newest_forecast_counts(bench: Bench) -> None:
    bench.shop.set_forecast(Forecast("steady", 0.0, 12.0), now=T0)
    assert bench.shop.set_forecast(Forecast("steady", to_h(T0), 12.0), now=hours(1)).written is False
    bench.shop.set_forecast(Forecast("steady", 0.0, 9.0), now=hours(2))
    newest = bench.shop.ledger.forecast()
    assert newest is not None
    assert (newest.temp_degC, newest.made_h) == (9.0, to_h(hours(2)))


@pytest.mark.parametrize(
    ("forecast", "said"),
    [
        (Forecast("steady", 0.0, 200.0), "forecast temperature out of range"),
        (Forecast("steady", 0.0, 20.0, 140.0), "forecast humidity out of range"),
        (Forecast("days", 0.0), "names no day"), (Forecast("points", 0.0), "has none"),
        (Forecast("days", 0.0, days=(DayRange(0, 9.0, 3.0),)), "the low is above the high, found '9..3 °C'"),
        (Forecast("points", 0.0, points=(ForecastPoint(1.0, float("nan")),)), "out of range"),
    ],
)  # fmt: skip
def test_forecasts_that_cannot_be(bench: Bench, forecast: Forecast, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        bench.shop.set_forecast(forecast, now=T0)
    assert not bench.home.exists()


def test_out_of_range_keeps_its_numbers(bench: Bench) -> None:
    with pytest.raises(OutOfRange) as caught:
        bench.shop.add_reading(temp_degC=99.0, now=T0)
    assert (caught.value.value, caught.value.low, caught.value.high) == (99.0, -30.0, 70.0)
