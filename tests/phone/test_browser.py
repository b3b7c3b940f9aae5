"""The page in a real browser with a phone's screen and touch, on this machine's Chromium. Nothing leaves loopback."""

import os
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.async_playwright import Axe  # type: ignore[import-untyped]
from playwright.async_api import Browser, Page, Request, Route, async_playwright, expect

from curetrack.phone.app import build_app
from curetrack.phone.hub import Hub
from curetrack.phone.pairing import invite
from curetrack.phone.security import HostPolicy
from curetrack.phone.server import PhoneServer
from curetrack.shop import View
from tests.phone.conftest import Phone
from tests.phone.looking import Looking
from tests.shop.conftest import Bench, hours

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP phone.test 127.0.0.1"]  # fmt: skip
SHOTS = os.environ.get("CURETRACK_SHOTS", "")
Scheme = Literal["light", "dark"]
OVERLAPS = """() => [...document.querySelectorAll('a, button, summary, input:not([type=hidden]), select')]
  .filter(e => e.checkVisibility() && !e.closest('.kind') && e.getBoundingClientRect().height < 56)
  .map(e => e.outerHTML.slice(0, 80))"""
SILENT = ("/silent", "If the phone stays silent")
OUTSIDE = "() => document.documentElement.scrollWidth - innerWidth"


@pytest.fixture
async def chromium() -> AsyncIterator[Browser]:
    async with async_playwright() as play:
        browser = await play.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield browser
        await browser.close()


class Served:
    """A bench's page on a port, and pages of phones that are paired with it."""

    def __init__(self, phone: Phone, browser: Browser) -> None:
        self.phone, self.shop, self._browser = phone, phone.shop, browser
        self.server = self._server(0)
        self.requests: list[Request] = []

    def _server(self, port: int) -> PhoneServer:
        hub = Hub()
        app = build_app(
            self.shop, now=lambda: self.phone.at, host_policy=HostPolicy(frozenset({"localhost", "phone.test"})),
            hub=hub, said=lambda _: hub.publish(),
            timelines=Looking(self.shop, lambda: self.phone.at).timelines,
        )  # fmt: skip
        self.hub = hub
        return PhoneServer(app, hub, port=port)

    async def again(self) -> None:
        """The bench comes back on the same port."""
        self.server = self._server(self._port)
        await self.server.start()

    async def away(self) -> None:
        """The bench is switched off."""
        self._port = self.server.port
        await self.server.stop()

    async def open(self, host: str = "127.0.0.1", scheme: Scheme = "light", *, script: bool = True) -> Page:
        """A phone's page after pairing by its code, as a person does it."""
        context = await self._browser.new_context(
            viewport={"width": 360, "height": 740}, device_scale_factor=2, is_mobile=True, has_touch=True,
            color_scheme=scheme, java_script_enabled=script,
        )  # fmt: skip
        page = await context.new_page()
        page.on("request", lambda request: self.requests.append(request))  # noqa: PLW0108 -- it wants a function
        await page.goto(f"http://{host}:{self.server.port}/pair/{invite(self.shop.home, self.phone.at)}")
        await page.get_by_role("button", name="Pair this phone").tap()
        await page.locator("main h2").first.wait_for()
        return page

    def kinds(self) -> list[str]:
        """What was said of the piece."""
        return [f"{e.kind} {e.step}".strip() for e in self.shop.events("top", View(self.phone.at))]


@pytest.fixture
async def served(page: Phone, chromium: Browser) -> AsyncIterator[Served]:
    made = Served(page, chromium)
    await made.server.start()
    yield made
    await made.server.stop()


async def shot(page: Page, name: str, *, full: bool = False) -> None:
    """A picture to be looked at, where a folder is named for them."""
    if SHOTS:
        await page.screenshot(path=Path(SHOTS) / f"{name}.png", full_page=full)


async def test_pairing_and_a_tick_with_a_thumb(served: Served) -> None:
    page = await served.open()
    await expect(page.locator(".card h2")).to_have_text("Cover")
    button = page.locator(".card button.big")
    box = await button.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 740  # on the first screen
    assert box["height"] >= 56
    await button.tap()
    await expect(page.locator("#said")).to_contain_text("Done: Cover")
    await expect(page.locator(".card h2")).not_to_have_text("Cover")
    assert served.kinds() == ["pour", "done cover"]
    await page.get_by_role("button", name="Take that back").tap()
    await expect(page.locator(".card h2")).to_have_text("Cover")
    assert served.kinds() == ["pour"]


