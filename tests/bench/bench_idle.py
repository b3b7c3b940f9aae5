"""What the service costs while nothing happens: python -m tests.bench.bench_idle [MINUTES]  (ten by default).

Twenty pieces in mixed states, two weeks of hourly readings, quiet desktop, `curetrack bench --headless` as a process of
its own. Goal: at most 0.3 % of a core and 60 MB resident over ten minutes. The share is the child's own processor time
(user and system, by /proc), so that other work on the machine does not count; the first half minute (imports, the first
round) is told apart. Linux only: it reads /proc.
"""

import os
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.bench_today import DAYS, PIECES, ROOT, fill

MOST_SHARE, MOST_MB = 0.003, 60.0
SETTLING_s = 30.0


def main() -> int:
    """Prints the numbers; 0 if the goal is reached."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        fill(home, datetime.now(UTC))
        kept = {k: v for k, v in os.environ.items() if k not in ("DBUS_SESSION_BUS_ADDRESS", "DISPLAY")}
        environment = {**kept, "CURETRACK_HOME": str(home), "TZ": "Europe/Berlin", "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-m", "curetrack", "bench", "--headless"]
        with (
            (Path(folder) / "said").open("w") as said,
            subprocess.Popen(command, env=environment, stderr=said) as child,
        ):
            try:
                share, peak_mb = _watched(child.pid, minutes * 60.0)
            finally:
                child.terminate()
    print(f"{PIECES} pieces, {DAYS * 24} readings, {minutes:g} min: {share:.2%} of a core, at most {peak_mb:.1f} MB")
    return 0 if share <= MOST_SHARE and peak_mb <= MOST_MB else 1


def _watched(process: int, seconds: float) -> tuple[float, float]:
    """The share of a core after settling, and the most that was resident."""
    time.sleep(SETTLING_s)
    print(f"starting took {_used_s(process):.2f} s of a core, {_resident_mb(process):.1f} MB")
    began, used, peak = time.monotonic(), _used_s(process), 0.0
    while time.monotonic() < began + seconds:
        time.sleep(1.0)
        peak = max(peak, _resident_mb(process))
    return (_used_s(process) - used) / (time.monotonic() - began), peak


def _used_s(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _resident_mb(process: int) -> float:
    status = Path(f"/proc/{process}/status").read_text()
    return int(status.partition("VmRSS:")[2].split()[0]) / 1000.0


if __name__ == "__main__":
    sys.exit(main())
