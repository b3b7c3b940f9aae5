"""What the tests of the dashboard share."""

from pathlib import Path

import pytest

from tests.desk.beside import Alone


@pytest.fixture
def beside(tmp_path: Path) -> Alone:
    """A shop with one piece, poured just now."""
    return Alone(tmp_path / "home", "bench")
