"""Fifty phones on one bench: python -m tests.bench.bench_phones [PHONES] [SECONDS]  (50 and 60 by default).

`curetrack bench --headless --port 0` as a process of its own on loopback, ten pieces, no channels. First one phone asks
for the list alone; then all ask for it every one or two seconds, each with a cookie of its own and an open event stream
(as an open page has), and every twenty to forty seconds each ticks a step or takes its tick back. Phones are paired in
the ledger, since by code only so many a minute can be. A request is timed from its first byte to the answer's last, in
this one process: what it costs the clients themselves is in it, and what a machine with other work takes. Two lines
tell those apart: the server's own processor time (Linux only), and how late this process woke from short rests.

Goal: 99 of 100 lists within 50 ms, and within five times the median that the phone alone saw in the same run; no
error; the page with all that it needs at most 60 kB as it is sent, and at most two requests besides its own. With
CURETRACK_PROFILE=FILE the server runs under cProfile and leaves its numbers there; its times are then not its own.
"""

import asyncio
import json
import os
import random
import re
import secrets
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from urllib.parse import urlsplit

from curetrack.phone.pairing import hash_of, new_secret
from curetrack.phone.security import COOKIE
from curetrack.service.served import read_served
from curetrack.shop import View
from curetrack.words.pressing import next_of
from tests.bench.bench_desk import fill
from tests.bench.bench_idle import _used_s
from tests.bench.bench_today import ROOT

PIECES, ALONE = 10, 200
MOST_ms, MOST_RATIO, MOST_BYTES, MOST_BESIDE = 50.0, 5.0, 60_000, 2
UP_s, ANSWER_s, REST_s = 30.0, 20.0, 0.02
PROFILED = (
    "import cProfile, sys, time\nfrom curetrack.cli.main import main\nfile = sys.argv.pop(1)\n"
    "profile = cProfile.Profile(time.process_time)\nprofile.runcall(main)\nprofile.dump_stats(file)"
)
BESIDE = re.compile(r"""<(?:link[^>]*?href|script[^>]*?src|img[^>]*?src)="(/[^"]*)\"""")


