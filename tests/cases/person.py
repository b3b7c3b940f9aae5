"""Somebody at the command line, with a clock that is set by the local hour; and how times and texts are compared."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
import pytest

from curetrack.cli.main import main
from curetrack.shop import Shop, View

HERE = Path(__file__).parent
TOLERANCE = timedelta(minutes=30)  # of all times of the cases


class Said(msgspec.Struct):
    """What one command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON."""
        return msgspec.json.decode(self.out)

    @property
    def text(self) -> str:
        """All of it as one line, so that a break in a row is no matter."""
        return " ".join(f"{self.out} {self.err}".split())


class Person:
    """Runs commands in this process, as the console script does."""

    def __init__(self, home: Path, capsys: pytest.CaptureFixture[str], zone: str) -> None:
        self.home, self._capsys = home, capsys
        self.zone = ZoneInfo(zone)
        self.now = datetime(2026, 1, 1, tzinfo=UTC)
        self.ok("shop", "--set", f"timezone={zone}")

    def local(self, text: str) -> datetime:
        """ "2026-01-10 10:00" in the shop's zone, as an instant."""
        return datetime.fromisoformat(text).replace(tzinfo=self.zone).astimezone(UTC)

    def at(self, when: str | datetime) -> "Person":
        """The same person at another moment."""
        self.now = self.local(when) if isinstance(when, str) else when
        return self

    def says(self, *argv: str) -> Said:
        """Runs one command."""
        code = main(argv, clock=lambda: self.now)
        shown = self._capsys.readouterr()
        return Said(code, shown.out, shown.err)

    def ok(self, *argv: str) -> Said:
        """Runs one command that must succeed."""
        said = self.says(*argv)
        assert said.code == 0, f"{argv}: {said.err}"
        return said

    def no(self, *argv: str) -> str:
        """Runs one command whose answer must be no: exit code 1, one line on standard error."""
        said = self.says(*argv)
        assert said.code == 1, f"{argv}: {said.code} {said.out} {said.err}"
        assert said.err.count("\n") == 1
        return said.text

    def wrong(self, *argv: str) -> str:
        """Runs one command that must be refused as wrong use: exit code 2, one line."""
        said = self.says(*argv)
        assert said.code == 2, f"{argv}: {said.code} {said.out} {said.err}"
        assert said.err.count("\n") == 1
        return said.text

    def pours(self, name: str, profile: str, size: str, *more: str) -> Said:
        """A piece by a profile of the cases (or one that ships)."""
        own = HERE / f"{profile}.toml"
        return self.ok("pour", name, "--profile", str(own) if own.exists() else profile, "--size", size, *more)

    def log(
        self, rows: Iterable[tuple[datetime, float]], *, humidity: float | None = None, place: str = "slab"
    ) -> Said:
        """A logger's file, imported now; what lies ahead of now is not in it yet."""
        found = [(at, temp) for at, temp in rows if at <= self.now]
        tail = "" if humidity is None else f",{humidity:g}"
        lines = [f"{at.astimezone(UTC).isoformat()},{temp:g}{tail}" for at, temp in found]
        path = self.home.parent / "logger.csv"
        head = "time,temp_degC" + ("" if humidity is None else ",humidity_pct")
        path.write_text("\n".join([head, *lines, ""]), encoding="utf-8")
        return self.ok("temp", "--from", str(path), "--place", place)

    def sheet(self, name: str) -> Any:
        """The cure sheet as JSON."""
        return self.ok("sheet", name, "--json").json

    def step(self, name: str, step: str) -> dict[str, Any]:
        """One step of it."""
        found: dict[str, Any] = next(each for each in self.sheet(name)["steps"] if each["step"] == step)
        return found

    def warnings(self, name: str, rule: str) -> list[dict[str, Any]]:
        """The sheet's warnings of one rule."""
        return [each for each in self.sheet(name)["warnings"] if each["rule"] == rule]

    def warning(self, name: str, rule: str) -> dict[str, Any]:
        """The one warning of a rule."""
        (found,) = self.warnings(name, rule)
        return found

    def shop(self) -> Shop:
        """The same shop through its own door."""
        return Shop(self.home)

    def view(self) -> View:
        """What is known now."""
        return View(self.now)


def steady(start: datetime, hours: float, temp_degC: float, *, every_h: float = 1.0) -> list[tuple[datetime, float]]:
    """Readings at one temperature, from 4 h before the start on."""
    count = int((hours + 4.0) / every_h)
    return [(start + timedelta(hours=n * every_h - 4.0), temp_degC) for n in range(count + 1)]


def stretched(start: datetime, stretches: Iterable[tuple[float, float]]) -> list[tuple[datetime, float]]:
    """Readings of stretches of one temperature each: hourly, and right at both sides of each jump."""
    found: list[tuple[datetime, float]] = []
    at = start
    for hours, temp_degC in stretches:
        end = at + timedelta(hours=hours)
        while at < end:
            found.append((at, temp_degC))
            at += timedelta(hours=1)
        at = end
        found.append((end - timedelta(seconds=30), temp_degC))
    return sorted(found)


def near(text: str | None, expected: datetime | str, tolerance: timedelta = TOLERANCE) -> bool:
    """Whether a time of the JSON is the expected one, within the cases' half hour."""
    assert text is not None
    want = datetime.fromisoformat(expected) if isinstance(expected, str) else expected
    return abs(datetime.fromisoformat(text) - want) <= tolerance


def sentences(text: str) -> list[str]:
    """A text cut into its sentences and clauses."""
    return [part.strip().lower() for part in re.split(r"[.;:!?]", " ".join(text.split())) if part.strip()]
