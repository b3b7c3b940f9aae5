"""Live pages: each open page waits here, and hears that something has changed. What it was, it asks for itself."""

import asyncio
import random
from collections.abc import AsyncIterator

__all__ = ["Hub"]

KEEPALIVE_s = 20.0
MOST_PAGES = 64
REST_s = 0.3  # what changes meanwhile is told together
APART_s = 0.005  # for each open page: they ask for the list at once, and must not all ask at the same moment


class Hub:
    """All open pages."""

    def __init__(self, keepalive_s: float = KEEPALIVE_s, rest_s: float = REST_s) -> None:
        self._waiting: set[asyncio.Event] = set()
        self._closed, self._keepalive_s, self._rest_s, self.count = False, keepalive_s, rest_s, 0

    @property
    def full(self) -> bool:
        """No further page is taken."""
        return len(self._waiting) >= MOST_PAGES

    def publish(self) -> None:
        """Something has changed. Several changes that a slow page has not heard of are one to it."""
        self.count += 1
        for event in self._waiting:
            event.set()

    def close(self) -> None:
        """Every page's stream ends: a server cannot stop while one is open."""
        self._closed = True
        self.publish()

    async def stream(self) -> AsyncIterator[str]:
        """One page's server-sent events, until it or the hub closes."""
        event = asyncio.Event()
        self._waiting.add(event)
        try:
            yield f"retry: 2000\nid: {self.count}\nevent: hello\ndata: {self.count}\n\n"
            while not self._closed:
                try:
                    await asyncio.wait_for(event.wait(), self._keepalive_s)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if not self._closed:
                    await asyncio.sleep(random.uniform(0.0, APART_s * (len(self._waiting) - 1)))  # noqa: S311 -- no secret
                event.clear()
                if not self._closed:
                    yield f"id: {self.count}\nevent: changed\ndata: {self.count}\n\n"
                    await asyncio.sleep(self._rest_s)
        finally:
            self._waiting.discard(event)
