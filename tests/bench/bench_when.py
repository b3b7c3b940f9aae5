"""Times of `when`, to be run by hand: python -m tests.bench.bench_when

The best pours of two weeks of half-hours, and of 92 days, for one piece. Goals: at most 1 s and 6 s. With a maker's
hours (pours outside them are not looked at), with none, with hours that are too narrow for anything, with nobody there
at all, and with a crew; the shop has nothing else on the go. How many pours there were to choose from; best and median
of several runs, in seconds of the processor.
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
from curetrack.timeline.planning.picking import best_of_days
from curetrack.timeline.planning.when import half_hours

NOW = datetime(2026, 3, 14, 9, tzinfo=UTC)
RUNS = 7
DAYS, SHOWN = (14, 92), 14
SHOPS = {
    "day job, evenings and weekends": Settings(hours="Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"),
    "the same, crew on Saturdays": Settings(
        hours="Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00", crew=3, crew_hours="Sat 9:00-17:00"
    ),
    "every day from 7 to 20": Settings(hours="daily 7:00-20:00"),
    "any time": Settings(),
    "day and night": Settings(hours="daily 0:00-24:00"),
    "twenty minutes a day": Settings(hours="daily 7:00-7:20"),
    "half an hour, away for two weeks": Settings(hours="daily 18:00-18:30", away="2026-03-14..2026-03-28"),
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
    print("one piece                           days  pours   best   median")
    for days in DAYS:
        for name, settings in SHOPS.items():
            found, pours = [], 0
            for _ in range(RUNS):
                begun = process_time()
                candidates = Candidates(outlined, course, NOW)
                calendar = Calendar(rota_of(settings), to_h(NOW))
                stretch = half_hours(to_h(NOW), to_h(NOW) + days * 24.0)
                _, pours = best_of_days(candidates.net, calendar, stretch, SHOWN)
                found.append(process_time() - begun)
            print(f"{name:36}{days:4}{pours:7}{min(found):7.2f}{median(found):8.2f} s")


if __name__ == "__main__":
    main()
