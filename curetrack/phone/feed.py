"""The calendar's feed: an address that nobody can guess, which a calendar asks for now and then (RFC 5545).

The body is made once for each state of the timelines; a calendar that has it already is told so (RFC 9110, 13.1.2).
"""

from collections.abc import Callable, Sequence
from hashlib import sha256

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from curetrack.phone.export import Calendars
from curetrack.phone.keyed import Doorman, too_often
from curetrack.shop import Shop
from curetrack.timeline.types import Timeline
from curetrack.words.voice import Voice

__all__ = ["FEED", "Feed", "feed_path"]

FEED = "/feed/"


def feed_path(secret: str) -> str:
    """Where the feed of that secret lies."""
    return f"{FEED}{secret}.ics"


class Feed:
    """`timelines`: whole, of all pieces on the go, and a number that is another one whenever they are others."""

    def __init__(
        self, shop: Shop, calendars: Calendars, timelines: Callable[[], tuple[object, Sequence[Timeline]]],
        voice: Callable[[], Voice], doorman: Doorman | None = None,
    ) -> None:  # fmt: skip
        self._calendars, self._timelines, self._voice = calendars, timelines, voice
        self._doorman = doorman or Doorman(shop, "feed")
        self._state: object = None
        self._body, self._tag = b"", ""

    @property
    def route(self) -> Route:
        """For the app; its path has a lock of its own."""
        return Route(f"{FEED}{{name:path}}", self.answer, methods=["GET", "HEAD"])

    async def answer(self, request: Request) -> Response:
        """The calendar, for who has the secret."""
        secret, ics, _ = request.path_params["name"].partition(".ics")
        device = self._doorman.device(secret if ics else "")
        wait_s = self._doorman.wait_s(request, device)
        if wait_s > 0.0:
            return too_often(wait_s)
        if device is None:
            return PlainTextResponse("There is no such calendar.", 404)
        self._renew()
        headers = {"etag": self._tag, "cache-control": "private, no-cache"}
        known = request.headers.get("if-none-match", "")
        if known.strip() == "*" or self._tag in known:
            return Response(None, 304, headers)
        headers["content-disposition"] = 'inline; filename="curetrack.ics"'
        return Response(self._body, 200, headers, media_type="text/calendar; charset=utf-8")

    def _renew(self) -> None:
        state, timelines = self._timelines()
        if state != self._state or not self._tag:
            self._body = self._calendars.ics(timelines, self._voice())
            self._tag = f'"{sha256(self._body).hexdigest()[:32]}"'
            self._state = state
