"""Of what a band is made, in words."""

import pytest

from curetrack.words.bands import band_said
from tests.words.making import after, line_with

WIDE, SHORT = (after(2.0), after(11.0)), (after(4.0), after(7.0))


def test_the_larger_part_is_named_with_what_narrows_it() -> None:
    whole = after(1.0), after(16.0)
    line = line_with(band=whole, band_method=WIDE, band_weather=SHORT, check="A coin leaves no mark.")
    assert band_said(line) == (
        "Band 15 h: by the method alone 9 h, by the weather alone 3 h. "
        "The method is the larger part: a hand check says more than any reading."
    )
    other = line_with(band=whole, band_method=SHORT, band_weather=WIDE, check="A coin leaves no mark.")
    assert band_said(other) == (
        "Band 15 h: by the method alone 3 h, by the weather alone 9 h. The weather is the larger part: "
        "a reading tonight narrows it, and so do the lows and highs of the next days."
    )


def test_a_step_without_a_check_offers_none_and_what_is_measured_is_nothing() -> None:
    line = line_with(band=WIDE, band_method=WIDE, band_weather=(after(5.0), after(5.0)))
    assert band_said(line) == "Band 9 h: by the method alone 9 h, by the weather alone nothing."


@pytest.mark.parametrize(
    "changes",
    [
        {"band": None},
        {"band_weather": None},
        {"state": "done"},
        {"band": (after(5.0), after(5.0)), "band_method": (after(5.0), after(5.0))},
    ],
)
def test_where_there_is_no_band_nothing_is_said(changes: dict[str, object]) -> None:
    assert band_said(line_with(**{"band": WIDE, "band_method": WIDE, "band_weather": SHORT, **changes})) is None
