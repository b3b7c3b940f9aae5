"""When to wake: jobs follow what is pending, by difference; what was slept over still runs."""

import asyncio
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta

import pytest

from curetrack.nudge.types import Pending
from curetrack.service.clock import FastClock, SystemClock
from curetrack.service.jobs import Jobs


class Rung:
    """What was woken for."""

    def __init__(self) -> None:
        self.pieces: list[str] = []
        self.event = asyncio.Event()

    def __call__(self, piece: str) -> None:
        self.pieces.append(piece)
        self.event.set()


def soon(seconds: float) -> datetime:
    return datetime.now(UTC) + timedelta(seconds=seconds)


def no_fault(text: str) -> None:
    raise AssertionError(text)


@pytest.fixture
async def jobs() -> AsyncIterator[tuple[Jobs, Rung]]:
    rung = Rung()
    jobs = Jobs(SystemClock(), rung, no_fault)
    jobs.start()
    yield jobs, rung
    jobs.stop()
    await asyncio.sleep(0)


async def test_it_wakes_for_the_piece_when_it_is_due(jobs: tuple[Jobs, Rung]) -> None:
    scheduler, rung = jobs
    scheduler.sync([Pending("a", soon(0.1), "one"), Pending("b", soon(60), "two")])
    assert len(scheduler) == 2
    await asyncio.wait_for(rung.event.wait(), 5)
    assert rung.pieces == ["one"]
    assert len(scheduler) == 1  # the other still waits


async def test_what_was_due_long_ago_runs_at_once_and_once(jobs: tuple[Jobs, Rung]) -> None:
    """The library's default drops a job that is a second late: case W1."""
    scheduler, rung = jobs
    scheduler.sync([Pending("a", soon(-36_000), "one")])
    await asyncio.wait_for(rung.event.wait(), 5)
    await asyncio.sleep(0.05)
    assert rung.pieces == ["one"]


async def test_what_is_not_pending_any_more_never_rings(jobs: tuple[Jobs, Rung]) -> None:
    scheduler, rung = jobs
    scheduler.sync([Pending("a", soon(0.15), "gone"), Pending("b", soon(0.15), "moved")])
    scheduler.sync([Pending("b", soon(0.3), "moved")])
    assert scheduler.next_at is not None
    await asyncio.wait_for(rung.event.wait(), 5)
    assert rung.pieces == ["moved"]
    assert scheduler.next_at is None


async def test_of_two_times_for_one_key_the_first_counts(jobs: tuple[Jobs, Rung]) -> None:
    scheduler, rung = jobs
    scheduler.sync([Pending("a", soon(60), "one"), Pending("a", soon(0.1), "one")])
    assert len(scheduler) == 1
    await asyncio.wait_for(rung.event.wait(), 5)


async def test_a_rung_job_may_come_again(jobs: tuple[Jobs, Rung]) -> None:
    scheduler, rung = jobs
    at = soon(0.05)
    for _ in range(2):
        rung.event.clear()
        scheduler.sync([Pending("a", at, "one")])
        await asyncio.wait_for(rung.event.wait(), 5)
    assert rung.pieces == ["one", "one"]


async def test_a_fast_clock_wakes_by_the_machines() -> None:
    rung = Rung()
    start = datetime(2026, 3, 7, tzinfo=UTC)
    jobs = Jobs(FastClock(start, 36_000.0), rung, no_fault)  # ten hours a second
    jobs.start()
    jobs.sync([Pending("a", start + timedelta(hours=2), "one")])
    await asyncio.wait_for(rung.event.wait(), 5)
    jobs.stop()
    await asyncio.sleep(0)
