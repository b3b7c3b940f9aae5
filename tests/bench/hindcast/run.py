"""All pours of a year in one garage."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from math import inf, isfinite, isnan
from random import Random

import msgspec

from curetrack.climate.course import Course
from curetrack.facts import Forecast
from tests.bench.hindcast.climates import Climate
from tests.bench.hindcast.garage import Garage, Variant, garage_of, typed_days
from tests.bench.hindcast.trial import STEPS, Answer, Bench, Step, course_of

__all__ = ["AHEAD_H", "LATER_H", "PAST_H", "REACH_H", "Case", "Way", "Year", "known", "pours", "year"]

Way = str
PAST_H = 78  # readings before the pour: what the shop hands to a course
AHEAD_H = 240  # so much of the year must follow a pour; what takes longer counts as out of sight
REACH_H = 72.0  # of a forecast of three days
BLOCK_DAYS = 14  # halves are alternate fortnights, and so are the blocks of the bootstrap
FROM_HOUR, TO_HOUR = 9, 17  # a maker pours between
LATER_H = (0, 6, 12, 24)  # hours after the pour at which the band is asked again
EVERY_FOR_LATER = 3


class Case(msgspec.Struct, frozen=True):
    """One pour: the true hours and what was said, by way. `later[h]`: of the readings alone, h hours after the pour."""

    climate: str
    variant: str
    heated: bool
    lag_h: float
    day: int
    block: int
    season: str
    frozen: bool
    truth: dict[Step, float]
    said: dict[Way, dict[Step, Answer]]
    later: dict[int, dict[Step, Answer]]


class Year(msgspec.Struct, frozen=True):
    """The pours of one garage, and how many days were left out for holes in the weather."""

    cases: list[Case]
    left_out: int


def year(climate: Climate, variant: Variant, half: int, seed: int) -> Year:
    """A pour on every day of one half (0: the first, third ... fortnight; 1: the others)."""
    garage, bench = garage_of(climate, variant), Bench()
    truth = course_of(garage.temps_degC, climate.start_h, None, climate.zone)
    cases, left_out = [], 0
    for day, pour_h in pours(garage, half, seed):
        forecast = typed_days(climate, pour_h, Random(f"{seed} {climate.name} {day}"))
        if forecast is None or not known(garage, pour_h):
            left_out += 1
        else:
            cases.append(_case(garage, bench, truth, day, pour_h, forecast))
    return Year(cases, left_out)


def pours(garage: Garage, half: int, seed: int) -> Iterator[tuple[int, int]]:
    """Number and hour of each pour of a half. The same hours, and typed errors, for every garage of a climate."""
    climate = garage.climate
    random = Random(f"{seed} {climate.name}")
    first = datetime.fromtimestamp((climate.start_h + PAST_H + 24) * 3600.0, climate.zone).replace(hour=0)
    for day in range(len(garage.temps_degC) // 24):
        at = (first + timedelta(days=day)).replace(hour=random.randint(FROM_HOUR, TO_HOUR))
        pour_h = round(at.timestamp() / 3600.0)
        if pour_h + AHEAD_H > climate.start_h + len(garage.temps_degC):
            return
        if day // BLOCK_DAYS % 2 == half:
            yield day, pour_h


def known(garage: Garage, pour_h: int) -> bool:
    """Whether nothing is missing from the first reading used to ten days after the pour."""
    at = pour_h - garage.climate.start_h
    return not any(map(isnan, garage.temps_degC[at - PAST_H : at + AHEAD_H + 1]))


def _case(garage: Garage, bench: Bench, truth: Course, day: int, pour_h: int, forecast: Forecast) -> Case:
    climate, variant = garage.climate, garage.variant
    at = pour_h - climate.start_h

    def said(since: int, until: int, typed: Forecast | None) -> dict[Step, Answer]:
        temps = garage.temps_degC[at - since : at + until + 1]
        course = course_of(temps, pour_h - since, typed, climate.zone)
        return bench.said(course, float(pour_h), float(pour_h + until))

    month = datetime.fromtimestamp(pour_h * 3600.0, climate.zone).month
    later = {hours: said(PAST_H, hours, None) for hours in LATER_H if day % EVERY_FOR_LATER == 0}
    return Case(
        climate=climate.name, variant=str(variant), heated=variant.heated, lag_h=variant.lag_h, day=day,
        block=day // BLOCK_DAYS, season=("winter", "spring", "summer", "autumn")[month % 12 // 3],
        frozen=bench.froze_young(truth, float(pour_h)),
        truth={step: _after(bench, truth, step, pour_h) for step in STEPS},
        said={
            "past": said(PAST_H, 0, None), "typed": said(PAST_H, 0, forecast), "one reading": said(0, 0, None),
            "one, typed": said(0, 0, forecast), "last day": said(PAST_H, 0, Forecast("last-day", float(pour_h))),
        },
        later=later,
    )  # fmt: skip


def _after(bench: Bench, truth: Course, step: Step, pour_h: int) -> float:
    centre = bench.moment(truth, step, float(pour_h), float(pour_h)).centre - pour_h
    return centre if isfinite(centre) and centre < AHEAD_H else inf
