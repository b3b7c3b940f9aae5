"""The list by days: what can be done now, then each day by the hour. It is Sat 10 Jan 2026, 10:00 in Berlin."""

import re

from curetrack.phone.card import Ways, form
from curetrack.phone.pages import list_page
from curetrack.timeline.types import Line
from tests.words.making import after, line_with, timeline_with, voice


def _rows(*lines: Line) -> list[tuple[str, list[str]]]:
    """Headings with the times under them, of the list below the card."""
    page = list_page([timeline_with(*lines)], voice(), "token")
    found = []
    for heading, rows in re.findall(r'<h2>([^<]+)</h2><ol class="steps">(.*?)</ol>', page, re.DOTALL):
        found.append((heading, re.findall(r'<span class="at">(.*?)</span>', rows)))
    return found


def test_what_is_late_says_by_how_much_and_what_is_planned_stands_under_its_day_by_the_hour() -> None:
    card = line_with(step="vibrate", state="late", late_at=after(-30.0), plan_at=after(0.0))
    late = line_with(step="book", state="late", late_at=after(-2.0), plan_at=after(3.0))
    evening = line_with(step="strip", hold=True, check="A coin.", check_from=after(-1.0), plan_at=after(8.0))
    morning = line_with(step="form", state="ready", plan_at=after(5.0))
    assert _rows(card, late, evening, morning) == [
        ("Now", ["late<br>2&nbsp;h"]),
        ("Sat 10 Jan", ["15:00", "18:00"]),
    ]


def test_only_a_hold_is_done_against_the_hold() -> None:
    behind = line_with(step="ease", waits_for=("strip",), open_to_do=False)
    assert "Done all the same</button>" in form(behind, voice(), Ways("token"))
    assert "against the hold" not in form(behind, voice(), Ways("token"))
    hold = line_with(hold=True, check="A coin.", check_from=after(2.0), opens_at=after(5.0))
    assert "Done against the hold</button>" in form(hold, voice(), Ways("token"))
