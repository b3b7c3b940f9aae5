"""SIGKILL at random moments: nothing is lost. The benchmark bench_kill does it 200 times."""

from pathlib import Path

import pytest

from tests.bus import own_bus
from tests.service.killing import kill_often

KILLS = 8


@pytest.mark.timeout(120)
async def test_killed_again_and_again(tmp_path: Path) -> None:
    with own_bus() as address:
        outcome = await kill_often(tmp_path / "home", address, KILLS, seed=7)
    assert outcome.whole == "ok"
    assert outcome.lost_ticks == []
    assert outcome.untold == []
    assert outcome.doubled == []
    assert outcome.told > 0
    assert outcome.unrecorded <= outcome.kills
