"""What every command needs: the ledger, the settings, compiled profiles, courses, and one piece as it stands.

Everything is read lazily and kept for as long as the Shop lives; the facts themselves are read anew each time.
"""

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any, Self, TypeVar

from msgspec import Struct

from curetrack.errors import UnknownName
from curetrack.facts import Event, Piece, Reading
from curetrack.instants import to_h
from curetrack.ledger import Ledger, View
from curetrack.ledger.replay import Entry, Sheet, effective, events_of, piece_of, sheet_of
from curetrack.ledger.times import time_to_ms
from curetrack.settings import Settings, read_settings

if TYPE_CHECKING:  # heavy for commands that do not need them
    from pathlib import Path

    from curetrack.climate.course import Course
    from curetrack.ledger.writer import Writer
    from curetrack.profile.types import Profile
    from curetrack.timeline.types import Timeline

__all__ = ["Desk", "Known", "newest_water", "together"]

LEDGER_NAME = "ledger.sqlite"
ADDED_AT_MOST = 50  # readings that are added to a course one by one; for more it is built anew
LOOK_BACK = timedelta(days=2)  # where nothing was read before the pour
HELD_BACK = timedelta(hours=2)  # a first reading holds so long backwards (climate/gaps.py)
LOOKED_AT = timedelta(hours=79)  # a gap's plausible range looks 24 h back, a shop's habit three days and a step of 6 h

T = TypeVar("T")


class Known(Struct, frozen=True):
    """One name as the ledger has it in a view. `piece` and `sheet` are None where nothing in force writes it down."""

    name: str
    entries: list[Entry]  # in force, in the view
    piece: Piece | None
    sheet: Sheet | None

    @property
    def events(self) -> list[Event]:
        """The events in force."""
        return events_of(self.entries)

    @property
    def pour(self) -> Event | None:
        """The pour, None while the piece is planned."""
        return next((event for event in reversed(self.events) if event.kind == "pour"), None)

    @property
    def dropped(self) -> Event | None:
        """The event that ended the piece, if any."""
        return next((event for event in reversed(self.events) if event.kind == "drop"), None)

    @property
    def starts_at(self) -> datetime | None:
        """The first batch, None while the piece is planned."""
        return min((self.pour.at, *self.pour.batches)) if self.pour is not None else None


class _Kept(Struct, frozen=True):
    """A course with the ids of its readings, and what else it was made of."""

    ids: tuple[int, ...]
    said: tuple[int, str]
    course: "Course"


