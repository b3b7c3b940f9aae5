"""The one gate before all routes. What is not let in here reaches no page and no fact.

In this order: the method, the Host header, how often, the size and the pace of the body, which device it is, whether a
post comes from our own page and carries the device's token. Everything that leaves carries the headers that tell a
browser what it may not do.
"""

import asyncio
import logging
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from urllib.parse import parse_qsl

from msgspec import Struct
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from curetrack.errors import CuretrackError
from curetrack.facts import Device
from curetrack.phone.limits import Limit, Limits
from curetrack.phone.pairing import owner_of
from curetrack.phone.security import HEADERS, HostPolicy, cookie_of, from_our_page, token_holds
from curetrack.phone.shell import plain_page
from curetrack.shop import Shop

__all__ = ["LARGEST", "Gate", "Guard"]

LARGEST = 64 * 1024  # bytes of a body
BODY_s = 10.0  # within which it must be there
METHODS = ("GET", "HEAD", "POST")
SHEET = "/app.css"  # the one thing that anybody may read
PAIR = "/pair/"
PAIR_EACH, PAIR_ALL = Limit(10, 10), Limit(60, 60)
READ, DEED = Limit(600, 120), Limit(120, 40)
STRANGER = Limit(60, 60)  # requests without a device that is known, by address

LOG = logging.getLogger("curetrack")


class Gate(Struct):
    """What the guard goes by. `own_locks`: paths whose routes look for a secret of their own."""

    shop: Shop
    now: Callable[[], datetime]
    key: bytes
    hosts: HostPolicy
    own_locks: Sequence[str] = ()
    clock_s: Callable[[], float] = time.monotonic


class _No(Exception):
    """Not let in."""

    def __init__(self, status: int, text: str, **headers: str) -> None:
        super().__init__(text)
        self.status, self.text, self.headers = status, text, headers


class Guard:
    """ASGI: stands before the routes. They find the device in `scope["state"]["device"]`."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self._app, self._gate = app, gate
        self._pair_each, self._pair_all = Limits(PAIR_EACH), Limits(PAIR_ALL)
        self._read, self._deed, self._stranger = Limits(READ), Limits(DEED), Limits(STRANGER)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            return
        started = False

        async def locked(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        answer: Response
        try:
            receive = await self._let_in(scope, receive)
            await self._app(scope, receive, locked)
            return
        except _No as no:
            answer = HTMLResponse(plain_page(no.text), no.status, no.headers)
        except CuretrackError as error:
            LOG.error("phone: %s", error)
            answer = HTMLResponse(plain_page("The ledger cannot be used just now. Look at the bench."), 503)
        except Exception:  # whatever it is, the bench goes on; the path stays out of the log, it may hold a secret
            LOG.exception("phone: a request failed")
            answer = HTMLResponse(plain_page("That went wrong here. Look at the bench's log."), 500)
        if not started:
            await answer(scope, receive, locked)

    async def _let_in(self, scope: Scope, receive: Receive) -> Receive:
        """What the routes read from. Raises _No."""
        headers = Headers(scope=scope)
        path: str = scope["path"]
        if scope["method"] not in METHODS:
            raise _No(405, "That is not done here.", allow=", ".join(METHODS))
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self._gate.hosts.allows(hosts[0]):
            raise _No(421, "This is not the name of this bench. Scan its code again: curetrack phone")
        device = self._device(scope)
        self._often(scope, path, device)
        body = await _body(headers, receive) if scope["method"] == "POST" else b""
        open_to_all = path == SHEET or path.startswith(PAIR)
        locked_itself = self._has_own_lock(path)
        if not open_to_all and not locked_itself and device is None:
            raise _No(401, "This phone is not paired with the bench. Type curetrack phone there, and scan the code.")
        if scope["method"] == "POST" and not locked_itself:
            self._from_us(scope, headers, body, device)
        scope.setdefault("state", {})["device"] = device
        return _again(body, receive)

    def _has_own_lock(self, path: str) -> bool:
        """A path with a slash at its end stands for all behind it, another one for itself."""
        return any(path == lock or (lock.endswith("/") and path.startswith(lock)) for lock in self._gate.own_locks)

    def _device(self, scope: Scope) -> Device | None:
        return owner_of(cookie_of(scope["headers"]), "phone", self._gate.shop.devices())

    def _often(self, scope: Scope, path: str, device: Device | None) -> None:
        now_s, client = self._gate.clock_s(), scope.get("client")
        address = client[0] if client else ""
        if path.startswith(PAIR):
            wait_s = self._pair_each.wait_s(address, now_s) or self._pair_all.wait_s("", now_s)
        elif self._has_own_lock(path):
            return  # they know whom they count
        elif device is None:
            wait_s = self._stranger.wait_s(address, now_s)
        elif scope["method"] == "POST":
            wait_s = self._deed.wait_s(device.id, now_s)
        else:
            wait_s = self._read.wait_s(device.id, now_s)
        if wait_s > 0.0:
            raise _No(429, "Too often. Wait a minute.", **{"retry-after": str(int(wait_s) + 1)})

    def _from_us(self, scope: Scope, headers: Headers, body: bytes, device: Device | None) -> None:
        if not from_our_page(headers, scope["scheme"]):
            raise _No(403, "That did not come from this page.")
        if device is None or scope["path"].startswith(PAIR):
            return  # no device yet, and so no token: the one-time secret in the path stands for it
        token = headers.get("x-curetrack-token", "") or _field(body, "token")
        if not token_holds(self._gate.key, device.id, token):
            raise _No(403, "This page is out of date. Load it again, then tap once more.")


async def _body(headers: Headers, receive: Receive) -> bytes:
    """The whole body, if it is small and comes soon."""
    too_large = _No(413, "That is too much at once.")
    length = headers.get("content-length", "0")
    if not (length.isascii() and length.isdigit()) or len(length) > 12 or int(length) > LARGEST:
        raise too_large
    body: bytes = b""
    try:
        async with asyncio.timeout(BODY_s):
            while True:
                message = await receive()
                if message["type"] != "http.request":
                    raise _No(400, "It broke off.")
                body += bytes(message.get("body", b""))
                if len(body) > LARGEST:
                    raise too_large
                if not message.get("more_body", False):
                    return body
    except TimeoutError:
        raise _No(408, "That took too long.") from None


def _again(body: bytes, receive: Receive) -> Receive:
    """The body once more, for the route; then what comes after it."""
    given = False

    async def read() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return read


def _field(body: bytes, name: str) -> str:
    """One field of a form, "" if there is none or it is no form."""
    try:
        return dict(parse_qsl(body.decode("utf-8"), max_num_fields=40)).get(name, "")
    except ValueError:
        return ""
