"""SIGKILL of the service at random moments: python -m tests.bench.bench_kill [KILLS] [SEED]  (200 by default)."""

import asyncio
import sys
import tempfile
import time
from pathlib import Path

from tests.bus import own_bus
from tests.service.killing import kill_often


def main() -> int:
    """Prints what was counted; 0 if nothing was lost."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder, own_bus() as address:
        outcome = asyncio.run(kill_often(Path(folder) / "home", address, kills, seed))
    print(f"{time.monotonic() - began:.0f} s")
    print(outcome)
    lost = outcome.untold or outcome.lost_ticks or outcome.doubled or outcome.whole != "ok"
    return 1 if lost or outcome.unrecorded > outcome.kills else 0


if __name__ == "__main__":
    sys.exit(main())
