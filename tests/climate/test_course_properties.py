"""What holds for every history: hypothesis invents them."""

from datetime import UTC
from itertools import pairwise
from math import inf

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curetrack.climate.course import Course, build_course
from curetrack.climate.curve import SAME_H
from curetrack.concrete.laws import RateLaw
from curetrack.facts import DayRange, Forecast, ForecastPoint, Place, Reading
from tests.climate.course_histories import LAWS, START_H

SIDES = ("cold", "centre", "warm")
PLACES: tuple[Place, ...] = ("slab", "air", "outside", "water")

minutes = st.integers(0, 3 * 1440)
tenths = st.integers(-120, 450).map(lambda tenth: tenth / 10.0)  # -12 to 45 degC, as a sensor shows it
laws = st.sampled_from(LAWS)
offsets = st.floats(-20.0, 150.0)
relaxed = settings(deadline=None, max_examples=80)  # a forecast of days is work, and the machine may be busy

FORECASTS = (
    None,
    Forecast("steady", START_H, temp_degC=14.0, humidity_pct=75.0),
    Forecast("days", START_H, days=(DayRange(0, -3.0, 9.0), DayRange(1, 5.0, 24.0))),
    Forecast("last-day", START_H),
    Forecast(
        "points", START_H, points=(ForecastPoint(START_H + 90.0, -5.0), ForecastPoint(START_H + 99.0, 25.0, 40.0))
    ),
)
forecasts = st.sampled_from(FORECASTS)


@st.composite
def slab_readings(draw: st.DrawFn, least: int = 1) -> list[Reading]:
    """Slab readings at whole minutes in three days, some close together and some far apart, each instant once."""
    found = draw(st.lists(st.tuples(minutes, tenths), min_size=least, max_size=40, unique_by=lambda item: item[0]))
    return [Reading(START_H + minute / 60.0, temp_degC=temp, id=k) for k, (minute, temp) in enumerate(sorted(found))]


@st.composite
def any_readings(draw: st.DrawFn) -> list[Reading]:
    """Readings of any place and owner, in any order, instants and numbers repeated."""
    one = st.builds(
        lambda minute, temp, pct, place, piece, number: Reading(
            START_H + minute / 60.0, temp, pct, None, place, piece, number, float(number % 3)
        ),
        st.integers(0, 300).map(lambda k: 10 * k),
        st.none() | tenths,
        st.none() | st.integers(0, 100).map(float),
        st.sampled_from(PLACES),
        st.sampled_from(("", "top")),
        st.integers(0, 9),
    )
    return draw(st.lists(one, min_size=1, max_size=25))


@relaxed
@given(slab_readings(), forecasts, laws, st.sampled_from(SIDES), offsets, st.floats(0.01, 400.0))
def test_reach_is_the_first_instant_at_which_so_much_is_gained(
    readings: list[Reading], forecast: Forecast | None, law: RateLaw, side: str, offset_h: float, amount_h: float
) -> None:
    course = build_course(readings, forecast, UTC)
    from_h = START_H + offset_h
    reached = course.reach(law, from_h, amount_h, side)
    if reached is None:
        assert course.gained_h(law, from_h, from_h + 1e5, side) < amount_h
        return
    assert course.gained_h(law, from_h, reached, side) >= amount_h - 3.0 * SAME_H
    earlier_h = from_h + (reached - from_h) * 0.999 - 1e-6
    assert course.gained_h(law, from_h, earlier_h, side) < amount_h


@relaxed
@given(slab_readings(), forecasts, laws, st.sampled_from(SIDES), offsets, st.floats(0.0, 200.0))
def test_what_was_gained_is_reached_no_later(
    readings: list[Reading], forecast: Forecast | None, law: RateLaw, side: str, offset_h: float, length_h: float
) -> None:
    course = build_course(readings, forecast, UTC)
    from_h, to_h = START_H + offset_h, START_H + offset_h + length_h
    reached = course.reach(law, from_h, course.gained_h(law, from_h, to_h, side), side)
    assert reached is not None
    assert reached <= to_h + 1e-6


@relaxed
@given(slab_readings(), forecasts, laws, offsets, st.floats(0.0, 90.0), st.floats(0.0, 90.0))
def test_hours_gained_add_up(
    readings: list[Reading], forecast: Forecast | None, law: RateLaw, offset_h: float, one_h: float, two_h: float
) -> None:
    course = build_course(readings, forecast, UTC)
    a, b, c = START_H + offset_h, START_H + offset_h + one_h, START_H + offset_h + one_h + two_h
    whole = course.gained_h(law, a, c)
    assert abs(course.gained_h(law, a, b) + course.gained_h(law, b, c) - whole) <= 1e-9 * max(1.0, whole)


def answers(course: Course, probes: list[float]) -> list[object]:
    """Everything that is asked of a course, to be compared."""
    found: list[object] = [course.gaps, course.first_h, course.measured_until_h, course.slab_source, course.air_source]
    found += [course.has_temperature, course.has_humidity]
    found += [course.humidity_pct(at_h) for at_h in probes]
    if not course.has_temperature:
        return found
    for side in SIDES:
        for channel in ("slab", "air"):
            found += [course.temp_degC(at_h, channel, side) for at_h in probes]
            found.append(course.spans(channel, 5.0, 20.0, probes[0], side))
            found.append(course.minimum(channel, probes[0], inf, side))
        for law in LAWS[1:5:2]:
            found += [course.gained_h(law, probes[0], at_h, side) for at_h in probes]
            found += [course.reach(law, probes[0], amount_h, side) for amount_h in (1.0, 30.0, 300.0)]
        found += [course.dried_h(probes[0], probes[-1], side), course.dry_reach(probes[0], 20.0, side)]
        found += [course.evaporated(probes[0], 0.5, side), course.spans("cool_gap", None, 3.0, probes[0], side)]
    return found


