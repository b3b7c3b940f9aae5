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
