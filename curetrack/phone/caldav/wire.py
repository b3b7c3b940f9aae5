"""Requests to a CalDAV server: one kept connection to each host, TLS always, plain http only on this machine.

Blocking, for a thread of its own. A redirect is followed only to the same host or to one of the same domain, since the
password goes along. No text of an error holds the password.
"""

import http.client
import ssl
from base64 import b64encode
from collections.abc import Mapping
from contextlib import suppress
from ipaddress import ip_address
from urllib.parse import quote, unquote, urljoin, urlsplit

from msgspec import Struct

from curetrack import __version__
from curetrack.errors import BadInput, CuretrackError

__all__ = ["Account", "Reply", "ServerTrouble", "Wire", "checked_url", "path_of"]

TIMEOUT_s = 20.0
LONGEST = 32_000_000  # octets of an answer
REDIRECTS = (301, 302, 307, 308)
REDIRECTED_AT_MOST = 5


class ServerTrouble(CuretrackError):
    """The server cannot be reached, or does not do what was asked; the next sync tries again."""

    def __init__(self, text: str, status: int = 0) -> None:
        self.status = status
        super().__init__(text)


class Account(Struct, frozen=True):
    """Where the to-dos are, and who asks."""

    address: str
    user: str
    password: str

    def __repr__(self) -> str:
        return f"Account({self.address!r}, {self.user!r})"


class Reply(Struct, frozen=True):
    """What the server answered; header names are in small letters. `url`: of the request, after redirects."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    url: str


class Wire:
    """The way to one account's server."""

    def __init__(
        self, account: Account, *, context: ssl.SSLContext | None = None, timeout_s: float = TIMEOUT_s
    ) -> None:
        self.address = checked_url(account.address)
        pair = f"{account.user}:{account.password}".encode()
        self._authorization = f"Basic {b64encode(pair).decode()}"
        self._context, self._timeout_s = context, timeout_s
        self._open: dict[tuple[str, str], http.client.HTTPConnection] = {}

    def close(self) -> None:
        """Closes all connections; the next request opens them anew."""
        for connection in self._open.values():
            connection.close()
        self._open.clear()

    def ask(self, method: str, url: str, body: str = "", headers: Mapping[str, str] | None = None) -> Reply:
        """The answer, whatever its status. Raises ServerTrouble where there is none, or one that nobody can use."""
        for _ in range(REDIRECTED_AT_MOST):
            reply = self._ask(method, checked_url(url), body.encode(), headers or {})
            if reply.status not in REDIRECTS or "location" not in reply.headers:
                return _usable(reply)
            url = _onward(url, reply.headers["location"])
        raise ServerTrouble(f"{_host(url)} sends us from place to place; give the address of the to-do list itself")

    def _ask(self, method: str, url: str, body: bytes, headers: Mapping[str, str]) -> Reply:
        parts = urlsplit(url)
        place = (parts.scheme, parts.netloc)
        reused = place in self._open
        try:
            return self._once(method, url, body, headers)
        except (http.client.HTTPException, OSError) as error:
            self._drop(place)
            if not reused or isinstance(error, TimeoutError):
                raise _trouble(url, error) from error
        try:  # the server had closed the connection meanwhile; all that we write is conditional, so twice is once
            return self._once(method, url, body, headers)
        except (http.client.HTTPException, OSError) as error:
            self._drop(place)
            raise _trouble(url, error) from error

    def _once(self, method: str, url: str, body: bytes, headers: Mapping[str, str]) -> Reply:
        connection = self._connection(url)
        parts = urlsplit(url)
        sent = {"Authorization": self._authorization, "User-Agent": f"curetrack/{__version__}", **headers}
        if body:
            sent.setdefault("Content-Type", "application/xml; charset=utf-8")
        connection.request(method, quote(parts.path, safe="%/~@!$&'()*+,;=:-._") or "/", body or None, sent)
        answer = connection.getresponse()
        found = answer.read(LONGEST + 1)
        if len(found) > LONGEST:
            raise http.client.HTTPException("a longer answer than any list of to-dos")
        return Reply(answer.status, {name.lower(): value for name, value in answer.getheaders()}, found, url)

    def _connection(self, url: str) -> http.client.HTTPConnection:
        parts = urlsplit(url)
        place = (parts.scheme, parts.netloc)
        if place not in self._open:
            if parts.scheme == "https":
                context = self._context or ssl.create_default_context()
                self._open[place] = http.client.HTTPSConnection(
                    parts.hostname or "", parts.port, timeout=self._timeout_s, context=context
                )
            else:
                self._open[place] = http.client.HTTPConnection(
                    parts.hostname or "", parts.port, timeout=self._timeout_s
                )
        return self._open[place]

    def _drop(self, place: tuple[str, str]) -> None:
        connection = self._open.pop(place, None)
        if connection is not None:
            with suppress(OSError):
                connection.close()


