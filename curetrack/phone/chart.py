"""A piece's curve as SVG, drawn here: temperature and equivalent age above, strength with its thresholds and its band
below, steps as marks on the same axis of time, now as one line through both.

Readable in grey: lines differ by stroke, not by colour; what is expected is dashed. Colours come from the style sheet.
"""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil, floor, log10

from curetrack.phone.shell import Markup, esc
from curetrack.timeline.curve import Curve
from curetrack.timeline.types import Timeline
from curetrack.units import format_quantity
from curetrack.words.kinds import shape
from curetrack.words.voice import Voice

__all__ = ["chart"]

WIDTH, LEFT, RIGHT = 340, 34, 334
TEMP, AGE_MARKS, STRENGTH = (22, 112), 132, (146, 286)
MARKS_Y, DAYS_Y, HEIGHT = 304, 326, 332
LEAST_K, LEAST_MPa, HEADROOM = 6.0, 2.0, 1.1
NAMES = {"temperature": "temperature", "pressure": "strength"}
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Values = Sequence[float | None]
Map = Callable[[float], float]


def chart(curve: Curve, timeline: Timeline, voice: Voice) -> Markup:
    """The figure; a sentence where no temperature is known."""
    if all(value is None for value in curve.temp_degC):
        return "<p>No chart: no temperature is known yet.</p>"
    first, last = curve.at[0], curve.at[-1]

    def across(at: datetime) -> float:
        return LEFT + (at - first) / (last - first) * (RIGHT - LEFT)

    parts = [_days(curve, across, voice), _temps(curve, across, voice), _ages(curve, across)]
    parts += [_strengths(curve, across, voice), _marks(timeline, curve, across)]
    x = across(voice.now)
    parts.append(f'<line class="now" x1="{x:.0f}" x2="{x:.0f}" y1="{TEMP[0]}" y2="{MARKS_Y - 8}"/>')
    parts.append(f'<text class="strong" x="{x:.0f}" y="{TEMP[0] - 12}" text-anchor="middle">now</text>')
    return (
        f'<figure><svg class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="chart-says">'
        f'{"".join(parts)}</svg><figcaption id="chart-says">{esc(_says(curve, timeline, voice))}</figcaption></figure>'
    )


def _says(curve: Curve, timeline: Timeline, voice: Voice) -> str:
    """The same in words, for who cannot see it."""
    said = ["Above: temperature, solid as measured, dashed as expected; equivalent age in figures under it."]
    said.append("Below: strength, its range shaded, and what steps wait for.")
    if timeline.strength_MPa is not None:
        said.append(f"Now {format_quantity(timeline.strength_MPa, 'pressure', voice.system)}.")
    said += [f"{one.title}: {format_quantity(one.strength_MPa, 'pressure', voice.system)}." for one in curve.thresholds]
    return " ".join(said)


def _days(curve: Curve, across: Callable[[datetime], float], voice: Voice) -> Markup:
    """A thin line and a name at each local midnight."""
    parts: list[Markup] = []
    day = curve.at[0].astimezone(voice.zone).date() + timedelta(days=1)
    while True:
        midnight = datetime(day.year, day.month, day.day, tzinfo=voice.zone)
        if midnight >= curve.at[-1]:
            return "".join(parts)
        x = across(midnight)
        parts.append(f'<line class="grid" x1="{x:.0f}" x2="{x:.0f}" y1="{TEMP[0]}" y2="{STRENGTH[1]}"/>')
        if x < RIGHT - 24:
            parts.append(f'<text x="{x + 3:.0f}" y="{DAYS_Y}">{DAYS[day.weekday()]}</text>')
        day += timedelta(days=1)


def _temps(curve: Curve, across: Callable[[datetime], float], voice: Voice) -> Markup:
    courses = (curve.temp_low_degC, curve.temp_high_degC, curve.temp_degC)
    known = [value for values in courses for value in values if value is not None]
    middle, half = (min(known) + max(known)) / 2, max(LEAST_K, max(known) - min(known)) / 2 * HEADROOM
    up = _map(TEMP, middle - half, middle + half)
    measured = sum(at <= curve.measured_until for at in curve.at) if curve.measured_until is not None else 0
    parts = [_axis(up, (middle - half, middle + half), "temperature", voice)]
    parts.append(_area(curve, curve.temp_low_degC, curve.temp_high_degC, across, up))
    parts.append(_path(curve.at[:measured], curve.temp_degC[:measured], across, up, "line"))
    ahead = max(0, measured - 1)
    parts.append(_path(curve.at[ahead:], curve.temp_degC[ahead:], across, up, "line expected"))
    parts.append(_named(up, middle + half, "temperature", voice))
    return "".join(parts)


