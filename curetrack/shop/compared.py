"""What-if: the same piece, once as it is and once for each thing that could be otherwise. Writes nothing."""

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import BadInput
from curetrack.facts import Piece
from curetrack.ledger import View
from curetrack.shop.desk import Known
from curetrack.shop.recipes import Recipes

if TYPE_CHECKING:
    from curetrack.profile.types import Profile
    from curetrack.settings import Settings
    from curetrack.timeline.solve import Prepared
    from curetrack.timeline.types import Timeline

__all__ = ["AS_IT_IS", "Compared", "Outcome", "Variant"]


AS_IT_IS = "as it is"


class Variant(Struct, frozen=True):
    """One thing that is otherwise; None: as it is."""

    label: str
    temp_degC: float | None = None  # the shop from now on
    pour_at: datetime | None = None
    profile: str | None = None
    sets: tuple[tuple[str, str], ...] = ()
    settings: tuple[tuple[str, str], ...] = ()  # hours, crew, crew_hours

    @property
    def people(self) -> int | None:
        """How many can be called, where that is what is otherwise."""
        return next((int(value) for key, value in self.settings if key == "crew"), None)


class Outcome(Struct, frozen=True):
    """A variant with the timeline that follows from it."""

    variant: Variant
    timeline: "Timeline"
    profile: "Profile"
    settings: "Settings"


class Compared(Recipes):
    """The part of the Shop that compares."""

    def variant_faults(self, names: Sequence[str], variants: Sequence[Variant], view: View) -> list[BadInput]:
        """All that is wrong with what is to be compared: pieces that are none or named twice, variants that cannot be
        or are there twice."""
        pieces: list[Known] = []
        found: list[BadInput] = []
        for name in names:
            try:
                pieces.append(self._known_for(name, view))
            except BadInput as error:
                found.append(error)
        named = [known.name for known in pieces]
        found += [_twice(name, "name another piece") for name in dict.fromkeys(named) if named.count(name) > 1]
        meant: dict[Variant, str] = {}
        for variant in variants:
            try:
                plain = self._plainly(variant)
                for known in pieces:
                    self._prepared_as(known, variant, view)
            except BadInput as error:
                found.append(error)
                continue
            if plain in meant:
                found.append(_twice(variant.label, "leave one of the two out"))
            meant[plain] = variant.label
        return found

    def outcomes(self, name: str, variants: tuple[Variant, ...], view: View) -> tuple[Outcome, ...]:
        """As it is, then each variant, on the calendar that the other pieces share.

        Raises UnknownName; BadInput for a variant that cannot be.
        """
        with self.ledger.snapshot():
            known = self._known_for(name, view)
            others = cache(lambda: self._others(known.name, view))
            return tuple(self._outcome(known, variant, view, others) for variant in (Variant(AS_IT_IS), *variants))

    def _known_for(self, name: str, view: View) -> Known:
        known, _ = self.known_piece(name, view)
        if known.dropped is not None:
            raise BadInput(f"{known.name} was given up", where="compare", remedy="name a piece on the go")
        return known

    def _outcome(self, known: Known, variant: Variant, view: View, others: "Callable[[], list[Prepared]]") -> Outcome:
        from curetrack.shop.planner import is_planned, plan_or_none
        from curetrack.timeline.solve import solve_prepared

        settings = self._settings_of(variant)
        mine, profile = self._prepared_as(known, variant, view)
        agreed, unplanned = None, False
        if is_planned(settings):
            plan = plan_or_none([mine, *others()], settings, view.now, people=variant.people)
            agreed, unplanned = None if plan is None else plan.agreed[mine.piece.name], plan is None
        timeline = solve_prepared(mine, view.now, agreed=agreed, people=settings.crew, unplanned=unplanned)
        return Outcome(variant, _alone(timeline) if variant.people == 1 else timeline, profile, settings)

    def _plainly(self, variant: Variant) -> Variant:
        """What it means, however it is spelled."""
        settings = self._settings_of(variant)
        return replace(
            variant, label="", settings=tuple((key, str(getattr(settings, key))) for key, _ in variant.settings)
        )

    def _settings_of(self, variant: Variant) -> "Settings":
        if not variant.settings:
            return self.settings
        from curetrack.hours.together import check_together
        from curetrack.settings import changed

        settings = replace(self.settings, **changed(variant.settings))
        check_together(settings)
        return settings

    def _prepared_as(self, known: Known, variant: Variant, view: View) -> "tuple[Prepared, Profile]":
        from curetrack.timeline.solve import prepare

        piece = known.piece
        assert piece is not None
        if variant.pour_at is not None:
            piece = self._poured_at(known, piece, variant.pour_at, view)
        if variant.temp_degC is not None:
            course = self._course_at(known, variant.temp_degC, view)
        else:
            course = self.course(self.readings_for(known.name, known.starts_at, view), view, known.name)
        profile = self.profile(piece.profile_sha, piece.profile_id)
        if variant.profile is not None or variant.sets:
            assert known.sheet is not None
            profile = self.compiled_recipe(self.changed_recipe(known.sheet, variant.profile, variant.sets))
        return prepare(piece, profile, known.events, course, view.now), profile

    def _poured_at(self, known: Known, piece: Piece, at: datetime, view: View) -> Piece:
        if known.pour is not None:
            raise BadInput(f"{known.name} is poured already", where="--pour-at", remedy="leave the pour out")
        if at <= view.now:
            raise BadInput("that is already past", where="--pour-at", remedy="name a moment to come")
        return replace(piece, planned_pour_at=at)

    def _others(self, name: str, view: View) -> "list[Prepared]":
        from curetrack.timeline.solve import prepare

        return [
            prepare(known.piece, profile, known.events, course, view.now)
            for known, profile, course, _ in self._together(self._active(view), view)
            if known.name != name and known.piece is not None
        ]


def _twice(what: str, remedy: str) -> BadInput:
    return BadInput("named twice", where="compare", found=what, remedy=remedy)


def _alone(timeline: "Timeline") -> "Timeline":
    """With the warning that nobody can be called, of a lift rather than of other work. (The setting 1 does not say so
    much: it may not have been set.)"""
    from curetrack.timeline.types import Alert

    wants = [x for x in timeline.lines if x.crew > 1 and x.state not in ("done", "skipped") and not x.optional]
    if not wants:
        return timeline
    line = max(wants, key=lambda line: (line.kind == "lift", line.crew))
    alert = Alert("warn", "short_crew", 1.0, float(line.crew), at=line.plan_at, step=line.step)
    return replace(timeline, alerts=(*timeline.alerts, alert))
