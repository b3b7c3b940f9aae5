"""Looking ahead: what is judged of a pour is what the plan then says of it. Through the command line."""

from datetime import datetime
from typing import Any

import pytest

from tests.cli.conftest import Maker, maker  # noqa: F401 -- a fixture

MINUTE_s = 60.0
SIZE = "1200x600x40mm"


def planned_steps(maker: Maker, profile: str, pour_at: str) -> dict[str, str]:  # noqa: F811 -- the fixture's name
    """The same piece written down for that pour: its plan."""
    name = f"at {pour_at[:10]}"
    maker.ok("pour", name, "--planned", "--profile", profile, "--size", SIZE, "--at", pour_at)
    told: dict[str, Any] = maker.ok("sheet", name, "--json").json
    maker.ok("drop", name, "only a trial")
    return {line["step"]: line["plan_at"] for line in told["steps"] if (line["plan_at"] or "") >= pour_at}


def apart_s(one: str, other: str) -> float:
    return abs((datetime.fromisoformat(one) - datetime.fromisoformat(other)).total_seconds())


@pytest.fixture
def spring(maker: Maker) -> Maker:  # noqa: F811
    """Three days that stay under 16 °C, then never under 28 °C."""
    maker.at(0).ok("temp", "15C", "--humidity", "55")
    maker.ok("shop", "--set", "hours=daily 7:00-21:00", "--set", "units=metric")
    maker.ok("shop", "--forecast", "low/high", *["12/16"] * 3, *["28/31"] * 6)
    return maker


def test_a_pour_has_the_steps_of_its_own_day(spring: Maker) -> None:
    """Above 27 °C a face-up bench is floated after 15 min instead of 30, and misted for 72 h instead of 48."""
    words = ("when", "--profile", "bench-face-up", "--size", SIZE, "--from", "in 1 d", "--to", "in 7 d", "--json")
    options = sorted(spring.says(*words).json["options"], key=lambda option: str(option["pour_at"]))
    for option in (options[0], options[-1]):
        steps = {step: at for step, at in option["steps"].items() if at >= option["pour_at"]}
        planned = planned_steps(spring, "bench-face-up", option["pour_at"])
        for step in steps.keys() & planned.keys():
            assert apart_s(steps[step], planned[step]) < MINUTE_s, (option["pour_at"], step)
        assert steps.keys() & planned.keys() >= {"float", "mist", "strip"}


# --- who can be called -----------------------------------------------------------------------------------------------


@pytest.fixture
def friends(maker: Maker) -> Maker:  # noqa: F811
    """One friend from Saturday noon on, another on Sundays: mixing wants two people, the flip of 170 kg more."""
    maker.at(0).ok("temp", "18C", "--humidity", "55")
    maker.ok("shop", "--set", "hours=daily 8:00-20:00", "--set", "crew=3", "--set", "units=metric")
    maker.ok("shop", "--set", "crew_hours=anna: Sat 12:00-17:00; ben: Sun 10:00-16:00")
    return maker


def when(maker: Maker, *words: str) -> dict[str, Any]:  # noqa: F811
    told: dict[str, Any] = maker.says("when", "--size", SIZE, "--profile", "bagged-tabletop", "--json", *words).json
    return told


def weekday(option: dict[str, Any]) -> int:
    return datetime.fromisoformat(option["pour_at"]).weekday()


def test_the_number_of_people_changes_what_is_recommended(friends: Maker) -> None:
    """Two: the mixing falls to a friend's day. Alone: nobody is waited for, and it is said. Five: two who are not named
    come at any time, so that it need be no weekend."""
    two, alone, five = (when(friends, "--from", "in 2 d", "--crew", number) for number in ("2", "1", "5"))
    assert weekday(two["options"][0]) in (5, 6)
    assert two["assumed"]["crew_short"] is None
    assert alone["assumed"]["crew_short"]["people"] == 2
    assert alone["assumed"]["crew_hours"] is None
    for other in (alone, five):
        assert weekday(other["options"][0]) < 5
        assert other["options"][0]["done_at"] < two["options"][0]["done_at"]


def test_alone_is_said_above_them_all(friends: Maker) -> None:
    out = friends.says("when", "--size", SIZE, "--profile", "bagged-tabletop", "--crew", "1").out
    assert "2 people, and you are alone" in " ".join(out.split())
    assert "crew comes" not in out
    assert "Nothing else speaks against it" in out
    heavy = friends.says("when", "--size", "2400x900x50mm", "--profile", "bagged-tabletop", "--crew", "3").out
    assert "people, and 3 can be called, you included" in " ".join(heavy.split())


def test_enough_people_are_not_spoken_of(friends: Maker) -> None:
    assert when(friends)["assumed"]["crew"] == 3
    assert when(friends)["assumed"]["crew_short"] is None


def test_compare_plans_for_so_many_people(friends: Maker) -> None:
    """The flip waits for a friend's day, and for nobody where there is none or one that comes at any time."""
    friends.ok("pour", "top", "--profile", "bagged-tabletop", "--size", SIZE)
    friends.at(3)
    told = friends.ok("compare", "top", "--crew", "2", "--crew", "1", "--crew", "5", "--json").json["variants"]
    flips = [datetime.fromisoformat(variant["steps"]["flip"]) for variant in told]
    assert [flip.weekday() >= 5 for flip in flips] == [True, True, False, False]
    assert flips[2] == flips[3]
    short = [[w["rule"] for w in variant["warnings"]].count("short_crew") for variant in told]
    assert short == [0, 0, 1, 0]
