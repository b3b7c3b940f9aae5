"""From a placed node to the line that people and programs read: state, band, check, reasons, notes."""

import math
from datetime import datetime

from curetrack.facts import Event
from curetrack.instants import from_h
from curetrack.profile.types import Step
from curetrack.timeline.clocks import When
from curetrack.timeline.crew import crew_needed
from curetrack.timeline.graph import POUR
from curetrack.timeline.placed import Basis, Placed
from curetrack.timeline.rules import Met
from curetrack.timeline.types import Band, Closes, Line, Note, Reason, State

__all__ = ["line_of", "state_of"]

SECOND_h = 1.0 / 3600.0  # instants are shown to the second; who acts on a shown instant must not be a fraction too soon


def line_of(piece: str, placed: Placed, basis: Basis) -> Line:
    """The line of one placed node."""
    node, step = placed.node, placed.node.step
    state = state_of(placed, basis.now_h)
    missed = _missed(placed, basis.now_h)
    check = missed if missed and _redo_opens(step) else step.check
    held = step.hold != "no" or bool(placed.stopped_by)
    stopped = bool(placed.stopped_by) and placed.is_open
    look_from = _look_from(placed, basis)
    return Line(
        piece=piece, step=node.id, title=step.title, kind=step.kind, state=state, hold=held, check=check or None,
        round=node.round, ready_at=_shown(placed.when.centre if placed.when else None), plan_at=_shown(placed.plan_h),
        late_at=_shown(placed.late_h), done_at=_shown(placed.done_h), band=_band(placed.when, 0),
        band_method=_band(placed.when, 2), band_weather=_band(placed.when, 4),
        check_from=None if stopped else _check_from(placed), opens_at=None if stopped else _shown(placed.gate.opens_h),
        reasons=_reasons(placed, basis), cautions=step.cautions, crew=crew_needed(step, basis.slab, basis.mix),
        hands_on_h=placed.hands_h, say=step.say, fail=step.fail, loud=step.loud, optional=step.optional,
        open_to_do=placed.is_open and not placed.blockers, check_passed_at=_shown(placed.passed_h),
        after=node.after, waits_for=placed.blockers if placed.is_open else (), again=step.again,
        notes=_notes(placed, basis, missed), look_from=_shown(look_from),
        look_every_h=step.checkin.every_h if step.checkin else None, basis=step.basis, floor_at=_shown(placed.floor_h),
        opened_at=_opened_at(placed, state), put_off_until=_shown(basis.history.later_h.get(node.id)),
        closes=_closes(placed),
    )  # fmt: skip


def state_of(placed: Placed, now_h: float) -> State:
    """waiting, ready, late, done or skipped: nothing else (DEVELOPERS.md, "States")."""
    if placed.done_h is not None:
        return "done"
    if not placed.is_open:
        return "skipped"
    if placed.blockers or placed.stopped_by or placed.floor_h is None:
        return "waiting"
    late = placed.late_h is not None and now_h > placed.late_h + SECOND_h and not placed.node.step.optional
    redo = _redo_opens(placed.node.step)
    if late and redo and placed.redo_h is None:
        return "late"
    if not _opened(placed, now_h):
        return "waiting"
    return "late" if late and not redo else "ready"


def _opened(placed: Placed, now_h: float) -> bool:
    if placed.node.step.hold == "no":
        if placed.when is None:
            return placed.passed_h is not None and placed.window_h <= now_h + SECOND_h
        return placed.passed_h is not None or placed.when.centre <= now_h + SECOND_h
    if placed.passed_h is not None:
        return placed.window_h <= now_h + SECOND_h  # a hand check says nothing of the air
    opens_h = placed.gate.opens_h
    return opens_h is not None and now_h >= opens_h - SECOND_h and not _failed_since(placed, opens_h)


def _opened_at(placed: Placed, state: State) -> datetime | None:
    """When it became ready. A rule that opens and closes again (air, dew point) is asked from now on, so that such a
    step may seem to have opened just now."""
    if state not in ("ready", "late"):
        return None
    ways = [placed.passed_h, placed.when.centre if placed.when and placed.node.step.hold == "no" else None]
    ways += [placed.gate.opens_h if placed.node.step.hold != "no" else None]
    opened_h = min((at_h for at_h in ways if at_h is not None), default=None)
    return _shown(max((at_h for at_h in (opened_h, placed.floor_h) if at_h is not None), default=None))


def _closes(placed: Placed) -> Closes:
    step = placed.node.step
    if placed.late_h is None:
        return ""
    if step.no_later is not None or (step.recoat is not None and step.recoat.to_h is not None):
        return "window"
    return "row" if step.every is not None else "follower"


def _failed_since(placed: Placed, opens_h: float) -> bool:
    """Looked at when it had opened by itself, and found not to be ready: what the maker sees beats what is computed."""
    return placed.last_answer is not None and not placed.last_answer.passed and placed.last_answer.at_h >= opens_h


def _redo_opens(step: Step) -> bool:
    """After a missed recoat window the `else` text is a hand check that opens the coat again."""
    return step.recoat is not None and step.recoat.to_h is not None and bool(step.recoat.missed)


def _missed(placed: Placed, now_h: float) -> str:
    """What is to be done when the latest moment has passed and the step is still open."""
    step = placed.node.step
    if not placed.is_open or placed.late_h is None or now_h <= placed.late_h or placed.blockers or step.optional:
        return ""
    if step.recoat is not None and step.recoat.missed:
        return step.recoat.missed
    return step.no_later.missed if step.no_later is not None else ""


def _check_from(placed: Placed) -> datetime | None:
    at_h = placed.gate.check_from_h
    if at_h is None:
        return None
    return _shown(placed.floor_h) if at_h == -math.inf else _shown(at_h)


