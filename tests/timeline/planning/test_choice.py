"""The order of pours: what a maker would rather have (judgement; common practice, no source).

In hours before outside of them before nights, rules before the pour first of all; nothing small is worth a week, and of
what is alike the sooner one is better.
"""

import pytest

from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.timeline.planning.cost import Cost

DAY_h = 24.0


def choice(
    *faults: Fault, day: float = 0.0, night: float = 0.0, outside: float = 0.0, band: float = 0.0, visits: int = 9
) -> Choice:
    """A pour on that day, done three weeks later; a night lies outside hours, too."""
    cost = Cost(night_h=night, outside_h=outside + night, visits=visits)
    return Choice(day * DAY_h, (day + 21.0) * DAY_h, cost, band, faults)


UNMET, ALONE, CREW = (Fault(rule) for rule in ("unmet", "alone", "crew"))


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (choice(), choice(day=1.0)),
        (choice(day=13.0), choice(night=1.0)),  # nobody works an hour at night to be done sooner within two weeks
        (choice(day=6.0), choice(outside=1.0)),
        (choice(outside=0.5), choice(day=7.0)),
        (choice(outside=2.0), choice(night=1.0)),
        (choice(outside=1.0), choice(night=0.5)),
        (choice(band=1.1), choice(day=7.0, band=0.8)),  # 18 minutes of a band are no reason to wait for a week
        (choice(outside=0.1), choice(day=2.0)),
        (choice(night=0.1), choice(day=4.0)),
        (choice(day=1.0), choice(band=4.0)),
        (choice(day=6.0), choice(ALONE)),  # the crew comes once a week
        (choice(day=13.0), choice(CREW)),
        (choice(day=20.0), choice(UNMET)),  # what the profile asks for before the pour
        (choice(UNMET), choice(Fault("late"))),
        (choice(visits=8), choice(visits=9)),
    ],
)
def test_the_better_one_goes_first(better: Choice, worse: Choice) -> None:
    assert better.key < worse.key


def test_near_ties_go_to_the_sooner_whatever_side_of_an_hour_they_lie_on() -> None:
    for tenths in range(40):
        band = tenths / 10.0
        assert choice(band=band + 0.3).key < choice(day=1.0, band=band).key
