"""The phone's side of the service: served, told of, exported, kept in step, with a bench and without one."""

import asyncio
import json
import logging
import os
import subprocess
import sys
import threading
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic

import httpx2
import pytest

from curetrack.credentials import keep_credential
from curetrack.errors import StoreTrouble
from curetrack.facts import Forecast, Shape
from curetrack.phone import server as server_module
from curetrack.phone.caldav.run import Syncer
from curetrack.phone.caldav.store import Kept, forget, keep
from curetrack.phone.caldav.sync import Synced
from curetrack.phone.caldav.wire import ServerTrouble
from curetrack.phone.export import FILES
from curetrack.phone.pairing import invite
from curetrack.service import alone as alone_module
from curetrack.service import page as page_module
from curetrack.service import todos as todos_module
from curetrack.service.alone import Alone
from curetrack.service.bench import Bench
from curetrack.service.clock import SystemClock
from curetrack.service.daemon import beside
from curetrack.service.lease import Lease
from curetrack.service.page import PageSide, Where
from curetrack.service.served import FILE_NAME, Served, answers, read_served, remove_served, write_served
from curetrack.service.todos import LONGEST_s, PERIOD_s, Todos
from curetrack.shop import Shop, View
from tests.desk import beside as desk
from tests.service.fake import Carrier

LOG = logging.getLogger("test")
SOON_s = 2.0  # within which what another process says is heard


class Holder(desk.Alone):
    """What carries the page: a shop, a clock that is set by hand, and everything that the page asks of a bench."""

    def __init__(self, home: Path) -> None:
        super().__init__(home, "top")
        self.home, self.log, self.nudging = home, LOG, True


@pytest.fixture
def holder(tmp_path: Path) -> Holder:
    return Holder(tmp_path / "home")


@pytest.fixture
async def side(holder: Holder) -> AsyncIterator[PageSide]:
    side = PageSide(holder, Where(port=0))
    await side.start()
    yield side
    await side.stop()


@asynccontextmanager
async def phone(holder: "Holder | Bench | Alone", url: str) -> AsyncIterator[httpx2.AsyncClient]:
    """A paired one."""
    async with httpx2.AsyncClient(base_url=url, headers={"origin": url}) as client:
        assert (await client.post(f"/pair/{invite(holder.shop.home, holder.now())}")).status_code == 303
        yield client


async def by(end_s: float, what: Callable[[], Awaitable[bool]], text: str) -> None:
    """It comes to be so before then."""
    while not await what():
        assert monotonic() < end_s, text
        await asyncio.sleep(0.02)


# --- the page --------------------------------------------------------------------------------------------------------


async def test_it_starts_and_ends_soon_though_a_page_is_open(holder: Holder) -> None:
    began = monotonic()
    side = PageSide(holder, Where(port=0))
    await side.start()
    assert monotonic() - began < 2.0
    async with phone(holder, side.url) as client, client.stream("GET", "/events") as stream:
        chunks = stream.aiter_text()
        assert "event: hello" in await anext(chunks)
        began = monotonic()
        await side.stop()
        assert monotonic() - began < 2.0
        assert "changed" not in "".join([chunk async for chunk in chunks])
    assert side.url == ""
    assert side.troubles == ()


async def test_an_open_page_hears_what_the_bench_hears(holder: Holder, side: PageSide) -> None:
    async with phone(holder, side.url) as client, client.stream("GET", "/events") as stream:
        chunks = stream.aiter_text()
        assert "event: hello" in await anext(chunks)
        holder.changed()
        assert "event: changed" in await anext(chunks)


