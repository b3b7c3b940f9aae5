"""The short cut for plain quantities reads what units.parse reads."""

from collections.abc import Callable

import pytest

from curetrack.errors import BadInput
from curetrack.profile.values import parsed
from curetrack.units import parse
from curetrack.units.table import DIMS


def _said(read: Callable[[str, str], float], written: str, dim: str) -> float | str:
    """The value, or what is wrong with it."""
    try:
        return read(written, dim)
    except BadInput as error:
        return str(error)


NUMBERS = ("0", "1", "2.5", "007", "1234567.125")


@pytest.mark.parametrize("dim", DIMS)
def test_the_short_cut_agrees_with_the_long_way(dim: str) -> None:
    for spelling in DIMS[dim].units:
        for number in NUMBERS:
            for written in (f"{number} {spelling}", f"{number} {spelling.upper()}", f"{number} {spelling.title()}"):
                assert _said(parsed, written, dim) == _said(parse, written, dim)


@pytest.mark.parametrize("written", ["3 mPa", "3 mPas", "3 h", "3 d", "-3 MPa", "3 MPa MPa", "99999999 MPa", "3e5 MPa"])
def test_the_short_cut_takes_nothing_more(written: str) -> None:
    assert _said(parsed, written, "pressure") == _said(parse, written, "pressure")
