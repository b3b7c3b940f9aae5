"""What belongs to one visit is planned into one, and no profile asks for what it makes impossible itself.

Edges are eased in the session of the strip, and covered again at its end: common practice, no source.
"""

from datetime import datetime, timedelta

import pytest

from curetrack.facts import Shape
from curetrack.profile.shelf import shipped
from curetrack.timeline.solve import solve_prepared
from tests.profile.docs import loaded
from tests.timeline.making import at, event, steady
from tests.timeline.planning.making import BERLIN, local, planned, prepared, rota

SESSION = timedelta(hours=4)  # an evening and what the hands need
STRIPPED = {"ease-back", "ease", "re-cover"}
NAMES = [name for name, _ in shipped() if STRIPPED & {step.id for step in loaded(name).steps}]


def stripped(name: str, degC: float, left: timedelta) -> dict[str, datetime]:
    """When the steps of the strip are planned, where a visit of three hours ends so long after the strip is ready."""
    thick = 0.025 if name.startswith("fibre") else 0.04
    piece = prepared(loaded(name), steady(degC, 50.0), 1.0, event("pour", 0.0), shape=Shape(1.5, 0.8, thick))
    ready = solve_prepared(piece, at(1.0)).line("strip")
    assert ready is not None
    assert ready.ready_at is not None
    end = (ready.ready_at + left).astimezone(BERLIN)
    hours = f"Mon-Sun {end - timedelta(hours=3):%H:%M}-{end:%H:%M}"
    lines = planned([piece], rota(hours), 1.0).timeline().lines
    return {line.step: line.plan_at for line in lines if line.plan_at and line.step in {"strip", *STRIPPED}}


@pytest.mark.parametrize("left_min", [40, 90, 150])  # enough for the strip alone; for some of it; for all of it
@pytest.mark.parametrize("degC", [8.0, 20.0, 30.0])
@pytest.mark.parametrize("name", NAMES)
def test_edges_are_eased_and_covered_in_the_visit_of_the_strip(name: str, degC: float, left_min: int) -> None:
    found = stripped(name, degC, timedelta(minutes=left_min))
    strip = found.pop("strip")
    assert len(found) == 2
    for step, then in found.items():
        assert strip < then <= strip + SESSION, (step, local(strip), local(then))


@pytest.mark.parametrize("name", NAMES)
def test_an_edge_that_was_not_eased_in_time_says_what_then(name: str) -> None:
    profile = loaded(name)
    ease = next(step for step in profile.steps if step.id in ("ease-back", "ease"))
    assert ease.no_later is not None
    assert ease.no_later.wait_h == 2
    assert "over" in ease.no_later.missed


# What the weather leaves no time for: a cold flip past the 72 h after which a high-early mix curls, a rapid mix at
# 30 degC at its final set while it is being covered, and a sealer at 30 degC that is ready before its tile was tried.
TRUE = {(name, 8.0, "flip") for name in ("fast-polished", "fast-tabletop", "fast-two-part", "white-as-cast")}
TRUE |= {("rapid-tabletop", 30.0, "trowel-back"), ("fast-tabletop", 30.0, "try-sealer")}


@pytest.mark.parametrize("degC", [8.0, 20.0, 30.0])
@pytest.mark.parametrize("name", [name for name, _ in shipped()])
def test_the_leads_and_rests_of_a_profile_leave_each_other_time(name: str, degC: float) -> None:
    """A maker with all the time, at the pour: what is late then, is late by the profile's own figures."""
    thick = 0.025 if name.startswith("fibre") else 0.04
    piece = prepared(loaded(name), steady(degC, 50.0), 0.01, event("pour", 0.0), shape=Shape(1.5, 0.8, thick))
    lines = solve_prepared(piece, at(0.01)).lines
    late = {(name, degC, line.step) for line in lines if any(note.rule == "clash" for note in line.notes)}
    assert late == {each for each in TRUE if each[:2] == (name, degC)}
