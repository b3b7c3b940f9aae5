"""A shop in a temporary home, at a steady 20 °C, with a small profile of our own."""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from curetrack.facts import Event, Forecast, Shape
from curetrack.ledger import Ledger
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line

PROFILE = Path(__file__).with_name("bench.toml")
T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SHAPE = Shape(1.8, 0.6, 0.04)


def hours(count: float) -> datetime:
    """So many hours after the pour of these tests."""
    return T0 + timedelta(hours=count)


class Bench:
    """A shop with one piece, and short ways of speaking to it."""

    def __init__(self, home: Path, profile: Path, *, ledger: Ledger | None = None) -> None:
        self.home, self.profile = home, profile
        self.shop = Shop(home, ledger=ledger, settings=Settings(timezone="UTC"))

    def warm(self, temp_degC: float = 20.0, until_h: float = 1000.0) -> "Bench":
        """Readings every 2 h, from a day before the pour, and a forecast that goes on with them."""
        rows = [(int(hours(h).timestamp() * 1000), temp_degC, 50.0, None) for h in range(-24, int(until_h) + 1, 2)]
        self.shop.import_readings(rows, now=hours(2000))
        self.shop.set_forecast(Forecast("steady", 0.0, temp_degC, 50.0), now=hours(-24))
        return self

    def pour(self, name: str = "top") -> Event:
        """Poured at T0."""
        receipt = self.shop.pour(name, profile=str(self.profile), shape=SHAPE, at=T0, now=T0)
        assert receipt.event is not None
        return receipt.event

    def done(self, step: str, at_h: float, name: str = "top", **more: Any) -> Event:
        """Ticked then and there."""
        receipt = self.shop.done(name, step, now=hours(at_h), **more)
        assert receipt.event is not None
        return receipt.event

    def through(self, last: str) -> float:
        """Does what comes up to that step, at good times; the hours since the pour afterwards."""
        plan: list[tuple[str, float, dict[str, Any]]] = [
            ("cover", 1, {}), ("strip", 40, {"check": "pass"}), ("ease", 42, {}), ("flip", 130, {"crew": 4}),
            ("slurry", 131, {}), ("sand", 170, {"check": "pass"}), ("coat-1", 171, {"check": "pass"}),
        ]  # fmt: skip
        for step, at_h, more in plan:
            self.done(step, at_h, **more)
            if step == last:
                return at_h
        raise AssertionError(last)

    def line(self, step: str, at_h: float, name: str = "top") -> Line:
        """A line of the timeline then, with the facts of then."""
        line = self.shop.timeline(name, View(hours(at_h), as_of=True)).line(step)
        assert line is not None
        return line

    def said(self, name: str = "top") -> list[str]:
        """All that is in force, in short."""
        entries = self.shop.known(name).entries
        return [f"{entry.kind} {entry.event.step if entry.event else ''}".strip() for entry in entries]


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    """The profile in a folder of its own, where a test may edit it."""
    return Path(shutil.copy(PROFILE, tmp_path / "bench.toml"))


@pytest.fixture
def bench(tmp_path: Path, profile: Path) -> Iterator[Bench]:
    """A shop in which nothing is known yet."""
    made = Bench(tmp_path / "home", profile)
    yield made
    made.shop.close()


@pytest.fixture
def warm(bench: Bench) -> Bench:
    """At 20 °C, with a piece poured at T0."""
    bench.warm().pour()
    return bench