async def test_without_a_script(served: Served) -> None:
    page = await served.open(script=False)
    await page.locator(".card button.big").tap()
    await expect(page.locator("#said")).to_contain_text("Done: Cover")
    assert served.kinds() == ["pour", "done cover"]


async def test_what_another_says_appears_by_itself(served: Served) -> None:
    one, other = await served.open(), await served.open()
    await expect(other.locator(".card h2")).to_have_text("Cover")
    await one.locator(".card button.big").tap()
    await expect(other.locator(".card h2")).not_to_have_text("Cover", timeout=2000)


@pytest.mark.parametrize("host", ["127.0.0.1", "phone.test"])
async def test_a_tap_without_a_connection_is_kept_and_sent_later(served: Served, host: str) -> None:
    page = await served.open(host)
    assert await page.evaluate("isSecureContext") is (host == "127.0.0.1")
    await served.away()
    await page.locator(".card button.big").tap()
    await expect(page.locator("#state")).to_contain_text("Not connected")
    await expect(page.locator("#state")).to_contain_text("1 tap waits on this phone")
    await shot(page, f"offline-{host}")
    assert served.kinds() == ["pour"]
    served.phone.wait(1)
    await served.again()
    await expect(page.locator("#state")).to_be_empty(timeout=20_000)
    await expect(page.locator("#said")).to_contain_text("Done: Cover")
    assert served.kinds() == ["pour", "done cover"]


async def test_a_tap_whose_answer_was_lost_is_written_once(served: Served) -> None:
    page = await served.open()
    lost = 0

    async def lose(route: Route) -> None:
        nonlocal lost
        if lost < 2:
            lost += 1
            await route.fetch()  # it arrives, its answer does not
            await route.abort()
        else:
            await route.continue_()

    await page.route("**/deed", lose)
    await page.locator("summary", has_text="Later, skip, more").first.tap()
    await page.get_by_role("button", name="Later", exact=True).first.tap()
    await expect(page.locator("#said")).to_contain_text("written down already", timeout=30_000)
    assert lost == 2
    assert served.kinds() == ["pour", "later cover"]


async def test_taps_outlive_the_page(served: Served) -> None:
    page = await served.open()
    await served.away()
    await page.locator(".card button.big").tap()
    await expect(page.locator("#state")).to_contain_text("1 tap waits")
    await served.again()
    await page.reload()
    await expect(page.locator("#said")).to_contain_text("Done: Cover")
    assert served.kinds() == ["pour", "done cover"]


async def test_the_last_list_stays_readable_where_a_browser_allows_it(served: Served) -> None:
    """On this machine, as over https: loaded without the bench, ticked, and sent when it is back."""
    page = await served.open()
    await page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    await page.reload()  # now it goes through the worker, which keeps it
    await expect(page.locator(".card h2")).to_have_text("Cover")
    await served.away()
    await page.reload()
    await expect(page.locator(".card h2")).to_have_text("Cover")
    await expect(page.locator("#state")).to_contain_text("Not connected to the bench")
    await page.locator(".card button.big").tap()
    await expect(page.locator("#state")).to_contain_text("1 tap waits")
    await page.reload()
    await expect(page.locator("#state")).to_contain_text("1 tap waits")
    await served.again()
    await expect(page.locator("#said")).to_contain_text("Done: Cover", timeout=20_000)
    assert served.kinds() == ["pour", "done cover"]


async def test_a_phone_that_is_shut_out_keeps_no_list(served: Served) -> None:
    page = await served.open()
    await page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    await page.reload()
    assert await page.evaluate("() => caches.has('curetrack-pages')")
    served.shop.revoke_device(served.shop.devices()[0].id, now=served.phone.at)
    await page.goto(served.server.url)
    await expect(page.locator("main")).to_contain_text("not paired")
    assert not await page.evaluate("() => caches.has('curetrack-pages')")