class Desk:
    """The workspace that the parts of the Shop share."""

    def __init__(self, home: "str | Path", *, ledger: Ledger | None = None, settings: Settings | None = None) -> None:
        self._home = home
        self.ledger = ledger if ledger is not None else Ledger(os.path.join(home, LEDGER_NAME))  # noqa: PTH118
        self._settings = settings
        self._profiles: dict[str, Profile] = {}
        self._courses: dict[str, _Kept] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Closes the ledger's file."""
        self.ledger.close()

    @cached_property
    def home(self) -> "Path":
        """The home folder. As a path only for who asks: pathlib is slow to import."""
        from pathlib import Path

        return Path(self._home)

    @property
    def settings(self) -> Settings:
        """What the maker has set, defaults filled in."""
        if self._settings is None:
            self._settings = read_settings(self._home)
        return self._settings

    # --- what is known ---------------------------------------------------------------------------------------------

    def known(self, name: str, view: View | None = None) -> Known:
        """One name, written down or not."""
        from curetrack.shop.plausible import spelled

        name = spelled(name)
        return self._known(name, self.ledger.entries(name), self.ledger.sheets(name), view)

    def known_piece(self, name: str, view: View | None = None) -> tuple[Known, Piece]:
        """A piece that is written down in the view. Raises UnknownName for another."""
        known = self.known(name, view)
        if known.piece is None:
            raise UnknownName("piece", known.name[:60], sorted(other.name for other in self.all_known(view)))
        return known, known.piece

    def all_known(self, view: View | None = None) -> list[Known]:
        """All pieces that are written down in the view, in the order of their first mention."""
        by_name: dict[str, list[Entry]] = {}
        for entry in self.ledger.entries():
            by_name.setdefault(entry.piece, []).append(entry)
        sheets = self.ledger.sheets()
        found = [self._known(name, entries, sheets, view) for name, entries in by_name.items()]
        return [known for known in found if known.piece is not None]

    @staticmethod
    def _known(name: str, entries: Sequence[Entry], sheets: dict[int, Sheet], view: View | None) -> Known:
        in_force = effective(entries, view)
        return Known(name, in_force, piece_of(in_force, sheets), sheet_of(in_force, sheets))

    # --- what follows from it --------------------------------------------------------------------------------------

    def profile(self, sha: str, profile_id: str) -> "Profile":
        """The compiled profile of a snapshot; each is compiled once."""
        if sha not in self._profiles:
            self._profiles[sha] = self._kept_profile(sha, profile_id)
        return self._profiles[sha]

    def _kept_profile(self, sha: str, profile_id: str) -> "Profile":
        """The profile as it was compiled once, else compiled from the ledger's snapshot and kept for the next time."""
        if self.ledger.is_in_memory:
            return self.compiled(self.ledger.document(sha), profile_id, sha)
        from curetrack.shop import cache

        kept = cache.fetch(self._home, sha, profile_id)
        if kept is None:
            kept = self.compiled(self.ledger.document(sha), profile_id, sha)
            cache.keep(self._home, sha, kept)
        return kept

    def compiled(
        self, document: dict[str, Any], profile_id: str, sha: str, origins: Mapping[str, str] | None = None
    ) -> "Profile":
        """The profile of a document; raises Faults if it is none. `origins`: see profile.pile."""
        from curetrack.profile.load import compile_profile

        if sha not in self._profiles:
            self._profiles[sha] = compile_profile(document, profile_id, profile_id, origins)
        return self._profiles[sha]

    def course(self, readings: Sequence[Reading], view: View | None, key: str = "") -> "Course":
        """The temperatures of these readings, and of the newest forecast after them.

        The last course under a key ("" for shared readings, else a piece's name) is kept with its sums: the same
        readings are not summed up again, and a few more at the end are added to it.
        """
        forecast, zone = self.ledger.forecast(view), self.settings.zone
        ids = tuple(reading.id for reading in readings)
        said = (forecast.id if forecast is not None else 0, str(zone))
        kept = self._courses.get(key)
        course = None if kept is None or kept.said != said else _continued(kept, ids, readings)
        if course is None:
            from curetrack.climate.course import build_course

            course = build_course(readings, forecast, zone)
        if 0 not in ids:  # a reading that is only supposed has no id
            self._courses[key] = _Kept(ids, said, course)
        return course

    def readings_for(self, name: str, starts_at: datetime | None, view: View) -> list[Reading]:
        """The readings that a piece's course is made of."""
        return self.ledger.readings_since(self.readings_from_ms(name, starts_at, view), name, view)

    def readings_from_ms(self, name: str, starts_at: datetime | None, view: View) -> int:
        """From when on readings matter to a piece that starts then (None: what is not poured): from a day before the
        last temperature that was read well before its pour, since the stretch in between may be a gap, and a gap looks
        a day back. Older readings change nothing, so that a course made for several pieces serves each of them."""
        start = view.now if starts_at is None else min(starts_at, view.now)
        last_ms = self.ledger.last_temperature_ms(time_to_ms(start - HELD_BACK), name, view)
        return time_to_ms(start - LOOK_BACK) if last_ms is None else last_ms - round(LOOKED_AT.total_seconds() * 1000)

    def solved(
        self, known: Known, view: View, *, piece: Piece | None = None, events: Iterable[Event] | None = None,
        readings: Sequence[Reading] = (), profile: "Profile | None" = None, only_next: bool = False,
        used: list[Reading] | None = None,
    ) -> "Timeline":  # fmt: skip
        """The timeline of a piece; what is given replaces (`readings`: adds to) what the ledger knows. `used`: what
        `readings_for` would give, where it is at hand."""
        from curetrack.timeline.solve import solve

        piece = piece if piece is not None else known.piece
        assert piece is not None
        if used is None:
            used = self.readings_for(known.name, known.starts_at, view)
        if readings:
            used = together(used, readings)
        return solve(
            piece, profile or self.profile(piece.profile_sha, piece.profile_id),
            list(events) if events is not None else known.events, self.course(used, view, known.name), view.now,
            water_degC=newest_water(used, view.now), only_next=only_next, people=self.settings.crew,
        )  # fmt: skip

    # --- writing ---------------------------------------------------------------------------------------------------

    def write(self, decide: "Callable[[], Callable[[Writer], T]]") -> T:
        """Decides and writes in one transaction. `decide` reads, raises what must be refused, and returns what to
        write; with no ledger yet it is asked first, so that a refusal creates nothing."""
        if not self.ledger.exists:
            decide()
        with self.ledger.change() as writer:
            return decide()(writer)


def together(shared: Sequence[Reading], own: Sequence[Reading]) -> list[Reading]:
    """Readings in order of time, then of record, as the ledger gives them."""
    return sorted([*shared, *own], key=lambda reading: (reading.at_h, reading.id))


def newest_water(readings: Sequence[Reading], now: datetime) -> float | None:
    """The newest temperature of the curing water within the last day, degC."""
    since = to_h(now) - 24.0
    found = [r for r in readings if r.place == "water" and r.temp_degC is not None and r.at_h >= since]
    return found[-1].temp_degC if found else None


def _continued(kept: _Kept, ids: tuple[int, ...], readings: Sequence[Reading]) -> "Course | None":
    """The kept course with what has come in since; None if it is not these readings' beginning."""
    old = len(kept.ids)
    if not 0 < old <= len(ids) <= old + ADDED_AT_MOST or ids[:old] != kept.ids:
        return None
    course = kept.course
    for reading in readings[old:]:
        course = course.with_reading(reading)
    return course
