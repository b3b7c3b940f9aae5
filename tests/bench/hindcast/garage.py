"""A garage behind the weather, and what a maker would type of tomorrow's weather.

The garage is a model: a first-order lag behind the outside air, T' = (outside - T) / lag, exact for outside air that
runs straight from hour to hour. 12 h: thin walls, the door shut. 36 h: masonry, or a corner of a house. A heater adds,
from 18 to 22 h local, up to 10 K with a time constant of 3 h (invented, like a maker's evening).

What is typed are the true low and high of three local days, today's first, each off by an error of 1.5 K (standard
deviation; half its variance is common to the low and the high of a day, days are independent), rounded to 1 K as people
type. That is what a weather report of one to three days errs by (common experience, no source).
"""

from datetime import datetime, timedelta
from functools import lru_cache
from math import exp, isnan, nan, sqrt
from random import Random

import msgspec

from curetrack.facts import DayRange, Forecast
from tests.bench.hindcast.climates import Climate

__all__ = ["VARIANTS", "Garage", "Variant", "garage_of", "typed_days"]

TYPED_DAYS, TYPED_K = 3, 1.5
HEAT_K, HEAT_LAG_H, HEAT_FROM, HEAT_TO = 10.0, 3.0, 18, 22


class Variant(msgspec.Struct, frozen=True):
    """Which garage: its lag, and whether somebody heats in the evening."""

    lag_h: float
    heated: bool

    def __str__(self) -> str:
        return f"{self.lag_h:.0f} h{', heater' if self.heated else ''}"


VARIANTS = (Variant(12.0, False), Variant(36.0, False), Variant(12.0, True), Variant(36.0, True))


class Garage(msgspec.Struct, frozen=True):
    """`temps_degC[k]` at the climate's `start_h + k`; nan for three lags after a hole."""

    climate: Climate
    variant: Variant
    temps_degC: tuple[float, ...]


@lru_cache(maxsize=4)
def garage_of(climate: Climate, variant: Variant) -> Garage:
    """The garage's air of a whole year."""
    outside, lag = climate.temps_degC, variant.lag_h
    keeps, heat_keeps = exp(-1.0 / lag), exp(-1.0 / HEAT_LAG_H)
    first = [temp for temp in outside[:48] if not isnan(temp)]
    shop, warmth, temps = sum(first) / len(first), 0.0, []
    unknown = 0
    for index, out in enumerate(outside):
        before = outside[index - 1] if index else out
        if isnan(out):
            unknown = round(3 * lag)  # by then a twentieth of the error is left
        elif not isnan(before):
            behind = (out - before) * lag
            shop = out - behind + (shop - before + behind) * keeps
        hour = datetime.fromtimestamp((climate.start_h + index) * 3600.0, climate.zone).hour
        warmth *= heat_keeps
        if variant.heated and HEAT_FROM <= hour < HEAT_TO:
            warmth += HEAT_K * (1.0 - heat_keeps)
        temps.append(nan if unknown > 0 else shop + warmth)
        unknown -= 1
    return Garage(climate, variant, tuple(temps))


def typed_days(climate: Climate, at_h: int, random: Random) -> Forecast | None:
    """What a maker types at the pour; None where a day is not known whole."""
    today = datetime.fromtimestamp(at_h * 3600.0, climate.zone).replace(hour=0, minute=0)
    days = []
    for number in range(TYPED_DAYS):
        start_h = round((today + timedelta(days=number)).timestamp() / 3600.0) - climate.start_h
        day = climate.temps_degC[start_h : start_h + 24]
        errors = [random.gauss(0.0, TYPED_K * sqrt(0.5)) for _ in range(3)]
        if len(day) < 24 or any(map(isnan, day)):
            return None
        low, high = round(min(day) + errors[0] + errors[1]), round(max(day) + errors[0] + errors[2])
        days.append(DayRange(number, float(min(low, high)), float(max(low, high))))
    return Forecast("days", float(at_h), days=tuple(days))
