"""The table: plain text, as it stands in a terminal."""

from collections.abc import Iterable, Sequence
from math import isnan

from tests.bench.hindcast.climates import Climate
from tests.bench.hindcast.run import LATER_H, Case, Year
from tests.bench.hindcast.tally import Figures, Outcome, figures, interval, outcomes, quantile, share
from tests.bench.hindcast.trial import STEPS, Bench, Step

__all__ = ["report"]

WAYS = ("one reading", "last day", "one, typed", "past", "typed")
SEASONS = ("winter", "spring", "summer", "autumn")
UNHEATED, HEATED = False, True


def report(found: Sequence[Climate], years: Sequence[Year], *, half: str, seed: int) -> str:
    """All of it."""
    cases = [case for each in years for case in each.cases]
    lines = [f"Hindcast, days to {half}, seed {seed}. Hours; bands of 90 %.", "", *_counts(found, years)]
    for heated in (UNHEATED, HEATED):
        some = [case for case in cases if case.heated is heated]
        lines += ["", f"Error{', evening heater' if heated else ''}: median and 90th percentile, within three days"]
        lines += _errors(some)
    lines += ["", "Share inside the weather's band, within three days (by block bootstrap), and its mean width"]
    lines += _shares(cases, seed)
    lines += ["", "Share inside the weather's band by season, all climates and garages, within three days"]
    lines += _seasons(cases, seed)
    lines += ["", "Beyond three days: median error and 90th percentile, share inside, mean width"]
    lines += _beyond(cases)
    lines += ["", "Mean width of the whole band (of the weather's part) as readings arrive after the pour"]
    lines += _later(cases)
    return "\n".join(lines)


def _counts(found: Sequence[Climate], years: Sequence[Year]) -> list[str]:
    lines = [f"{'climate':16}{'hours missing':>14}{'bridged':>9}{'pours':>7}{'left out':>10}{'froze young':>13}"]
    for climate in found:
        mine = [each for each in years if each.cases and each.cases[0].climate == climate.name]
        cases = [case for each in mine for case in each.cases]
        frozen = sum(case.frozen for case in cases)
        left = sum(each.left_out for each in mine)
        lines.append(f"{climate.name:16}{climate.missing:14}{climate.bridged:9}{len(cases):7}{left:10}{frozen:13}")
    return lines


def _errors(cases: Sequence[Case]) -> list[str]:
    bench = Bench()
    head = f"{'':16}{'lag':>5} {'step':6}{'n':>5}{'beyond':>7}{'20 degC':>14}"
    lines = [head + "".join(f"{way:>14}" for way in WAYS)]
    names = list(dict.fromkeys(case.climate for case in cases))
    groups = [(name, lag) for name in [*names, "all"] for lag in (12.0, 36.0)]
    for step in STEPS:
        for name, lag in groups:
            some = [case for case in cases if case.lag_h == lag and name in (case.climate, "all")]
            within = [one for one in outcomes(some, "typed", [step]) if one.within]
            beyond = len(outcomes(some, "typed", [step])) - len(within)
            clock = [abs(bench.at_20_h(step) - one.case.truth[step]) for one in within]
            text = f"{name:16}{lag:5.0f} {step:6}{len(within):5}{beyond:7}"
            text += _pair(quantile(clock, 0.5), quantile(clock, 0.9))
            for way in WAYS:
                numbers = figures([one for one in outcomes(some, way, [step]) if one.within])
                text += _pair(numbers.median_h, numbers.p90_h) if numbers else f"{'-':>14}"
            lines.append(text)
    return lines


def _shares(cases: Sequence[Case], seed: int) -> list[str]:
    lines = []
    for way in ("past", "typed", "one reading", "last day", "one, typed"):
        head = f"{way:16}{'':11}" + "".join(f"{step:>18}" for step in STEPS)
        lines.append(head + f"{'all steps':>26}{'whole band':>12}")
        names = list(dict.fromkeys(case.climate for case in cases))
        for name in [*names, "all"]:
            for label, chosen in (("unheated", [UNHEATED]), ("heater", [HEATED]), ("both", [UNHEATED, HEATED])):
                some = [case for case in cases if case.heated in chosen and name in (case.climate, "all")]
                found = [one for one in outcomes(some, way, STEPS) if one.within]
                text = f"  {name:16}{label:9}"
                for step in STEPS:
                    numbers = figures([one for one in found if one.step == step])
                    text += _inside(numbers)
                low, high = interval(found, lambda one: one.inside_weather, seed)
                whole = share(found, lambda one: one.inside_band)
                lines.append(
                    f"{text}{100 * share(found, lambda one: one.inside_weather):10.0f} % ({100 * low:.0f} to "
                    f"{100 * high:.0f})".ljust(len(text) + 26)
                    + f"{100 * whole:10.0f} %"
                )
    return lines


def _seasons(cases: Sequence[Case], seed: int) -> list[str]:
    lines = [f"{'':30}" + "".join(f"{season:>22}" for season in SEASONS)]
    names = list(dict.fromkeys(case.climate for case in cases))
    for way in ("past", "typed"):
        for name in [*names, "all"]:
            text = f"{way:8}{name:22}"
            for season in SEASONS:
                some = [case for case in cases if case.season == season and name in (case.climate, "all")]
                found = [one for one in outcomes(some, way, STEPS) if one.within]
                low, high = interval(found, lambda one: one.inside_weather, seed)
                inside = share(found, lambda one: one.inside_weather)
                text += f"{100 * inside:9.0f} % ({100 * low:.0f} to {100 * high:.0f})".rjust(22)
            lines.append(text)
    return lines


def _beyond(cases: Sequence[Case]) -> list[str]:
    lines = [f"{'':24}{'n':>6}{'unseen':>8}{'median':>8}{'90 %':>8}{'inside':>9}{'width':>8}"]
    steps: list[Step] = ["strip", "flip", "sand"]
    for way in ("one reading", "past", "typed"):
        for step in steps:
            found = [one for one in outcomes(cases, way, [step]) if not one.within]
            numbers = figures(found)
            unseen = sum(isnan(one.off_h) for one in found)
            if numbers is not None:
                lines.append(
                    f"{way:16}{step:8}{numbers.count:6}{unseen:8}{numbers.median_h:8.1f}{numbers.p90_h:8.1f}"
                    f"{100 * numbers.weather:7.0f} %{numbers.weather_h:8.1f}"
                )
    return lines


def _later(cases: Sequence[Case]) -> list[str]:
    lines = [f"{'':10}" + "".join(f"{f'{hours} h after':>18}" for hours in LATER_H)]
    chosen = [case for case in cases if case.later and not case.frozen]
    for step in STEPS:
        mine = [case for case in chosen if all(case.later[h][step].band[1] < 240.0 for h in LATER_H)]
        text = f"{step:10}"
        for hours in LATER_H:
            said = [case.later[hours][step] for case in mine]
            whole = sum(one.band[1] - one.band[0] for one in said) / max(1, len(said))
            weather = sum(one.weather[1] - one.weather[0] for one in said) / max(1, len(said))
            text += f"{whole:10.1f} ({weather:4.1f})".rjust(18)
        lines.append(text)
    return lines


def _pair(median: float, p90: float) -> str:
    return f"{median:8.2f}{p90:6.1f}"


def _inside(numbers: Figures | None) -> str:
    return f"{'-':>18}" if numbers is None else f"{100 * numbers.weather:8.0f} %{numbers.weather_h:6.1f} h"


def _all(found: Iterable[Outcome]) -> list[Outcome]:
    return list(found)
