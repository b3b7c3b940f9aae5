"""What stands beside the dashboard in tests: a real shop in a temporary home, and no service."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import Input, Static

from curetrack.desk.app import Dashboard
from curetrack.desk.ports import News
from curetrack.facts import Forecast, Shape
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.timeline.types import Timeline

__all__ = ["LARGE", "SMALL", "T0", "Alone", "hours", "kinds", "press", "screen", "type_in"]

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SMALL, LARGE = (80, 24), (120, 40)  # terminals
PROFILE = Path(__file__).with_name("desk.toml")


def hours(count: float) -> datetime:
    """So many hours after the pour of these tests."""
    return T0 + timedelta(hours=count)


class Alone:
    """A shop at a steady 20 °C; its clock is set by hand."""

    def __init__(self, home: Path, *pieces: str) -> None:
        self.shop = Shop(home, settings=Settings(timezone="UTC"))
        self.at = T0
        self.news: Sequence[News] = ()
        self.troubles: Sequence[str] = ()
        self.carried_by = "the desktop's notifications"
        self.read: list[str] = []
        self._heard: list[Callable[[], None]] = []
        self.shop.set_forecast(Forecast("steady", 0.0, 20.0, 50.0), now=T0)
        self.shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=T0, now=T0)
        for name in pieces:
            self.shop.pour(name, profile=str(PROFILE), shape=Shape(1.8, 0.6, 0.04), at=T0, now=T0)
        self.timelines: Sequence[Timeline] = ()
        self.renew()

    def now(self) -> datetime:
        return self.at

    def renew(self) -> None:
        self.timelines = self.shop.timelines(View(self.at))

    def comes_to(self, at: datetime) -> None:
        """Time passes, and everything is worked out anew."""
        self.at = at
        self.renew()
        self.changed()

    def changed(self) -> None:
        """Another process has written something."""
        for heard in self._heard:
            heard()

    def listen(self, heard: Callable[[], None]) -> None:
        self._heard.append(heard)

    def said(self, piece: str) -> None:
        self.renew()

    def seen(self, key: str) -> None:
        self.read.append(key)
        self.news = tuple(one for one in self.news if one.key != key)


def screen(app: Dashboard) -> str:
    """What is read on it."""
    return str(app.query_one("#board", Static).render())


def kinds(beside: Alone, piece: str = "bench") -> list[tuple[str, str]]:
    """What was recorded since the pour: kind and step."""
    return [(event.kind, event.step) for event in beside.shop.events(piece, View(beside.at)) if event.kind != "pour"]


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Keys, and all that follows from them."""
    await pilot.press(*keys)
    await pilot.pause()


async def type_in(pilot: Pilot[None], app: Dashboard, text: str) -> None:
    """The answer to what is asked."""
    app.query_one("#ask", Input).value = text
    await press(pilot, "enter")
