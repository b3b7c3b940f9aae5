"""The web hook against a real server on loopback."""

import asyncio
import json
import socket
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from curetrack.nudge.channels.base import Message, Undelivered
from curetrack.nudge.channels.hook import Hook

STRIP = Message(
    "bench/strip/ready", "bench/strip", "Strip · bench", ("Ready now.", "3.5 MPa"), "critical", data={"format": 1}
)


class Server(ThreadingHTTPServer):
    """Remembers requests, and answers what it is told to."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.asked: list[tuple[str, dict[str, str], bytes]] = []
        self.answers: list[tuple[int, dict[str, str]]] = []

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/drop/s3cret"


class Handler(BaseHTTPRequestHandler):
    """Takes posts and follows the script."""

    server: Server

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.asked.append((self.path, {k.lower(): v for k, v in self.headers.items()}, body))
        code, headers = self.server.answers.pop(0) if self.server.answers else (204, {})
        self.send_response(code)
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()

    def do_GET(self) -> None:
        self.server.asked.append((f"GET {self.path}", {}, b""))
        self.send_response(200)
        self.end_headers()

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def server() -> Iterator[Server]:
    server = Server()
    thread = threading.Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def pauses() -> list[float]:
    return []


@pytest.fixture
def sleep(pauses: list[float]) -> Callable[[float], object]:
    async def sleep(seconds: float) -> None:
        pauses.append(seconds)

    return sleep


async def test_a_post_with_the_documented_body(server: Server) -> None:
    await Hook(server.url, "t0ken").send(STRIP)
    ((path, headers, body),) = server.asked
    assert path == "/drop/s3cret"
    assert headers["authorization"] == "Bearer t0ken"
    assert headers["content-type"] == "application/json; charset=utf-8"
    assert json.loads(body) == {
        "format": 1,
        "title": "Strip · bench",
        "text": "Ready now.\n3.5 MPa",
        "urgency": "critical",
    }


@pytest.mark.parametrize("code", [500, 503, 429, 408])
async def test_what_may_pass_is_tried_again(server: Server, code: int, sleep: object, pauses: list[float]) -> None:
    server.answers = [(code, {}), (code, {})]
    await Hook(server.url, sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert len(server.asked) == 3
    assert pauses == [1.0, 4.0]


async def test_after_four_tries_it_is_undelivered(server: Server, sleep: object, pauses: list[float]) -> None:
    server.answers = [(500, {})] * 9
    with pytest.raises(Undelivered, match="it answered 500"):
        await Hook(server.url, sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert len(server.asked) == 4
    assert pauses == [1.0, 4.0, 16.0]


@pytest.mark.parametrize("code", [400, 401, 404, 410])
async def test_what_will_not_pass_is_not(server: Server, code: int, pauses: list[float], sleep: object) -> None:
    server.answers = [(code, {})]
    with pytest.raises(Undelivered, match=f"it answered {code}"):
        await Hook(server.url, sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert len(server.asked) == 1
    assert pauses == []


@pytest.mark.parametrize("code", [301, 302, 303, 307, 308])
async def test_a_redirect_is_not_followed(server: Server, code: int, sleep: object) -> None:
    """The token would go along to a host that nobody named."""
    server.answers = [(code, {"Location": f"http://localhost:{server.server_port}/elsewhere"})]
    with pytest.raises(Undelivered, match=f"it answered {code}"):
        await Hook(server.url, "t0ken", sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert len(server.asked) == 1


async def test_a_server_that_never_answers(sleep: object, pauses: list[float]) -> None:
    """It takes the connection and is silent; the loop goes on meanwhile."""
    with socket.create_server(("127.0.0.1", 0)) as silent:
        url = f"http://127.0.0.1:{silent.getsockname()[1]}/s3cret"
        sending = asyncio.ensure_future(Hook(url, sleep=sleep, timeout_s=0.2).send(STRIP))  # type: ignore[arg-type]
        turns = 0
        while not sending.done():
            await asyncio.sleep(0.01)
            turns += 1
        with pytest.raises(Undelivered, match="no answer in time"):
            await sending
    assert turns > 20  # four times 0.2 s, in steps of 0.01 s: about 80
    assert len(pauses) == 3


async def test_a_server_that_is_no_web_server(sleep: object) -> None:
    def talk(silent: socket.socket) -> None:
        for _ in range(4):
            caller, _ = silent.accept()
            caller.sendall(b"220 something else\r\n")
            caller.close()

    with socket.create_server(("127.0.0.1", 0)) as silent:
        talking = threading.Thread(target=talk, args=(silent,))
        talking.start()
        with pytest.raises(Undelivered, match="cannot be reached"):
            await Hook(f"http://127.0.0.1:{silent.getsockname()[1]}/s3cret", sleep=sleep).send(STRIP)  # type: ignore[arg-type]
        talking.join()


async def test_nobody_there(sleep: object, pauses: list[float]) -> None:
    with pytest.raises(Undelivered, match="nobody listens there") as caught:
        await Hook("http://127.0.0.1:9/s3cret", "t0ken", sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert len(pauses) == 3
    assert "s3cret" not in str(caught.value)
    assert "t0ken" not in str(caught.value)


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "ftp://127.0.0.1/x",
        "nonsense",
        "http://",
        "",
        "http://a:99999/x",
        "http://a:b/x",
        "http://[::1/x",
    ],
)
async def test_other_addresses_are_refused(url: str) -> None:
    channel = Hook(url)
    with pytest.raises(Undelivered, match="not http"):
        await channel.open()
    assert channel.reaches.startswith("the web hook at")


async def test_only_the_host_is_shown() -> None:
    assert Hook("https://push.test/drop/s3cret").reaches == "the web hook at push.test"


@pytest.mark.parametrize("path", ["/a b", "/ü", "/\x01"])
async def test_an_address_that_cannot_be_sent(server: Server, path: str, sleep: object, pauses: list[float]) -> None:
    with pytest.raises(Undelivered, match="cannot be sent"):
        await Hook(server.url + path, sleep=sleep).send(STRIP)  # type: ignore[arg-type]
    assert server.asked == []
    assert pauses == []


async def test_a_token_that_cannot_be_sent(server: Server) -> None:
    with pytest.raises(Undelivered, match="cannot be sent"):
        await Hook(server.url, "a\r\nX-Evil: 1").send(STRIP)
    assert server.asked == []