async def test_it_can_be_put_on_the_home_screen(served: Served) -> None:
    page = await served.open()
    await page.locator('link[rel="manifest"]').wait_for(state="attached")
    session = await page.context.new_cdp_session(page)
    found = await session.send("Page.getAppManifest")
    assert found["url"] == f"{served.server.url}/manifest.webmanifest"
    assert found["errors"] == []
    assert '"short_name":"curetrack"' in found["data"]


async def test_a_hold_asks_and_a_refusal_is_told_with_its_reason(served: Served, warm: Bench) -> None:
    warm.done("cover", 1)
    page = await served.open()
    await page.goto(f"{served.server.url}/piece/top")
    strip = page.locator("li.step", has_text="Strip the sides")
    if not await strip.locator("form").is_visible():
        await strip.locator("summary").first.tap()
    await strip.locator("summary", has_text="Done ...").tap()
    await expect(strip.locator(".ask")).to_contain_text("A coin leaves no mark.")
    await shot(page, "hold-asks", full=True)
    await strip.get_by_role("button", name="It passed: done").tap()
    await expect(page.locator("#said .bad")).to_contain_text("too soon")
    await expect(page.locator("#said .bad")).to_be_in_viewport()
    await shot(page, "hold-refused")
    assert served.kinds() == ["pour", "done cover"]
    await page.get_by_role("button", name="Close").tap()
    await strip.locator("summary", has_text="Later, skip, more").tap()
    await strip.get_by_label("Done all the same").fill("the form is needed")
    await strip.get_by_role("button", name="Done against the hold").tap()
    await expect(page.locator("#said .good")).to_contain_text("Done: Strip")
    assert served.kinds() == ["pour", "done cover", "done strip"]


async def test_a_temperature(served: Served) -> None:
    page = await served.open()
    await page.get_by_label("Temperature,").fill("14.5")
    await page.get_by_label("Where").select_option("air")
    await page.get_by_role("button", name="Write it down").tap()
    await expect(page.locator("#said")).to_contain_text("Read: air 14.5")


async def test_the_first_view_asks_for_little(served: Served) -> None:
    page = await served.open()
    await page.goto("about:blank")  # the page before asks for nothing any more
    served.requests.clear()
    loaded: list[str] = []
    page.once("load", lambda: loaded.extend(request.url for request in served.requests))
    await page.goto(served.server.url, wait_until="load")
    assert 1 <= len(loaded) <= 3, loaded
    sizes = [len(await (await page.request.get(url)).body()) for url in loaded]
    assert sum(sizes) <= 60_000
    assert all(url.startswith((served.server.url, "data:")) for url in loaded)


@asynccontextmanager
async def _quiet(page: Page) -> AsyncIterator[None]:
    """No word from the browser that the policy was broken or a script failed."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    yield
    assert said == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_every_page_is_sound(served: Served, warm: Bench, scheme: Scheme) -> None:
    for step, at_h, more in [("cover", 1, {}), ("strip", 40, {"check": "pass"}), ("ease", 42, {})]:
        warm.done(step, at_h, **more)
    served.phone.at = hours(60)
    page = await served.open(scheme=scheme)
    for path, heading in (("/", "What comes next"), ("/piece/top", "top"), ("/pair/x", "curetrack"), SILENT):
        async with _quiet(page):
            await page.goto(f"{served.server.url}{path}")
            await expect(page.locator("h1")).to_have_text(heading)
            await shot(page, f"{'list' if path == '/' else path.split('/')[1]}-{scheme}", full=path != "/")
            await page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")
            await shot(page, f"{'list' if path == '/' else path.split('/')[1]}-open-{scheme}", full=True)
            assert await page.evaluate(OUTSIDE) == 0
            assert await page.evaluate(OVERLAPS) == []
            found = await Axe().run(page, options={"rules": {"color-contrast-enhanced": {"enabled": True}}})
            grave = [
                (v["id"], [n["html"][:120] for n in v["nodes"]])
                for v in found.response["violations"]
                if v["impact"] in ("serious", "critical") and v["id"] != "color-contrast-enhanced"
            ]
            assert grave == [], grave
            faint = [n["html"] for v in found.response["violations"] if v["id"] == "color-contrast-enhanced"
                     for n in v["nodes"]]  # fmt: skip
            assert faint == [], faint
