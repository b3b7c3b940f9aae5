"""solve(): from the facts of one piece, its profile, a course of temperatures and `now` to its timeline.

    history   the events, sorted                          history.py
    steps     the profile's, expanded for this shape      profile/expand.py
    graph     rounds, repeats, order                      graph.py
    walk      one forward pass; the rules of each step    walk.py, rules.py, combine.py
    lines     states, bands, reasons                      lines.py
    alerts    what the conditions warn of                 alerts.py, frost.py

Pure: nothing here reads a clock, a file or a setting.
"""

from collections.abc import Sequence
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from curetrack.climate.course import Course
from curetrack.climate.warmed import OwnHeat
from curetrack.concrete.heat import ThinSlab, in_its_form_W_m2K
from curetrack.concrete.maturity import band_laws
from curetrack.concrete.setting import SetTable
from curetrack.facts import Event, Piece
from curetrack.instants import from_h, to_h
from curetrack.profile.expand import expand
from curetrack.profile.types import Mix, Profile
from curetrack.timeline.alerts import Scene, alerts
from curetrack.timeline.clocks import Clocks
from curetrack.timeline.crew import slab_of
from curetrack.timeline.frost import Frost, read_frost
from curetrack.timeline.graph import Graph, build_graph
from curetrack.timeline.history import History, read_history
from curetrack.timeline.lines import line_of
from curetrack.timeline.placed import Basis
from curetrack.timeline.planning.agreed import Agreed
from curetrack.timeline.types import Alert, Timeline
from curetrack.timeline.walk import Walk

__all__ = ["Prepared", "clocks_of", "course_of_slab", "prepare", "solve", "solve_prepared"]


UNPLANNED = (Alert("warn", "unplanned"),)


class Prepared(Struct, frozen=True):
    """One piece before its walk: what the solver and the planner both start from."""

    piece: Piece
    profile: Profile
    history: History
    basis: Basis
    graph: Graph
    frost: Frost | None


def solve(
    piece: Piece, profile: Profile, events: Sequence[Event], course: Course, now: datetime,
    *, water_degC: float | None = None, only_next: bool = False, people: int = 1,
) -> Timeline:  # fmt: skip
    """The timeline of one piece at `now`.

    events   those in force (nothing withdrawn), in any order
    course   the piece's temperatures and humidity, measured and forecast
    now      aware; facts after it should have been left out by the caller
    water_degC   the newest reading of the curing water, if any
    only_next   only the open lines that wait for no other step, or are planned within a day: less work, for a list
    people   who can be called, the maker included; 1: not said
    """
    prepared = prepare(piece, profile, events, course, now)
    return solve_prepared(prepared, now, water_degC=water_degC, only_next=only_next, people=people)


def prepare(piece: Piece, profile: Profile, events: Sequence[Event], course: Course, now: datetime) -> Prepared:
    """The facts of one piece sorted, and its steps in walking order."""
    history, now_h = read_history(events), to_h(now)
    course = course_of_slab(course, piece, profile, history.last_batch_h)
    basis = _basis(piece, profile, history, course, now_h)
    frost = None
    if basis.pour_h is not None:
        frost = read_frost(basis.clocks, profile.mix, history, basis.pour_h, now_h)
        basis = replace(basis, spoilt=frost.suspect)
    steps = expand(profile, piece.shape, pour_air_degC=_air_at_pour(course, basis))
    return Prepared(piece, profile, history, basis, build_graph(steps, history, now_h), frost)


