"""A whole piece in fast motion: an invented shop, an invented maker, one cold night. Pure; the screen is cli/rehearse.

The shop stands at 20 degC, and on the night after the pour its heater fails. The maker works from 7 to 22 o'clock, does
what is ready, answers every hand check with a pass and leaves out what is optional. What the frames show is computed by
the same solver as a real piece: only the facts are invented.
"""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo

from msgspec import Struct

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Forecast, Piece, Reading, Shape
from curetrack.instants import from_h, to_h
from curetrack.profile.types import Profile
from curetrack.timeline.solve import solve
from curetrack.timeline.types import Line, Timeline

__all__ = ["Deed", "Frame", "Rehearsal", "Shift"]

DAY_degC, NIGHT_degC, HUMIDITY_pct = 20.0, 6.0, 50.0
FALLS_h, COLD_h, WARM_AGAIN_h = 19.0, 23.0, 31.0  # hours after the midnight before the pour
WAKES_h, SLEEPS_h = 7, 22
SHIFT_SHOWN_h = 1.0


class Deed(Struct, frozen=True):
    """What the maker did: done or skipped, and whether a hand check was answered."""

    line: Line
    skipped: bool


class Shift(Struct, frozen=True):
    """A step's ready time moved because of a reading."""

    line: Line
    before: datetime
    temp_degC: float


class Frame(Struct, frozen=True):
    """One moment of the rehearsal."""

    timeline: Timeline
    deed: Deed | None = None
    shift: Shift | None = None


