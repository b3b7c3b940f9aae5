"""A web hook: each nudge as a JSON POST to an address of the maker's own (a phone push service, a home automation).

The body, in UTF-8: {"format": 1, "key", "title", "text" (lines), "urgency" (low, normal, critical), "sent_at" (ISO 8601
with offset), "nudges": [{"key", "kind", "piece", "step" or null, "hold", "urgent", "due_at", "missed"}, ...]}. The same
key again is a repeat of the same nudge, or its second try. Any 2xx is taken as received. The address may hold a secret
in its path, so only its host is ever shown.
"""

import asyncio
import json
from collections.abc import Awaitable, Callable
from functools import partial
from http.client import HTTPException, InvalidURL
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from curetrack import __version__
from curetrack.nudge.channels.apart import apart
from curetrack.nudge.channels.base import Message, Sent, Undelivered

__all__ = ["Hook"]

TIMEOUT_s = 10.0
PAUSES_s = (1.0, 4.0, 16.0)  # between four tries
AGAIN = (408, 425, 429)  # and every 5xx: the server may be able to later

Sleep = Callable[[float], Awaitable[None]]


class _NoRedirect(HTTPRedirectHandler):
    """A hook that has moved is set up anew: following would carry the token to another host."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        """None: not followed."""


class Hook:
    """`token` goes as a bearer token; "" for none."""

    name = "hook"

    def __init__(
        self, url: str, token: str = "", *, sleep: Sleep = asyncio.sleep, timeout_s: float = TIMEOUT_s
    ) -> None:
        self._url, self._token, self._sleep, self._timeout_s = url, token, sleep, timeout_s

    @property
    def reaches(self) -> str:
        """The host alone."""
        try:
            return f"the web hook at {urlsplit(self._url).hostname or 'an address'}"
        except ValueError:
            return "the web hook at an address"

    async def open(self) -> None:
        """Raises Undelivered for an address that cannot be."""
        try:
            parts = urlsplit(self._url)
            good = parts.scheme in ("http", "https") and parts.hostname and parts.port != 0
        except ValueError:  # a port that is none
            good = False
        if not good:
            raise Undelivered("the address is not http:// or https:// with a host, and a port if any")

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Tries up to four times where it may help."""
        await self.open()
        body = json.dumps(
            {**message.data, "title": message.title, "text": "\n".join(message.body), "urgency": message.urgency},
            ensure_ascii=False,
        ).encode()
        for pause_s in (*PAUSES_s, None):
            why, again = await apart(partial(self._post, body))
            if not why:
                return Sent()
            if not again or pause_s is None:
                raise Undelivered(why)
            await self._sleep(pause_s)
        raise AssertionError("the last try has returned or raised")

    def _post(self, body: bytes) -> tuple[str, bool]:
        """Why it did not go out ("" if it did), and whether another try may help."""
        headers = {"Content-Type": "application/json; charset=utf-8", "User-Agent": f"curetrack/{__version__}"}
        if self._token:
            headers["Authorization"] = f"Bearer {self._token}"
        request = Request(self._url, body, headers, method="POST")  # noqa: S310 -- open() has looked at the scheme
        try:
            with build_opener(_NoRedirect).open(request, timeout=self._timeout_s):
                return "", False
        except HTTPError as error:
            with error:
                return f"it answered {error.code}", error.code in AGAIN or error.code >= 500
        except URLError as error:
            return _reason(error.reason), True
        except (InvalidURL, ValueError):
            return "the token or the address holds letters that cannot be sent", False
        except (OSError, HTTPException) as error:
            return _reason(error), True

    async def withdraw(self, mark: str) -> None:
        """What was posted stays posted."""

    async def close(self) -> None:
        """Nothing is held."""


def _reason(error: object) -> str:
    """In words, without the address."""
    if isinstance(error, TimeoutError):
        return "no answer in time"
    if isinstance(error, ConnectionRefusedError):
        return "nobody listens there"
    text = getattr(error, "strerror", None) or type(error).__name__
    return f"it cannot be reached ({text})"
