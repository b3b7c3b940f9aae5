"""The web server of the phone's page, in the service's own loop. It leaves signals to who owns them.

Slow clients: a request's head must be there within some seconds of the connection, or of the last answer on it, else
the line is cut; bodies are timed by the guard. Only so many lines are open at once.
"""

import asyncio
import contextlib
import socket
import ssl
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from curetrack.errors import BadInput, StoreTrouble
from curetrack.phone.hub import Hub

if TYPE_CHECKING:
    from starlette.applications import Starlette

__all__ = ["DEFAULT_PORT", "PhoneServer", "check_cert", "own_addresses"]

DEFAULT_PORT = 8377
TRIED_PORTS = 20
HEAD_s = 10.0  # for the head of a request
MOST_LINES = 200
STOP_s = 3


class _Patient(H11Protocol):
    """HTTP that waits for a head only so long."""

    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """The time runs from here."""
        super().connection_made(transport)
        self._timer = self.loop.call_later(HEAD_s, self._too_slow)

    def data_received(self, data: bytes) -> None:
        """A piece of a head that was begun late does not start the time anew."""
        super().data_received(data)
        if self._waiting():
            self._timer = self._timer or self.loop.call_later(HEAD_s, self._too_slow)
        elif self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing to wait for."""
        if self._timer is not None:
            self._timer.cancel()
        super().connection_lost(exc)

    def _waiting(self) -> bool:
        """No request is being answered."""
        return self.cycle is None or self.cycle.response_complete

    def _too_slow(self) -> None:
        self._timer = None
        if self._waiting() and not self.transport.is_closing():
            self.transport.close()


class _Server(uvicorn.Server):
    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """The service has its own."""
        yield


class PhoneServer:
    """`host`: an address, 127.0.0.1 unless the network is let in. `port` 0: any; else this one or, if it is taken, one
    of the next. `cert`, `key`: PEM files, for https; a key in the same file needs no other."""

    def __init__(
        self, app: "Starlette", hub: Hub, *, host: str = "127.0.0.1", port: int = DEFAULT_PORT,
        cert: Path | None = None, key: Path | None = None,
    ) -> None:  # fmt: skip
        self._app, self._hub, self._host, self._port, self._cert, self._key = app, hub, host, port, cert, key
        self._server: _Server | None = None
        self._task: asyncio.Task[None] | None = None
        self.port = 0

    @property
    def https(self) -> bool:
        """There is a certificate."""
        return self._cert is not None

    @property
    def url(self) -> str:
        """Where this machine finds it, "" while it does not run."""
        host = "127.0.0.1" if self._host in ("0.0.0.0", "::") else self._host  # noqa: S104 -- compared, not bound
        host = f"[{host}]" if ":" in host else host
        return f"{'https' if self.https else 'http'}://{host}:{self.port}" if self.port else ""

    async def start(self) -> str:
        """Serves; the url. Raises BadInput for a certificate that is none, StoreTrouble where no port is free."""
        more: dict[str, Any] = {}
        if self._cert is not None:
            check_cert(self._cert, self._key)
            more = {"ssl_certfile": str(self._cert), "ssl_keyfile": str(self._key) if self._key else None}
        line = self._listen()
        config = uvicorn.Config(
            self._app, lifespan="off", ws="none", http=_Patient, loop="none", access_log=False, server_header=False,
            log_config=None, limit_concurrency=MOST_LINES, timeout_keep_alive=20, timeout_graceful_shutdown=STOP_s,
            h11_max_incomplete_event_size=16 * 1024, proxy_headers=False, **more,
        )  # fmt: skip
        self._server = _Server(config)
        self._task = asyncio.ensure_future(self._server.serve(sockets=[line]))
        while not self._server.started:
            if self._task.done():
                await self._task
                raise StoreTrouble("the phone's page could not be served")
            await asyncio.sleep(0.005)
        self.port = line.getsockname()[1]
        return self.url

    async def stop(self) -> None:
        """Open pages are told first: a server cannot stop while one listens."""
        self._hub.close()
        self.port = 0
        if self._server is not None and self._task is not None:
            self._server.should_exit = True
            await self._task
        self._server = self._task = None

    def _listen(self) -> socket.socket:
        family = socket.AF_INET6 if ":" in self._host else socket.AF_INET
        tried = [self._port] if self._port == 0 else range(self._port, min(self._port + TRIED_PORTS, 65536))
        trouble = ""
        for port in tried:
            line = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)  # by the name asyncio sends at once
            try:
                line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                line.bind((self._host, port))
                line.listen(128)
            except OSError as error:
                line.close()
                trouble = error.strerror or str(error)
            else:
                return line
        raise StoreTrouble(f"the phone's page finds no port on {self._host} from {self._port} on: {trouble}")


def own_addresses() -> list[str]:
    """This machine's addresses on its networks, without loopback: what a phone can reach it by. Nothing is sent."""
    found: list[str] = []
    for family, elsewhere in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):  # documentation's own
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as line:
            line.connect((elsewhere, 9))
            address = line.getsockname()[0]
            if not address.startswith(("127.", "::1", "0.")):
                found.append(address)
    return found


def check_cert(cert: Path, key: Path | None) -> None:
    """Raises BadInput for what is no certificate with its key in PEM."""
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key, password=lambda: "")
    except (OSError, ssl.SSLError, ValueError) as error:
        what = getattr(error, "strerror", None) or str(error)
        raise BadInput(
            f"no certificate with its key can be read ({what})", where=str(cert),
            remedy="use PEM files: the certificate, and its key in the same file or beside it",
        ) from error  # fmt: skip