async def test_who_tapped_sees_it_at_once_though_it_is_worked_out_a_little_later(
    holder: Holder, side: PageSide, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Others may see the list of before, and hear of the change; each piece is worked out once for all its taps."""
    monkeypatch.setattr(page_module, "OWED_s", 3600.0)
    said: list[str] = []
    monkeypatch.setattr(holder, "said", said.append)
    async with phone(holder, side.url) as mine, phone(holder, side.url) as theirs:
        token = (await mine.get("/")).text.partition('name="token" content="')[2].partition('"')[0]
        for number in range(2):
            deed = {"id": f"{number:014x}", "piece": "top", "step": "cover", "do": "later", "hours": 1.0 + number}
            assert (await mine.post("/deed", json=deed, headers={"x-curetrack-token": token})).json()["good"]
        await theirs.get("/")
        assert said == []
        await mine.get("/")
        assert said == ["top"]
        await mine.get("/")
        assert said == ["top"]


async def test_what_was_tapped_is_worked_out_though_nobody_looks(holder: Holder, side: PageSide) -> None:
    said = asyncio.Event()
    holder.said = lambda _piece: said.set()  # type: ignore[method-assign]  # only for this one
    async with phone(holder, side.url) as mine:
        token = (await mine.get("/")).text.partition('name="token" content="')[2].partition('"')[0]
        deed = {"id": "0" * 14, "piece": "top", "step": "cover", "do": "later", "hours": 1.0}
        assert (await mine.post("/deed", json=deed, headers={"x-curetrack-token": token})).json()["good"]
        await asyncio.wait_for(said.wait(), SOON_s)


async def test_a_port_that_is_taken_gives_way_to_the_next(holder: Holder, side: PageSide, tmp_path: Path) -> None:
    port = int(side.url.rpartition(":")[2])
    other = PageSide(Holder(tmp_path / "other"), Where(port=port))
    await other.start()
    try:
        assert port < int(other.url.rpartition(":")[2]) < port + 20
        assert other.troubles == ()
    finally:
        await other.stop()


async def test_no_page_is_a_trouble_and_no_end(
    holder: Holder, side: PageSide, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server_module, "TRIED_PORTS", 1)
    other = PageSide(Holder(tmp_path / "other"), Where(port=int(side.url.rpartition(":")[2])))
    await other.start()
    assert other.url == ""
    assert [text for text in other.troubles if text.startswith("There is no page for phones: ")]
    assert read_served(tmp_path / "other") is None
    await other.stop()


# --- where it is served ----------------------------------------------------------------------------------------------


async def test_where_it_is_served_stands_in_a_file_while_it_is(holder: Holder) -> None:
    side = PageSide(holder, Where(port=0))
    assert read_served(holder.home) is None
    await side.start()
    found = read_served(holder.home)
    assert found == Served(os.getpid(), side.url, ())
    assert json.loads((holder.home / FILE_NAME).read_text())["url"] == side.url
    assert not found.lan
    assert not found.https
    assert answers(found)
    await side.stop()
    assert not (holder.home / FILE_NAME).exists()
    assert not answers(found)


async def test_addresses_that_come_later_are_told(holder: Holder, monkeypatch: pytest.MonkeyPatch) -> None:
    """Started before the network was up: no address yet, then one. (Nothing is bound beyond loopback here.)"""
    monkeypatch.setattr(page_module, "ANYWHERE", "127.0.0.1")
    found: list[str] = []
    monkeypatch.setattr(page_module, "own_addresses", lambda: found)
    side = PageSide(holder, Where(lan=True, port=0, names=("bench.home.example",)))
    await side.start()
    try:
        port = side.url.rpartition(":")[2]
        named = (f"http://bench.home.example:{port}",)
        assert read_served(holder.home) == Served(os.getpid(), side.url, named, lan=True)
        found += ["192.0.2.9", "2001:db8::9"]
        await side._be_named()
        assert read_served(holder.home) == Served(os.getpid(), side.url, (*named, f"http://192.0.2.9:{port}"), lan=True)
        async with httpx2.AsyncClient(base_url=side.url) as client:
            for host, status in (("bench.home.example", 401), ("192.0.2.9", 401), ("bench.elsewhere.example", 421)):
                assert (await client.get("/", headers={"host": f"{host}:{port}"})).status_code == status
    finally:
        await side.stop()


def test_the_file_of_another_process_stays(tmp_path: Path) -> None:
    another = Served(os.getpid() + 1, "https://127.0.0.1:9", ("https://192.0.2.7:9",), lan=True)
    write_served(tmp_path, another)
    remove_served(tmp_path)
    assert read_served(tmp_path) == another
    assert another.lan
    assert another.https


@pytest.mark.parametrize("body", [b"", b"[]", b'{"url": 3}', b"\xff\xfe", b'{"pid": 1}'])
def test_a_file_that_cannot_be_understood_says_nothing(tmp_path: Path, body: bytes) -> None:
    (tmp_path / FILE_NAME).write_bytes(body)
    assert read_served(tmp_path) is None
    remove_served(tmp_path)


@pytest.mark.parametrize("url", ["http://127.0.0.1", "http://", "", "nonsense"])
def test_an_address_where_nobody_listens(url: str) -> None:
    assert not answers(Served(1, url))


# --- the export ------------------------------------------------------------------------------------------------------


def stamps(folder: Path) -> dict[str, int]:
    return {name: (folder / name).stat().st_mtime_ns for name in FILES}


async def exported(side: PageSide) -> bool:
    """One round of it; whether it went well."""
    return await side._rounds.guarded(side._export)


async def test_the_export_comes_and_is_renewed_with_each_change(holder: Holder, side: PageSide, tmp_path: Path) -> None:
    folder = tmp_path / "synced" / "shop"
    assert await exported(side)
    assert not folder.exists()  # nobody has asked for it
    holder.shop.set_settings([("export_folder", str(folder))])
    assert await exported(side)
    assert sorted(file.name for file in folder.iterdir()) == sorted(FILES)
    assert "Cover it" in (folder / "curetrack.md").read_text()
    before = stamps(folder)
    for _ in range(3):
        assert await exported(side)
        holder.changed()  # it was looked at anew, and nothing came of it
    assert stamps(folder) == before
    holder.shop.done("top", "cover", now=holder.at)
    holder.comes_to(holder.at + timedelta(minutes=1))
    assert await exported(side)
    assert all(stamps(folder)[name] > before[name] for name in FILES)
    assert "Cover it" not in (folder / "curetrack.md").read_text()
    assert side.troubles == ()


async def test_nothing_is_made_anew_while_nothing_has_changed(
    holder: Holder, side: PageSide, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even to be compared, but for now and then: "now" moves on."""
    made: list[Path] = []
    monkeypatch.setattr(page_module, "export", lambda folder, *_: made.append(folder))
    holder.shop.set_settings([("export_folder", str(tmp_path / "one"))])
    for _ in range(3):
        await exported(side)
    assert made == [tmp_path / "one"]
    holder.changed()
    await exported(side)
    holder.shop.set_settings([("export_folder", str(tmp_path / "two"))])
    await exported(side)
    assert made == [tmp_path / "one", tmp_path / "one", tmp_path / "two"]
    began = page_module.monotonic()
    monkeypatch.setattr(page_module, "monotonic", lambda: began + page_module.EXPORT_AGAIN_s + 60.0)
    await exported(side)
    assert made[3:] == [tmp_path / "two"]


async def test_a_folder_that_cannot_be_written_is_told_until_it_can(
    holder: Holder, side: PageSide, tmp_path: Path
) -> None:
    """A drive that is not mounted, a share that is gone: here a file where the folder should be."""
    (tmp_path / "drive").write_text("no folder")
    holder.shop.set_settings([("export_folder", str(tmp_path / "drive" / "shop"))])
    for _ in range(4):  # it does not come and go
        assert not await exported(side)
        assert len(side.troubles) == 1
        assert str(tmp_path / "drive" / "shop") in side.troubles[0]
        assert "the export is as it was" in side.troubles[0]
    (tmp_path / "drive").unlink()
    assert await exported(side)  # nothing else has changed meanwhile
    assert side.troubles == ()
    assert sorted(file.name for file in (tmp_path / "drive" / "shop").iterdir()) == sorted(FILES)


async def test_who_does_not_nudge_does_not_export(holder: Holder, side: PageSide, tmp_path: Path) -> None:
    holder.nudging = False
    holder.shop.set_settings([("export_folder", str(tmp_path / "out"))])
    await exported(side)
    assert not (tmp_path / "out").exists()
    holder.nudging = True  # the other is gone
    await exported(side)
    assert (tmp_path / "out").exists()


# --- the to-do list --------------------------------------------------------------------------------------------------


class Pretended(Syncer):
    """A sync that does what it is told, and counts."""

    def __init__(self) -> None:
        self.count, self.down = 0, ""
        self.gives: Synced | None = Synced()

    def run(self) -> Synced | None:
        self.count += 1
        if self.down:
            raise ServerTrouble(self.down)
        return self.gives


class List:
    """A connected list whose server is pretended, a clock set by hand, and facts that are one number."""

    def __init__(self, home: Path) -> None:
        self.home, self.clock_s, self.fact = home, 1000.0, 1
        self.syncer = Pretended()
        self.todos = Todos(
            home, lambda: datetime.now(UTC), lambda: self.fact, LOG, syncer=self.syncer, clock_s=lambda: self.clock_s
        )

    def connect(self) -> None:
        keep(self.home, Kept("http://127.0.0.1:9/", "crew", "http://127.0.0.1:9/list/"))

    async def asks(self, after_s: float = 0.0) -> int:
        """How often the server was asked in a look after so many seconds."""
        self.clock_s += after_s
        before = self.syncer.count
        await self.todos.look()
        return self.syncer.count - before


@pytest.fixture
def todos(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> List:
    monkeypatch.setattr(todos_module, "SOON_s", 0.0)
    return List(tmp_path)


async def test_without_a_list_nothing_is_asked(todos: List) -> None:
    for _ in range(3):
        assert await todos.asks(1000.0) == 0
    todos.connect()
    assert await todos.asks() == 1
    todos.syncer.down = "no answer"
    await todos.asks(PERIOD_s)
    assert todos.todos.trouble
    forget(todos.home)
    assert await todos.asks(1000.0) == 0
    assert todos.todos.trouble == ""
    todos.connect()
    assert await todos.asks() == 1  # at once, not when the old one would have been due


async def test_it_is_asked_soon_after_a_fact_and_else_now_and_then(todos: List) -> None:
    todos.connect()
    assert await todos.asks() == 1
    assert await todos.asks(1.0) == 0
    todos.fact += 1
    assert await todos.asks(1.0) == 1
    assert await todos.asks(1.0) == 0
    assert await todos.asks(PERIOD_s - 2.0) == 0
    assert await todos.asks(1.0) == 1


async def test_a_fact_that_comes_during_a_sync_is_not_forgotten(todos: List) -> None:
    todos.connect()
    run = todos.syncer.run

    def and_said() -> Synced | None:
        todos.fact += 1
        return run()

    todos.syncer.run = and_said  # type: ignore[method-assign]  # only for this one
    assert await todos.asks() == 1
    todos.syncer.run = run  # type: ignore[method-assign]
    assert await todos.asks(1.0) == 1
    assert await todos.asks(1.0) == 0


async def test_a_server_in_trouble_is_asked_less_and_less(todos: List) -> None:
    """120 s, then twice as long each time, at most half an hour; a new fact makes no difference."""
    todos.connect()
    todos.syncer.down = "http://127.0.0.1:9/ does not answer"
    assert await todos.asks() == 1
    for rest_s in (120.0, 240.0, 480.0, 960.0, LONGEST_s, LONGEST_s):
        assert todos.todos.trouble == "The to-do list is not in step: http://127.0.0.1:9/ does not answer."
        todos.fact += 1
        assert await todos.asks(rest_s - 1.0) == 0
        assert await todos.asks(1.0) == 1
    todos.syncer.down = ""
    assert await todos.asks(LONGEST_s) == 1
    assert todos.todos.trouble == ""
    assert await todos.asks(PERIOD_s - 1.0) == 0
    assert await todos.asks(1.0) == 1
    todos.syncer.down = "gone again"
    assert await todos.asks(PERIOD_s) == 1
    assert await todos.asks(PERIOD_s) == 1  # it begins anew


async def test_trouble_is_said_once_in_the_log_and_its_end_too(todos: List, caplog: pytest.LogCaptureFixture) -> None:
    todos.connect()
    todos.syncer.down = "no answer"
    with caplog.at_level(logging.INFO, "test"):
        await todos.asks()
        await todos.asks(PERIOD_s)
        todos.syncer.down = ""
        await todos.asks(LONGEST_s)
    assert [record.message for record in caplog.records] == [
        "The to-do list is not in step: no answer.",
        "the to-do list is in step again",
    ]


async def test_what_nobody_thought_of_does_not_hammer_a_server(todos: List) -> None:
    todos.connect()

    def fails() -> Synced | None:
        todos.syncer.count += 1
        raise ValueError("nobody thought of that")

    todos.syncer.run = fails  # type: ignore[method-assign]  # only for this one
    with pytest.raises(ValueError, match="nobody thought"):
        await todos.asks()
    for _ in range(5):
        assert await todos.asks(1.0) == 0
    with pytest.raises(ValueError, match="nobody thought"):
        await todos.asks(PERIOD_s)


async def test_a_to_do_that_the_server_does_not_want_is_told(todos: List) -> None:
    todos.connect()
    todos.syncer.gives = Synced(troubles=("http://127.0.0.1:9/list/ did not take a to-do (answer 507)",))
    await todos.asks()
    assert todos.todos.trouble == "The to-do list: http://127.0.0.1:9/list/ did not take a to-do (answer 507)."
    todos.syncer.gives = Synced(written=1)
    await todos.asks(PERIOD_s)
    assert todos.todos.trouble == ""


async def test_another_process_that_syncs_is_no_trouble(todos: List) -> None:
    todos.connect()
    todos.syncer.gives = None
    assert await todos.asks() == 1
    assert todos.todos.trouble == ""


async def _refuses(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    """A server that lets nobody in, and says back what it was told."""
    head = await reader.readuntil(b"\r\n\r\n")
    told = head.decode("latin-1").casefold().partition("authorization:")[2].partition("\r\n")[0].encode()
    lines = [b"HTTP/1.1 401 No", b'WWW-Authenticate: Basic realm="' + told + b'"', b"Connection: close"]
    writer.write(b"\r\n".join([*lines, b"Content-Length: %d" % len(told), b"", told]))
    await writer.drain()
    writer.close()


@pytest.mark.parametrize("there", [True, False])
async def test_a_real_servers_trouble_holds_no_secret(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, there: bool
) -> None:
    password = "plaster-of-8-secrets"
    server = await asyncio.start_server(_refuses, "127.0.0.1", 0)
    url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/"
    if not there:
        server.close()
        await server.wait_closed()
    keep_credential(tmp_path, "todo_password", password)
    keep(tmp_path, Kept(url, "crew", f"{url}list/"))
    todos = Todos(tmp_path, lambda: datetime.now(UTC), lambda: 1, LOG)
    with caplog.at_level(logging.DEBUG):
        await todos.look()
    server.close()
    assert todos.trouble.startswith("The to-do list is not in step: ")
    assert "127.0.0.1" in todos.trouble
    for text in (todos.trouble, caplog.text):
        assert password not in text
        assert "Y3Jld" not in text  # "crew", as it begins in Basic


async def test_a_sync_that_hangs_does_not_hold_up_the_end(tmp_path: Path, holder: Holder) -> None:
    """A server that takes the line and says nothing."""
    let_go, begun = threading.Event(), threading.Event()

    class Hangs(Pretended):
        def run(self) -> Synced | None:
            begun.set()
            let_go.wait(30.0)
            return Synced()

    keep(holder.home, Kept("http://127.0.0.1:9/", "crew", "http://127.0.0.1:9/list/"))
    todos = Todos(holder.home, holder.now, lambda: 1, LOG, syncer=Hangs())
    side = PageSide(holder, Where(port=0), todos=todos)
    await side.start()
    try:
        await by(monotonic() + 10.0, lambda: asyncio.sleep(0, begun.is_set()), "no sync")
        began = monotonic()
        await side.stop()
        assert monotonic() - began < 2.0
    finally:
        let_go.set()


# --- work beside the loop --------------------------------------------------------------------------------------------


async def test_work_beside_the_loop_gives_its_answer() -> None:
    here = threading.get_ident()
    assert await beside(lambda: 7) == 7
    assert await beside(threading.get_ident) != here


async def test_work_beside_the_loop_raises_where_it_is_waited_for() -> None:
    def fails() -> None:
        raise ServerTrouble("no answer")

    with pytest.raises(ServerTrouble, match="no answer"):
        await beside(fails)


async def test_work_beside_the_loop_can_be_left_alone() -> None:
    """Its late answer, or its late fault, disturbs nobody."""
    let_go, ended = threading.Event(), threading.Event()
    heard: list[object] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, context: heard.append(context))

    def work() -> None:
        let_go.wait(30.0)
        ended.set()
        raise ServerTrouble("too late")

    began = monotonic()
    with pytest.raises(TimeoutError):
        await asyncio.wait_for(beside(work), 0.05)
    assert monotonic() - began < 2.0
    let_go.set()
    await by(monotonic() + 10.0, lambda: asyncio.sleep(0, ended.is_set()), "it does not end")
    assert await beside(lambda: "and the next one") == "and the next one"
    assert heard == []


def test_work_beside_the_loop_holds_up_no_end() -> None:
    """asyncio's own threads would be waited for."""
    script = (
        "import asyncio, time\nfrom curetrack.service.daemon import beside\n"
        "async def main():\n    try:\n        await asyncio.wait_for(beside(lambda: time.sleep(60)), 0.2)\n"
        "    except TimeoutError:\n        print('left')\nasyncio.run(main())"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=30, check=True)
    assert (done.stdout, done.stderr) == ("left\n", "")


# --- without a bench, and with two -----------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A piece that was poured three hours ago, in the machine's own time: something is late, and would be told."""
    now = datetime.now(UTC)
    with Shop(tmp_path / "home") as shop:
        shop.set_settings([("timezone", "UTC"), ("export_folder", str(tmp_path / "out"))])
        shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=now)
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=now, now=now)
        poured = now - timedelta(hours=3)
        shop.pour("top", profile="bagged-tabletop", shape=Shape(1.2, 0.6, 0.04), at=poured, now=now)
    return tmp_path / "home"


