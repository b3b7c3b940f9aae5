"""Random lives of two pieces, legal and illegal commands alike: after each, the JSON keeps its contract (README).

Times are ISO 8601 with an offset, or null; states are of five; a ready time lies in its band; today's steps are the
sheets' own; and what was shown at an instant is shown again by --as-of and --known-at that instant, whatever has been
said, withdrawn or measured since.
"""

import re
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

import msgspec
import pytest

from curetrack.climate.course import Side, build_course
from curetrack.concrete.maturity import Arrhenius, En1992, NurseSaul
from curetrack.facts import Forecast, Reading
from curetrack.profile.shelf import shipped
from tests.cli.conftest import Maker
from tests.hostile.conftest import check_said, facts_of

ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")
TIMES = ("ready_at", "plan_at", "late_at", "done_at", "check_from", "opens_at")
KEYS = {*TIMES, "piece", "step", "title", "kind", "state", "hold", "check", "round", "band", "band_method",
        "band_weather", "why", "cautions", "crew"}  # fmt: skip
STATES = {"waiting", "ready", "late", "done", "skipped"}
STARTS = (
    datetime(2026, 1, 10, 9, tzinfo=UTC), datetime(2026, 3, 27, 15, tzinfo=UTC), datetime(2026, 10, 23, 8, tzinfo=UTC),
)  # fmt: skip
ZONES = ("Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu")
PROFILES = ("bagged-tabletop", *(name for name, _ in shipped() if name != "bagged-tabletop"))
SECOND = timedelta(seconds=1.5)  # instants are shown to the second
Answer = dict[str, Any]


class Life:
    """Two pieces, `a` and `b`, and what was shown of them."""

    def __init__(self, maker: Maker, seed: int) -> None:
        self.maker, self.random = maker, Random(seed)
        maker.ok("shop", "--set", f"timezone={self.pick(*ZONES)}", "--set", f"units={self.pick('us', 'metric')}")
        maker.now = self.pick(*STARTS) + timedelta(minutes=self.random.randrange(2000))
        self.profile: str = self.pick(*PROFILES)
        self.checked: set[str] = set()

    def pick(self, *choices: Any) -> Any:
        """One of these."""
        return self.random.choice(choices)

    def shown(self) -> dict[str, Answer]:
        """Today and the sheets, checked."""
        answers: dict[str, Answer] = {}
        for name, argv in (("today", ("today",)), ("a", ("sheet", "a")), ("b", ("sheet", "b"))):
            said = self.maker.says(*argv, "--json")
            check_said(said)
            if said.code == 0:
                answers[name] = said.json
                for step in said.json["steps"]:
                    self.check_step(step)
        for step in answers["today"]["steps"]:
            assert step in answers[step["piece"]]["steps"]
        return answers

    def check_step(self, step: Answer) -> None:
        """One STEP against the contract."""
        assert set(step) == KEYS
        assert step["state"] in STATES
        bands = [band for band in (step["band"], step["band_method"], step["band_weather"]) if band is not None]
        for typed in (*(step[key] for key in TIMES), *(end for band in bands for end in band)):
            assert typed is None or ISO.fullmatch(typed), step
        for band in bands:
            first, ready, last = (datetime.fromisoformat(at) for at in (band[0], step["ready_at"], band[1]))
            assert first - SECOND <= ready <= last + SECOND, step
        assert (step["state"] == "done") == (step["done_at"] is not None), step
        if step["state"] in {"waiting", "ready", "late"} and step["plan_at"] is not None:
            plan = datetime.fromisoformat(step["plan_at"])
            assert plan >= self.maker.now - SECOND, step
            by_rules = step["ready_at"] is None or plan >= datetime.fromisoformat(step["ready_at"]) - SECOND
            assert by_rules or step["step"] in self.checked, step
        if step["state"] == "late":
            assert datetime.fromisoformat(step["late_at"]) <= self.maker.now + SECOND, step

    def command(self, sheets: dict[str, Answer]) -> tuple[str, ...]:
        """Something that somebody may say, right or wrong."""
        name = self.pick("a", "b")
        when = self.pick((), (), (), ("--at", self.pick("10 min ago", "2h ago", "30 h ago", "now")))
        temp = ("temp", f"{self.random.randint(-6, 34)}C", *self.pick((), ("--humidity", "70"), ("--piece", "a")))
        if name not in sheets:
            more = self.pick((), ("--planned",), ("--override", "must be"), ("--at", "2h ago", "--override", "must be"))
            pour = ("pour", name, "--profile", self.profile, "--size", "1800x600x40mm", *more)
            early: tuple[str, ...] = self.pick(pour, pour, temp)
            return early
        steps = sheets[name]["steps"]
        open_now = [step for step in steps if step["state"] in {"ready", "late"}] or steps
        step: str = self.random.choice((open_now if self.random.random() < 0.8 else steps)[:6])["step"]
        done = self.pick((), (), ("--earlier",), ("--check", "pass"), ("--override", "had to", "--earlier"))
        self.checked.add(step)  # it may be: then its plan need not wait for its rules
        said: tuple[str, ...] = self.pick(
            *[("done", name, step, *when, *done)] * 8, ("check", name, step, self.pick("pass", "fail"), *when),
            ("check", name, "hardness", "pass"), ("later", name, step, self.pick("2h", "1 d")), ("skip", name, step),
            ("again", name, "look"), ("undo", name), ("undo", name, "--event", str(self.random.randint(1, 20))),
            (*temp, *when), (*temp, "--place", self.pick("air", "outside")), ("temp", "--undo", "2"),
            ("shop", "--forecast", self.pick("steady 4C", "low/high -3/9 2/12", "last-day", "steady 28C")),
            ("change", name, "--set", "mix.strength_28d=35 MPa"), ("pour", name, "--profile", self.profile, "--size",
            "900x900x30mm"), ("note", name, "n"), ("drop", name, "broke"), self.logger_file(),
        )  # fmt: skip
        return said

    def logger_file(self) -> tuple[str, ...]:
        """Half a day and more of readings."""
        path = self.maker.home.parent / "logger.csv"
        first = self.maker.now - timedelta(hours=self.random.randint(5, 40))
        rows = [
            f"{(first + timedelta(minutes=30 * row)).isoformat()},{self.random.randint(2, 26)},55\n"
            for row in range(30)
        ]
        path.write_text("time,temp_degC,humidity_pct\n" + "".join(rows), encoding="utf-8")
        return ("temp", "--from", str(path))

    def says(self, *argv: str) -> None:
        """One command: refused, it has written nothing."""
        before = facts_of(self.maker.home)
        said = self.maker.says(*argv)
        check_said(said)
        assert said.code == 0 or facts_of(self.maker.home) == before, (argv, said.err)


