"""The picture for the README: how far off, and how many outcomes inside the band. SVG, drawn by hand."""

from collections.abc import Iterator, Sequence

from tests.bench.hindcast.run import Case, Year
from tests.bench.hindcast.tally import figures, interval, outcomes, quantile, share
from tests.bench.hindcast.trial import Bench, Step

__all__ = ["picture"]

WIDTH, HEIGHT = 900, 480
PAPER, INK, DIM, GRID = "#ffffff", "#222222", "#666666", "#dddddd"
STEPS: tuple[tuple[Step, str], ...] = (("set", "final set"), ("strip", "strip"), ("flip", "flip"))
WAYS = (
    ("20 °C", "the clock time of a warm shop", "#b9b2a6"),
    ("one reading", "the last temperature held", "#d9a441"),
    ("past", "curetrack, past readings alone", "#5b8db8"),
    ("typed", "curetrack, typed lows and highs", "#1f4e79"),
)
MIDDLE = 570
TOP, FLOOR, MOST_H = 92, 400, 12.0
LEFT, RIGHT = 52, 500
SHARES_LEFT, SHARES_RIGHT = 680, 876


def picture(years: Sequence[Year], *, seed: int) -> str:
    """Median errors of the unheated garages, within three days; and shares inside the weather's band by climate."""
    cases = [case for year in years for case in year.cases if not case.heated]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" '
        'font-size="13" role="img">',
        "<title>Predicted at the pour, on real weather</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>',
        _text(LEFT, 26, "How far off at the pour: median error, hours", size=15),
        *_legend(),
        *_bars(cases),
        _text(MIDDLE, 26, "Outcomes inside the weather's band, %", size=15),
        *_shares(cases, seed),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _legend() -> Iterator[str]:
    for number, (_, label, colour) in enumerate(WAYS):
        x, y = LEFT + 225 * (number % 2), 48 + 20 * (number // 2)
        yield f'<rect x="{x}" y="{y - 10}" width="12" height="12" fill="{colour}"/>'
        yield _text(x + 18, y, label)


def _bars(cases: Sequence[Case]) -> Iterator[str]:
    for hours in range(0, int(MOST_H) + 1, 2):
        y = _height(float(hours))
        yield f'<line x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}" stroke="{GRID}"/>'
        yield _text(LEFT - 8, y + 4, str(hours), anchor="end", colour=DIM)
    bench, group = Bench(), (RIGHT - LEFT) / (2 * len(STEPS))
    for number, (step, lag) in enumerate((step, lag) for step in STEPS for lag in (12.0, 36.0)):
        mine = [case for case in cases if case.lag_h == lag]
        x = LEFT + group * number + 6
        for way, _, colour in WAYS:
            value = _median(mine, step[0], way, bench)
            y = _height(min(value, MOST_H))
            yield f'<rect x="{x:.1f}" y="{y:.1f}" width="13" height="{FLOOR - y:.1f}" fill="{colour}"/>'
            yield _text(x + 6.5, y - 4, f"{value:.1f}", anchor="middle", size=9)
            x += 15
        middle = LEFT + group * (number + 0.5)
        yield _text(middle, FLOOR + 18, step[1], anchor="middle")
        yield _text(middle, FLOOR + 34, f"lag {lag:.0f} h", anchor="middle", colour=DIM)
    said = "Unheated garage, first-order lag behind the weather; steps within three days."
    yield _text(LEFT, FLOOR + 62, said, colour=DIM, size=12)


def _median(cases: Sequence[Case], step: Step, way: str, bench: Bench) -> float:
    if way == "20 °C":
        within = [one for one in outcomes(cases, "typed", [step]) if one.within]
        return quantile([abs(bench.at_20_h(step) - one.case.truth[step]) for one in within], 0.5)
    found = figures([one for one in outcomes(cases, way, [step]) if one.within])
    return found.median_h if found is not None else 0.0


def _shares(cases: Sequence[Case], seed: int) -> Iterator[str]:
    for percent in (80, 87, 90, 93, 100):
        x = _along(percent / 100.0)
        stroke = f'stroke="{DIM}"' if percent == 90 else f'stroke="{GRID}" stroke-dasharray="3 3"'
        yield f'<line x1="{x:.1f}" x2="{x:.1f}" y1="60" y2="{FLOOR - 40}" {stroke}/>'
        yield _text(x, FLOOR - 22, str(percent), anchor="middle", colour=DIM, size=11)
    y = 84.0
    for name in dict.fromkeys(case.climate for case in cases):
        mine = [case for case in cases if case.climate == name]
        yield _text(SHARES_LEFT - 12, y + 10, name, anchor="end")
        for way, _, colour in WAYS[2:]:
            found = [one for one in outcomes(mine, way, [step for step, _ in STEPS]) if one.within]
            inside = share(found, lambda one: one.inside_weather)
            low, high = interval(found, lambda one: one.inside_weather, seed)
            ends = f'x1="{_along(low):.1f}" x2="{_along(high):.1f}" y1="{y}" y2="{y}"'
            yield f'<line {ends} stroke="{colour}" stroke-width="3"/>'
            yield f'<circle cx="{_along(inside):.1f}" cy="{y}" r="5" fill="{colour}"/>'
            y += 18
        y += 24
    yield _text(MIDDLE, FLOOR + 18, "Made for 90 %. Lines: 90 % interval of a block", colour=DIM, size=12)
    yield _text(MIDDLE, FLOOR + 34, "bootstrap over fortnights. The whole band, the", colour=DIM, size=12)
    yield _text(MIDDLE, FLOOR + 50, "rate laws included, holds 98 % and more.", colour=DIM, size=12)


def _height(hours: float) -> float:
    return FLOOR - (FLOOR - TOP) * hours / MOST_H


def _along(part: float) -> float:
    return SHARES_LEFT + (SHARES_RIGHT - SHARES_LEFT) * (min(max(part, 0.78), 1.0) - 0.78) / 0.22


def _text(x: float, y: float, said: str, *, anchor: str = "start", colour: str = INK, size: int = 13) -> str:
    said = said.replace("&", "&amp;").replace("<", "&lt;")
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}" font-size="{size}">{said}</text>'
