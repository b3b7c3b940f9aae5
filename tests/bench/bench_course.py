"""Times of the course, to be run by hand: python tests/bench/bench_course.py

Each line is the best of several runs in this process, in milliseconds. Six laws are those of the band; "asked" means
that each has its centre, warm and cold sums up to date and one moment found on each side.
"""

from collections.abc import Callable
from datetime import UTC
from math import pi, sin
from random import Random
from time import perf_counter

from msgspec.structs import replace

from curetrack.climate.course import Course, build_course
from curetrack.concrete.maturity import Arrhenius, ColdSide, band_laws
from curetrack.facts import DayRange, Forecast, Reading

START_H = 490_000.0
LAWS = (*band_laws(Arrhenius(5000.0), 20.0)[:6], ColdSide())[:6]
DAYS = Forecast("days", START_H, days=(DayRange(0, 6.0, 14.0), DayRange(1, 4.0, 12.0)))


def logged(count: int, step_h: float, hole: bool = False) -> list[Reading]:
    """A garage: a daily wave of 6 K about 11 degC, and a sensor's noise in steps of 0.1 K."""
    random = Random(1)
    temps = [round(11.0 + 3.0 * sin(2.0 * pi * k * step_h / 24.0) + random.gauss(0.0, 0.1), 1) for k in range(count)]
    found = [Reading(START_H + k * step_h, temp_degC=temp, id=k) for k, temp in enumerate(temps)]
    return found[: count // 3] + found[count // 3 + round(5.0 / step_h) :] if hole else found


def ask(course: Course) -> None:
    """What a solver asks of six laws."""
    for law in LAWS:
        for side in ("centre", "warm", "cold"):
            course.reach(law, START_H + 10.0, 100.0, side)
            course.reach(law, START_H + 10.0, 1500.0, side)
            course.gained_h(law, START_H, START_H + 700.0, side)


def best_ms(run: Callable[[], object], repeats: int = 15) -> float:
    """The shortest of several runs."""
    times = []
    for _ in range(repeats):
        started = perf_counter()
        run()
        times.append(perf_counter() - started)
    return 1000.0 * min(times)


def measure(name: str, readings: list[Reading], forecast: Forecast | None) -> None:
    """Print one line of the table."""
    last = readings[-1]
    more = Reading(last.at_h + 1.0 / 60.0, temp_degC=11.05, id=99_999)
    late = Reading(last.at_h - 240.01, temp_degC=11.05, id=99_999)
    known = build_course(readings, forecast, UTC)
    ask(known)
    build = best_ms(lambda: build_course(readings, forecast, UTC))
    cold = best_ms(lambda: ask(build_course(readings, forecast, UTC)))
    one = best_ms(lambda: ask(known.with_reading(more)))
    old = best_ms(lambda: ask(known.with_reading(late)))
    print(f"{name:34} build {build:6.1f}  cold, asked {cold:6.1f}  one more {one:6.2f}  one late {old:6.2f}")


def main() -> None:
    """Print the table."""
    minutes, hours = logged(43_200, 1.0 / 60.0), logged(336, 1.0)
    air = [replace(reading, place="air") for reading in minutes]
    measure("43,200 readings, steady", minutes, None)
    measure("43,200 readings, a gap, steady", logged(43_200, 1.0 / 60.0, hole=True), None)
    measure("43,200 readings, days", minutes, DAYS)
    measure("43,200 of slab and of air, steady", minutes + air, None)
    measure("336 readings, steady", hours, None)
    measure("336 readings, days", hours, DAYS)


if __name__ == "__main__":
    main()