class Line:
    """One connection that is kept, as a browser keeps it. Just as much of HTTP/1.1 as our own server speaks."""

    def __init__(self, port: int, cookie: str) -> None:
        self._port = port
        self._head = f"host: 127.0.0.1:{port}\r\ncookie: {COOKIE}={cookie}\r\n"
        self._ends: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> tuple[int, bytes]:
        """Status and body; once more on a new line where the old one was cut while it lay idle."""
        async with asyncio.timeout(ANSWER_s):
            reused = self._ends is not None
            try:
                return await self._asked(method, path, body, headers)
            except (OSError, asyncio.IncompleteReadError):
                self.close()
                if not reused:
                    raise
                return await self._asked(method, path, body, headers)

    async def stream(self) -> asyncio.StreamReader:
        """The event stream, after its head."""
        reader = await self._sent("GET", "/events", b"", {})
        head = await reader.readuntil(b"\r\n\r\n")
        if b" 200 " not in head.partition(b"\r\n")[0]:
            raise OSError(head.partition(b"\r\n")[0].decode())
        return reader

    def close(self) -> None:
        """The next request opens it anew."""
        if self._ends is not None:
            self._ends[1].close()
        self._ends = None

    async def _asked(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, bytes]:
        reader = await self._sent(method, path, body, headers)
        head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").casefold()
        length = int(head.partition("content-length:")[2].partition("\r\n")[0])
        found = await reader.readexactly(length)
        if "connection: close" in head:
            self.close()
        return int(head.split(" ", 2)[1]), found

    async def _sent(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> asyncio.StreamReader:
        if self._ends is None:
            self._ends = await asyncio.open_connection("127.0.0.1", self._port)
        reader, writer = self._ends
        more = "".join(f"{name.replace('_', '-')}: {value}\r\n" for name, value in headers.items())
        length = f"content-length: {len(body)}\r\n" if body else ""
        writer.write(f"{method} {path} HTTP/1.1\r\n{self._head}{more}{length}\r\n".encode() + body)
        return reader


class Phone:
    """One open page. `told`: what became of its taps; `took_ms`: of each list."""

    def __init__(self, port: int, cookie: str, step: tuple[str, str, str], seed: int) -> None:
        self._port, self._piece, self._step, self._do = port, *step
        self._lists, self._taps, self._live = Line(port, cookie), Line(port, cookie), Line(port, cookie)
        self._dice, self._token, self._event = random.Random(seed), "", None
        self.took_ms: list[float] = []
        self.tapped_ms: list[float] = []
        self.told = Counter[str]()

    async def look(self) -> bytes:
        """Asks for the list, timed; remembers its form token."""
        began = time.perf_counter()
        try:
            status, body = await self._lists.ask("GET", "/", x_part="1")
        except (OSError, TimeoutError, asyncio.IncompleteReadError) as error:
            self.told[f"error {type(error).__name__}"] += 1
            return b""
        self.took_ms.append((time.perf_counter() - began) * 1000.0)
        if status != 200 or b"What comes next" not in body:
            self.told[f"error {status} for the list"] += 1
        self._token = body.partition(b'name="token" content="')[2].partition(b'"')[0].decode()
        return body

    async def tap(self) -> None:
        """Ticks, or takes the last tick back."""
        deed: dict[str, object] = {"id": secrets.token_hex(7), "piece": self._piece, "do": "undo", "event": self._event}
        if self._event is None:
            deed |= {"do": self._do, "step": self._step}
        body, began = json.dumps(deed).encode(), time.perf_counter()
        headers = {"content_type": "application/json", "origin": f"http://127.0.0.1:{self._port}"}
        try:
            status, answer = await self._taps.ask("POST", "/deed", body, x_curetrack_token=self._token, **headers)
        except (OSError, TimeoutError, asyncio.IncompleteReadError) as error:
            self.told[f"error {type(error).__name__}"] += 1
            return
        self.tapped_ms.append((time.perf_counter() - began) * 1000.0)
        if status != 200:
            self.told[f"error {status} for a tap"] += 1
            return
        said = json.loads(answer)
        self._event = said["event"] if self._event is None else None
        self.told[f"{deed['do']} {'taken' if said['good'] else 'refused'}"] += 1

    async def live(self, seconds: float) -> None:
        """A minute with the page open."""
        end, listening = time.monotonic() + seconds, asyncio.ensure_future(self._listen())
        await asyncio.sleep(self._dice.uniform(0.0, 2.0))
        tap_at = time.monotonic() + self._dice.uniform(0.0, 20.0)
        while time.monotonic() < end:
            await self.look()
            if time.monotonic() >= tap_at:
                await self.tap()
                tap_at = time.monotonic() + self._dice.uniform(20.0, 40.0)
            await asyncio.sleep(self._dice.uniform(1.0, 2.0))
        listening.cancel()
        await asyncio.wait([listening])
        for line in (self._lists, self._taps, self._live):
            line.close()

    async def _listen(self) -> None:
        try:
            reader = await self._live.stream()
            while text := await reader.read(4096):
                self.told["changes heard"] += text.count(b"event: changed")
            self.told["error: a stream ended"] += 1
        except OSError as error:
            self.told[f"error: {error}"] += 1


# --- the server and its home ------------------------------------------------------------------------------------------


def paired(home: Path, phones: int) -> tuple[list[str], list[tuple[str, str, str]]]:
    """A cookie for each phone; and piece, step and deed for each: the first of a piece is ticked, others put off."""
    now, cookies = datetime.now(UTC), [new_secret() for _ in range(phones + 1)]
    with fill(home, PIECES) as shop:
        shop.set_settings([("channels", "hook")])  # which has no address: nothing goes out
        for number, cookie in enumerate(cookies):
            shop.add_device("phone", f"phone {number}", hash_of(cookie), now=now)
        opened = [[line for line in next_of(one) if not line.hold] for one in shop.timelines(View(now))]
    steps = []
    for number in range(phones + 1):
        lines, place = opened[number % PIECES], number // PIECES
        line = lines[place % len(lines)]
        steps.append((line.piece, line.step, "done" if place == 0 else "later"))
    return cookies, steps


def started(home: Path, said: Path) -> "subprocess.Popen[bytes]":
    """The service, up when its page answers."""
    kept = {k: v for k, v in os.environ.items() if k not in ("DBUS_SESSION_BUS_ADDRESS", "DISPLAY")}
    environment = {**kept, "CURETRACK_HOME": str(home), "TZ": "Europe/Berlin", "PYTHONPATH": str(ROOT)}
    profiled = os.environ.get("CURETRACK_PROFILE", "")
    run = ["-c", PROFILED, profiled] if profiled else ["-m", "curetrack"]
    command = [sys.executable, *run, "bench", "--headless", "--port", "0"]
    with said.open("wb") as log:
        process = subprocess.Popen(command, env=environment, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
    end = time.monotonic() + UP_s
    while read_served(home) is None:
        if process.poll() is not None or time.monotonic() > end:
            process.terminate()
            raise SystemExit(f"the bench does not come up:\n{said.read_text()}")
        time.sleep(0.05)
    return process


async def weighed(port: int, cookie: str) -> tuple[int, int, int]:
    """Bytes of the page, bytes of all that its first view needs, and how many requests that is besides."""
    line = Line(port, cookie)
    _, page = await line.ask("GET", "/")
    beside = BESIDE.findall(page.decode())
    bodies = [await line.ask("GET", path) for path in beside]
    line.close()
    return len(page), len(page) + sum(len(body) for _, body in bodies), len(beside)


async def rest(late_ms: list[float]) -> None:
    """How late this process wakes, again and again."""
    while True:
        began = time.perf_counter()
        await asyncio.sleep(REST_s)
        late_ms.append((time.perf_counter() - began - REST_s) * 1000.0)


async def measure(
    home: Path, process: int, cookies: Sequence[str], steps: Sequence[tuple[str, str, str]], seconds: float
) -> bool:
    """Prints the numbers; whether the goal is reached."""
    served = read_served(home)
    port = urlsplit(served.url).port if served is not None else None
    if port is None:
        raise SystemExit("no page is served")
    size, weight, beside = await weighed(port, cookies[-1])
    print(f"page {size} bytes, with its {beside} files {weight} bytes")
    phones = [Phone(port, cookie, step, n) for n, (cookie, step) in enumerate(zip(cookies, steps, strict=True))]
    alone, many = phones.pop(), phones
    for _ in range(ALONE):
        await alone.look()
        await asyncio.sleep(0.11)  # at most ten a second are let in
    one_ms = median(alone.took_ms)
    print(f"one phone alone: {_spread(alone.took_ms)}")
    late_ms: list[float] = []
    resting, began, used = asyncio.ensure_future(rest(late_ms)), time.monotonic(), _used_s(process)
    await asyncio.gather(*(phone.live(seconds) for phone in many))
    resting.cancel()
    used, lasted = _used_s(process) - used, time.monotonic() - began
    print(f"the server took {used / lasted:.0%} of a core; this process woke late by: {_spread(late_ms)}")
    took = [ms for phone in many for ms in phone.took_ms]
    told = sum((phone.told for phone in (alone, *many)), Counter[str]())
    print(f"{len(many)} phones: {_spread(took)}")
    print(f"their taps: {_spread([ms for phone in many for ms in phone.tapped_ms])}")
    p99, errors = _quantile(took, 0.99), sum(count for what, count in told.items() if what.startswith("error"))
    print(", ".join(f"{what}: {count}" for what, count in sorted(told.items())))
    print(f"p99 {p99:.1f} ms, {p99 / one_ms:.1f} times the median of one phone; errors: {errors}")
    quick = p99 <= MOST_ms and p99 <= MOST_RATIO * one_ms
    return quick and not errors and weight <= MOST_BYTES and beside <= MOST_BESIDE


def _spread(took: Sequence[float]) -> str:
    if not took:
        return "none"
    p95, p99 = _quantile(took, 0.95), _quantile(took, 0.99)
    return f"{len(took)}, median {median(took):.1f} ms, p95 {p95:.1f} ms, p99 {p99:.1f} ms, at most {max(took):.1f} ms"


def _quantile(values: Sequence[float], share: float) -> float:
    return sorted(values)[int(len(values) * share)]


def main() -> int:
    """See above; 0 if the goal is reached."""
    phones = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        cookies, steps = paired(home, phones)
        process = started(home, Path(folder) / "said")
        try:
            good = asyncio.run(measure(home, process.pid, cookies, steps, seconds))
        finally:
            process.terminate()
            process.wait(15.0)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
