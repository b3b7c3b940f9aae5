"""Times of `when`, to be run by hand: python -m tests.bench.bench_when

Two weeks of half-hours for one piece, judged by the whole timeline each. Goal: at most 1 s. With a maker's hours (pours
outside them are not judged), with none, and with a crew; the shop has nothing else on the go. Best and median of
several runs, in seconds of the processor.
"""

import gc
from datetime import UTC, datetime
from statistics import median
from time import process_time
from zoneinfo import ZoneInfo

from curetrack.cli.main import GARBAGE_AT
from curetrack.climate.course import build_course
from curetrack.facts import Reading, Shape
from curetrack.hours.rota import rota_of
from curetrack.instants import to_h
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.settings import Settings
from curetrack.shop.candidates import Candidates
from curetrack.shop.foresight import Outlined
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.when import half_hours, judge

NOW = datetime(2026, 3, 14, 9, tzinfo=UTC)
RUNS = 7
SHOPS = {
    "day job, evenings and weekends": Settings(hours="Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"),
    "the same, crew on Saturdays": Settings(
        hours="Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00", crew=3, crew_hours="Sat 9:00-17:00"
    ),
    "every day from 7 to 20": Settings(hours="daily 7:00-20:00"),
    "any time": Settings(),
}


def main() -> None:
    """Prints the table."""
    gc.set_threshold(GARBAGE_AT, 20, 20)  # as the installed command does
    profile_id, document = find("bagged-tabletop")
    profile = compile_profile(document, profile_id, profile_id)
    start = to_h(NOW) - 14 * 24.0
    rows = [Reading(start + k, 12.0 + 5.0 * (k % 24) / 24.0, 55.0, id=k + 1) for k in range(14 * 24)]
    course = build_course(rows, None, ZoneInfo("Europe/Berlin"))
    outlined = Outlined("", Shape(1.5, 0.8, 0.04), profile, None, (), ())
    print("two weeks of half-hours, one piece    judged   best   median")
    for name, settings in SHOPS.items():
        found, judged = [], 0
        for _ in range(RUNS):
            begun = process_time()
            candidates = Candidates(outlined, course, NOW)
            calendar = Calendar(rota_of(settings), to_h(NOW))
            judged = len(judge(candidates.net, calendar, half_hours(to_h(NOW), to_h(NOW) + 14 * 24.0)))
            found.append(process_time() - begun)
        print(f"{name:36}{judged:8}{min(found):8.2f}{median(found):8.2f} s")


if __name__ == "__main__":
    main()
