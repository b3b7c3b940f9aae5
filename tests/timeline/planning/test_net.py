"""The net against the walk: without hours and with as many hands as are wanted, both must say the same of every step.

The walk is the authority and is tested by itself; the net is another road to the same moments.
"""

from datetime import UTC, datetime, timedelta

import pytest

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Forecast, Piece, Reading, Shape
from curetrack.hours.expand import Rota
from curetrack.instants import to_h
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.profile.shelf import shipped as names
from curetrack.profile.types import Profile
from curetrack.timeline.planning.calendar import Calendar, Need, Token
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.search import by_deadline
from curetrack.timeline.solve import Prepared, prepare
from curetrack.timeline.walk import Walk

NOW = datetime(2026, 11, 28, 9, tzinfo=UTC)


class ManyHands(Calendar):
    """Nothing is ever taken."""

    def book(self, start_h: float, hands_h: float) -> Token:
        return super().book(start_h, 0.0)


def shipped(name: str) -> Profile:
    profile_id, document = find(name)
    return compile_profile(document, profile_id, profile_id)


def weather(low: float) -> Course:
    """Two weeks of hours between a low and 6 K more, and a colder forecast."""
    rows = [Reading(to_h(NOW) - 336.0 + k, low + 6.0 * (k % 24) / 24.0, 55.0, id=k + 1) for k in range(336)]
    return build_course(rows, Forecast("steady", to_h(NOW), low), UTC)


def stand(profile: Profile, age_h: float | None, ticks: int, course: Course) -> Prepared:
    """A piece of that age of which so many steps were done as they came; None: to be poured in three days."""
    pour = None if age_h is None else NOW - timedelta(hours=age_h)
    piece = Piece("p", Shape(1.5, 0.8, 0.04), profile.id, "", NOW - timedelta(days=20),
                  planned_pour_at=None if pour else NOW + timedelta(days=3))  # fmt: skip
    events = [Event(1, "p", "pour", pour, pour)] if pour else []
    made = prepare(piece, profile, events, course, NOW)
    for _ in range(ticks):
        placed = Walk(made.basis, made.graph).run()
        ready = [p for p in placed.values() if p.is_open and not p.blockers and not p.node.step.optional]
        ready = [p for p in ready if p.plan_h is not None and p.plan_h <= made.basis.now_h]
        if not ready:
            break
        at = NOW - timedelta(minutes=ticks - len(events))
        events.append(Event(len(events) + 1, "p", "done", at, NOW, step=ready[0].node.id))
        made = prepare(piece, profile, events, course, NOW)
    return made


@pytest.mark.parametrize("low", [8.0, 17.0])
@pytest.mark.parametrize(
    ("age_h", "ticks"),
    [(None, 0), (0.5, 1), (1.6, 0), (3.0, 0), (12.0, 0), (12.0, 3), (48.0, 0), (48.0, 9), (96.0, 14), (300.0, 30)],
)
@pytest.mark.parametrize("name", [name for name, _ in names()])
def test_without_hours_the_net_plans_what_the_walk_plans(
    name: str, age_h: float | None, ticks: int, low: float
) -> None:
    made = stand(shipped(name), age_h, ticks, weather(low))
    placed = Walk(made.basis, made.graph).run()
    net = Net("p", made.basis, made.graph, counts_work=False)
    found = by_deadline([net], lambda: ManyHands(Rota(UTC), made.basis.now_h))
    compared = 0
    for (_, index), spot in found.spots.items():
        job = net.jobs[index]
        compared += not job.through
        never = job.just_in_time and any(
            (0, f.index) not in found.spots for f in net.jobs if job.index in dict(f.leads)
        )
        if job.through or never:  # nobody waits for it: it may come as soon as it can, or just in time
            continue
        assert spot.start_h == pytest.approx(placed[job.id].plan_h, abs=1e-6), job.id
    planned = [p for p in placed.values() if p.is_open and p.plan_h is not None and not p.node.step.optional]
    assert compared == len([p for p in planned if p.node.id != "pour"])


def test_a_net_that_is_poured_anew_says_what_one_made_for_that_pour_says() -> None:
    course, profile = weather(14.0), shipped("bagged-tabletop")
    at_h = [to_h(NOW) + 72.0, to_h(NOW) + 100.5]
    piece = Piece("p", Shape(1.2, 0.6, 0.04), profile.id, "", NOW, planned_pour_at=NOW + timedelta(hours=72))
    moved = prepare(piece, profile, (), course, NOW)
    net = Net("p", moved.basis, moved.graph, untouched=True)
    from msgspec.structs import replace

    for pour_h in (*at_h, at_h[0]):
        net.pour_at(replace(moved.basis, pour_h=pour_h, first_h=pour_h))
        anew = prepare(
            replace(piece, planned_pour_at=NOW + timedelta(hours=pour_h - to_h(NOW))), profile, (), course, NOW
        )
        fresh = Net("p", anew.basis, anew.graph)
        one, other = (
            by_deadline([each], lambda: Calendar(Rota(UTC), moved.basis.now_h)) for each in (net, fresh)
        )  # fmt: skip
        weather_step = fresh.number["weather"]  # its own rule is asked of the air ahead, which a moved net leaves out
        starts = [{k: s.start_h for k, s in each.spots.items() if k[1] != weather_step} for each in (one, other)]
        assert starts[0] == pytest.approx(starts[1], abs=1e-6)


def test_a_calendar_gives_back_what_is_retracted() -> None:
    calendar = Calendar(Rota(UTC), 0.0)
    need = Need(2.0)
    first = calendar.book(1.0, 2.0)
    second = calendar.book(4.0, 1.0)
    assert [calendar.first_fit(at, need) for at in (0.0, 3.0, 4.5)] == [3.0 + 2.0, 5.0, 5.0]
    calendar.retract(second)
    assert calendar.first_fit(0.0, need) == 3.0
    calendar.retract(first)
    assert calendar.first_fit(0.0, need) == 0.0
    assert calendar.last_fit(0.0, 9.0, need) == 9.0