def _ages(curve: Curve, across: Callable[[datetime], float]) -> Markup:
    """Where the equivalent age passes whole days: its own scale under the temperature."""
    parts = [f'<text class="halo" x="{LEFT + 3}" y="{AGE_MARKS}">equivalent age</text>']
    free = LEFT + 115.0
    aged = [(at, age) for at, age in zip(curve.at, curve.equivalent_age_h, strict=True) if age is not None]
    for (start, low), (end, high) in pairwise(aged):
        days = int(high // 24)
        if days < 1 or days == int(low // 24):
            continue
        x = across(start + (end - start) * ((days * 24 - low) / (high - low)))
        parts.append(f'<line class="tick" x1="{x:.0f}" x2="{x:.0f}" y1="{TEMP[1]}" y2="{TEMP[1] + 6}"/>')
        if free <= x <= RIGHT - 12:
            parts.append(f'<text x="{x:.0f}" y="{AGE_MARKS}" text-anchor="middle">{days} d</text>')
            free = x + 30
    return "".join(parts)


def _strengths(curve: Curve, across: Callable[[datetime], float], voice: Voice) -> Markup:
    known = [v for v in (*curve.strength_high_MPa, *curve.strength_MPa) if v is not None]
    needed = [one.strength_MPa for one in curve.thresholds]
    top = max(LEAST_MPa, max([*known, *needed], default=0.0)) * HEADROOM
    up = _map(STRENGTH, 0.0, top)
    parts = [_axis(up, (0.0, top), "pressure", voice)]
    parts.append(_area(curve, curve.strength_low_MPa, curve.strength_high_MPa, across, up))
    parts.append(_path(curve.at, curve.strength_MPa, across, up, "line thick"))
    free = float(HEIGHT)
    for one in curve.thresholds:
        y = up(one.strength_MPa)
        parts.append(f'<line class="need" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>')
        if y <= free - 11:  # of two close together the lower one is named: it comes first in time
            value = format_quantity(one.strength_MPa, "pressure", voice.system)
            said = f"{esc(_short(one.title))}, {value}"
            parts.append(f'<text class="halo" x="{LEFT + 3}" y="{y - 3:.0f}">{said}</text>')
            free = y
    parts.append(_named(up, top, "pressure", voice))
    return "".join(parts)


def _marks(timeline: Timeline, curve: Curve, across: Callable[[datetime], float]) -> Markup:
    """Shapes of what was done and what is planned, under both; what has no room of its own is left to the axis."""
    parts, taken = [], list[float]()
    for line in timeline.lines:
        at = line.done_at if line.state == "done" else None if line.state == "skipped" else line.plan_at
        if at is None or line.optional or not curve.at[0] <= at <= curve.at[-1]:
            continue
        x = across(at)
        if all(abs(x - other) >= 9 for other in taken):
            taken.append(x)
            kind = "done" if line.state == "done" else "plan"
            parts.append(f'<text class="mark {kind}" x="{x:.0f}" y="{MARKS_Y}" text-anchor="middle">'
                         f"{shape(line.kind)}</text>")  # fmt: skip
    return "".join(parts)


def _axis(up: Map, span: tuple[float, float], dim: str, voice: Voice) -> Markup:
    """Round values at the left."""
    low, high = span
    step = _round_step((high - low) / 3.0)
    parts, value = list[Markup](), ceil(low / step) * step
    while value <= high:
        y = up(value)
        text = format_quantity(value, dim, voice.system).partition(" ")[0]
        parts.append(f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{y:.0f}" y2="{y:.0f}"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{y + 4:.0f}" text-anchor="end">{esc(text)}</text>')
        value += step
    return "".join(parts)


def _named(up: Map, high: float, dim: str, voice: Voice) -> Markup:
    """What an axis shows, and its unit, at the top: drawn last, so that no band lies over it."""
    unit = format_quantity(high, dim, voice.system).partition(" ")[2]
    return f'<text class="strong halo" x="{LEFT + 3}" y="{up(high) + 10:.0f}">{NAMES[dim]}, {esc(unit)}</text>'


def _round_step(least: float) -> float:
    """The next of 1, 2, 5, 10, 20, 50 ..."""
    power = 10.0 ** floor(log10(least))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * 0.999)


def _map(field: tuple[int, int], low: float, high: float) -> Map:
    top, bottom = field
    return lambda value: bottom - (value - low) / (high - low) * (bottom - top)


def _path(at: Sequence[datetime], values: Values, across: Callable[[datetime], float], up: Map, name: str) -> Markup:
    points = [f"{across(t):.1f} {up(v):.1f}" for t, v in zip(at, values, strict=True) if v is not None]
    return f'<path class="{name}" d="M{"L".join(points)}"/>' if len(points) > 1 else ""


def _area(curve: Curve, low: Values, high: Values, across: Callable[[datetime], float], up: Map) -> Markup:
    both = [(t, a, b) for t, a, b in zip(curve.at, low, high, strict=True) if a is not None and b is not None]
    if len(both) < 2:
        return ""
    there = [f"{across(t):.0f} {up(b):.0f}" for t, _, b in both]
    back = [f"{across(t):.0f} {up(a):.0f}" for t, a, _ in reversed(both)]
    return f'<path class="band" d="M{"L".join(there + back)}Z"/>'


def _short(title: str) -> str:
    return title if len(title) <= 28 else f"{title[:27].rsplit(' ', 1)[0]} ..."
