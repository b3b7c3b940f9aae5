"""Looking ahead from the facts: when to pour, on the calendar that the other pieces leave. Writes nothing."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import BadInput, CuretrackError, ProgramFault
from curetrack.facts import Event, Reading, Shape
from curetrack.instants import from_h, to_h
from curetrack.ledger import View
from curetrack.profile.folders import DEFAULT_PROFILE
from curetrack.shop.compared import Compared
from curetrack.shop.desk import Known
from curetrack.shop.recipes import Pairs

if TYPE_CHECKING:
    from curetrack.climate.course import Course
    from curetrack.profile.types import Profile
    from curetrack.timeline.planning.calendar import Calendar
    from curetrack.timeline.planning.choice import Choice
    from curetrack.timeline.planning.job import Taken
    from curetrack.timeline.planning.net import Net

__all__ = ["BEST", "ASSUMED_degC", "ASSUMED_pct", "Foresight", "Outlined", "Prospects"]

DEFAULT_SHAPE = Shape(1.2, 0.6, 0.04)
ASSUMED_degC, ASSUMED_pct = 20.0, 60.0  # where nothing was ever measured or forecast: said, never hidden
BEST = 3
SOON_h = 1.0  # the first half-hour is "now" (judgement)
SHOWN = 14

Tell = Callable[[int, int], None]


class Outlined(Struct, frozen=True):
    """A piece that may be poured, and what had to be assumed of it. name: "" for one that is not written down."""

    name: str
    shape: Shape
    profile: "Profile"
    need_by: datetime | None
    events: tuple[Event, ...]
    assumed: tuple[str, ...]  # profile, size


class Prospects(Struct, frozen=True):
    """The answer: the best pour of each day, the best first; the obvious ones; what it all rests on."""

    outlined: Outlined
    days: "tuple[Choice, ...]"
    obvious: "tuple[tuple[str, Choice], ...]"  # now, saturday
    assumed: tuple[str, ...]  # profile, size, temperature, humidity
    start: datetime
    end: datetime
    people: int
    others: int
    judged: int
    counted: bool = False  # whether it is known how many can be called
    held_degC: float | None = None  # where there is no forecast: as last measured, and held

    @property
    def best(self) -> "tuple[Choice, ...]":
        """The three to choose from: those that hold; where none does, those that fail least."""
        return tuple([choice for choice in self.days if choice.holds][:BEST] or self.days[:BEST])

    @property
    def holds(self) -> bool:
        """Whether a pour can be recommended."""
        return any(choice.holds for choice in self.days)


class Foresight(Compared):
    """The part of the Shop that looks ahead."""

    def outlined(
        self, name: str | None, *, profile: str | None = None, shape: Shape | None = None,
        need_by: datetime | None = None, sets: Pairs = (), view: View,
    ) -> Outlined:  # fmt: skip
        """A planned piece by its name, or one that is described. Raises BadInput for one that is poured."""
        assumed: list[str] = []
        known: Known | None = None
        if name is not None:
            known, piece = self.known_piece(name, view)
            if known.pour is not None:
                raise BadInput(
                    f"{known.name} is poured already", where="when", remedy="compare shows what would move it"
                )
            shape, need_by = shape or piece.shape, need_by or piece.need_by
        if profile is None and known is None and not self.settings.default_profile:
            profile = DEFAULT_PROFILE
            assumed.append("profile")
        if shape is None:
            shape = DEFAULT_SHAPE
            assumed.append("size")
        recipe = self.chosen(profile, sets, known.sheet if known is not None else None, name or "the piece")
        events = tuple(known.events) if known is not None else ()
        return Outlined(name or "", shape, self.compiled_recipe(recipe), need_by, events, tuple(assumed))

    def pours_ahead(
        self, outlined: Outlined, *, start: datetime, end: datetime, people: int | None = None, view: View,
        tell: Tell = lambda _done, _all: None,
    ) -> Prospects:  # fmt: skip
        """Each half-hour of a stretch judged. Raises BadInput for a stretch that is none; ProgramFault if the planner
        fails, since without it there is no answer."""
        from curetrack.shop.stretch import check_stretch

        check_stretch(start, end, need_by=outlined.need_by, people=people, now=view.now, zone=self.settings.zone)
        try:
            return self._judged(outlined, max(start, view.now), end, people=people, view=view, tell=tell)
        except (CuretrackError, OSError):
            raise
        except Exception as error:
            raise ProgramFault("when: no pour could be judged", error) from error

    def _judged(
        self, outlined: Outlined, start: datetime, end: datetime, *, people: int | None, view: View, tell: Tell
    ) -> Prospects:
        from curetrack.shop.candidates import Candidates
        from curetrack.timeline.planning.picking import best_of_days
        from curetrack.timeline.planning.when import half_hours, judge_one

        with self.ledger.snapshot():
            calendar, others, hold = self._left_by_others(outlined.name, people, view)
            course, missing = self._course_ahead(outlined.name, view)
            held = course.temp_degC(to_h(view.now)) if self.ledger.forecast(view) is None else None
        pours_h = half_hours(to_h(start), to_h(end))
        if not pours_h:
            raise BadInput("no half-hour lies between them", where="--from, --to", remedy="give it a day at least")
        candidates = Candidates(outlined, course, view.now, hold)
        days, judged = best_of_days(candidates.net, calendar, pours_h, SHOWN, tell)
        days = [judge_one(candidates.net(choice.pour_h), calendar, choice.pour_h, marked=True) for choice in days]
        days.sort(key=lambda choice: choice.key)  # the slow side of the bands is known now
        called = people if people is not None else self.settings.crew
        found = Prospects(
            outlined, tuple(days), (), (*outlined.assumed, *missing), start, end, called, others, judged,
            people is not None or called > 1, None if "temperature" in missing else held,
        )  # fmt: skip
        shown = {choice.pour_h for choice in found.best}
        obvious = [
            (label, judge_one(candidates.net(at_h), calendar, at_h, marked=True))
            for label, at_h in self._obvious(pours_h, to_h(view.now))
            if at_h not in shown
        ]
        return replace(found, obvious=tuple(obvious))

    def _left_by_others(
        self, name: str, people: int | None, view: View
    ) -> "tuple[Calendar, int, Callable[[Net], None]]":
        """The maker's calendar with what the other pieces take, how many they are, and what makes a net wait for the
        forms that they have."""
        from curetrack.hours.rota import rota_of
        from curetrack.shop.planner import plan_of, shared_of
        from curetrack.timeline.planning.calendar import Calendar
        from curetrack.timeline.planning.called import called
        from curetrack.timeline.planning.sharing import taken_by, wait_for_shared

        shared = shared_of(self.settings)
        taken: dict[str, Taken] = {}
        rota = rota_of(self.settings)
        calendar = Calendar(rota if people is None else called(rota, people), to_h(view.now))
        others = self._others(name, view)
        if others:  # planned or not, they take hands
            plan = plan_of(others, self.settings, view.now)
            for start_h, end_h in plan.taken_beside(name):
                calendar.book(start_h, end_h - start_h)
            taken = taken_by(plan.nets, plan.found.spots, shared)
        return calendar, len(others), lambda net: wait_for_shared(net, taken, shared)

    def _course_ahead(self, name: str, view: View) -> "tuple[Course, tuple[str, ...]]":
        """The course; where nothing at all is known of warmth or humidity, the usual is assumed and named."""
        used = self.readings_for(name, None, view)
        course = self.course(used, view, name)
        missing: list[Reading] = []
        names: list[str] = []
        if not course.has_temperature:
            missing.append(Reading(to_h(view.now), ASSUMED_degC))
            names.append("temperature")
        if not course.has_humidity:
            missing.append(Reading(to_h(view.now), humidity_pct=ASSUMED_pct))
            names.append("humidity")
        return (self.course([*used, *missing], view, name) if missing else course), tuple(names)

    def _obvious(self, pours_h: Sequence[float], now_h: float) -> list[tuple[str, float]]:
        """Now, if that is looked at, and the first Saturday morning at nine."""
        zone = self.settings.zone
        saturday = next(
            (h for h in pours_h if (at := from_h(h).astimezone(zone)).weekday() == 5 and at.hour == 9), None
        )
        now = [("now", pours_h[0])] if pours_h[0] < now_h + SOON_h else []
        return [*now, *([("saturday", saturday)] if saturday is not None and ("now", saturday) not in now else [])]
