"""Times of one solve, to be run by hand: python -m tests.bench.bench_solve

One piece of the default profile, five days old, with 30 days of 1-minute readings. Goals: at most 150 ms from a cold
course of 43,200 rows, at most 10 ms after one new reading with the course's sums in memory. Best and median of several
runs, milliseconds.
"""

from collections.abc import Callable
from datetime import UTC, timedelta
from statistics import median
from time import perf_counter

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Piece, Reading, Shape
from curetrack.instants import from_h
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.timeline.solve import solve
from tests.bench.bench_course import START_H, logged

ROWS, RUNS = 43_200, 15
NOW_H = START_H + ROWS / 60.0 + 0.01


def main() -> None:
    """Prints the table."""
    profile_id, document = find("bagged-tabletop")
    profile = compile_profile(document, profile_id, profile_id)
    pour = from_h(NOW_H - 5 * 24.0)
    piece = Piece("bench", Shape(1.5, 0.8, 0.04), profile_id, "", pour - timedelta(days=2))
    events = [Event(1, "bench", "pour", pour, pour)]
    readings = logged(ROWS, 1.0 / 60.0)

    compiled = _times(lambda: compile_profile(document, profile_id, profile_id), RUNS)

    def solved(course: Course) -> None:
        solve(piece, profile, events, course, from_h(NOW_H))

    cold = _times(lambda: solved(build_course(readings, None, UTC)), RUNS)
    course = build_course(readings, None, UTC)
    solved(course)
    state = [course, ROWS]

    def one_more() -> None:
        grown, count = state
        assert isinstance(grown, Course)
        assert isinstance(count, int)
        grown = grown.with_reading(Reading(START_H + count / 60.0, temp_degC=11.0, id=count))
        state[:] = [grown, count + 1]
        solved(grown)

    print(f"{ROWS:,} readings of one minute       best   median")
    print(f"profile compiled              {min(compiled):9.1f}{median(compiled):9.1f} ms")
    print(f"course built and solved       {min(cold):9.1f}{median(cold):9.1f} ms")
    more = _times(one_more, RUNS)
    print(f"one more reading, solved again{min(more):9.1f}{median(more):9.1f} ms")
    hourly = _times(lambda: solved(build_course(readings[::60], None, UTC)), RUNS)
    print(f"hourly readings, built and solved{min(hourly):6.1f}{median(hourly):9.1f} ms")


def _times(what: Callable[[], None], runs: int) -> list[float]:
    found = []
    for _ in range(runs):
        start = perf_counter()
        what()
        found.append((perf_counter() - start) * 1000.0)
    return found


if __name__ == "__main__":
    main()
