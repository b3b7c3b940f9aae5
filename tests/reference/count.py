"""How many published values are checked: `python -m tests.reference.count`, from the repository's root.

Every check is run again here; what does not hold is printed and not counted.
"""

import importlib
from collections import Counter
from pathlib import Path

from tests.reference.published import CHECKS, Check, Row

__all__ = ["collect", "main", "tally"]

TESTS = Path(__file__).parents[1]


def collect() -> list[Check]:
    """All checks of the test suite: those made by importing its modules."""
    for path in sorted([*TESTS.glob("concrete/test_*.py"), *TESTS.glob("reference/test_*.py")]):
        importlib.import_module(".".join(("tests", *path.relative_to(TESTS).with_suffix("").parts)))
    return CHECKS


def tally(checks: list[Check]) -> tuple[dict[tuple[str, str], tuple[Row, str]], list[str]]:
    """The rows that hold, once each with how they are checked, and a line for each that does not."""
    held: dict[tuple[str, str], tuple[Row, str]] = {}
    broken = []
    for check in checks:
        for row in check.rows:
            if check.holds(row):
                held.setdefault((row.table, row.id), (row, check.how))
            else:
                broken.append(f"{check.name}: {row.table} {row.id}: ours {check.ours(row):g}, {check.expected(row):g}")
    return held, broken


def main() -> int:
    """Print the count."""
    held, broken = tally(collect())
    print(f"{len(held)} published values checked, from {len({row['work'] for row, _ in held.values()})} works")
    for title, of in (
        ("by basis", [row["basis"] for row, _ in held.values()]),
        ("by how", [how for _, how in held.values()]),
        ("by work", [f"{row['work']} ({row['basis']})" for row, _ in held.values()]),
    ):
        print(f"\n{title}")
        for name, number in Counter(of).most_common():
            print(f"{number:5}  {name}")
    print(*(f"BROKEN {line}" for line in broken), sep="\n")
    return 1 if broken else 0


if __name__ == "__main__":
    raise SystemExit(main())