def _shown(at_h: float | None) -> datetime | None:
    return None if at_h is None or not math.isfinite(at_h) else from_h(at_h)


def _band(when: When | None, at: int) -> Band | None:
    """The two ends that stand at that place of a moment's ends (clocks.py)."""
    if when is None:
        return None
    first, last = _shown(when.ends[at]), _shown(when.ends[at + 1])
    return None if first is None or last is None or not math.isfinite(when.centre) else (first, last)


# --- why ---------------------------------------------------------------------------------------------------------


def _reasons(placed: Placed, basis: Basis) -> tuple[Reason, ...]:
    """What the moment hangs on, the binding one first: a stop, a missing input, the rules, the steps before."""
    temp = _slab_now(basis)
    before = next(iter(placed.blockers or placed.node.after), "")
    found = [_reason(met, at_h, temp, before) for met, at_h in placed.mets if met.rule != "predecessor"]
    if placed.stopped_by:
        found.insert(0, Reason(placed.stopped_by))
    if basis.pour_h is None and not placed.mets:
        found.insert(0, Reason("planned"))
    waiting = [other for other in placed.blockers if other != POUR]
    if POUR in placed.blockers:
        found.append(Reason("planned", at=_shown(basis.pour_h)))
    if waiting:
        reason = Reason("predecessor", subject=waiting[0], at=_shown(placed.floor_h))
        rules_h = placed.when.centre if placed.when else None
        later = rules_h is not None and placed.floor_h is not None and placed.floor_h >= rules_h
        found.insert(0 if later and not placed.stopped_by else len(found), reason)
    elif not found and _is_lead(placed.node.step):
        found.append(_lead(placed))
    elif not found and placed.node.after:
        found.append(Reason("predecessor", subject=placed.node.after[-1], at=_shown(placed.from_h)))
    if found and not placed.blockers and not placed.stopped_by and _waits_for_lead(placed):
        found.insert(0, _lead(placed))
    return tuple(found)


def _is_lead(step: Step) -> bool:
    """Whether it has to come so long before another step than the pour, from which everything counts anyway."""
    return step.lead_h > 0.0 and bool(step.before) and POUR not in step.before


def _waits_for_lead(placed: Placed) -> bool:
    """Whether it is the step after it that sets its plan, later than its own rules and the steps before it."""
    if not _is_lead(placed.node.step) or placed.plan_h is None or placed.floor_h is None or placed.when is None:
        return False
    return placed.plan_h > max(placed.floor_h, placed.when.centre) + SECOND_h


def _lead(placed: Placed) -> Reason:
    step = placed.node.step
    return Reason("lead", step.lead_h, unit="h", at=_shown(placed.late_h), subject=step.before[0])


def _reason(met: Met, at_h: float | None, temp_degC: float | None, before: str) -> Reason:
    if met.missing == "predecessor":
        return Reason("predecessor", subject=before)
    if met.missing:
        return Reason("unknown", met.need, met.have, met.unit, None, met.missing, temp_degC, met.rule)
    at = _shown(at_h)
    return Reason(met.rule, met.need, met.have, met.unit, at, met.subject, temp_degC, met.source, met.plus_h)


def _slab_now(basis: Basis) -> float | None:
    return basis.course.temp_degC(basis.now_h) if basis.course.has_temperature else None


# --- notes -------------------------------------------------------------------------------------------------------


def _notes(placed: Placed, basis: Basis, missed: str) -> tuple[Note, ...]:
    found: list[Note] = []
    event = basis.history.done.get(placed.node.id)
    if event is not None:
        found += _of_event(event)
    if missed:
        found.append(Note("missed", missed, at=_shown(placed.late_h)))
    answers = basis.history.answers.get(placed.node.id, [])
    if answers and not answers[-1].passed and placed.is_open:
        found.append(Note("failed", placed.node.step.fail, at=_shown(answers[-1].at_h)))
    if placed.agreed is not None and placed.is_open:
        found += [Note(r.rule, r.text, value=r.value, unit="h", at=_shown(r.at_h)) for r in placed.agreed.remarks]
    if not missed and _clashes(placed):
        found.append(Note("clash", _cost_of(placed.node.step), at=_shown(placed.late_h)))
    ended = placed.node.ended or placed.node.step.until is not None  # that needs no record
    if not placed.recorded and not placed.is_open:
        found.append(Note("ended" if ended else "unrecorded"))
    return tuple(found)


def _cost_of(step: Step) -> str:
    """What is to be done where its window is missed."""
    if step.recoat is not None and step.recoat.missed:
        return step.recoat.missed
    return step.no_later.missed if step.no_later is not None else ""


def _clashes(placed: Placed) -> bool:
    """Planned for after its window; a repeat that is held back (frost ahead) has nothing to miss."""
    step = placed.node.step
    if not placed.is_open or placed.plan_h is None or placed.late_h is None or step.every is not None or step.optional:
        return False
    return math.isfinite(placed.plan_h) and placed.plan_h > placed.late_h + SECOND_h


def _of_event(event: Event) -> list[Note]:
    found = [Note("override", event.override, at=event.at)] if event.override else []
    if event.crew is not None:
        found.append(Note("crew", value=float(event.crew)))
    if event.grip is not None:
        found.append(Note("grip", event.grip))
    return found


def _look_from(placed: Placed, basis: Basis) -> float | None:
    look = placed.node.step.checkin
    if look is None or basis.pour_h is None or not basis.course.has_temperature:
        return None
    need_h = basis.mix.initial_set_h if look.since.point == "initial" else basis.mix.final_set_h
    start_h = basis.set_clocks.reach(basis.first_h or basis.pour_h, need_h).fast + look.since.plus_h
    return max(start_h, basis.pour_h if placed.floor_h is None else placed.floor_h)  # nothing to see before that
