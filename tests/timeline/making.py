"""Small builders for the tests of the solver. All times are hours after one pour, so that a test can be read aloud."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Forecast, Piece, Reading, Shape
from curetrack.instants import to_h
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.types import Profile
from curetrack.timeline.solve import solve
from curetrack.timeline.types import Line, Timeline

POUR = datetime(2026, 1, 10, 10, tzinfo=UTC)
POUR_H = to_h(POUR)
LONG_h = 40 * 24.0  # a measured stretch so long that no test runs into the forecast
TOP = Shape(1.2, 0.6, 0.04)

ARRHENIUS = 'maturity = { law = "arrhenius", q = "5000 K", reference = "20 degC" }'
SAUL = 'maturity = { law = "nurse-saul", datum = "-10 degC", reference = "20 degC" }'
HYPERBOLA = 'growth = { law = "hyperbola", rate = "0.25 /day", start = "7 h" }'

# --- profiles --------------------------------------------------------------------------------------------------------


def profile(steps: str, *, growth: str = HYPERBOLA, maturity: str = ARRHENIUS, spread: str = "25 %") -> Profile:
    """A profile with these [[step]] tables; a step's head is made from a line "[id] key = value ...", see `step`."""
    text = f"""format = 1
name = "Test"
cast = "face-down"
[mix]
strength_28d = "27 MPa"
{growth}
{maturity}
initial_set = "4 h"
final_set = "7 h"
spread = "{spread}"
density = "2240 kg/m3"
density_lift = "2350 kg/m3"
[material.slurry]
{SAUL}
{steps}
"""
    return compile_profile(load_document(text), "test", "test.toml")


def step(step_id: str, body: str = "", *, after: str = "pour", kind: str = "form") -> str:
    """One [[step]]; `body` are its further keys, one a line. `after` empty: no such key."""
    follows = f'after = "{after}"\n' if after else ""
    return f'[[step]]\nid = "{step_id}"\ntitle = "Do {step_id}"\nkind = "{kind}"\n{follows}{body}\n'


# --- instants --------------------------------------------------------------------------------------------------------


def at(hours: float) -> datetime:
    """The instant so many hours after the pour."""
    return POUR + timedelta(hours=hours)


def hours(instant: datetime | None) -> float | None:
    """Hours after the pour."""
    return None if instant is None else (instant - POUR) / timedelta(hours=1)


def ready(line: Line) -> float | None:
    """`ready_at`, hours after the pour."""
    return hours(line.ready_at)


def band(line: Line) -> tuple[float, float]:
    """`band`, hours after the pour; it must be known."""
    assert line.band is not None
    return (line.band[0] - POUR) / timedelta(hours=1), (line.band[1] - POUR) / timedelta(hours=1)


def band_method(line: Line) -> tuple[float, float]:
    """`band_method`, hours after the pour; it must be known."""
    assert line.band_method is not None
    return (line.band_method[0] - POUR) / timedelta(hours=1), (line.band_method[1] - POUR) / timedelta(hours=1)


# --- events ----------------------------------------------------------------------------------------------------------


def event(kind: str, hour: float, step_id: str = "", **more: Any) -> Event:
    """An event so many hours after the pour; numbered by `events`."""
    return Event(0, "top", kind, at(hour), at(hour), step=step_id, **more)  # type: ignore[arg-type]


def poured(*batches_h: float) -> Event:
    """The pour: at 0, or in batches."""
    batches = batches_h or (0.0,)
    return event("pour", max(batches), batches=tuple(at(hour) for hour in batches) if batches_h else ())


def done(step_id: str, hour: float, **more: Any) -> Event:
    """A tick."""
    return event("done", hour, step_id, **more)


def passed(step_id: str, hour: float) -> Event:
    """A hand check, passed."""
    return event("check", hour, step_id, check="pass")


def failed(step_id: str, hour: float) -> Event:
    """A hand check, failed."""
    return event("check", hour, step_id, check="fail")


def skipped(step_id: str, hour: float) -> Event:
    """A step left out."""
    return event("skip", hour, step_id)


def again(step_id: str, hour: float) -> Event:
    """One more round asked for."""
    return event("again", hour, step_id)


def later(step_id: str, hour: float, until: float) -> Event:
    """A step put off, said at `hour`."""
    return event("later", hour, step_id, until=at(until))


def numbered(events: Sequence[Event]) -> list[Event]:
    """The events with ids in the order of their recording."""
    from msgspec.structs import replace

    return [replace(one, id=number) for number, one in enumerate(events, 1)]


# --- weather ---------------------------------------------------------------------------------------------------------


def reading(hour: float, temp_degC: float | None = None, **more: Any) -> Reading:
    """A slab reading so many hours after the pour, unless `place` says otherwise."""
    return Reading(POUR_H + hour, temp_degC, **more)


def hourly(
    temp_degC: float | Callable[[float], float], *, since: float = -30.0, until: float = LONG_h, **more: Any
) -> list[Reading]:
    """Readings each hour; the temperature is steady, or a function of the hours after the pour."""
    temp = temp_degC if callable(temp_degC) else lambda _: temp_degC
    count = round(until - since)
    return [reading(since + k, temp(since + k), **more) for k in range(count + 1)]


def levels(*parts: tuple[float, float], since: float = -30.0, until: float = LONG_h) -> list[Reading]:
    """Readings each hour of levels (from hour, temperature), with an edge one second wide at each change."""
    found: list[Reading] = []
    starts = [since, *(start for start, _ in parts[1:])]
    for (_, temp), start, end in zip(parts, starts, [*starts[1:], until], strict=True):
        first = start + (1.0 / 3600.0 if found else 0.0)
        inner = [hour for k in range(1, 2000) if first < (hour := int(first) + k) < end]
        found += [reading(hour, temp) for hour in (first, *inner, end)]
    return found


def course(readings: Sequence[Reading], forecast: Forecast | None = None, zone: tzinfo = UTC) -> Course:
    """The course of these readings."""
    return build_course(readings, forecast, zone)


def steady(temp_degC: float, humidity_pct: float | None = None, *, until: float = LONG_h) -> Course:
    """One temperature (and humidity), measured each hour."""
    return course(hourly(temp_degC, until=until, humidity_pct=humidity_pct))


def unknown() -> Course:
    """No reading, no forecast."""
    return course([])


# --- solving ---------------------------------------------------------------------------------------------------------


def piece(shape: Shape = TOP, *, planned: float | None = None, created: float = -72.0) -> Piece:
    """A piece, written down three days before the pour."""
    return Piece("top", shape, "test", "sha", at(created), planned_pour_at=None if planned is None else at(planned))


def solved(
    made: Profile | str, weather: Course, now: float, *facts: Event, of: Piece | None = None, **more: Any
) -> Timeline:
    """The timeline so many hours after the pour. Steps as text become a profile; no facts mean: poured at 0."""
    made = profile(made) if isinstance(made, str) else made
    return solve(of or piece(), made, numbered(facts or (poured(),)), weather, at(now), **more)


def line(timeline: Timeline, step_id: str) -> Line:
    """A line that must be there."""
    found = timeline.line(step_id)
    assert found is not None, f"no {step_id} among {[one.step for one in timeline.lines]}"
    return found


def state(timeline: Timeline, step_id: str) -> str:
    """The state of a step."""
    return line(timeline, step_id).state
