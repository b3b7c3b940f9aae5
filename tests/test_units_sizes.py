"""Sizes of slabs and openings as typed on the command line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.errors import BadInput
from curetrack.units import parse_cutout, parse_size

SIX_BY_THREE_AND_A_HALF = (1.8288, 1.0668, 0.0381)  # 6 ft, 3.5 ft, 1.5 in by the exact foot and inch


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1800x1050x38mm", (1.8, 1.05, 0.038)),
        (" 1800 × 1050 × 38 mm ", (1.8, 1.05, 0.038)),
        ("1.2x0.6x0.04m", (1.2, 0.6, 0.04)),
        ("1.8 m x 1.05 m x 38 mm", (1.8, 1.05, 0.038)),
        ("1,800x1,050x38mm", (1.8, 1.05, 0.038)),
        ("6ftx3.5ftx1.5in", SIX_BY_THREE_AND_A_HALF),
        ("6' x 3' 6\" x 1 1/2\"", SIX_BY_THREE_AND_A_HALF),
        ("72X42X1.5in", SIX_BY_THREE_AND_A_HALF),
    ],
)
def test_size_is_length_width_thickness(text: str, expected: tuple[float, float, float]) -> None:
    assert parse_size(text) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1800x1050x38", "without a unit, found '1800x1050x38'; write .*1800x1050x38mm, 6ftx3.5ftx1.5in"),
        ("6ft x 3.5 x 1.5", "without a unit"),
        ("6x3.5ftx1.5in", "several units, and none on one part"),
        ("1,2x0,6x0,04m", "decimal comma"),
        ("1800x1050mm", "cannot read a size"),
        ("1x1x1x1m", "cannot read a size"),
        ("xxmm", "cannot read a size"),
        ("", "cannot read a size"),
        ("0x1x1m", "above 0"),
        ("1x1x1kg", "a length is wanted, not a mass"),
        ("1x1x1m" + " " * 200, "too long"),
    ],
)
def test_unclear_size_is_refused_with_the_choices(text: str, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        parse_size(text)


@pytest.mark.parametrize(
    "text",
    [
        "400x300mm@200,100mm",
        "400x300@200,100mm",
        "400x300mm@200,100",
        "0.4x0.3 m @ 20 cm, 10 cm",
        "0.4m x 30cm @ 0.2 m, 10 cm",
    ],
)
def test_cutout_is_size_and_lower_left_corner(text: str) -> None:
    assert parse_cutout(text) == pytest.approx((0.4, 0.3, 0.2, 0.1), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("400x300mm", "cannot read a cut-out"),
        ("400x300@200,100", "without a unit"),
        ("400x300mm@-1,100mm", "cannot be negative"),
        ("400x0mm@1,100mm", "above 0"),
        ("400x300mm@1,2,3mm", "cannot read a size"),
        ("400x300mm@1ft,100", "without a unit"),
        ("400x300mm@1ft,2,3in", "cannot read"),
    ],
)
def test_unclear_cutout_is_refused(text: str, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        parse_cutout(text)


@given(st.text(alphabet="0123456789x.,@' \"mft×", max_size=30))
def test_any_size_is_read_or_refused(text: str) -> None:
    for read in (parse_size, parse_cutout):
        try:
            values = read(text)
        except BadInput:
            continue
        assert all(value >= 0.0 for value in values)
