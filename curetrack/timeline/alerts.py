"""Warnings that the conditions raise, each with its number. What they mean in words, and the remedy, is in words/.

One function for each. The published limits are checked against tests/reference.
"""

import math
from collections.abc import Iterable, Sequence
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from curetrack.concrete.evaporation import evaporation_kg_m2_h
from curetrack.concrete.handling import aid, team_limit_kg
from curetrack.instants import from_h
from curetrack.timeline.crew import crew_needed
from curetrack.timeline.frost import Frost
from curetrack.timeline.placed import Basis, Placed
from curetrack.timeline.types import Alert, Grade, Line

__all__ = ["Scene", "alerts"]

PLACING_degC = (13.0, 29.0)  # shop, bags, water and form at the pour: 55 to 85 degF (published guidance, second-hand)
FORM_LEAST_degC = 5.0
MIX_WARN_degC, MIX_MOST_degC = 32.0, 35.0  # 35: ACI 301-20 and 305.1-14, 95 degF at discharge (second-hand)
COLD_CURE_degC = 13.0  # ACI 306: 55 degF for sections under 300 mm (second-hand)
COLD_CURE_FOR_h = 72.0
WATCH_kg_m2_h, ACT_kg_m2_h = 0.5, 1.0  # FHWA-HRT-05-038 chapter 5: caution, action (read)
COOLING_K = 14.0  # in 24 h: half of ACI 306's 28 for thin pieces, judgement (from memory)
COOLING_SEEN_h, COOLING_STEP_h = 7 * 24.0, 6.0
CONDENSATION_K = 3.0  # coating practice after ISO 8502-4, as described by others (second-hand)
COLD_WATER_K = 11.0  # older guidance for curing water; field trials saw no harm at 30 K, so only a hint (second-hand)
STALE_h = 12.0


class Scene(Struct, frozen=True):
    """What the warnings look at: the solve's basis, the frost question, placed nodes and their lines."""

    basis: Basis
    frost: Frost | None
    placed: dict[str, Placed]
    lines: tuple[Line, ...]
    water_degC: float | None = None


def alerts(scene: Scene) -> tuple[Alert, ...]:
    """All warnings, the gravest first; within a grade in the order of the rules."""
    found: list[Alert] = []
    if scene.basis.pour_h is not None:
        for ask in (_frost, _placing, _cold_cure, _evaporation, _cooling, _gaps):
            found += ask(scene)
    for ask in (_inputs, _condensation, _cold_water, _lifts, _short_crew, _need_by, _lines):
        found += ask(scene)
    found = _short_said_once(_lift_said_once(found), scene.lines)
    order = {"hold": 0, "warn": 1, "hint": 2}
    return tuple(sorted(found, key=lambda alert: order[alert.grade]))


# --- cold ----------------------------------------------------------------------------------------------------------


def _frost(scene: Scene) -> Iterable[Alert]:
    frost = scene.frost
    if frost is None:
        return
    if frost.froze_h is not None:
        low, high = frost.froze_at_age_h or (0.0, 0.0)
        if frost.suspect:
            yield Alert("hold", "suspect", low, high, "h", from_h(frost.froze_h))
        else:
            yield Alert("hint", "suspect_cleared", low, high, "h", from_h(frost.froze_h), _at(frost.cleared_h))
    if frost.ahead_h is not None:
        yield Alert("hold", "frost", frost.ahead_degC, 0.0, "degC", from_h(frost.ahead_h), _at(frost.bears_h))
    elif frost.maybe_h is not None:
        start = from_h(frost.maybe_h)
        yield Alert("warn", "frost", frost.maybe_degC, 0.0, "degC", start, _at(frost.bears_h), subject="maybe")
    if frost.unknown_h is not None:
        yield Alert("warn", "frost_unknown", at=from_h(frost.unknown_h))


def _placing(scene: Scene) -> Iterable[Alert]:
    """Temperature at the pour: the slab's (form and mix), and if that is right the air's."""
    basis = scene.basis
    if not basis.course.has_temperature or basis.pour_h is None or basis.now_h > basis.pour_h + 72.0:
        return
    slab = basis.course.temp_degC(basis.pour_h)
    at = from_h(basis.pour_h)
    low, high = PLACING_degC
    if slab > MIX_WARN_degC:
        grade: Grade = "hold" if slab > MIX_MOST_degC and not basis.poured else "warn"
        yield Alert(grade, "mix_hot", slab, MIX_MOST_degC if slab > MIX_MOST_degC else MIX_WARN_degC, "degC", at)
    elif not low <= slab <= high:
        grade = "hold" if slab < FORM_LEAST_degC and not basis.poured else "warn"
        yield Alert(grade, "placing", slab, low if slab < low else high, "degC", at)
    elif not low <= (air := basis.course.temp_degC(basis.pour_h, "air")) <= high:
        yield Alert("warn", "placing", air, low if air < low else high, "degC", at, subject="air")


