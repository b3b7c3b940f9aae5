"""From rows of a reference table to a test, and to the count of what is checked."""

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import pytest
from msgspec import Struct

__all__ = ["CHECKS", "Check", "How", "Row", "published", "rows"]

How = Literal["relation", "table", "rule"]  # a formula gives it; our table holds it; a shipped rule uses it
HERE = Path(__file__).parent


class Row(Struct, frozen=True):
    """One row of a table, by its column names."""

    table: str
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def number(self, column: str) -> float:
        return float(self.cells[column])

    @property
    def id(self) -> str:
        return self.cells["id"]


def rows(table: str, kind: str | None = None, where: Callable[[Row], bool] = lambda _: True) -> list[Row]:
    """The rows of a table, all of them or those of one `value_kind`, that `where` picks."""
    with (HERE / table).open(newline="", encoding="utf-8") as file:
        every = [Row(table, cells) for cells in csv.DictReader(file)]
    return [row for row in every if kind in (None, row["value_kind"]) and where(row)]


class Check(Struct, frozen=True):
    """Rows that one function of ours must reproduce: to `within` (absolute), for the reason `why`."""

    name: str
    how: How
    rows: tuple[Row, ...]
    ours: Callable[[Row], float]
    expected: Callable[[Row], float]
    within: Callable[[Row], float]
    why: str

    def holds(self, row: Row, *, changed: bool = False) -> bool:
        """Whether our value agrees with the printed one; `changed`: a quarter more than ours, or 1 for 0."""
        ours = self.ours(row)
        if changed:
            ours = ours * 1.25 or 1.0
        return abs(ours - self.expected(row)) <= self.within(row)


CHECKS: list[Check] = []
Test = Callable[[Row], None]


def published(
    table: str,
    where: Callable[[Row], bool],
    *,
    why: str,
    column: str = "published_value",
    within: float = 0.0,
    part: float = 0.0,
    how: How = "relation",
) -> Callable[[Callable[[Row], float]], Test]:
    """Make a test of a function that computes our value for a row: it must agree with `column` within `within`
    (absolute) plus `part` of the printed value; `why` says where that tolerance comes from."""
    chosen = rows(table, "published", where)
    assert chosen, f"nothing chosen from {table}"

    def register(ours: Callable[[Row], float]) -> Test:
        check = Check(
            ours.__name__,
            how,
            tuple(chosen),
            ours,
            lambda row: row.number(column),
            lambda row: within + part * abs(row.number(column)) + 1e-12,
            why,
        )
        CHECKS.append(check)

        @pytest.mark.parametrize("row", chosen, ids=lambda row: row.id)
        def test(row: Row) -> None:
            assert ours(row) == pytest.approx(row.number(column), abs=check.within(row), rel=0), why

        test.__name__, test.__doc__, test.__module__ = ours.__name__, ours.__doc__, ours.__module__
        return test

    return register