def checked_url(url: str) -> str:
    """The address, if the password may travel there. Raises BadInput, never with what may be a secret."""
    try:
        parts = urlsplit(url.strip())
        host, _ = parts.hostname, parts.port
    except ValueError:
        host, parts = None, urlsplit("")
    if not host or parts.scheme not in ("http", "https") or not url.strip().isprintable():
        raise BadInput("that is no address of a server", remedy="use one like https://dav.example.org/")
    if parts.username is not None or parts.password is not None:
        raise BadInput(
            "a name or password does not belong in the address", remedy="leave it out, and give it when asked"
        )
    if parts.scheme == "http" and not _loopback(host):
        raise BadInput(
            "over plain http everybody on the way could read the password", found=f"http://{host}",
            remedy="use the address that begins with https://",
        )  # fmt: skip
    return url.strip()


def path_of(href: str) -> str:
    """What two spellings of the same place have in common: the path, unquoted. Some servers leave # and ? as they are,
    and none has a query or a fragment in the address of a to-do."""
    _, scheme, rest = href.partition("://")
    return unquote(f"/{rest.partition('/')[2]}" if scheme else href)


def _loopback(host: str) -> bool:
    with suppress(ValueError):
        return ip_address(host).is_loopback
    return host == "localhost"


def _onward(url: str, location: str) -> str:
    new = urljoin(url, location)
    here, there = urlsplit(url), urlsplit(new)
    if here.scheme == "https" and there.scheme != "https":
        raise ServerTrouble(f"{_host(url)} sends us to a place without encryption; nothing was sent there")
    if not _kin(here.hostname or "", there.hostname or ""):
        raise ServerTrouble(f"{_host(url)} sends us to another server, {_host(new)}; if you trust it, give its address")
    return new


def _kin(host: str, other: str) -> bool:
    """The same host, or two of one domain."""
    if host == other:
        return True
    return "." in host and not _is_number(host) and host.split(".")[-2:] == other.split(".")[-2:]


def _is_number(host: str) -> bool:
    with suppress(ValueError):
        ip_address(host)
        return True
    return False


def _usable(reply: Reply) -> Reply:
    """Answers that mean the same whatever was asked."""
    host = _host(reply.url)
    if reply.status == 401:
        raise ServerTrouble(f"{host} does not take the name or the password; an app password may be needed", 401)
    if reply.status == 429 or reply.status >= 500:
        raise ServerTrouble(f"{host} is in trouble itself (answer {reply.status})", reply.status)
    return reply


def _trouble(url: str, error: Exception) -> ServerTrouble:
    host = _host(url)
    if isinstance(error, ssl.SSLCertVerificationError):
        return ServerTrouble(f"the certificate of {host} is not trusted: {error.verify_message}")
    if isinstance(error, TimeoutError):
        return ServerTrouble(f"{host} did not answer in time")
    if isinstance(error, OSError):
        return ServerTrouble(f"{host} cannot be reached: {error.strerror or error}")
    return ServerTrouble(f"{host} does not answer as a web server does")


def _host(url: str) -> str:
    return urlsplit(url).netloc.rpartition("@")[2]
