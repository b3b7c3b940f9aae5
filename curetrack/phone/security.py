"""Who may ask, from where, and what a browser may do with the answer. Pure, but for the key's file.

Cookies are SameSite=Strict, and a post must besides come from our own page (Origin, or Sec-Fetch-Site where there is
none) and carry a token that hangs on the device: three locks, since one of them may be missing in an old browser.
"""

import hmac
import secrets
from collections.abc import Iterable, Mapping
from contextlib import suppress
from hashlib import sha256
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from msgspec import Struct

from curetrack.errors import StoreTrouble
from curetrack.whole import write_whole

__all__ = [
    "COOKIE",
    "HEADERS",
    "HostPolicy",
    "cookie_header",
    "from_our_page",
    "server_key",
    "token_for",
    "token_holds",
]

COOKIE = "curetrack_device"
COOKIE_LASTS_s = 400 * 86400  # as long as browsers keep one
KEY_NAME = "phone.key"

HEADERS: dict[str, str] = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with none at all a form's Origin would be "null"
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}


class HostPolicy(Struct, frozen=True):
    """Which names this server answers to: anything else in the Host header is somebody else's page in disguise
    (a name that was made to point here).

    names       lower case, without a port: of this machine
    addresses   any bare IP address will do: a name is needed for the disguise. Only where the network is let in
    """

    names: frozenset[str] = frozenset({"localhost"})
    addresses: bool = False

    def allows(self, host: str) -> bool:
        """Whether the Host header names this machine."""
        name = _name_of(host)
        if name is None:
            return False
        if name in self.names:
            return True
        try:
            address = ip_address(name)
        except ValueError:
            return False
        return address.is_loopback or self.addresses


def _name_of(host: str) -> str | None:
    """The name or address in a Host header, lower case; None for what is no such header."""
    if not host or len(host) > 260 or any(ch in host for ch in "/\\@?# \t\r\n,"):
        return None
    try:
        parts = urlsplit(f"//{host}")
        _ = parts.port  # raises for what is no number
    except ValueError:
        return None
    return (parts.hostname or "").rstrip(".") or None


def from_our_page(headers: Mapping[str, str], scheme: str) -> bool:
    """Whether a browser says that a post comes from our own page. `headers`: lower case names."""
    origin, host = headers.get("origin", ""), headers.get("host", "")
    if origin:
        return hmac.compare_digest(origin.casefold().encode(), f"{scheme}://{host}".casefold().encode())
    return headers.get("sec-fetch-site", "") == "same-origin"


def token_for(key: bytes, device: str) -> str:
    """What a form of that device's page carries."""
    return hmac.new(key, f"form {device}".encode(), sha256).hexdigest()[:40]


def token_holds(key: bytes, device: str, token: str) -> bool:
    """Whether it is that device's."""
    return hmac.compare_digest(token_for(key, device).encode(), token.encode("utf-8", "surrogatepass"))


def cookie_header(secret: str, *, https: bool) -> str:
    """Set-Cookie for a device that was just paired."""
    secure = "; Secure" if https else ""
    return f"{COOKIE}={secret}; Path=/; Max-Age={COOKIE_LASTS_s}; HttpOnly; SameSite=Strict{secure}"


def cookie_of(headers: Iterable[tuple[bytes, bytes]]) -> str:
    """The device's secret in the request's cookies, "" if there is none."""
    for name, value in headers:
        if name.lower() == b"cookie":
            for pair in value.decode("latin-1").split(";"):
                key, _, found = pair.strip().partition("=")
                if key == COOKIE:
                    return found
    return ""


def server_key(home: Path) -> bytes:
    """The key of the form tokens: made once, its owner's alone. Raises StoreTrouble."""
    path = home / KEY_NAME
    with suppress(OSError, ValueError):
        key = bytes.fromhex(path.read_text(encoding="ascii").strip())
        if len(key) == 32:
            return key
    key = secrets.token_bytes(32)
    try:
        write_whole(path, key.hex().encode(), private=True)
    except OSError as error:
        raise StoreTrouble(f"{path}: {error.strerror or error}") from error
    return key
