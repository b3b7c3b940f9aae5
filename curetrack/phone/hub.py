"""Live pages: each open page waits here, and hears that something has changed. What it was, it asks for itself."""

import asyncio
from collections.abc import AsyncIterator

__all__ = ["Hub"]

KEEPALIVE_s = 20.0
MOST_PAGES = 64


class Hub:
    """All open pages."""

    def __init__(self, keepalive_s: float = KEEPALIVE_s) -> None:
        self._waiting: set[asyncio.Event] = set()
        self._closed, self._keepalive_s, self.count = False, keepalive_s, 0

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
                event.clear()
                if not self._closed:
                    yield f"id: {self.count}\nevent: changed\ndata: {self.count}\n\n"
        finally:
            self._waiting.discard(event)