def solve_prepared(
    prepared: Prepared, now: datetime, *, water_degC: float | None = None, only_next: bool = False,
    agreed: dict[str, Agreed] | None = None, people: int = 1, unplanned: bool = False,
) -> Timeline:  # fmt: skip
    """The same from there on. `agreed`: when the shop's plan has each step done (planning/); `unplanned`: there should
    have been a plan, and there is none."""
    piece, profile, history, frost = prepared.piece, prepared.profile, prepared.history, prepared.frost
    course, now_h, basis = prepared.basis.course, prepared.basis.now_h, prepared.basis
    if agreed or people != 1:
        basis = replace(basis, agreed=agreed or {}, people=people)
    placed = Walk(basis, prepared.graph, only_next=only_next).run()
    shown = [p for p in placed.values() if p.is_next(now_h)] if only_next else placed.values()
    lines = tuple(line_of(piece.name, node, basis) for node in shown)
    age_h, equivalent_h, equivalent_band, strength, strength_band = _maturity_now(basis, profile.mix)
    scene = Scene(basis, frost, placed, lines, water_degC)
    return Timeline(
        piece=piece.name, profile_id=profile.id, now=now,
        poured_at=from_h(basis.pour_h) if basis.poured and basis.pour_h is not None else None,
        planned_pour_at=piece.planned_pour_at, age_h=age_h, equivalent_age_h=equivalent_h, strength_MPa=strength,
        equivalent_age_band_h=equivalent_band, strength_band_MPa=strength_band,
        slab_degC=course.temp_degC(now_h) if course.has_temperature else None,
        last_reading_at=None if course.measured_until_h is None else from_h(course.measured_until_h),
        mass_lift_kg=basis.slab.mass_kg(profile.mix.density_lift_kg_m3), lines=lines,
        alerts=(*alerts(scene), *(UNPLANNED if unplanned else ())),
        suspect=frost is not None and frost.suspect, dropped=history.dropped,
    )  # fmt: skip


def course_of_slab(course: Course, piece: Piece, profile: Profile, pour_h: float | None) -> Course:
    """The course with the slab computed from the air, where the mix names its cement and only the air is measured: in
    its form under a sheet for all of the time, which its first days decide (concrete/heat.py)."""
    mix = profile.mix
    if pour_h is None or mix.cement_kg_m3 <= 0.0:
        return course
    thickness_m = min(max(piece.shape.thickness_m, 0.005), 0.1)
    slab = ThinSlab(thickness_m, mix.cement_kg_m3, in_its_form_W_m2K(), mix.density_lift_kg_m3)
    return course.in_slab(OwnHeat(pour_h, slab, mix.maturity))


def clocks_of(course: Course, mix: Mix) -> Clocks:
    """The mix's own law, capped above the reference, within the band of the usual laws (concrete/maturity.py)."""
    laws = band_laws(mix.maturity, mix.reference_degC)
    return Clocks(course, laws[1], laws)


def _basis(piece: Piece, profile: Profile, history: History, course: Course, now_h: float) -> Basis:
    mix, slab = profile.mix, slab_of(piece.shape)
    clocks = clocks_of(course, mix)
    set_law = SetTable(mix.reference_degC)
    materials = {}
    for name, law in profile.materials.items():
        laws = band_laws(law, mix.reference_degC)
        materials[name] = Clocks(course, laws[1], laws)
    poured = history.last_batch_h is not None
    planned_h = None if piece.planned_pour_at is None else max(to_h(piece.planned_pour_at), now_h)
    face_m2 = slab.area_m2
    volume_m3 = face_m2 * slab.thickness_m
    return Basis(
        now_h=now_h, course=course, mix=mix, slab=slab, clocks=clocks,
        set_clocks=Clocks(course, set_law, (set_law, *clocks.band)), materials=materials, history=history,
        pour_h=history.last_batch_h if poured else planned_h, first_h=history.first_batch_h if poured else planned_h,
        poured=poured, created_h=to_h(piece.created_at), face_m2=face_m2,
        bags=volume_m3 / mix.bag.yield_m3 if mix.bag else 0.0,
        perimeter_m=slab.perimeter_m, need_by_h=None if piece.need_by is None else to_h(piece.need_by),
    )  # fmt: skip


def _air_at_pour(course: Course, basis: Basis) -> float | None:
    if not course.has_temperature or basis.pour_h is None:
        return None
    return course.temp_degC(basis.pour_h, "air")


Range = tuple[float, float] | None
Cure = tuple[float | None, float | None, Range, float | None, Range]


def _maturity_now(basis: Basis, mix: Mix) -> Cure:
    """Age, equivalent age [h] and strength [MPa] with their bands at now; nothing before the pour."""
    if not basis.poured or basis.pour_h is None:
        return None, None, None, None, None
    age_h = max(0.0, basis.now_h - basis.pour_h)
    if not basis.course.has_temperature:
        return age_h, None, None, None, None
    equivalent_h = basis.clocks.gained(basis.pour_h, basis.now_h)
    low_h, high_h = basis.clocks.gained_band(basis.pour_h, basis.now_h)
    growth = mix.growth
    band = growth.strength_MPa(low_h) * (1.0 - mix.spread), growth.strength_MPa(high_h) * (1.0 + mix.spread)
    return age_h, equivalent_h, (low_h, high_h), growth.strength_MPa(equivalent_h), band
