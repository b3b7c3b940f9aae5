"""The phone's page: its routes. Who may come in is the guard's business, what a tap does is deeds.py's."""

import secrets
from collections.abc import AsyncIterator, Callable, Sequence
from datetime import datetime, timedelta
from urllib.parse import parse_qsl, quote

import msgspec
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route

from curetrack.errors import CuretrackError, UnknownName
from curetrack.facts import Device, Event
from curetrack.phone.deeds import Deed, Said, Taps
from curetrack.phone.guard import Gate, Guard
from curetrack.phone.hub import Hub
from curetrack.phone.kept import KeptList
from curetrack.phone.pages import list_page, pair_page, piece_page
from curetrack.phone.pairing import claim, hash_of, invited_until, new_secret
from curetrack.phone.security import HostPolicy, cookie_header, server_key, token_for
from curetrack.phone.shell import ICON, SCRIPT, STYLE, WORKER, plain_page
from curetrack.phone.silent import silent_page
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line, Timeline
from curetrack.words.moments import moment
from curetrack.words.voice import Voice

__all__ = ["build_app"]

FOR_EVER = {"cache-control": "private, max-age=31536000, immutable"}  # their address changes with their content
CHART_BACK, CHART_AHEAD = timedelta(days=3), timedelta(days=4)
MANIFEST = {
    "name": "curetrack", "short_name": "curetrack", "start_url": "/", "scope": "/", "display": "standalone",
    "background_color": "#101619", "theme_color": "#101619",
    "icons": [{"src": "/icon.svg", "type": "image/svg+xml", "sizes": "any"}],
}  # fmt: skip


def build_app(
    shop: Shop, *, now: Callable[[], datetime], host_policy: HostPolicy, hub: Hub, said: Callable[[str], None],
    timelines: Callable[[], Sequence[Timeline]], settle: Callable[[], None] = lambda: None,
    more: Sequence[BaseRoute] = (), own_locks: Sequence[str] = (), clock_s: Callable[[], float] | None = None,
) -> Starlette:  # fmt: skip
    """The whole app. `said` hears the piece of each fact that is written here ("" for all); it or whoever hears of it
    calls `hub.publish`. `more`: routes of others; those of `own_locks` (or behind one that ends with a slash) look for
    a secret of their own and get no device, all others are for paired phones. `timelines`: of all pieces on the go, by
    whoever works them out anyway. `settle`: works out at once what was `said` and is
    put off; called before a phone sees what its own tap has changed. Raises StoreTrouble if the home cannot be written.
    """
    gate = Gate(shop, now, server_key(shop.home), host_policy, tuple(own_locks))
    if clock_s is not None:
        gate.clock_s = clock_s
    pages = _Pages(shop, now, gate.key, hub, said=said, timelines=timelines, settle=settle)
    routes = [
        Route("/", pages.list), Route("/piece/{name:path}", pages.piece), Route("/deed", pages.deed, methods=["POST"]),
        Route("/events", pages.events), Route("/pair/{secret}", pages.pair, methods=["GET", "POST"]),
        Route("/app.css", lambda _: Response(STYLE, media_type="text/css", headers=FOR_EVER)),
        Route("/app.js", lambda _: Response(SCRIPT, media_type="text/javascript", headers=FOR_EVER)),
        Route("/icon.svg", lambda _: Response(ICON, media_type="image/svg+xml", headers=FOR_EVER)),
        Route("/sw.js", lambda _: Response(WORKER, media_type="text/javascript")),
        Route("/silent", lambda _: HTMLResponse(silent_page())),
        Route("/manifest.webmanifest", lambda _: JSONResponse(MANIFEST, media_type="application/manifest+json")),
        *more, Route("/{rest:path}", _nowhere, methods=["GET", "POST"]),
    ]  # fmt: skip
    return Starlette(routes=routes, middleware=[Middleware(Guard, gate=gate)])


async def _nowhere(_: Request) -> Response:
    return HTMLResponse(plain_page("There is no such page."), 404)