def _cold_cure(scene: Scene) -> Iterable[Alert]:
    """Colder than 13 degC within the first 72 equivalent hours."""
    basis = scene.basis
    if not basis.course.has_temperature or basis.pour_h is None:
        return
    end_h = basis.clocks.reach(basis.pour_h, COLD_CURE_FOR_h).centre
    if end_h <= basis.now_h:
        return
    start_h = max(basis.pour_h, basis.now_h) if basis.poured else basis.pour_h
    lowest, at_h = basis.course.minimum("slab", start_h, min(end_h, start_h + 14 * 24.0), "centre")
    if lowest < COLD_CURE_degC:
        yield Alert("warn", "cold_cure", lowest, COLD_CURE_degC, "degC", from_h(max(at_h, start_h)), _at(end_h))


def _cooling(scene: Scene) -> Iterable[Alert]:
    """Measured: colder by more than 14 K within 24 h, in the first week."""
    basis = scene.basis
    seen_h = basis.course.measured_until_h
    if not basis.poured or basis.pour_h is None or seen_h is None:
        return
    course, start_h, end_h = basis.course, basis.pour_h, min(seen_h, basis.pour_h + COOLING_SEEN_h)
    if start_h >= end_h:
        return
    if course.maximum("slab", start_h, end_h)[0] - course.minimum("slab", start_h, end_h)[0] <= COOLING_K:
        return
    while start_h < end_h:  # the warmest of each few hours, and the coldest within a day after it
        high, high_h = course.maximum("slab", start_h, min(start_h + COOLING_STEP_h, end_h))
        low, low_h = course.minimum("slab", high_h, min(high_h + 24.0, end_h))
        if high - low > COOLING_K:
            yield Alert("warn", "cooling", high - low, COOLING_K, "K", from_h(high_h), from_h(low_h))
            return
        start_h += COOLING_STEP_h


# --- fresh face ------------------------------------------------------------------------------------------------------


def _evaporation(scene: Scene) -> Iterable[Alert]:
    """Uno's evaporation while the face lies open, at now (or at the planned pour)."""
    basis, course = scene.basis, scene.basis.course
    if not course.has_temperature or not course.has_humidity or basis.pour_h is None:
        return
    at_h = max(basis.pour_h, basis.now_h)
    if not _face_fresh_and_open(scene, at_h):
        return
    humidity = course.humidity_pct(at_h)
    if humidity is None:
        return
    wind = course.wind_m_s(at_h) if course.has_wind else 0.0
    rate = evaporation_kg_m2_h(course.temp_degC(at_h), course.temp_degC(at_h, "air"), humidity, wind or 0.0)
    if rate >= WATCH_kg_m2_h:
        need = ACT_kg_m2_h if rate >= ACT_kg_m2_h else WATCH_kg_m2_h
        assumed = "" if course.has_wind else "calm assumed"
        yield Alert("warn", "evaporation", rate, need, "kg/m2/h", from_h(at_h), subject=assumed)


def _face_fresh_and_open(scene: Scene, at_h: float) -> bool:
    """From the pour until a cover is on, or final set has passed without one."""
    pour_h = scene.basis.pour_h
    if pour_h is None or at_h < pour_h:
        return False
    for placed in scene.placed.values():
        if placed.node.step.leaves == "covered" and placed.done_h is not None and placed.done_h >= pour_h:
            return False
    return at_h <= scene.basis.set_clocks.reach(pour_h, scene.basis.mix.final_set_h).slow


# --- what is known ---------------------------------------------------------------------------------------------------


def _gaps(scene: Scene) -> Iterable[Alert]:
    """The longest gap in the readings since the pour."""
    basis = scene.basis
    if not basis.poured or basis.pour_h is None:
        return
    gaps = basis.course.gaps_within(basis.pour_h, basis.now_h)
    if gaps:
        gap = max(gaps, key=lambda g: g.to_h - g.from_h)
        start_h = max(gap.from_h, basis.pour_h)
        yield Alert("hint", "gap", gap.to_h - start_h, 2.0, "h", from_h(start_h), from_h(gap.to_h))


def _inputs(scene: Scene) -> Iterable[Alert]:
    course, basis = scene.basis.course, scene.basis
    if not course.has_temperature:
        yield Alert("warn", "no_temperature")
        return
    seen_h = course.measured_until_h
    young = any(p.is_open and p.node.step.kind not in ("rest", "coat") for p in scene.placed.values())
    if basis.poured and young:
        start_h = seen_h if seen_h is not None else basis.pour_h
        if start_h is not None and basis.now_h - start_h > STALE_h:
            yield Alert("hint", "stale", basis.now_h - start_h, STALE_h, "h", from_h(start_h) if seen_h else None)
    wanting = [line for line in scene.lines if line.open_to_do and any(_wants_humidity(line))]
    if wanting:
        yield Alert("hint", "no_humidity", step=wanting[0].step)


def _wants_humidity(line: Line) -> Iterable[bool]:
    return (reason.rule == "unknown" and reason.subject == "humidity" for reason in line.reasons)


