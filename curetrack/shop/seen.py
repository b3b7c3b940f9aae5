"""What follows from the facts, and writes none: pieces as they stand, and their timelines."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from curetrack.facts import Event, Forecast, Piece
from curetrack.instants import to_h
from curetrack.ledger import View
from curetrack.ledger.times import MS_PER_HOUR
from curetrack.shop.desk import Desk, Known, newest_water, together
from curetrack.shop.planner import is_planned, plan_or_none

if TYPE_CHECKING:
    from datetime import datetime

    from curetrack.climate.course import Course
    from curetrack.profile.types import Profile
    from curetrack.timeline.curve import Curve
    from curetrack.timeline.planning.plan import Plan
    from curetrack.timeline.solve import Prepared
    from curetrack.timeline.types import Timeline

__all__ = ["Seen"]

SAME_H = 1e-7  # less than a millisecond


class Seen(Desk):
    """The part of the Shop that only looks. By itself it serves the commands that are to answer at once."""

    def pieces(self, view: View, *, dropped: bool = False) -> list[Piece]:
        """Pieces that are written down, in the order of their first mention; dropped ones only if asked for."""
        with self.ledger.snapshot():
            known = self.all_known(view)
        return [k.piece for k in known if k.piece is not None and (dropped or k.dropped is None)]

    def piece(self, name: str, view: View) -> Piece:
        """One piece, dropped or not. Raises UnknownName."""
        return self.known_piece(name, view)[1]

    def events(self, name: str, view: View) -> list[Event]:
        """A piece's events in force, in order of happening."""
        return self.known_piece(name, view)[0].events

    def profile_of(self, name: str, view: View) -> "Profile":
        """The profile that a piece follows in the view: a snapshot, with its `--set` values."""
        with self.ledger.snapshot():
            piece = self.piece(name, view)
            return self.profile(piece.profile_sha, piece.profile_id)

    def timeline(self, name: str, view: View) -> "Timeline":
        """The timeline of one piece. Raises UnknownName."""
        with self.ledger.snapshot():
            known, _ = self.known_piece(name, view)
            if not is_planned(self.settings) or known.dropped is not None or self._over(known):
                return self.solved(known, view)
            return self._with_mends(known, view)

    def timelines(self, view: View, *, only_next: bool = False) -> "list[Timeline]":
        """The timelines of all pieces that are not dropped and not finished; pieces without readings of their own
        share one course. `only_next` leaves out lines that are far off (timeline.solve): less work."""
        solved = [solve_it() for solve_it in self.prepared(view, only_next=only_next)]
        return [timeline for timeline in solved if not timeline.finished]

    def prepared(self, view: View, *, only_next: bool = False) -> "list[Callable[[], Timeline]]":
        """The same as work still to be done, one call for each piece: for who must not be busy for long. All facts
        are of one moment. Finished pieces are among them."""
        with self.ledger.snapshot():
            if is_planned(self.settings):
                return list(self._on_calendar(view, only_next=only_next).values())
            return [
                _later(known, profile, course, view, self.settings.crew, water=water, only_next=only_next)
                for known, profile, course, water in self._together(self._active(view), view)
            ]

    def curve(self, name: str, view: View, start: "datetime", end: "datetime", *, count: int = 120) -> "Curve":
        """Temperature and strength of a piece from `start` to `end`, for a chart. Raises UnknownName."""
        from curetrack.timeline.curve import curve_of

        with self.ledger.snapshot():
            known, piece = self.known_piece(name, view)
            used = self.readings_for(known.name, known.starts_at, view)
            timeline = self.solved(known, view, used=used)
            course = self.course(used, view, known.name)
            profile = self.profile(piece.profile_sha, piece.profile_id)
        return curve_of(piece, profile, known.events, course, timeline, start=start, end=end, count=count)

    def _over(self, known: Known) -> bool:
        """Whether the ticks alone say that nothing is left to do: then no course is needed to see it."""
        from curetrack.timeline.over import over_by_ticks

        piece = known.piece
        assert piece is not None
        return over_by_ticks(piece.shape, self.profile(piece.profile_sha, piece.profile_id), known.events)

    def _active(self, view: View) -> list[Known]:
        """Pieces that are neither dropped nor finished."""
        return [known for known in self.all_known(view) if known.dropped is None and not self._over(known)]

    def _on_calendar(self, view: View, *, only_next: bool) -> "dict[str, Callable[[], Timeline]]":
        """Of each active piece the work still to be done, once all are planned on one calendar."""
        from curetrack.timeline.solve import solve_prepared

        found, plan = self._on_plan(view)
        return {
            name: partial(
                solve_prepared, prepared, view.now, water_degC=water, only_next=only_next,
                agreed=None if plan is None else plan.agreed[name], people=self.settings.crew, unplanned=plan is None,
            )
            for name, (prepared, water) in found.items()
        }  # fmt: skip

    def _on_plan(self, view: View) -> "tuple[dict[str, tuple[Prepared, float | None]], Plan | None]":
        """Each active piece prepared, with the newest temperature of its water; and the plan of all."""
        from curetrack.timeline.solve import prepare

        found = {
            known.name: (prepare(_piece_of(known), profile, known.events, course, view.now), water)
            for known, profile, course, water in self._together(self._active(view), view)
        }
        return found, plan_or_none([prepared for prepared, _ in found.values()], self.settings, view.now)

    def _with_mends(self, known: Known, view: View) -> "Timeline":
        """One piece on the shop's calendar; where windows clash, with what would mend it."""
        from curetrack.timeline.solve import solve_prepared

        found, plan = self._on_plan(view)
        prepared, water = found[known.name]
        timeline = solve_prepared(
            prepared, view.now, water_degC=water, agreed=None if plan is None else plan.agreed[known.name],
            people=self.settings.crew, unplanned=plan is None,
        )  # fmt: skip
        if plan is None or not any(alert.rule == "clash" for alert in timeline.alerts):
            return timeline
        from curetrack.shop.mends import mended

        again = partial(self._otherwise, known, prepared, view)
        return mended(timeline, plan, prepared, self.settings, again)

    def _otherwise(
        self, known: Known, prepared: "Prepared", view: View, temp_degC: float | None, pour_at: "datetime | None"
    ) -> "Prepared":
        """The same piece with the shop at a temperature from now on, or poured at another moment."""
        from curetrack.timeline.solve import prepare

        piece, course = prepared.piece, prepared.basis.course
        if temp_degC is not None:
            course = self._course_at(known, temp_degC, view)
        if pour_at is not None:
            piece = replace(piece, planned_pour_at=pour_at)
        return prepare(piece, prepared.profile, known.events, course, view.now)

    def _course_at(self, known: Known, temp_degC: float, view: View) -> "Course":
        """A piece's course with the shop at a temperature from now on."""
        from curetrack.climate.course import build_course

        used = self.readings_for(known.name, known.starts_at, view)
        return build_course(used, Forecast("steady", to_h(view.now), temp_degC), self.settings.zone)

    def _together(self, active: Sequence[Known], view: View) -> "Iterator[tuple[Known, Profile, Course, float | None]]":
        """Each piece with its profile, its course and the newest temperature of the water. The shared readings are read
        once; the pieces that have none of their own share one course."""
        own = self.ledger.pieces_with_readings()
        starts_ms = {known.name: self.readings_from_ms(known.name, known.starts_at, view) for known in active}
        from_ms = min(starts_ms.values(), default=0)
        shared = self.ledger.readings_since(from_ms, "", view) if active else []
        course = self.course(shared, view) if any(known.name not in own for known in active) else None
        water = newest_water(shared, view.now)
        for known in active:
            piece = _piece_of(known)
            profile = self.profile(piece.profile_sha, piece.profile_id)
            if known.name in own or course is None:
                used = together(shared, self.ledger.own_readings_since(from_ms, known.name, view))
                from_h = starts_ms[known.name] / MS_PER_HOUR - SAME_H
                used = [reading for reading in used if reading.at_h >= from_h]
                yield known, profile, self.course(used, view, known.name), newest_water(used, view.now)
            else:
                yield known, profile, course, water


def _piece_of(known: Known) -> Piece:
    assert known.piece is not None
    return known.piece


def _later(
    known: Known, profile: "Profile", course: "Course", view: View, people: int, *, water: float | None, only_next: bool
) -> "Callable[[], Timeline]":
    from curetrack.timeline.solve import solve

    return partial(
        solve, _piece_of(known), profile, known.events, course, view.now, water_degC=water, only_next=only_next,
        people=people,
    )  # fmt: skip
