"""Equivalent ages of breaks, by an independent integral, and what is refused."""

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from scipy.integrate import quad

from curetrack.climate.course import Course, build_course
from curetrack.errors import Faults
from curetrack.facts import Reading
from curetrack.fit.ages import Weather, equivalent_ages
from curetrack.fit.breaks import Break
from curetrack.instants import to_h
from tests.profile.docs import SMALL, compiled

CAST = datetime(2026, 1, 10, 9, tzinfo=UTC)
MIX = compiled(SMALL).mix  # Arrhenius, 5000 K, 20 degC


def one(line: int = 2, **when: object) -> Break:
    return Break(line, "cylinder", 6.0, 6.0, **when)  # type: ignore[arg-type]


def logged(temp: Callable[[float], float], until_h: int = 80, step_h: int = 1, without: range = range(0)) -> Course:
    hours = [h for h in range(-1, until_h + 1, step_h) if h not in without]
    return build_course([Reading(to_h(CAST) + h, temp(h)) for h in hours], None, UTC)


def arrhenius(temp_degC: float) -> float:
    return math.exp(5000.0 * (1.0 / 293.15 - 1.0 / (temp_degC + 273.15)))


def faults(breaks: list[Break], weather: Weather) -> tuple[str, ...]:
    with pytest.raises(Faults) as caught:
        equivalent_ages(breaks, MIX, weather, "breaks.csv")
    return caught.value.faults


@pytest.mark.parametrize("temp", [2.0, 8.0, 14.0, 20.0])
def test_a_mean_temperature_counts_by_the_mix_s_law(temp: float) -> None:
    found = equivalent_ages([one(age_h=24.0, temp_degC=temp)], MIX, Weather(), "x")
    assert found.ages_h == pytest.approx((24.0 * arrhenius(temp),), rel=1e-9)


def test_above_the_reference_no_more_is_credited_than_the_sheet_credits() -> None:
    """Nurse-Saul with datum -10 is the slowest law there: (30 + 10)/(20 + 10) for an hour at 30 degC."""
    found = equivalent_ages([one(age_h=24.0, temp_degC=30.0)], MIX, Weather(), "x")
    assert found.ages_h == pytest.approx((24.0 * 40.0 / 30.0,), rel=1e-9)


def test_a_logger_s_file_is_integrated() -> None:
    def temp(h: float) -> float:
        return 12.0 + h / 20.0  # straight, so that readings an hour apart lose nothing

    weather = Weather(CAST, logged(temp))
    found = equivalent_ages([one(age_h=24.0), one(at=CAST + timedelta(hours=71.5))], MIX, weather, "x")
    wanted = [quad(lambda h: arrhenius(temp(h)), 0.0, end)[0] for end in (24.0, 71.5)]
    assert found.ages_h == pytest.approx(wanted, rel=1e-6)
    assert found.gaps_h == ()


def test_an_equivalent_age_is_taken_as_it_stands_and_one_temperature_serves_the_rest() -> None:
    breaks = [one(equivalent_h=33.0), one(age_h=24.0), one(age_h=24.0, temp_degC=10.0)]
    found = equivalent_ages(breaks, MIX, Weather(temp_degC=15.0), "x")
    assert found.ages_h == pytest.approx((33.0, 24.0 * arrhenius(15.0), 24.0 * arrhenius(10.0)), rel=1e-9)


def test_holes_in_the_readings_are_counted_and_long_ones_refused() -> None:
    short = Weather(CAST, logged(lambda _: 15.0, without=range(10, 16)))
    assert equivalent_ages([one(age_h=48.0)], MIX, short, "x").gaps_h == (7.0,)
    long = Weather(CAST, logged(lambda _: 15.0, without=range(10, 30)))
    (said,) = faults([one(age_h=48.0)], long)
    assert "a gap in the readings, found '21 h from 9 h after the cast'; at most 12 h are bridged" in said


def test_everything_that_is_wrong_is_said_at_once() -> None:
    weather = Weather(CAST, logged(lambda _: 15.0, until_h=30))
    found = faults([one(2, age_h=48.0), one(3, at=CAST - timedelta(hours=1)), one(4, age_h=24.0)], weather)
    assert len(found) == 2
    assert "line 2: the readings end before it broke" in found[0]
    assert "line 3: broken before it was cast" in found[1]


@pytest.mark.parametrize(
    ("breaks", "weather", "words"),
    [
        ([one(age_h=24.0)], Weather(), "no temperature; add a column temp"),
        ([one(age_h=24.0)] * 5, Weather(), "breaks.csv: no temperatures; add a column temp"),
        ([one(at=CAST)], Weather(temp_degC=20.0), "a time without the cast's; add --cast T"),
        ([one(age_h=24.0, temp_degC=-2.0)], Weather(), "no age to speak of"),
    ],
)
def test_refusals(breaks: list[Break], weather: Weather, words: str) -> None:
    (found,) = faults(breaks, weather)
    assert words in found
