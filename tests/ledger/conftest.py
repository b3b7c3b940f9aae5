"""A ledger on disk for each test."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from curetrack.ledger import Ledger


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with Ledger(tmp_path / "home" / "ledger.sqlite", timeout_s=0.3) as opened:
        yield opened
