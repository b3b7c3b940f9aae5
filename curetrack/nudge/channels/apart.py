"""Calls that block, beside the loop."""

import asyncio
import contextlib
import threading
from collections.abc import Callable
from typing import TypeVar

__all__ = ["apart"]

Found = TypeVar("Found")


async def apart(call: Callable[[], Found]) -> Found:
    """What `call` returns or raises, from a thread that nobody waits for at the end: a server that hangs must not hold
    up the end of the service, as asyncio's own threads would."""
    loop = asyncio.get_running_loop()
    answer: asyncio.Future[Found] = loop.create_future()

    def settle(found: Found | None, error: BaseException | None) -> None:
        if answer.done():  # whoever asked has stopped waiting
            return
        if error is not None:
            answer.set_exception(error)
        else:
            answer.set_result(found)  # type: ignore[arg-type]  # None only if that is what it found

    def run() -> None:
        found, failed = None, None
        try:
            found = call()
        except BaseException as error:
            failed = error
        with contextlib.suppress(RuntimeError):  # the loop has closed meanwhile
            loop.call_soon_threadsafe(settle, found, failed)

    threading.Thread(target=run, name="curetrack-channel", daemon=True).start()
    return await answer
