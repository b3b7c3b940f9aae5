"""The service's clocks: what they notice and how they relate to the machine's."""

import time
from datetime import UTC, datetime, timedelta

import pytest

from curetrack.service.clock import FastClock, SystemClock


def test_the_machines_clock_notices_what_runs_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SystemClock()
    assert abs(clock.jumped_s()) < 0.5
    real = time.time
    monkeypatch.setattr(time, "time", lambda: real() + 3600.0)
    assert clock.jumped_s() == pytest.approx(3600.0, abs=0.5)
    assert abs(clock.jumped_s()) < 0.5  # said once
    monkeypatch.setattr(time, "time", lambda: real() - 60.0)
    assert clock.jumped_s() == pytest.approx(-3660.0, abs=0.5)


def test_a_fast_clock_runs_as_many_times_as_fast() -> None:
    start = datetime(2026, 3, 7, tzinfo=UTC)
    clock = FastClock(start, 8640.0)  # a day in ten seconds
    began = time.monotonic()
    time.sleep(0.05)
    passed = clock.now() - start
    assert timedelta(seconds=0.05 * 8640.0) <= passed <= timedelta(seconds=(time.monotonic() - began + 0.01) * 8640.0)
    tomorrow = clock.machine_time(start + timedelta(days=1)) - clock.machine_time(start)
    assert tomorrow == timedelta(seconds=10)
    assert clock.jumped_s() == 0.0
