"""On a terminal the next step does not scroll away."""

import pytest

from curetrack.cli.layout import laid_out, plain_text
from curetrack.cli.views.today import fitted_rows, today_rows
from curetrack.timeline.types import Alert
from tests.words.making import after, line_with, timeline_with, voice

LINES = tuple(line_with(step=f"step-{n}", title=f"Do number {n}", plan_at=after(n)) for n in range(1, 9))
ALERTS = (Alert("hold", "suspect", 4.2, 5.8, "h", after(-9)), Alert("warn", "placing", 8.0, 13.0, "degC", after(-20)))


def shown(height: int) -> str:
    timeline = timeline_with(*LINES, alerts=ALERTS)
    return plain_text(laid_out(fitted_rows(LINES, [timeline], voice(), 80, height), 80))


@pytest.mark.parametrize("height", [15, 23, 30])
def test_it_fits_and_says_what_is_left_off(height: int) -> None:
    text = shown(height)
    assert text.count("\n") <= height
    assert "Do number 1" in text
    assert "curetrack today --all" in text


def test_what_holds_a_piece_is_never_left_off() -> None:
    assert "HOLD" in shown(15)
    assert "WARNING" not in shown(15)
    assert "1 warning" in shown(15)


def test_a_tall_screen_shows_everything() -> None:
    timeline = timeline_with(*LINES, alerts=ALERTS)
    assert fitted_rows(LINES, [timeline], voice(), 80, 500) == today_rows(LINES, [timeline], voice())
