"""A careless, unlucky or malicious person at the command line, and what must hold after each of their commands."""

import sqlite3
from collections.abc import Callable
from pathlib import Path
from unicodedata import category

import pytest

from tests.cli.conftest import Maker, Said, maker

__all__ = ["Attack", "attack", "facts_of", "maker"]

Attack = Callable[..., Said]
Facts = dict[str, list[tuple[object, ...]]]
LONGEST_LINE = 900  # characters of an error; the longest are those that name all that stands against a pour


def facts_of(home: Path) -> tuple[list[str], Facts]:
    """All files of a home but what may be thrown away, and all rows of its ledger."""
    files = sorted(path.name for path in home.glob("*") if not path.name.endswith(("-wal", "-shm", "cache")))
    ledger = home / "ledger.sqlite"
    if not ledger.is_file() or not ledger.stat().st_size:
        return files, {}
    connection = sqlite3.connect(ledger)
    try:
        tables = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return files, {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in tables}
    finally:
        connection.close()


def steers(text: str) -> bool:
    """Whether something in a text could steer a terminal or hide what is written."""
    return any(ch != "\n" and category(ch) in {"Cc", "Cf", "Cs", "Zl", "Zp"} for ch in text)


def check_said(said: Said) -> None:
    """An exit code of the contract; when refused, one clear line for each fault and no answer."""
    assert said.code in {0, 1, 2}, said
    assert "Traceback" not in said.err
    assert not steers(said.out + said.err), said
    lines = [line for line in said.err.splitlines() if not line.startswith("curetrack: note: ")]
    assert all(line.startswith("curetrack: ") and len(line) <= LONGEST_LINE for line in lines), said.err
    assert bool(lines) == (said.code != 0), said


@pytest.fixture
def attack(maker: Maker) -> Attack:
    """Says one command; refused, it must have written nothing."""

    def says(*argv: str) -> Said:
        before = facts_of(maker.home)
        said = maker.says(*argv)
        check_said(said)
        if said.code:
            assert not said.out, said.out
            assert facts_of(maker.home) == before, (argv, "was refused and wrote")
        return said

    return says