async def commanded(home: Path, *words: str) -> None:
    """By another process."""
    command = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "curetrack", *words, stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT, env={**os.environ, "CURETRACK_HOME": str(home)},
    )  # fmt: skip
    out, _ = await command.communicate()
    assert command.returncode == 0, out.decode()


async def test_the_page_alone_hears_others_and_nudges_nobody(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(page_module, "LOOK_s", 0.05)
    monkeypatch.setattr(page_module, "EXPORT_s", 0.05)
    keep(home, Kept("http://127.0.0.1:9/", "crew", "http://127.0.0.1:9/list/"))
    syncer = Pretended()
    with Shop(home) as shop:
        alone = Alone(home, shop, SystemClock(), LOG)
        side = PageSide(
            alone, Where(port=0), todos=Todos(home, alone.now, shop.newest, LOG, syncer=syncer)
        )  # fmt: skip
        await alone.start()
        await side.start()
        try:
            async with phone(alone, side.url) as client, client.stream("GET", "/events") as stream:
                chunks = stream.aiter_text()
                assert "event: hello" in await anext(chunks)
                assert "Vibrate the table" in (await client.get("/")).text
                await commanded(home, "done", "top", "vibrate")
                heard = await asyncio.wait_for(anext(chunks), SOON_s)
                assert "event: changed" in heard
                line = alone.timelines[0].line("vibrate")
                assert line is not None
                assert line.state == "done"
                assert "Vibrate the table" not in (await client.get("/")).text
            assert alone.troubles == ()
            assert side.troubles == ()
            assert shop.nudges() == []
            assert not (tmp_path / "out").exists()
            assert syncer.count == 0
            lease = Lease(home)
            assert lease.take()  # a bench may begin at any time
            lease.release()
        finally:
            await side.stop()
            await alone.stop()


async def test_the_page_alone_tries_again(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The ledger was busy at the start."""
    with Shop(home) as shop:
        alone = Alone(home, shop, SystemClock(), LOG)
        asked = shop.prepared

        def busy(view: View) -> object:
            raise StoreTrouble("the ledger is busy")

        monkeypatch.setattr(shop, "prepared", busy)
        monkeypatch.setattr(alone_module, "AGAIN_s", 0.1)
        await alone.start()
        try:
            assert alone.troubles == ("the ledger is busy",)
            assert alone.timelines == []
            monkeypatch.setattr(shop, "prepared", asked)

            async def there() -> bool:
                return bool(alone.timelines) and not alone.troubles

            await by(monotonic() + 10.0, there, "it does not try again")
        finally:
            await alone.stop()


async def test_the_page_alone_takes_ticks(home: Path) -> None:
    with Shop(home) as shop:
        alone = Alone(home, shop, SystemClock(), LOG)
        side = PageSide(alone, Where(port=0))
        await alone.start()
        await side.start()
        try:
            async with phone(alone, side.url) as client:
                await ticked(client, "vibrate")
                line = alone.timelines[0].line("vibrate")
                assert line is not None
                assert line.state == "done"
        finally:
            await side.stop()
            await alone.stop()


async def ticked(client: httpx2.AsyncClient, step: str) -> None:
    """With a thumb, on the page without its script."""
    token = (await client.get("/")).text.partition('name="token" content="')[2].partition('"')[0]
    fields = {"token": token, "id": os.urandom(7).hex(), "piece": "top", "step": step, "do": "done"}
    answer = await client.post("/deed", data=fields, follow_redirects=True)
    assert "Done: " in answer.text, answer.text


async def test_a_second_bench_serves_a_page_of_its_own(home: Path, tmp_path: Path) -> None:
    """Each hears within two seconds what was ticked on the other's; the one that only shows exports nothing."""
    shops = [Shop(home), Shop(home)]
    benches = [Bench(home, shop, lambda press, known: [Carrier()], SystemClock()) for shop in shops]
    sides = [PageSide(bench, Where(port=0)) for bench in benches]
    try:
        for bench, side in zip(benches, sides, strict=True):
            await bench.start()
            await side.start()
        assert [bench.nudging for bench in benches] == [True, False]
        assert sides[0].url != sides[1].url
        async with phone(benches[0], sides[0].url) as one, httpx2.AsyncClient(base_url=sides[1].url) as other:
            other.cookies.set("curetrack_device", one.cookies["curetrack_device"], domain="127.0.0.1")
            other.headers["origin"] = sides[1].url
            async with one.stream("GET", "/events") as stream:
                chunks = stream.aiter_text()
                assert "event: hello" in await anext(chunks)
                await ticked(other, "vibrate")
                end = monotonic() + SOON_s

                async def heard() -> bool:
                    line = benches[0].timelines[0].line("vibrate")
                    return line is not None and line.state == "done"

                assert "event: changed" in await asyncio.wait_for(anext(chunks), SOON_s)
                await by(end, heard, "the first bench has not heard it")
            assert "Vibrate the table" not in (await one.get("/")).text
        await exported(sides[1])
        assert not (tmp_path / "out").exists()
        await exported(sides[0])
        assert (tmp_path / "out" / FILES[0]).exists()
        events = shops[0].events("top", View(datetime.now(UTC)))
        assert [event.step for event in events if event.kind == "done"] == ["vibrate"]
    finally:
        for bench, side in zip(benches, sides, strict=True):
            await side.stop()
            await bench.stop()
        for shop in shops:
            shop.close()


async def test_the_page_that_stays_is_found_again_when_the_other_is_gone(home: Path) -> None:
    """The second service names its own page; when it ends, the first one's is named again."""
    command = [sys.executable, "-m", "curetrack", "phone", "--serve", "--port", "0"]
    environment = {**os.environ, "CURETRACK_HOME": str(home)}
    running: list[asyncio.subprocess.Process] = []
    try:
        for _ in range(2):
            running.append(
                await asyncio.create_subprocess_exec(
                    *command, env=environment, stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.DEVNULL,
                    stderr=asyncio.subprocess.DEVNULL,
                )
            )  # fmt: skip
            await by(monotonic() + 20.0, lambda: named(home, running[-1].pid), "it does not come up")
        running[1].terminate()
        assert await running[1].wait() == 0
        await by(monotonic() + 20.0, lambda: named(home, running[0].pid), "the page that stays is not named")
    finally:
        for process in running:
            if process.returncode is None:
                process.terminate()
                await process.wait()


async def named(home: Path, pid: int) -> bool:
    """Whether that process's page is the one that is named, and answers."""
    served = read_served(home)
    return served is not None and served.pid == pid and answers(served)
