"""Blocking work beside the loop, in a thread that holds up no end: what it does may be broken off at any point."""

import asyncio
import threading
from collections.abc import Callable
from typing import TypeVar

__all__ = ["beside"]

T = TypeVar("T")


async def beside(work: Callable[[], T]) -> T:
    """What `work` returns, or raises. If nobody waits any more, its answer is dropped; if the process ends, so does
    it. (asyncio's own threads are waited for at the end, and a server that does not answer would hang the stop.)"""
    loop = asyncio.get_running_loop()
    answer: asyncio.Future[T] = loop.create_future()

    def give(set_it: Callable[[], None]) -> None:
        if not answer.done():
            set_it()

    def run() -> None:
        try:
            found = work()
        except BaseException as error:  # it is raised where it is waited for
            failed = error
            _tell(loop, lambda: give(lambda: answer.set_exception(failed)))
        else:
            _tell(loop, lambda: give(lambda: answer.set_result(found)))

    threading.Thread(target=run, name="beside", daemon=True).start()
    return await answer


def _tell(loop: asyncio.AbstractEventLoop, what: Callable[[], None]) -> None:
    try:
        loop.call_soon_threadsafe(what)
    except RuntimeError:  # the loop is closed: nobody waits
        return