class _Pages:
    """Handlers. All work is done in the loop: the ledger belongs to one thread."""

    def __init__(
        self, shop: Shop, now: Callable[[], datetime], key: bytes, hub: Hub, *, said: Callable[[str], None],
        timelines: Callable[[], Sequence[Timeline]], settle: Callable[[], None],
    ) -> None:  # fmt: skip
        self._shop, self._now, self._key, self._hub, self._timelines = shop, now, key, hub, timelines
        self._taps = Taps(shop, now, said, self._line)
        self._list, self._settle = KeptList(), settle
        self._tapped: set[str] = set()  # devices that have not seen a list since
        self._flash: dict[str, Said] = {}  # by device: what its last form did, until its next page

    async def list(self, request: Request) -> Response:
        """What comes next."""
        device: Device = request.state.device
        if device.id in self._tapped:
            self._tapped.remove(device.id)
            self._settle()
        count, timelines = self._hub.count, self._timelines()
        flash, voice, token = self._flashed(request), self._voice(), self._token(device)
        if flash is None:
            return HTMLResponse(self._list.page(timelines, voice, token, count))
        return HTMLResponse(list_page(timelines, voice, token, flash=flash, count=count))

    def _line(self, piece: str, step: str) -> Line | None:
        """Of the timelines at hand; they may leave out what is far off."""
        found = (timeline.line(step) for timeline in self._timelines() if timeline.piece == piece)
        return next(found, None)

    async def piece(self, request: Request) -> Response:
        """One piece."""
        device: Device = request.state.device
        now, name, count = self._now(), request.path_params["name"], self._hub.count
        try:
            timeline = self._shop.timeline(name, View(now))
        except UnknownName:
            return await _nowhere(request)
        try:
            curve = self._shop.curve(name, View(now), now - CHART_BACK, now + CHART_AHEAD, count=84)
        except CuretrackError:
            curve = None
        said = self._shop.last_said(name)
        last = _last_words(said.event if said is not None else None, self._voice())
        flash = self._flashed(request)
        shown = piece_page(
            timeline, curve, last, self._voice(), self._token(device), flash=flash, count=count,
            step=request.query_params.get("step", ""),
        )  # fmt: skip
        return HTMLResponse(shown)

    async def deed(self, request: Request) -> Response:
        """A tap: a form's, which is answered by a page, or the script's."""
        device: Device = request.state.device
        body = await request.body()
        self._tapped.add(device.id)
        if request.headers.get("content-type", "").partition(";")[0].strip().casefold() == "application/json":
            try:
                deed = msgspec.json.decode(body, type=Deed)
            except msgspec.DecodeError as error:
                return JSONResponse({"text": f"That is no tap: {error}", "good": False}, 400)
            return JSONResponse(msgspec.to_builtins(self._taps.take(deed)))
        try:
            fields = {k: v for k, v in parse_qsl(body.decode("utf-8"), max_num_fields=40) if v.strip()}
            deed = msgspec.convert(fields, Deed, strict=False)
        except (ValueError, msgspec.ValidationError):
            return HTMLResponse(plain_page("That is no tap of this page. Load it again."), 400)
        self._flash[device.id] = self._taps.take(deed)
        back = f"/piece/{quote(deed.piece, safe='')}" if fields.get("back") == "piece" and deed.piece else "/"
        return RedirectResponse(back, 303)

    async def events(self, request: Request) -> Response:
        """Live: that something has changed."""
        if self._hub.full:
            return Response("", 503, {"retry-after": "60"})
        stream = self._while_paired(request.state.device)
        return StreamingResponse(stream, media_type="text/event-stream", headers={"x-accel-buffering": "no"})

    async def pair(self, request: Request) -> Response:
        """The one-time secret: a look at it takes nothing, so that a link preview spends none."""
        secret, now = request.path_params["secret"], self._now()
        if request.method != "POST":
            return HTMLResponse(pair_page(open_to=invited_until(self._shop.home, now) is not None))
        if not claim(self._shop.home, secret, now):
            text = "This code is spent, too old, or not from this bench. Type curetrack phone there for a new one."
            return HTMLResponse(plain_page(text), 403)
        own = new_secret()
        self._shop.add_device("phone", _device_name(request.headers.get("user-agent", "")), hash_of(own), now=now,
                              source="phone")  # fmt: skip
        cookie = cookie_header(own, https=request.url.scheme == "https")
        return RedirectResponse("/", 303, {"set-cookie": cookie})

    async def _while_paired(self, device: Device) -> AsyncIterator[str]:
        async for event in self._hub.stream():
            if all(known.id != device.id for known in self._shop.devices()):
                return
            yield event

    def _flashed(self, request: Request) -> Said | None:
        """The script asks for the same page to renew it: what is to be said is not for that."""
        if "x-part" in request.headers:
            return None
        return self._flash.pop(request.state.device.id, None)

    def _token(self, device: Device) -> str:
        return token_for(self._key, device.id)

    def _voice(self) -> Voice:
        settings = self._shop.settings
        return Voice(self._now(), settings.zone, settings.units)


def _last_words(event: Event | None, voice: Voice) -> tuple[int, str] | None:
    """What an undo would take back; not the pour, which is the bench's."""
    if event is None or event.kind == "pour":
        return None
    return event.id, f"{event.kind} {event.step}".strip() + f", {moment(event.at, voice)}"


KINDS = ("iPhone", "iPad", "Android", "Windows", "Macintosh", "Linux")


def _device_name(user_agent: str) -> str:
    """What the maker will know it by in the list; a browser's own words are never taken over."""
    kind = next((kind for kind in KINDS if kind in user_agent), "phone")
    return f"{kind} {secrets.token_hex(2)}"
