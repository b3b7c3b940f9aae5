"""A maker in Berlin with an empty shop, in a temporary home."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cases.person import Person


@pytest.fixture
def someone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[[str], Person]:
    """Makes a person in a zone."""
    home = tmp_path / "home"
    monkeypatch.setenv("CURETRACK_HOME", str(home))
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.chdir(tmp_path)
    return lambda zone: Person(home, capsys, zone)


@pytest.fixture
def maker(someone: Callable[[str], Person]) -> Person:
    """The usual one, in Berlin, at a steady shop unless a case says more."""
    return someone("Europe/Berlin")
