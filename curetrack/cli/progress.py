"""A bar for what takes longer than half a second, on a terminal only."""

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

__all__ = ["Bar"]

PATIENCE_s = 0.5


class Bar:
    """Counts up; draws itself on stderr once it has lasted. Several parts may follow each other."""

    def __init__(self, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._started = clock()
        self._shows = sys.stderr is not None and sys.stderr.isatty()
        self._progress: Progress | None = None
        self._tasks: dict[str, TaskID] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._progress is not None:
            self._progress.stop()

    def part(self, title: str) -> Callable[[int, int], None]:
        """What a worker calls with (done, in all)."""

        def tell(done: int, total: int) -> None:
            if self._shows and self._clock() - self._started > PATIENCE_s:
                self._draw(title, done, total)

        return tell

    def _draw(self, title: str, done: int, total: int) -> None:
        if self._progress is None:
            from rich.console import Console
            from rich.progress import Progress

            self._progress = Progress(console=Console(stderr=True), transient=True)
            self._progress.start()
        if title not in self._tasks:
            self._tasks[title] = self._progress.add_task(title, total=total)
        self._progress.update(self._tasks[title], completed=done, total=total)
