"""Looking ahead from the facts: when to pour, on the calendar that the other pieces leave. Writes nothing."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput
from curetrack.facts import Piece, Reading, Shape
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
    from curetrack.timeline.planning.when import Choice
    from curetrack.timeline.solve import Prepared

__all__ = ["ASSUMED_degC", "ASSUMED_pct", "Foresight", "Outlined", "Prospects"]

DEFAULT_SHAPE = Shape(1.2, 0.6, 0.04)
ASSUMED_degC, ASSUMED_pct = 20.0, 60.0  # where nothing was ever measured or forecast: said, never hidden
MOST_DAYS = 92
SHOWN = 14

Tell = Callable[[int, int], None]


class Outlined(Struct, frozen=True):
    """A piece that may be poured, and what had to be assumed of it. name: "" for one that is not written down."""

    name: str
    shape: Shape
    profile: "Profile"
    need_by: datetime | None
    events: tuple[object, ...]
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
        """Each half-hour of a stretch judged. Raises BadInput for a stretch that is none."""
        from curetrack.timeline.planning.net import Net
        from curetrack.timeline.planning.when import best_by_day, half_hours, judge, judge_one

        self._check_stretch(outlined, start, end, view.now)
        with self.ledger.snapshot():
            calendar, others = self._left_by_others(outlined.name, view)
            course, missing = self._course_ahead(outlined.name, view)
        pours_h = half_hours(to_h(start), to_h(end))
        if not pours_h:
            raise BadInput("no half-hour lies between them", where="--from, --to", remedy="give it a day at least")
        prepared = _prepared(outlined, course, view.now, from_h(pours_h[0]))
        need_by_h = None if outlined.need_by is None else to_h(outlined.need_by)
        net = Net(outlined.name, prepared.basis, prepared.graph, need_by_h=need_by_h, untouched=True)
        choices = judge(net, calendar, pours_h, tell)
        days = best_by_day(choices, lambda at_h: from_h(at_h).astimezone(self.settings.zone).date())[:SHOWN]
        days = [judge_one(net, calendar, choice.pour_h, marked=True) for choice in days]
        obvious = [
            (label, judge_one(net, calendar, at_h, marked=True))
            for label, at_h in self._obvious(pours_h)
            if at_h not in {choice.pour_h for choice in days[:3]}
        ]
        return Prospects(
            outlined, tuple(days), tuple(obvious), (*outlined.assumed, *missing), start, end,
            people if people is not None else self.settings.crew, others, len(choices),
        )  # fmt: skip

    def _check_stretch(self, outlined: Outlined, start: datetime, end: datetime, now: datetime) -> None:
        need_by = outlined.need_by
        if need_by is not None and need_by <= now:
            raise BadInput("that is already past", where="--need-by", found=self._local(need_by),
                           remedy="name a day to come")  # fmt: skip
        if end <= now or end <= start:
            raise BadInput("ends before it begins", where="--from, --to", found=self._local(end),
                           remedy="name a later end")  # fmt: skip
        if end - start > timedelta(days=MOST_DAYS):
            raise BadInput(f"longer than {MOST_DAYS} days", where="--from, --to", found=self._local(end),
                           remedy="no forecast reaches so far: name a nearer end")  # fmt: skip
        if need_by is not None and need_by <= start:
            raise BadInput("needed before the first pour that is looked at", where="--need-by",
                           found=self._local(need_by), remedy="name a later day, or an earlier --from")  # fmt: skip

    def _local(self, at: datetime) -> str:
        return at.astimezone(self.settings.zone).strftime("%Y-%m-%d %H:%M")

    def _left_by_others(self, name: str, view: View) -> "tuple[Calendar, int]":
        """The maker's calendar with what the other pieces take, and how many they are."""
        from curetrack.hours.rota import rota_of
        from curetrack.shop.planner import is_planned, plan_of
        from curetrack.timeline.planning.calendar import Calendar

        calendar = Calendar(rota_of(self.settings), to_h(view.now))
        others = self._others(name, view)
        if is_planned(self.settings) and others:
            plan = plan_of(others, self.settings, view.now)
            for start_h, end_h in plan.taken_beside(name):
                calendar.book(start_h, end_h - start_h)
        return calendar, len(others)

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

    def _obvious(self, pours_h: Sequence[float]) -> list[tuple[str, float]]:
        """Now, and the first Saturday morning at nine."""
        zone = self.settings.zone
        saturday = next(
            (h for h in pours_h if (at := from_h(h).astimezone(zone)).weekday() == 5 and at.hour == 9), None
        )
        return [("now", pours_h[0]), *([("saturday", saturday)] if saturday not in (None, pours_h[0]) else [])]


def _prepared(outlined: Outlined, course: "Course", now: datetime, pour_at: datetime) -> "Prepared":
    from curetrack.timeline.solve import prepare

    piece = Piece(outlined.name, outlined.shape, outlined.profile.id, "", now, pour_at, outlined.need_by)
    return prepare(piece, outlined.profile, outlined.events, course, now)  # type: ignore[arg-type]  # Events
