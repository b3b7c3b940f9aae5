"""The way to a server: encrypted or on this machine, no password to strangers, every fault in words without secrets."""

import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from curetrack.errors import BadInput
from curetrack.phone.caldav.discover import discover
from curetrack.phone.caldav.wire import LONGEST, Account, ServerTrouble, Wire, checked_url, path_of
from curetrack.phone.caldav.xml import answers
from tests.phone.caldav.servers import free_port

SECRET = "correct-horse"
Answer = tuple[int, dict[str, str], bytes]


class Quiet(ThreadingHTTPServer):
    """A client that turns away is what some of these tests are about."""

    def handle_error(self, *_: Any) -> None:
        """Nothing on the screen."""


class Host:
    """A web server on loopback that answers as it is told, and remembers what it was asked."""

    def __init__(self, answer: Callable[[str], Answer], context: ssl.SSLContext | None = None) -> None:
        asked: list[tuple[str, str, str | None]] = []

        class Handler(BaseHTTPRequestHandler):
            def _reply(self) -> None:
                asked.append((self.command, self.path, self.headers["Authorization"]))
                self.rfile.read(int(self.headers["Content-Length"] or 0))
                status, headers, body = answer(self.path)
                self.send_response(status)
                for name, value in {**headers, "Content-Length": str(len(body))}.items():
                    self.send_header(name, value)
                self.end_headers()
                self.wfile.write(body)

            do_PROPFIND = do_GET = do_PUT = do_REPORT = _reply

            def log_message(self, *_: Any) -> None:
                """Nothing on the screen."""

        self.asked = asked
        self._server = Quiet(("127.0.0.1", 0), Handler)
        if context is not None:
            self._server.socket = context.wrap_socket(self._server.socket, server_side=True)
        self.url = f"{'https' if context else 'http'}://localhost:{self._server.server_address[1]}/"
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02})
        self._thread.start()

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join(10)


@pytest.fixture
def hosts() -> Iterator[Callable[..., Host]]:
    made: list[Host] = []

    def make(answer: Callable[[str], Answer], context: ssl.SSLContext | None = None) -> Host:
        made.append(Host(answer, context))
        return made[-1]

    yield make
    for one in made:
        one.close()


def ask(url: str, method: str = "PROPFIND", **more: Any) -> Any:
    wire = Wire(Account(url, "crew", SECRET), **more)
    try:
        return wire.ask(method, url, "x")
    finally:
        wire.close()


@pytest.mark.parametrize(
    "url",
    [
        "http://dav.example.org/", "http://192.168.1.20:5232/", "http://0.0.0.0/", "http://localhost.example.org/",
        "ftp://example.org/", "example.org", "", "https://", "https://a:b@example.org/", "https://example.org:x/",
        "https://exam\nple.org/", "http://127.0.0.1.example.org/", "file:///etc/passwd",
    ],
)  # fmt: skip
def test_addresses_that_are_refused(url: str) -> None:
    with pytest.raises(BadInput) as error:
        checked_url(url)
    assert "a:b" not in str(error.value)


@pytest.mark.parametrize(
    "url", ["https://dav.example.org/a/", "http://127.0.0.1:5232/", "http://[::1]/", "http://localhost/"]
)
def test_addresses_that_will_do(url: str) -> None:
    assert checked_url(f" {url} ") == url


def test_plain_http_is_refused_before_anything_is_sent() -> None:
    with pytest.raises(BadInput, match="https"):
        ask("http://192.0.2.1/")  # an address for documentation: a try would wait for ever


@pytest.mark.parametrize(
    "href", ["/a/b%20c.ics", "https://dav.example.org/a/b%20c.ics", "https://dav.example.org:8443/a/b c.ics"]
)
def test_two_spellings_of_one_place(href: str) -> None:
    assert path_of(href) == "/a/b c.ics"


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, Path]:
    """Self-made, as of a server in one's own cellar."""
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-keyout", key, "-out", cert],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


def test_over_tls_with_a_certificate_that_is_trusted_and_not_with_another(
    hosts: Callable[..., Host], certificate: tuple[Path, Path]
) -> None:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*certificate)
    host = hosts(lambda _: (207, {}, b"<multistatus xmlns='DAV:'/>"), context)
    trusting = ssl.create_default_context(cafile=str(certificate[0]))
    assert ask(host.url, context=trusting).status == 207
    assert len(host.asked) == 1
    with pytest.raises(ServerTrouble, match=r"certificate of localhost:\d+ is not trusted"):
        ask(host.url)
    assert len(host.asked) == 1, "the password was sent to a server that nobody vouches for"


@pytest.mark.parametrize(
    ("status", "words"), [(401, "name or the password"), (500, "trouble itself"), (503, "trouble"), (429, "trouble")]
)
def test_answers_that_are_faults(hosts: Callable[..., Host], status: int, words: str) -> None:
    host = hosts(lambda _: (status, {}, SECRET.encode()))
    with pytest.raises(ServerTrouble, match=words) as error:
        ask(host.url)
    assert error.value.status == status
    assert SECRET not in str(error.value)


def test_a_redirect_within_the_host_is_followed(hosts: Callable[..., Host]) -> None:
    host = hosts(lambda path: (207, {}, b"") if path == "/there/" else (301, {"Location": "/there/"}, b""))
    reply = ask(f"{host.url}.well-known/caldav")
    assert (reply.status, reply.url) == (207, f"{host.url}there/")


@pytest.mark.parametrize(
    ("to", "words"),
    [
        ("https://elsewhere.example/", "another server"),
        ("http://127.0.0.2:1/", "another server"),
        ("/again", "place to place"),
    ],
)
def test_a_redirect_to_strangers_or_in_circles_is_not(hosts: Callable[..., Host], to: str, words: str) -> None:
    host = hosts(lambda _: (302, {"Location": to}, b""))
    with pytest.raises(ServerTrouble, match=words):
        ask(host.url)


def test_a_server_that_is_not_there() -> None:
    with pytest.raises(ServerTrouble, match="cannot be reached"):
        ask(f"http://127.0.0.1:{free_port()}/")


def test_a_server_that_never_answers(hosts: Callable[..., Host]) -> None:
    waiting = threading.Event()

    def silent(_: str) -> Answer:
        waiting.wait(10)
        return 207, {}, b""

    host = hosts(silent)
    with pytest.raises(ServerTrouble, match="did not answer in time"):
        ask(host.url, timeout_s=0.1)
    waiting.set()


def test_an_answer_without_end_is_not_read_to_the_end(
    hosts: Callable[..., Host], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert LONGEST > 1_000_000
    monkeypatch.setattr("curetrack.phone.caldav.wire.LONGEST", 1000)
    host = hosts(lambda _: (207, {}, b"x" * 2000))
    with pytest.raises(ServerTrouble):
        ask(host.url)


@pytest.mark.parametrize("body", [b"", b"garbage", b"<html/>", b"<multistatus xmlns='DAV:'/>"])
def test_a_web_server_without_calendars_is_said(hosts: Callable[..., Host], body: bytes) -> None:
    host = hosts(lambda _: (207, {}, body))
    wire = Wire(Account(host.url, "crew", SECRET))
    with pytest.raises(ServerTrouble, match="no calendars are found"):
        discover(wire)
    wire.close()


def test_a_document_type_is_not_read() -> None:
    """It could grow without bounds."""
    with pytest.raises(ValueError, match="document type"):
        answers(b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><multistatus xmlns="DAV:">&b;</multistatus>')


def test_a_password_shows_in_no_text() -> None:
    assert SECRET not in repr(Account("https://example.org/", "crew", SECRET))
