"""Equivalent ages of breaks: by the law of the profile that they are fitted for, as a sheet counts it.

The law is the central one of the band: the mix's own, which above the reference temperature credits no more than the
slowest. So a piece cured as the specimens were gets the strengths they had.
"""

from collections.abc import Sequence
from datetime import datetime

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.concrete.laws import RateLaw
from curetrack.concrete.maturity import band_laws
from curetrack.errors import BadInput
from curetrack.fit.breaks import Break
from curetrack.instants import to_h
from curetrack.profile.faulty import Sheet
from curetrack.profile.types import Mix

__all__ = ["HELD_H", "LONGEST_GAP_H", "Aged", "Weather", "central_law", "equivalent_ages"]

HELD_H = 2.0  # so long the last reading is taken to hold, as the first one is before it
LONGEST_GAP_H = 12.0  # a night or an afternoon lies in a longer one (ours)

WARMTH = "add a column temp (mean since the cast), or --temp 20C, or --temps FILE --cast T"


class Weather(Struct, frozen=True):
    """What is known of the temperatures since the cast: a course of readings, or one temperature for all."""

    cast: datetime | None = None
    course: Course | None = None
    temp_degC: float | None = None


class Aged(Struct, frozen=True):
    """Equivalent ages in the breaks' order, and the gaps in the readings, over which the course is taken straight. How
    many breaks count by a mean temperature of their own, and of how many it was left aside for the readings."""

    ages_h: tuple[float, ...]
    gaps_h: tuple[float, ...] = ()
    by_mean: int = 0
    aside: int = 0


def central_law(mix: Mix) -> RateLaw:
    """The law by which a sheet counts `ready_at`."""
    laws = band_laws(mix.maturity, mix.reference_degC)
    return laws[1] if len(laws) > 1 else laws[0]


def equivalent_ages(breaks: Sequence[Break], mix: Mix, weather: Weather, where: str) -> Aged:
    """Equivalent ages [h]. A break's own `equivalent_h` counts first, then the readings, its own mean temperature, and
    one for all. Raises Faults: times before the cast, no temperature, readings that do not reach that far or leave more
    than LONGEST_GAP_H open."""
    sheet, law = Sheet(where), central_law(mix)
    if weather.course is None and weather.temp_degC is None:
        without = [one for one in breaks if one.temp_degC is None and one.equivalent_h is None]
        if len(without) > 1 and len(without) == len(breaks):
            sheet.add("", "", BadInput("no temperatures", remedy=WARMTH))
            sheet.check()
    ages: list[float] = []
    for one in breaks:
        try:
            age = _age(one, law, weather)
            if not age >= 0.5:
                raise BadInput(
                    "no age to speak of", found=f"{age:.2f} h at the reference temperature",
                    remedy="at or below 0 degC nothing hardens; leave it out",
                )  # fmt: skip
            ages.append(age)
        except BadInput as error:
            sheet.add(f"line {one.line}", "", error)
    gaps = _gaps(breaks, weather, sheet)
    sheet.check()
    own = sum(one.temp_degC is not None and one.equivalent_h is None for one in breaks)
    return Aged(tuple(ages), gaps, *((own, 0) if weather.course is None else (0, own)))


def _age(one: Break, law: RateLaw, weather: Weather) -> float:
    if one.equivalent_h is not None:
        return one.equivalent_h
    age_h = _clock_age(one, weather)
    course = weather.course
    if course is not None:
        assert weather.cast is not None
        cast_h = to_h(weather.cast)
        if course.measured_until_h is None or cast_h + age_h > course.measured_until_h + HELD_H:
            raise BadInput("the readings end before it broke", remedy="log on, or leave it out")
        return course.gained_h(law, cast_h, cast_h + age_h)
    temp = one.temp_degC if one.temp_degC is not None else weather.temp_degC
    if temp is None:
        raise BadInput("no temperature", remedy=WARMTH)
    return law.rate(temp) * age_h


def _clock_age(one: Break, weather: Weather) -> float:
    if one.age_h is not None:
        return one.age_h
    assert one.at is not None  # the table has one of the three
    if weather.cast is None:
        raise BadInput("a time without the cast's", remedy="add --cast T")
    age_h = to_h(one.at) - to_h(weather.cast)
    if age_h < 0.5:
        raise BadInput("broken before it was cast, or within the half hour", remedy="look at the time, and at --cast")
    return age_h


def _gaps(breaks: Sequence[Break], weather: Weather, sheet: Sheet) -> tuple[float, ...]:
    """How long the gaps are, of those over 2 h between the cast and the last break."""
    if weather.course is None or weather.cast is None:
        return ()
    cast_h = to_h(weather.cast)
    ends = [cast_h + one.age_h for one in breaks if one.age_h is not None]
    ends += [to_h(one.at) for one in breaks if one.at is not None]
    found = []
    for gap in weather.course.gaps_within(cast_h, max(ends, default=cast_h)):
        hours = gap.to_h - gap.from_h
        found.append(hours)
        if hours > LONGEST_GAP_H:
            sheet.add("--temps", "", BadInput(
                "a gap in the readings", found=f"{hours:.0f} h from {gap.from_h - cast_h:.0f} h after the cast",
                remedy=f"at most {LONGEST_GAP_H:g} h are bridged; give ages with a column temp instead",
            ))  # fmt: skip
    return tuple(found)
