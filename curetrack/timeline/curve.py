"""A piece's temperature and strength against time, for a chart. The same clocks and laws as the solver's.

Equation and sources: concrete/maturity.py (equivalent age by the mix's own law, within the band of the usual laws) and
concrete/strength.py (growth with the mix's spread).
"""

from collections.abc import Sequence
from datetime import datetime

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.facts import Event, Piece
from curetrack.instants import from_h, to_h
from curetrack.profile.types import Profile
from curetrack.timeline.history import read_history
from curetrack.timeline.solve import clocks_of, course_of_slab
from curetrack.timeline.types import Timeline

__all__ = ["Curve", "Threshold", "curve_of"]


class Threshold(Struct, frozen=True):
    """A strength that a step needs [MPa], and when it is planned."""

    step: str
    title: str
    strength_MPa: float
    plan_at: datetime | None


class Curve(Struct, frozen=True):
    """Values at evenly spaced instants. Before the pour there is no equivalent age and no strength: None.

    temp_degC          the slab (else the air) by the central course; low and high its plausible sides
    measured_until     the last reading; after it the forecast
    equivalent_age_h   by the mix's own law
    strength_MPa       likewise; low and high over the rate laws, the sides and the mix's spread
    """

    at: tuple[datetime, ...]
    temp_degC: tuple[float | None, ...]
    temp_low_degC: tuple[float | None, ...]
    temp_high_degC: tuple[float | None, ...]
    measured_until: datetime | None
    poured_at: datetime | None
    equivalent_age_h: tuple[float | None, ...]
    strength_MPa: tuple[float | None, ...]
    strength_low_MPa: tuple[float | None, ...]
    strength_high_MPa: tuple[float | None, ...]
    thresholds: tuple[Threshold, ...]


Four = tuple[float | None, float | None, float | None, float | None]
NOTHING: Four = (None, None, None, None)


def curve_of(
    piece: Piece, profile: Profile, events: Sequence[Event], course: Course, timeline: Timeline,
    *, start: datetime, end: datetime, count: int,
) -> Curve:  # fmt: skip
    """`count` instants (two at least) from `start` to `end`."""
    if count < 2 or end <= start:
        raise ValueError("a curve needs two instants, the later one last")
    first_h, step_h = to_h(start), (to_h(end) - to_h(start)) / (count - 1)
    hours = [first_h + step_h * number for number in range(count)]
    warm = course.has_temperature
    pour_h = read_history(events).last_batch_h
    course = course_of_slab(course, piece, profile, pour_h)
    grown = _grown(profile, course, pour_h, hours) if warm and pour_h is not None else [NOTHING] * count
    until_h = course.measured_until_h
    return Curve(
        at=tuple(map(from_h, hours)),
        temp_degC=tuple(course.temp_degC(h) if warm else None for h in hours),
        temp_low_degC=tuple(course.temp_degC(h, side="cold") if warm else None for h in hours),
        temp_high_degC=tuple(course.temp_degC(h, side="warm") if warm else None for h in hours),
        measured_until=None if until_h is None else from_h(until_h), poured_at=timeline.poured_at,
        equivalent_age_h=tuple(one[0] for one in grown), strength_MPa=tuple(one[1] for one in grown),
        strength_low_MPa=tuple(one[2] for one in grown), strength_high_MPa=tuple(one[3] for one in grown),
        thresholds=_thresholds(timeline),
    )  # fmt: skip


def _grown(profile: Profile, course: Course, pour_h: float, hours: Sequence[float]) -> list[Four]:
    clocks, growth, spread = clocks_of(course, profile.mix), profile.mix.growth, profile.mix.spread
    found: list[Four] = []
    for hour in hours:
        if hour < pour_h:
            found.append(NOTHING)
            continue
        age_h = clocks.gained(pour_h, hour)
        low_h, high_h = clocks.gained_band(pour_h, hour)
        low, high = growth.strength_MPa(low_h) * (1.0 - spread), growth.strength_MPa(high_h) * (1.0 + spread)
        found.append((age_h, growth.strength_MPa(age_h), low, high))
    return found


def _thresholds(timeline: Timeline) -> tuple[Threshold, ...]:
    """Of the open steps that wait for a strength: of each the highest, and each strength once."""
    found: dict[float, Threshold] = {}
    for line in timeline.lines:
        if line.state in ("done", "skipped") or line.optional:
            continue
        needs = [
            reason.need for reason in line.reasons
            if reason.rule in ("strength", "handling") and reason.need is not None and reason.unit == "MPa"
        ]  # fmt: skip
        if needs:
            found.setdefault(round(max(needs), 3), Threshold(line.step, line.title, max(needs), line.plan_at))
    return tuple(sorted(found.values(), key=lambda one: one.strength_MPa))