@pytest.mark.parametrize("seed", range(14))
def test_a_random_life_keeps_the_contract(maker: Maker, seed: int) -> None:
    life = Life(maker, seed)
    past: list[tuple[datetime, dict[str, Answer]]] = []
    for _ in range(18):
        shown = life.shown()
        past.append((maker.now, shown))
        maker.now += timedelta(seconds=30)
        life.says(*life.command(shown))
        maker.now += timedelta(minutes=life.pick(1, 7, 90, 300, 700, 1500, 2600))
    for at, shown in life.random.sample(past, 4):
        for name, answer in shown.items():
            argv = ("today",) if name == "today" else ("sheet", name)
            again = maker.ok(*argv, "--as-of", at.isoformat(), "--known-at", at.isoformat(), "--json").json
            assert msgspec.to_builtins(again) == answer, (name, at)


def test_readings_before_a_piece_serve_the_list_and_the_sheet_alike(maker: Maker) -> None:
    """The list of all pieces makes one course for them all; a sheet must not know less than it."""
    maker.ok("temp", "20C")
    maker.pours("old").at(80).ok("pour", "new", "--profile", PROFILES[0], "--size", "900x900x30mm")
    today = [step for step in maker.ok("today", "--json").json["steps"] if step["piece"] == "new"]
    sheet = maker.ok("sheet", "new", "--json").json["steps"]
    assert today
    assert all(step in sheet for step in today)


@pytest.mark.parametrize("seed", [6, 19, 23])
def test_what_gains_nothing_is_never_less_than_nothing(seed: int) -> None:
    """Long sums differ in their last digit: an age of -7e-15 h was out of range and shut every list. Over a gap the
    cold side may stay below the frost throughout."""
    random, at_h, readings = Random(seed), 490_000.0, []
    for _ in range(random.randint(2, 14)):
        at_h += random.choice([0.5, 1, 3, 7.3, 20, 43])
        readings.append(Reading(at_h, float(random.randint(-6, 34))))
    course = build_course(readings, random.choice([None, Forecast("steady", at_h, temp_degC=-4.0)]), UTC)
    sides: tuple[Side, ...] = ("centre", "warm", "cold")
    for law in (Arrhenius(4000.0), Arrhenius(5000.0), NurseSaul(0.0), NurseSaul(-10.0), En1992()):
        for _ in range(60):
            from_h = random.uniform(readings[0].at_h - 3, at_h + 60)
            to_h = from_h + random.choice([0.01, 0.5, 2.0])
            assert min(course.gained_h(law, from_h, to_h, side) for side in sides) >= 0.0