def _condensation(scene: Scene) -> Iterable[Alert]:
    """The next coat is planned for a moment at which dew would sit on the slab, or did when it was put on."""
    course, basis = scene.basis.course, scene.basis
    if not course.has_temperature or not course.has_humidity:
        return
    coats = [p for p in scene.placed.values() if p.node.step.kind == "coat" and p.is_open and p.plan_h is not None]
    if not coats:
        return
    first = min(coats, key=lambda p: p.plan_h or math.inf)
    at_h = first.plan_h or basis.now_h
    if at_h > basis.now_h + 48.0:
        return
    margin = course.dew_margin_K(at_h)
    if margin is not None and margin < CONDENSATION_K:
        yield Alert("warn", "condensation", margin, CONDENSATION_K, "K", from_h(at_h), step=first.node.id)


def _cold_water(scene: Scene) -> Iterable[Alert]:
    """Curing water much colder than the slab: the evidence is disputed, so a hint, and misting is not delayed."""
    course, basis = scene.basis.course, scene.basis
    if scene.water_degC is None or not course.has_temperature or not basis.poured:
        return
    wet = next((line for line in scene.lines if line.kind == "wet" and line.open_to_do), None)
    gap = course.temp_degC(basis.now_h) - scene.water_degC
    if wet is not None and gap > COLD_WATER_K:
        yield Alert("hint", "cold_water", gap, COLD_WATER_K, "K", step=wet.step)


# --- lifts and lines ------------------------------------------------------------------------------------------------


def _lifts(scene: Scene) -> Iterable[Alert]:
    """The next lift is more than its crew should do unaided (published team factors)."""
    basis = scene.basis
    mass = basis.slab.mass_kg(basis.mix.density_lift_kg_m3)
    for placed in scene.placed.values():
        step = placed.node.step
        if step.kind != "lift" or not placed.is_open or step.optional or isinstance(step.crew, int):
            continue
        load, people = (mass / 2.0 if step.crew == "flip" else mass), crew_needed(step, basis.slab, basis.mix)
        if aid(load, people):
            yield Alert(
                "warn", "lift", load, team_limit_kg(min(people, 20)), "kg", _at(placed.plan_h), step=placed.node.id,
                subject=str(people),
            )  # fmt: skip
            return


def _short_crew(scene: Scene) -> Iterable[Alert]:
    """The next step that wants more people than can be called."""
    basis = scene.basis
    for line in scene.lines if basis.people > 1 else ():
        if line.crew > basis.people and line.state not in ("done", "skipped") and not line.optional:
            yield Alert("warn", "short_crew", float(basis.people), float(line.crew), at=line.plan_at, step=line.step)
            return


def _lift_said_once(found: list[Alert]) -> list[Alert]:
    """Too few for a step that is too heavy for its crew as well: one warning, the load in the other."""
    lift = next((alert for alert in found if alert.rule == "lift"), None)
    short = next((alert for alert in found if alert.rule == "short_crew"), None)
    if lift is None or short is None or lift.step != short.step:
        return found
    return [replace(short, heavy=lift) if alert is short else alert for alert in found if alert is not lift]


def _short_said_once(found: list[Alert], lines: Sequence[Line]) -> list[Alert]:
    """Before a pour that is too near every step is too late: one warning, for the one that is so by most."""
    short = {line.step: note.value or 0.0 for line in lines for note in line.notes if note.rule == "short"}
    clashes = [alert for alert in found if alert.rule == "clash" and alert.step in short]
    most = max(clashes, key=lambda alert: short[alert.step], default=None)
    return [alert for alert in found if alert is most or alert not in clashes]


def _need_by(scene: Scene) -> Iterable[Alert]:
    """The last step that wants somebody ends after the piece is needed."""
    basis = scene.basis
    if basis.need_by_h is None:
        return
    ends = [
        (placed.plan_h + placed.hands_h, node_id)
        for node_id, placed in scene.placed.items()
        if placed.is_open and placed.plan_h is not None and math.isfinite(placed.plan_h)
        and not placed.node.step.optional and (placed.hands_h > 0.0 or placed.node.step.check)
    ]  # fmt: skip
    end_h, step = max(ends, default=(-math.inf, ""))
    if end_h > basis.need_by_h:
        yield Alert("warn", "need_by", end_h - basis.need_by_h, unit="h", at=from_h(end_h),
                    until=from_h(basis.need_by_h), step=step)  # fmt: skip


def _lines(scene: Scene) -> Iterable[Alert]:
    """Overrides, shown ever after; windows that have closed; plans that come too late for their window."""
    for line in scene.lines:
        for note in line.notes:
            if note.rule == "override":
                yield Alert("hint", "override", at=note.at, step=line.step, subject=note.text)
            elif note.rule == "missed" and line.state == "late":
                yield Alert("warn", "past_limit", at=note.at, step=line.step, subject=note.text)
            elif note.rule == "clash" and line.state == "waiting":
                yield Alert("warn", "clash", at=line.plan_at, until=note.at, step=line.step, subject=note.text)
            elif note.rule == "quiet" and line.state == "waiting":
                yield Alert("warn", "quiet", note.value, unit="h", at=note.at, until=line.late_at, step=line.step)


def _at(at_h: float | None) -> datetime | None:
    return None if at_h is None or not math.isfinite(at_h) else from_h(at_h)
