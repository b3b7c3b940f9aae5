"""Grain sizes of abrasive grades, by the published tables."""

from itertools import pairwise

import pytest

from curetrack.concrete.grits import CAMI_UM, FEPA_P_UM, grain_um, size_step
from curetrack.units import BadInput
from tests.reference.published import Row, published


@published(
    "11_abrasive_grits.csv", lambda row: True, column="mean_diameter_um", how="table", why="mean grain as printed"
)
def test_mean_grain(row: Row) -> float:
    if row["grade_CAMI"]:
        return grain_um(int(row["grade_CAMI"]), "CAMI")
    return grain_um(int(row["grade_FEPA_P"].removeprefix("P")))


@pytest.mark.parametrize("grades", [FEPA_P_UM, CAMI_UM], ids=["P", "CAMI"])
def test_a_higher_number_is_a_finer_grain(grades: dict[int, float]) -> None:
    assert all(a < b and grades[a] > grades[b] for a, b in pairwise(grades))


def test_doubling_the_number_about_halves_the_grain() -> None:
    """Why `about twice the number each pass` is a rule at all: from 60 on the step is 1.6 to 2.1."""
    for coarse, fine in ((60, 120), (80, 150), (120, 240), (180, 360), (400, 800), (1200, 2500)):
        assert 1.55 <= size_step(coarse, fine) <= 2.2


def test_a_number_that_is_no_grade_is_refused() -> None:
    with pytest.raises(BadInput, match="no P grade of that number, found 3000; use 12, 16"):
        grain_um(3000)
