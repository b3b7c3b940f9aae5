"""Calls beside the loop: they hold up neither it nor the end of the process."""

import asyncio
import subprocess
import sys
import threading
import time

import pytest

from curetrack.nudge.channels.apart import apart

HANGS = """
import asyncio, threading
from curetrack.nudge.channels.apart import apart

async def main():
    asyncio.ensure_future(apart(threading.Event().wait))
    await asyncio.sleep(0.05)

asyncio.run(main())
print("ended")
"""


async def test_it_answers_and_raises() -> None:
    assert await apart(lambda: threading.current_thread() is threading.main_thread()) is False
    with pytest.raises(ZeroDivisionError):
        await apart(lambda: 1 // 0)


async def test_the_loop_goes_on() -> None:
    started = time.monotonic()
    await asyncio.gather(*(apart(lambda: time.sleep(0.2)) for _ in range(20)))
    assert time.monotonic() - started < 2.0  # one after another: 4 s


async def test_who_stops_waiting_hears_no_more() -> None:
    let = threading.Event()
    with pytest.raises(TimeoutError):
        await asyncio.wait_for(apart(let.wait), 0.05)
    let.set()
    await asyncio.sleep(0.05)  # an answer that nobody wants is no error in the loop


def test_a_server_that_hangs_does_not_hold_up_the_end() -> None:
    ended = subprocess.run([sys.executable, "-c", HANGS], capture_output=True, text=True, timeout=20, check=True)
    assert (ended.stdout, ended.stderr) == ("ended\n", "")
