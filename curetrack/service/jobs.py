"""When to wake: APScheduler with one job for each nudge to come. The jobs are made from what is pending, and made anew
at every start; none is ever stored, so that there is no second truth.

What a job does is only to say which piece it was for: what is due is decided from the facts, by the service.
"""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime

from apscheduler.events import EVENT_JOB_ERROR, JobExecutionEvent
from apscheduler.schedulers.asyncio import AsyncIOScheduler

from curetrack.nudge.types import Pending
from curetrack.service.clock import Clock

__all__ = ["Jobs"]


class Jobs:
    """`wake` is called in the loop with the piece whose nudge is due. Call `start` in the loop."""

    def __init__(self, clock: Clock, wake: Callable[[str], None], failed: Callable[[str], None]) -> None:
        self._clock, self._wake = clock, wake
        # a job that was slept over must run (the default drops what is a second late), but once; times are UTC
        self._scheduler = AsyncIOScheduler(
            timezone=UTC, job_defaults={"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
        )
        self._scheduler.add_listener(lambda event: failed(_text(event)), EVENT_JOB_ERROR)
        self._at: dict[str, datetime] = {}

    def start(self) -> None:
        """Begins to wake."""
        self._scheduler.start()

    def stop(self) -> None:
        """Wakes no more."""
        if self._scheduler.running:
            self._scheduler.shutdown(wait=False)

    def look_again(self) -> None:
        """The wall clock has jumped: what is due by it runs now."""
        self._scheduler.wakeup()

    @property
    def next_at(self) -> datetime | None:
        """The first that is pending."""
        return min(self._at.values(), default=None)

    def __len__(self) -> int:
        return len(self._at)

    def sync(self, pending: Iterable[Pending]) -> None:
        """Makes the jobs those of `pending`: only what changed is touched."""
        wanted: dict[str, Pending] = {}
        for each in pending:
            if each.key not in wanted or each.at < wanted[each.key].at:
                wanted[each.key] = each
        for key in self._at.keys() - wanted.keys():
            self._remove(key)
        for key, each in wanted.items():
            if self._at.get(key) != each.at:
                self._at[key] = each.at
                self._scheduler.add_job(
                    self._ring, "date", run_date=self._clock.machine_time(each.at), args=(key, each.piece), id=key,
                    replace_existing=True,
                )  # fmt: skip

    def _remove(self, key: str) -> None:
        del self._at[key]
        if self._scheduler.get_job(key) is not None:  # it may have just run
            self._scheduler.remove_job(key)

    async def _ring(self, key: str, piece: str) -> None:
        """A coroutine function, since plain functions are run in another thread."""
        self._at.pop(key, None)
        self._wake(piece)


def _text(event: JobExecutionEvent) -> str:
    return f"job {event.job_id}: {event.exception!r}"