class Rehearsal:
    """Runs once; afterwards its facts can be replayed anywhere: `piece`, `events`, `readings`, `forecast`."""

    def __init__(self, profile: Profile, shape: Shape, pour_at: datetime, zone: tzinfo) -> None:
        self.profile, self.zone, self.pour_at = profile, zone, pour_at
        local = pour_at.astimezone(zone)
        self.midnight_h = to_h(local.replace(hour=0, minute=0, second=0, microsecond=0))
        created = pour_at - timedelta(days=3)
        self.piece = Piece("rehearsal", shape, profile.id, "rehearsal", created, planned_pour_at=pour_at)
        self.events: list[Event] = []
        self.readings: list[Reading] = []
        self.forecast = Forecast("steady", to_h(created), DAY_degC, HUMIDITY_pct)
        self.now_h = to_h(created)
        self.course = self._read_shop()
        self.solved: tuple[tuple[float, int, int], Timeline] | None = None
        self.watched: dict[str, float] = {}
        self.moved: dict[str, tuple[datetime, Line]] = {}  # of each step that moved: its first time, its last line

    def frames(self) -> Iterator[Frame]:
        """Each deed, and each hour of the cold night that moves a step."""
        for _ in range(5000):  # a piece has some hundred deeds; a profile that never ends stops here
            timeline = self._solve()
            if timeline.finished:
                yield Frame(timeline)
                return
            line = self._next(timeline)
            if line is None:
                yield Frame(timeline)
                return
            due_h = self._awake(max(self.now_h, to_h(line.plan_at) if line.plan_at else self.now_h))
            if due_h >= self._next_reading_h():
                yield from self._an_hour_passes(timeline)
            else:
                self.now_h = due_h
                yield self._do(line)

    @property
    def facts(self) -> tuple[list[Event], list[Reading]]:
        """What happened, for a replay."""
        return list(self.events), list(self.readings)

    # --- the shop --------------------------------------------------------------------------------------------------

    def temp_degC(self, at_h: float) -> float:
        """The invented shop: steady, but for one night without heat."""
        hour = at_h - self.midnight_h
        if hour <= FALLS_h or hour >= WARM_AGAIN_h + 3.0:
            return DAY_degC
        if hour < COLD_h:
            return DAY_degC + (NIGHT_degC - DAY_degC) * (hour - FALLS_h) / (COLD_h - FALLS_h)
        if hour < WARM_AGAIN_h:
            return NIGHT_degC
        return NIGHT_degC + (DAY_degC - NIGHT_degC) * (hour - WARM_AGAIN_h) / 3.0

    def _next_reading_h(self) -> float:
        return math.floor(self.now_h) + 1.0

    def _read_shop(self) -> Course:
        reading = Reading(self.now_h, self.temp_degC(self.now_h), HUMIDITY_pct, 0.0, "slab", id=len(self.readings) + 1)
        self.readings.append(reading)
        if len(self.readings) == 1:
            return build_course(self.readings, self.forecast, self.zone)
        return self.course.with_reading(reading)

    def _an_hour_passes(self, before: Timeline) -> Iterator[Frame]:
        self.now_h = self._next_reading_h()
        self.course = self._read_shop()
        shift = None
        timeline = self._solve()
        line = next((x for x in timeline.lines if x.hold and x.state == "waiting" and x.ready_at and _timed(x)), None)
        if line is not None and line.ready_at is not None:
            known_h = self.watched.setdefault(line.step, _ready_h(before, line.step) or to_h(line.ready_at))
            moved_h = to_h(line.ready_at) - known_h
            cold = self.temp_degC(self.now_h) < DAY_degC - 0.5  # else it moved with the steps before it
            if cold and abs(moved_h) >= SHIFT_SHOWN_h:
                shift = Shift(line, from_h(known_h), self.temp_degC(self.now_h))
                self.watched[line.step] = to_h(line.ready_at)
            if shift is not None or (line.step in self.moved and self.now_h < self.midnight_h + WARM_AGAIN_h + 4.0):
                self.moved[line.step] = self.moved.get(line.step, (from_h(known_h), line))[0], line
        if shift is not None:
            yield Frame(timeline, shift=shift)

    # --- the maker -------------------------------------------------------------------------------------------------

    def _next(self, timeline: Timeline) -> Line | None:
        able = [line for line in timeline.lines if line.open_to_do and (line.plan_at or line.optional)]
        return min(
            able, key=lambda line: (to_h(line.plan_at) if line.plan_at else 0.0, not line.optional), default=None
        )

    def _awake(self, at_h: float) -> float:
        local = from_h(at_h).astimezone(self.zone)
        if local.hour < WAKES_h:
            return to_h(local.replace(hour=WAKES_h, minute=0, second=0))
        if local.hour >= SLEEPS_h:
            return to_h((local + timedelta(days=1)).replace(hour=WAKES_h, minute=0, second=0))
        return at_h

    def _do(self, line: Line) -> Frame:
        if line.step == "pour":
            return self._pour(line)
        skipped = line.optional
        answer = None if skipped or not line.check or self._more_rounds(line) else "pass"
        if not skipped:
            self._work(line.hands_on_h)
        at = from_h(self.now_h)
        kind = "skip" if skipped else "done"
        crew = line.crew if line.kind == "lift" and not skipped else None
        self.events.append(
            Event(len(self.events) + 1, self.piece.name, kind, at, at, "cli", line.step, answer, crew)  # type: ignore[arg-type]  # the literals are right
        )
        return Frame(self._solve(), deed=Deed(line, skipped))

    def _work(self, hours: float) -> None:
        """The maker is busy; the shop is read every hour all the same."""
        end_h = self.now_h + hours
        while self._next_reading_h() <= end_h:
            self.now_h = self._next_reading_h()
            self.course = self._read_shop()
        self.now_h = end_h

    def _more_rounds(self, line: Line) -> bool:
        """Holes are found in every round but the last that is planned: no pass before."""
        step = next((step for step in self.profile.steps if step.id == line.step.partition(".")[0]), None)
        return step is not None and line.round < step.rounds

    def _pour(self, line: Line) -> Frame:
        at = from_h(self.now_h)
        self.events.append(Event(len(self.events) + 1, self.piece.name, "pour", at, at))
        return Frame(self._solve(), deed=Deed(line, skipped=False))

    def _solve(self) -> Timeline:
        """Solved once for the same moment and facts: each is asked for twice."""
        facts = self.now_h, len(self.events), len(self.readings)
        if self.solved is None or self.solved[0] != facts:
            self.solved = facts, solve(self.piece, self.profile, self.events, self.course, from_h(self.now_h))
        return self.solved[1]


def _timed(line: Line) -> bool:
    return any(reason.rule in ("strength", "maturity", "handling") for reason in line.reasons)


def _ready_h(timeline: Timeline, step_id: str) -> float | None:
    line = timeline.line(step_id)
    return None if line is None or line.ready_at is None else to_h(line.ready_at)
