"""The server on a real socket: it starts and stops in a loop that is not its own, streams, and bears slow clients."""

import asyncio
import ssl
import subprocess
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import httpx2
import pytest

from curetrack.errors import BadInput
from curetrack.phone import server as server_module
from curetrack.phone.pairing import invite
from curetrack.phone.server import PhoneServer
from tests.phone.conftest import Phone


@pytest.fixture
async def served(page: Phone) -> AsyncIterator[PhoneServer]:
    """On any port of loopback."""
    server = PhoneServer(page.app, page.hub, port=0)
    await server.start()
    yield server
    await server.stop()


@asynccontextmanager
async def _paired(page: Phone, url: str) -> AsyncIterator[httpx2.AsyncClient]:
    async with httpx2.AsyncClient(base_url=url, headers={"origin": url}) as client:
        assert (await client.post(f"/pair/{invite(page.shop.home, page.at)}")).status_code == 303
        yield client


async def test_it_serves_and_stops_soon_though_a_page_listens(page: Phone) -> None:
    server = PhoneServer(page.app, page.hub, port=0)
    url = await server.start()
    async with _paired(page, url) as client, client.stream("GET", "/events") as stream:
        chunks = stream.aiter_text()
        assert "event: hello" in await anext(chunks)
        page.hub.publish()
        text = ""
        while "event: changed" not in text:
            text += await anext(chunks)
        began = time.monotonic()
        await server.stop()
        assert time.monotonic() - began < 2.0
    assert server.url == ""


async def test_a_revoked_phone_hears_nothing_more(page: Phone, served: PhoneServer) -> None:
    async with _paired(page, served.url) as client, client.stream("GET", "/events") as stream:
        chunks = stream.aiter_text()
        await anext(chunks)
        page.shop.revoke_device(page.shop.devices()[0].id, now=page.at)
        page.hub.publish()
        assert "changed" not in "".join([chunk async for chunk in chunks])


async def test_the_server_says_nothing_of_itself(page: Phone, served: PhoneServer) -> None:
    async with httpx2.AsyncClient() as client:
        answer = await client.get(served.url)
    assert answer.status_code == 401
    assert "server" not in answer.headers


async def test_the_next_port_where_one_is_taken(page: Phone, served: PhoneServer) -> None:
    other = PhoneServer(page.app, page.hub, port=served.port)
    await other.start()
    assert served.port < other.port < served.port + 20
    await other.stop()


async def test_a_head_that_never_ends_is_cut_off(
    page: Phone, served: PhoneServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server_module, "HEAD_s", 0.3)
    whole = b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n"
    for first, then in ((b"", b""), (b"", whole[:20]), (whole, b"G")):
        reader, writer = await asyncio.open_connection("127.0.0.1", served.port)
        if first:
            writer.write(first)
            await reader.readuntil(b"</html>\n")
        writer.write(then)
        began = time.monotonic()
        assert await asyncio.wait_for(reader.read(), 5.0) == b""
        assert time.monotonic() - began < 3.0
        writer.close()


async def test_a_body_that_never_comes_is_cut_off(
    page: Phone, served: PhoneServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("curetrack.phone.guard.BODY_s", 0.3)
    reader, writer = await asyncio.open_connection("127.0.0.1", served.port)
    writer.write(b"POST /deed HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-length: 100\r\n\r\nhalf")
    assert b" 408 " in await asyncio.wait_for(reader.readline(), 5.0)
    writer.close()


async def test_a_head_that_is_too_large(page: Phone, served: PhoneServer) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", served.port)
    writer.write(b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx: " + b"y" * 100_000)
    assert b" 400 " in await asyncio.wait_for(reader.readline(), 5.0)
    writer.close()


async def test_https_with_a_certificate_of_ones_own(page: Phone, tmp_path: Path) -> None:
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-keyout", str(key), "-out", str(cert), "-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1"],
        check=True, capture_output=True,
    )  # fmt: skip
    server = PhoneServer(page.app, page.hub, port=0, cert=cert, key=key)
    url = await server.start()
    trusted = ssl.create_default_context(cafile=str(cert))
    async with httpx2.AsyncClient(base_url=url, headers={"origin": url}, verify=trusted) as client:
        answer = await client.post(f"/pair/{invite(page.shop.home, page.at)}")
        assert "Secure" in answer.headers["set-cookie"]
        assert (await client.get("/")).status_code == 200
    await server.stop()


async def test_a_certificate_that_is_none(page: Phone, tmp_path: Path) -> None:
    (tmp_path / "cert.pem").write_text("nothing")
    with pytest.raises(BadInput, match="certificate"):
        await PhoneServer(page.app, page.hub, port=0, cert=tmp_path / "cert.pem").start()
    with pytest.raises(BadInput, match="certificate"):
        await PhoneServer(page.app, page.hub, port=0, cert=tmp_path / "none.pem").start()
