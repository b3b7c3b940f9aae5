"""A bench with a piece, and its page asked in the same process: no socket, and the phone's clock is ours."""

import asyncio
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx2
import pytest
from starlette.applications import Starlette

from curetrack.phone.app import build_app
from curetrack.phone.hub import Hub
from curetrack.phone.pairing import invite
from curetrack.phone.security import HostPolicy
from curetrack.shop import Shop
from tests.phone.looking import Looking
from tests.shop.conftest import Bench, bench, hours, profile, warm

__all__ = ["Phone", "bench", "page", "profile", "warm"]

ORIGIN = "http://localhost:8377"


class Browser:
    """Asks the app within this thread, since a ledger belongs to one; keeps cookies."""

    def __init__(self, app: Starlette, address: str = "127.0.0.1") -> None:
        self.app, self.address, self.cookies = app, address, httpx2.Cookies()

    def request(self, method: str, path: str, **more: Any) -> httpx2.Response:
        """One request from our own page, if no other headers are given."""
        return asyncio.run(self._request(method, path, **more))

    def get(self, path: str, **more: Any) -> httpx2.Response:
        """See request."""
        return self.request("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx2.Response:
        """See request."""
        return self.request("POST", path, **more)

    async def _request(
        self, method: str, path: str, headers: dict[str, str] | None = None, **more: Any
    ) -> httpx2.Response:
        transport = httpx2.ASGITransport(self.app, client=(self.address, 1))
        headers = {"origin": ORIGIN, **(headers or {})}
        async with httpx2.AsyncClient(transport=transport, base_url=ORIGIN, cookies=self.cookies) as client:
            answer: httpx2.Response = await client.request(method, path, headers=headers, **more)
            self.cookies = client.cookies
            return answer


class Phone:
    """The page as a browser without a script asks for it."""

    def __init__(self, shop: Shop, at: datetime) -> None:
        self.shop, self.at, self.ticks_s = shop, at, 0.0
        self.said: list[str] = []
        self.hub = Hub(0.05)
        self.app = build_app(
            shop, now=lambda: self.at, host_policy=HostPolicy(), hub=self.hub, said=self.said.append,
            timelines=Looking(shop, lambda: self.at).timelines, clock_s=lambda: self.ticks_s,
        )  # fmt: skip
        self.client = self.browser()

    def browser(self, address: str = "127.0.0.1") -> Browser:
        """Another browser, with no cookies."""
        return Browser(self.app, address)

    def pair(self, client: Browser | None = None) -> str:
        """Pairs it; the cookie."""
        client = client or self.client
        answer = client.post(f"/pair/{invite(self.shop.home, self.at)}")
        assert answer.status_code == 303, answer.text
        return client.cookies["curetrack_device"]

    def token(self, client: Browser | None = None) -> str:
        """The form token on the list."""
        text = (client or self.client).get("/").text
        return text.partition('name="token" content="')[2].partition('"')[0]

    def wait(self, count: float) -> None:
        """So many hours later."""
        self.at += timedelta(hours=count)
        self.ticks_s += count * 3600.0


@pytest.fixture
def page(warm: Bench, tmp_path: Path) -> Phone:
    """The page of a bench whose piece was poured an hour ago; not paired yet."""
    return Phone(warm.shop, hours(1))
