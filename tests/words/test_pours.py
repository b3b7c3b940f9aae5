"""What is said of a pour: the two gravest things, and whatever is about the date that was asked for."""

from datetime import UTC, datetime

from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.timeline.planning.cost import Cost
from curetrack.words.pours import why_pour
from curetrack.words.voice import Voice

VOICE = Voice(datetime(2026, 11, 28, 12, tzinfo=UTC), UTC)
POUR_h = VOICE.now.timestamp() / 3600.0 + 24.0


def choice(*faults: Fault, later_h: float = 0.0, visits: int = 5) -> Choice:
    return Choice(POUR_h + later_h, POUR_h + 240.0, Cost(visits=visits), 0.0, faults)


NIGHT = Fault("night", "trowel-back", 0.3, "h", POUR_h + 6.0)
OUTSIDE = Fault("outside", "strip", 1.0, "h", POUR_h + 20.0)
LONG = Fault("long", "grit-1", 4.0, "h")
DATE = Fault("past_need_maybe", "", 30.0, "h", POUR_h + 300.0)


def test_the_date_is_told_besides_the_two_gravest() -> None:
    said = why_pour(choice(NIGHT, OUTSIDE, LONG, DATE, later_h=12.0), choice(), VOICE)
    assert "trowel-back falls into the night" in said.casefold()
    assert "strip falls outside your hours" in said
    assert "one go" not in said  # the third
    assert "30 h after it is needed" in said


def test_it_is_told_of_the_best_too_and_not_again_where_the_best_has_it() -> None:
    best = choice(NIGHT, OUTSIDE, DATE)
    assert "30 h after it is needed" in why_pour(best, best, VOICE)
    assert "needed" not in why_pour(choice(NIGHT, OUTSIDE, DATE, later_h=12.0), best, VOICE)
