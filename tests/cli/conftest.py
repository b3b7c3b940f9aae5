"""A home in a temporary folder and a clock of our own; commands are run in this process, as the console script does."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from curetrack.cli.main import main

POUR = datetime(2026, 1, 10, 9, tzinfo=UTC)  # Saturday 10:00 in Berlin
PROFILE = "bagged-tabletop"
SIZE = "1800x600x40mm"


class Said(msgspec.Struct):
    """What one command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """Standard output as JSON."""
        found: dict[str, Any] = msgspec.json.decode(self.out)
        return found


class Maker:
    """Somebody at the command line, with a clock that can be moved."""

    def __init__(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.home, self._capsys = home, capsys
        self.now = POUR

    def at(self, hours: float) -> "Maker":
        """The same person, so many hours after the pour of these tests."""
        self.now = POUR + timedelta(hours=hours)
        return self

    def says(self, *argv: str) -> Said:
        """Runs one command."""
        code = main(argv, clock=lambda: self.now)
        shown = self._capsys.readouterr()
        return Said(code, shown.out, shown.err)

    def ok(self, *argv: str) -> Said:
        """Runs one command that must succeed."""
        said = self.says(*argv)
        assert said.code == 0, said.err
        return said

    def warm(self, hours: float = 240.0, temp: str = "20.0", humidity: str = "50") -> "Maker":
        """Hourly readings from a logger's file, at one temperature, from the pour on."""
        rows = [f"{(POUR + timedelta(hours=h)).isoformat()},{temp},{humidity}" for h in range(-2, int(hours) + 1)]
        path = self.home.parent / "logger.csv"
        path.write_text("time,temp_degC,humidity_pct\n" + "\n".join(rows) + "\n", encoding="utf-8")
        self.at(hours).ok("temp", "--from", str(path))
        return self

    def pours(self, name: str = "bench", *more: str) -> "Maker":
        """Pours a piece at its hour."""
        self.at(0).ok("pour", name, "--profile", PROFILE, "--size", SIZE, *more)
        return self

    def does(self, *steps: tuple[str, float]) -> "Maker":
        """Ticks steps at their hours."""
        for step, hours in steps:
            self.at(hours).ok("done", "bench", step)
        return self


DAY_ONE = (("vibrate", 0.2), ("screed", 0.4), ("cover-1", 0.6), ("trowel-back", 5.5), ("free", 5.6), ("cover-2", 5.8))


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Maker:
    """Somebody with an empty shop in Berlin."""
    home = tmp_path / "home"
    monkeypatch.setenv("CURETRACK_HOME", str(home))
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.chdir(tmp_path)
    person = Maker(home, capsys)
    person.ok("shop", "--set", "timezone=Europe/Berlin")
    return person


@pytest.fixture
def cured(maker: Maker) -> Maker:
    """The same with the piece `bench`, poured and covered on day one, at a steady 20 °C, a day later."""
    return maker.warm().pours().does(*DAY_ONE).at(24)
