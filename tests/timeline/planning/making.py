"""Small shops for the planner's tests. Local time is Berlin's; the pour of tests/timeline/making.py is a Saturday in
January, 11:00 there, and hours count from it."""

from collections.abc import Callable, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.facts import Event, Piece, Shape
from curetrack.hours.expand import Rota
from curetrack.hours.rota import rota_of
from curetrack.hours.shared import read_shared
from curetrack.instants import from_h, to_h
from curetrack.profile.types import Profile
from curetrack.settings import Settings
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.choice import Choice
from curetrack.timeline.planning.net import Net
from curetrack.timeline.planning.plan import Plan, plan_nets
from curetrack.timeline.planning.serial import Spot
from curetrack.timeline.planning.when import judge_one, worth
from curetrack.timeline.solve import Prepared, prepare, solve_prepared
from curetrack.timeline.types import Timeline
from tests.timeline.making import POUR, TOP, at, numbered, poured, profile

BERLIN = ZoneInfo("Europe/Berlin")
EVENINGS = "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"


def rota(hours: str = EVENINGS, **more: object) -> Rota:
    """A shop in Berlin; quiet_hours, crew_hours, away, extra as in the settings."""
    return rota_of(Settings(timezone="Europe/Berlin", hours=hours, **more))  # type: ignore[arg-type]  # texts


def local(instant: datetime | float | None) -> str:
    """ "Sun 08:00" on the wall in Berlin."""
    assert instant is not None
    moment = from_h(instant) if isinstance(instant, float) else instant
    return moment.astimezone(BERLIN).strftime("%a %H:%M")


class Made(Struct, frozen=True):
    """A plan with what it was made from."""

    plan: Plan
    prepared: tuple[Prepared, ...]
    now: datetime

    def spot(self, step: str, piece: int = 0) -> Spot:
        """Where a step was placed."""
        net = self.plan.nets[piece]
        return self.plan.found.spots[piece, net.number[step]]

    def start(self, step: str, piece: int = 0) -> str:
        """The same on the wall."""
        return local(self.spot(step, piece).start_h)

    def timeline(self, piece: int = 0) -> Timeline:
        """What comes out of it."""
        prepared = self.prepared[piece]
        return solve_prepared(prepared, self.now, agreed=self.plan.agreed[prepared.piece.name])


def prepared(
    made: Profile | str, weather: Course, now: float, *facts: Event, name: str = "top", need_by: float | None = None,
    planned: float | None = None, shape: Shape = TOP,
) -> Prepared:  # fmt: skip
    """One piece so many hours after the pour; no facts and no planned pour mean: poured at 0."""
    made = profile(made) if isinstance(made, str) else made
    piece = Piece(
        name, shape, "test", "sha", at(-72.0), None if planned is None else at(planned),
        None if need_by is None else at(need_by),
    )  # fmt: skip
    events = facts or (() if planned is not None else (poured(),))
    return prepare(piece, made, numbered(events), weather, at(now))


def check_nobody_twice(work: Sequence[tuple[float, float, bool]], seed: int) -> None:
    """No two stretches of work meet, unless one of them says so (third: a mixing that is kept at its pour: "busy"). All
    pairs: what lies within a long stretch must not hide what lies behind it."""
    work = sorted(work)
    for number, (_, end_h, one) in enumerate(work):
        for start_h, _, other in work[number + 1 :]:
            if start_h >= end_h - 1e-6:
                break
            assert one or other, (seed, start_h)


def planned(pieces: Sequence[Prepared], of: Rota, now: float, shared: str = "") -> Made:
    """The plan of a shop; `shared` as in the settings."""
    nets = [Net(p.piece.name, p.basis, p.graph) for p in pieces]
    return Made(plan_nets(nets, of, to_h(at(now)), read_shared(shared)[0] if shared else ()), tuple(pieces), at(now))


assert POUR.astimezone(BERLIN).strftime("%a %H:%M") == "Sat 11:00"


def judge(net_at: Callable[[float], Net], calendar: Calendar, pours_h: Sequence[float]) -> list[Choice]:
    """Each pour that is worth it, judged by its whole timeline."""
    return [judge_one(net_at(pour_h), calendar, pour_h) for pour_h in worth(net_at, calendar, pours_h)]