@relaxed
@given(any_readings(), forecasts, st.lists(offsets, min_size=3, max_size=5), st.data())
def test_a_course_grown_reading_by_reading_is_the_course_built_at_once(
    readings: list[Reading], forecast: Forecast | None, offsets_h: list[float], data: st.DataObject
) -> None:
    probes = sorted(START_H + offset_h for offset_h in offsets_h)
    first = data.draw(st.integers(0, len(readings)))
    course = build_course(readings[:first], forecast, UTC)
    for reading in readings[first:]:
        if data.draw(st.booleans()):
            answers(course, probes)  # sums are made at some stages and not at others
        course = course.with_reading(reading)
    assert answers(course, probes) == answers(build_course(readings, forecast, UTC), probes)


@relaxed
@given(any_readings(), forecasts, st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(
    readings: list[Reading], forecast: Forecast | None, random: object
) -> None:
    numbered = [Reading(r.at_h, r.temp_degC, r.humidity_pct, None, r.place, r.piece, k) for k, r in enumerate(readings)]
    shuffled = list(numbered)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    probes = [START_H + hours for hours in (-9.0, 3.3, 20.0, 61.0, 130.0)]
    one, two = build_course(numbered, forecast, UTC), build_course(shuffled, forecast, UTC)
    assert answers(one, probes) == answers(two, probes)


@relaxed
@given(any_readings(), forecasts, offsets, laws, st.floats(0.5, 300.0))
def test_the_cold_side_is_never_warmer_and_never_sooner(
    readings: list[Reading], forecast: Forecast | None, offset_h: float, law: RateLaw, amount_h: float
) -> None:
    course = build_course(readings, forecast, UTC)
    assume(course.has_temperature)
    at_h = START_H + offset_h
    for channel in ("slab", "air"):
        cold, centre, warm = (course.temp_degC(at_h, channel, side) for side in SIDES)
        assert cold <= centre + 1e-9
        assert centre <= warm + 1e-9
    moments = [course.reach(law, at_h, amount_h, side) for side in SIDES]
    late, middle, early = (inf if moment is None else moment for moment in moments)
    assert early <= middle + 1e-6
    assert middle <= late + 1e-6


@st.composite
def dense_and_thinned(draw: st.DrawFn) -> tuple[list[Reading], list[Reading]]:
    """An hourly log within 2 K, so that whatever is taken out lies within the plausible range of the gap it leaves
    (2 K beyond the readings around it at least), and the same with gaps: runs of two or more taken out (a single one
    leaves 2 h, which is no gap but a straight line), the first and the last kept."""
    base = draw(st.integers(-30, 250)) / 10.0
    temps = draw(st.lists(st.integers(0, 20), min_size=6, max_size=60))
    readings = [Reading(START_H + k, temp_degC=base + tenth / 10.0, id=k) for k, tenth in enumerate(temps)]
    kept = draw(st.lists(st.booleans(), min_size=len(readings), max_size=len(readings)))
    kept[0] = kept[-1] = True
    kept = [keep or (kept[k - 1] and kept[k + 1]) for k, keep in enumerate(kept)]
    return readings, [reading for reading, keep in zip(readings, kept, strict=True) if keep]


@relaxed
@given(dense_and_thinned(), st.sampled_from((FORECASTS[0], FORECASTS[1], FORECASTS[3])), laws, st.floats(0.5, 120.0))
def test_a_gap_never_narrows_the_band(
    logs: tuple[list[Reading], list[Reading]], forecast: Forecast | None, law: RateLaw, amount_h: float
) -> None:
    whole, thinned = (build_course(log, forecast, UTC) for log in logs)
    for from_h in (START_H, START_H + 3.3):
        early, late = (whole.reach(law, from_h, amount_h, side) or inf for side in ("warm", "cold"))
        earlier, later = (thinned.reach(law, from_h, amount_h, side) or inf for side in ("warm", "cold"))
        assert earlier <= early + 1e-6
        assert later >= late - 1e-6


@relaxed
@given(slab_readings(), forecasts, offsets, st.floats(-10.0, 20.0), st.floats(0.0, 15.0), st.sampled_from(SIDES))
def test_a_temperature_lies_in_a_span_exactly_where_the_spans_say_so(
    readings: list[Reading], forecast: Forecast | None, offset_h: float, low: float, width: float, side: str
) -> None:
    course = build_course(readings, forecast, UTC)
    spans = course.spans("slab", low, low + width, START_H + offset_h, side)
    assert all(opens < closes for opens, closes in spans)
    assert all(one[1] < two[0] for one, two in pairwise(spans))
    for step in range(60):
        at_h = START_H + offset_h + 0.0123 + 1.618 * step  # not at a whole minute: single instants are left out
        value = course.temp_degC(at_h, side=side)
        if min(abs(value - low), abs(value - low - width)) > 1e-6:
            assert (low <= value <= low + width) == any(opens <= at_h <= closes for opens, closes in spans)
