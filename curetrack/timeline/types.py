"""The computed schedule of one piece. Nothing here is text for people: words are made from it at the surface."""

from datetime import datetime
from typing import Literal

from msgspec import Struct

from curetrack.profile.types import Kind

__all__ = ["Alert", "Band", "Closes", "Grade", "Line", "Mend", "Note", "Reason", "State", "Timeline"]

State = Literal["waiting", "ready", "late", "done", "skipped"]
Grade = Literal["hold", "warn", "hint"]
Band = tuple[datetime, datetime]
# what a latest moment hangs on: a window that closes for good (no_later, recoat), the next of a row, the step after it
Closes = Literal["", "window", "row", "follower"]


class Reason(Struct, frozen=True):
    """Why a step starts when it does: one rule, what it needs, what there is at `now`, and when it is met.

    rule   wait, recoat, age, maturity, set, strength, handling, hardening, drying, air, slab, dew_margin, cool_gap,
           predecessor, lead, every, planned, unknown (subject: the input; source: the rule), frost, wax
    need, have   in `unit` (h, MPa, degC, K, ""); have is None where nothing can be said
    at     when it is met by the central course; None: not within sight, or not known
    subject  what it counts from or hangs on: a step id, a material, a grip, a set ("initial", "final"), an input
             ("temperature", "humidity", "air")
    temp_degC  the slab's temperature now, for the sentence
    source   where the input came from ("slab", "air", "outside"); of hardening: the step it counts since; of every:
             how the face lay, if drying set the interval ("open", "covered")
    plus_h   clock hours more after a set (less, if negative)
    """

    rule: str
    need: float | None = None
    have: float | None = None
    unit: str = ""
    at: datetime | None = None
    subject: str = ""
    temp_degC: float | None = None
    source: str = ""
    plus_h: float = 0.0


class Note(Struct, frozen=True):
    """A remark on one step: rule is override, missed, crew, grip, clash, failed, unrecorded, ended, outside, night,
    alone, busy, loud, long, short, never, overnight, waits, quiet, visit, taken."""

    rule: str
    text: str = ""
    value: float | None = None
    unit: str = ""
    at: datetime | None = None


class Line(Struct, frozen=True):
    """One step of a timeline. Times may be None: an input is not known, or the moment is not within sight."""

    piece: str
    step: str
    title: str
    kind: Kind
    state: State
    hold: bool
    check: str | None
    round: int
    ready_at: datetime | None
    plan_at: datetime | None
    late_at: datetime | None
    done_at: datetime | None
    band: Band | None
    band_method: Band | None  # the rate laws and the mix's spread alone
    check_from: datetime | None
    opens_at: datetime | None
    reasons: tuple[Reason, ...]  # all that count, the binding one first
    cautions: tuple[str, ...]
    crew: int
    hands_on_h: float
    say: str = ""
    fail: str = ""
    loud: bool = False
    optional: bool = False
    open_to_do: bool = False  # every predecessor is done or skipped and this one is neither
    check_passed_at: datetime | None = None
    after: tuple[str, ...] = ()  # predecessors, by their ids in this timeline
    waits_for: tuple[str, ...] = ()  # those of `after` that are still open
    notes: tuple[Note, ...] = ()
    again: str = ""
    look_from: datetime | None = None  # short looks near a window start here ...
    look_every_h: float | None = None  # ... and come each so often
    basis: str = ""
    floor_at: datetime | None = None  # the steps before it leave it free from then on, by their ticks or plans
    opened_at: datetime | None = None  # since when it is ready (late: was ready); None while it waits
    put_off_until: datetime | None = None  # as the maker said last with `later`, also when that has passed
    closes: Closes = ""  # what late_at hangs on
    band_weather: Band | None = None  # the gaps in the readings and the forecast alone


class Mend(Struct, frozen=True):
    """What would take a clash away: tried, not guessed.

    rule   before (the step before it, `step`, `value` hours later, or sooner if negative: at `at`), crew (`value`
           people at `at`), pour (`value` hours later, or sooner if negative), warm (`value` degC in the shop from now)
    at     for pour and warm: when the step is then done
    """

    rule: str
    value: float
    unit: str = ""
    at: datetime | None = None
    step: str = ""


class Alert(Struct, frozen=True):
    """A warning of the conditions, with its number. Words: curetrack/words.

    rule   frost, frost_unknown, suspect, suspect_cleared, placing, mix_hot, cold_cure, evaporation, cooling,
           lift, condensation, gap, no_temperature, no_humidity, cold_water, stale, override, clash, past_limit,
           need_by, short_crew, quiet, unplanned
    value, need   in `unit`; at, until   the time it speaks of; step   the step it concerns
    mend   of a clash, where one was looked for and found
    subject   of a lift: how many people it is reckoned for
    heavy   of a short_crew: the lift of the same step, which is said with it
    """

    grade: Grade
    rule: str
    value: float | None = None
    need: float | None = None
    unit: str = ""
    at: datetime | None = None
    until: datetime | None = None
    step: str = ""
    subject: str = ""
    mend: Mend | None = None
    heavy: "Alert | None" = None


class Timeline(Struct, frozen=True):
    """One piece at `now`. Before the pour `poured_at` is None and the times start from the planned pour, if any."""

    piece: str
    profile_id: str
    now: datetime
    poured_at: datetime | None
    planned_pour_at: datetime | None
    age_h: float | None
    equivalent_age_h: float | None
    strength_MPa: float | None
    strength_band_MPa: tuple[float, float] | None
    slab_degC: float | None
    last_reading_at: datetime | None
    mass_lift_kg: float
    lines: tuple[Line, ...]
    alerts: tuple[Alert, ...]
    suspect: bool = False
    dropped: bool = False
    equivalent_age_band_h: tuple[float, float] | None = None  # the least and the most, over laws and weather

    def line(self, step_id: str) -> Line | None:
        """The line of that step id, or None."""
        return next((line for line in self.lines if line.step == step_id), None)

    @property
    def finished(self) -> bool:
        """Nothing is left to do: every step that is not optional is done or skipped."""
        return all(line.state in ("done", "skipped") or line.optional for line in self.lines)
