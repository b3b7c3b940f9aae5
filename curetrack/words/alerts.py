"""Warnings of the conditions in words: the number, the reason, and what mends it."""

from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo

from curetrack.timeline.types import Alert, Line, Mend
from curetrack.units import System
from curetrack.words.amounts import amount, difference, hours_of, mass, temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, duration, moment
from curetrack.words.voice import Voice

__all__ = ["ALERTS", "alert_said", "alert_text"]

Say = Callable[[Alert, Voice, Line | None], str]

ACT_kg_m2_h = 1.0  # the level at which something must be done (timeline/alerts)
WARMTH = "room or blanket warmth, never blown on one face, no unvented burner in a closed room"


def alert_text(alert: Alert, *, zone: tzinfo, system: System, now: datetime, line: Line | None = None) -> str:
    """A warning as one paragraph; `line` is the line of `alert.step`, if there is one."""
    return alert_said(alert, Voice(now, zone, system), line)


def alert_said(alert: Alert, voice: Voice, line: Line | None = None) -> str:
    """The same for a voice that is at hand. A rule without a text of its own shows its numbers."""
    return ALERTS.get(alert.rule, _plain)(alert, voice, line)


# --- cold --------------------------------------------------------------------------------------------------------


def _frost(alert: Alert, voice: Voice, _line: Line | None) -> str:
    ahead = "Frost may come" if alert.subject == "maybe" else "Frost is ahead"
    low = f", down to {temperature(alert.value, voice.system)}" if alert.value is not None else ""
    until = f"; by the slowest law that is not before {_computed(alert.until, voice)}" if alert.until else ""
    return (
        f"{ahead}: {temperature(0.0, voice.system)} or less from {_computed(alert.at, voice)}{low}, before the piece "
        f"bears a freeze{until}. Frozen that young it can lose about half its strength for good. Cover and warm it "
        f"the evening before ({WARMTH}), or pour another day; no water on it with frost ahead."
    )


def _frost_unknown(alert: Alert, voice: Voice, _line: Line | None) -> str:
    return (
        f"No readings from {_when(alert.at, voice)} on while the piece was young: whether it froze is not known. "
        "Enter the readings if a thermometer kept them. If it may have frozen, do the hardness check before any "
        f"lift: thawed and at {temperature(10.0, voice.system)} or more for 24 h, a nail drawn over the hidden face, "
        "a pull at a corner."
    )


def _suspect(alert: Alert, voice: Voice, _line: Line | None) -> str:
    return (
        f"Looks like it froze young: {temperature(0.0, voice.system)} or less at {_when(alert.at, voice)}, at "
        f"{_age(alert)} of equivalent age. Lifts and coats stay held however warm it gets now. When it has thawed "
        f"and stayed at {temperature(10.0, voice.system)} or more for 24 h, draw a nail over the hidden face and "
        "pull at a corner, then record the hardness check. A ring proves nothing: frozen concrete rings. For "
        "anything that carries a load, casting it again is the better way."
    )


def _suspect_cleared(alert: Alert, voice: Voice, _line: Line | None) -> str:
    passed = f"; a hardness check passed {_when(alert.until, voice)}" if alert.until else ""
    return (
        f"Froze young at {_when(alert.at, voice)}, at {_age(alert)} of equivalent age{passed}. It stays on the "
        "record; treat it as weaker than its age."
    )


def _age(alert: Alert) -> str:
    if alert.value is None or alert.need is None:
        return "an unknown number of hours"
    low, high = hours_of(alert.value), hours_of(alert.need)
    return low if low == high else f"{low} to {high}"


def _placing(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value, need = _pair(alert, temperature, voice)
    value = f"{value} in the air" if alert.subject == "air" else value
    cold = alert.value is not None and alert.need is not None and alert.value < alert.need
    if cold:
        return (
            f"{value} at the pour, under {need}. It sets late, gains strength slowly, and a frost would find it young: "
            "warm the shop, the bags, the water and the form first, or pour when it is warmer."
        )
    return (
        f"{value} at the pour, over {need}. It stiffens early and dries fast: pour early in the day, use cold mix "
        "water, shade the bags, have the cover at hand."
    )


def _mix_hot(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value, need = _pair(alert, temperature, voice)
    return (
        f"{value} at the pour, over the {need} that placing allows. Cold water or ice in the mix water, bags in the "
        "shade, or a pour at dawn; add no water later."
    )


def _cold_cure(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value, need = _pair(alert, temperature, voice)
    slow, low, high = (temperature(at_degC, voice.system) for at_degC in (15.0, 18.0, 20.0))
    return (
        f"Down to {value} {_when(alert.at, voice)} while it cures; guidance asks for {need} in the first days, and "
        f"makers find that thin pieces hardly go on under {slow}. Every step moves later. Warming the shop to "
        f"{low.split()[0]} to {high} brings them forward ({WARMTH})."
    )


def _cooling(alert: Alert, voice: Voice, _line: Line | None) -> str:
    drop, limit = _pair(alert, difference, voice)
    return (
        f"The slab cooled by {drop} from {_when(alert.at, voice)} to {_when(alert.until, voice)}; over {limit} in 24 "
        "h can craze a thin face. Turn heat down in steps and leave the cover on until slab and air are alike; look "
        "for fine cracks in low light."
    )


# --- the fresh face ----------------------------------------------------------------------------------------------


def _evaporation(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value, need = _pair(alert, _rate, voice)
    calm = " in still air (no wind reading)" if alert.subject == "calm assumed" else ""
    acting = alert.need is not None and alert.need >= ACT_kg_m2_h
    levels = f"act from {need}" if acting else f"watch from {need}, act from {_rate(ACT_kg_m2_h, voice.system)}"
    return (
        f"The open face loses {value} of water{calm}; {levels}. Shut doors and keep the draught off, fog the air and "
        "not the face, cover between passes, cold mix water; next time pour at dawn. Look at the face every 15 min; "
        "it may want more than one float. Water worked into the face weakens and crazes it."
    )


def _cold_water(alert: Alert, voice: Voice, _line: Line | None) -> str:
    gap, limit = _pair(alert, difference, voice)
    return (
        f"The water is {gap} colder than the slab. Older guidance allows {limit}; field trials with far more showed "
        "no crazing, so this is disputed. Use a bottle of water at room temperature if one is at hand, and mist in "
        "any case: drying out is the larger risk."
    )


# --- what is known -----------------------------------------------------------------------------------------------


def _gap(alert: Alert, voice: Voice, _line: Line | None) -> str:
    length = duration(alert.value) if alert.value is not None else "some time"
    return (
        f"No readings for {length}, from {_when(alert.at, voice)} to {_when(alert.until, voice)}. The slow side "
        "counts the coldest plausible temperature there, so bands are wider. A logger's file that covers it narrows "
        "them again."
    )


def _no_temperature(_alert: Alert, _voice: Voice, _line: Line | None) -> str:
    return (
        "No temperature is known, so nothing that hangs on warmth can be timed. Lay a thermometer on the slab under "
        "a cloth and enter what it shows, or enter a forecast."
    )


def _no_humidity(alert: Alert, _voice: Voice, _line: Line | None) -> str:
    step = f" ({clean(alert.step)} waits for it)" if alert.step else ""
    return (
        f"No humidity is known, so drying cannot be timed{step}. Hang a hygrometer beside the piece and enter it "
        "with the next temperature, or go by the hand check."
    )


def _stale(alert: Alert, voice: Voice, _line: Line | None) -> str:
    age = duration(alert.value) if alert.value is not None else "long"
    since = f", {_when(alert.at, voice)}" if alert.at else ""
    lead = f"The last reading is {age} old{since}" if alert.at else f"No reading for {age}, since the pour"
    return f"{lead}; since then the forecast stands in for it. A new reading narrows the bands."


# --- lifts and coats ---------------------------------------------------------------------------------------------


def _lift(alert: Alert, voice: Voice, line: Line | None) -> str:
    load = mass(alert.value, voice.system, 2) if alert.value is not None else "the load"
    limit = mass(alert.need, voice.system, 2) if alert.need is not None else "less"
    crew = f"{alert.subject} people" if alert.subject else "its crew"
    people = f" {line.crew} people at the very least all the same." if line else ""
    step = clean(alert.step) or "the lift"
    return (
        f"{_upper(step)} puts {load} on the hands; published team factors leave {limit} for {crew}. Wheels, "
        f"slides, a cart or a tilting frame come first; more than four pairs of hands hardly help.{people}"
    )


def _condensation(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value, need = _pair(alert, difference, voice)
    step = clean(alert.step) or "the coat"
    where = f"only {value} above the dew point" if (alert.value or 0.0) >= 0.0 else "below the dew point"
    return (
        f"{_upper(step)} at {_when(alert.at, voice)}: the slab would be {where}; {need} are wanted, through the "
        "night too. Warm the slab itself, dry the air, or coat when the slab is warmer than the air."
    )


# --- lines -------------------------------------------------------------------------------------------------------


def _override(alert: Alert, voice: Voice, _line: Line | None) -> str:
    note = f', with the note "{clean(alert.subject)}"' if alert.subject else ""
    return f"{_upper(clean(alert.step))} was done against its hold {_when(alert.at, voice)}{note}."


def _past_limit(alert: Alert, voice: Voice, _line: Line | None) -> str:
    remedy = clean(alert.subject)
    return f"{_upper(clean(alert.step))} was due by {_closing(alert.at, voice)}. {_upper(remedy)}".strip()


def _clash(alert: Alert, voice: Voice, line: Line | None) -> str:
    cost = f" If it is missed: {clean(alert.subject)}" if alert.subject else ""
    short = next((note for note in line.notes if note.rule == "short"), None) if line is not None else None
    if alert.until is not None and alert.until < voice.now and alert.mend is None and short is None:
        due = f"{_upper(clean(alert.step))} was due by {_closing(alert.until, voice)}, and waits for steps before it"
        return f"{due}. Say what was done and when, or leave it out.{cost}"
    text = f"{_upper(clean(alert.step))} is planned {_computed(alert.at, voice)}, after its latest moment"
    if short is not None and short.value is not None:
        text = f"No time is left for {clean(alert.step)} before the pour: it ends {duration(short.value)} too late"
    elif alert.until is not None:
        text += f" {_closing(alert.until, voice)}"
        if alert.at is not None:
            late = about(alert.at) - about(alert.until, closing=True)  # as both are said
            text += f" ({duration(late / timedelta(hours=1))} too late)"
    mend = _tried(alert.mend, voice) if alert.mend is not None else _hours_mend(line, voice) or _mend(line)
    return f"{text}. {mend}{cost}"


def _need_by(alert: Alert, voice: Voice, _line: Line | None) -> str:
    late = duration(alert.value) if alert.value is not None else "some time"
    return (
        f"By this plan the last step, {clean(alert.step)}, ends {_computed(alert.at, voice)}: {late} after it is "
        f"needed {_when(alert.until, voice)}. More hours, a warmer shop ({WARMTH}) or a faster mix bring it forward; "
        "curetrack compare shows by how much."
    )


def _short_crew(alert: Alert, voice: Voice, line: Line | None) -> str:
    need = f"{alert.need:.0f}" if alert.need is not None else "more"
    have = f"{alert.value:.0f}" if alert.value is not None else "fewer"
    lift = line is not None and line.kind == "lift"
    helps = (
        "Slides or rollers under the base, a tilting frame to turn it in, wheels or a cart to carry it take the weight "
        "off the hands; a smaller or thinner piece does too."
        if lift
        else "Fewer hands make it slower: smaller batches, everything laid out beforehand, or one more friend."
    )
    heavy = alert.heavy
    if heavy is None or heavy.value is None or heavy.need is None:
        return f"{_upper(clean(alert.step))} wants {need} people, and you count {have}. {helps}"
    load, limit = mass(heavy.value, voice.system, 2), mass(heavy.need, voice.system, 2)
    return (
        f"{_upper(clean(alert.step))} wants {need} people at the very least, and you count {have}: it puts {load} on "
        f"the hands, and published team factors leave {limit} even for {need}. {helps}"
    )


def _tried(mend: Mend, voice: Voice) -> str:
    """A mend that was tried on the calendar."""
    hours = f"{duration(abs(mend.value))} {'earlier' if mend.value < 0.0 else 'later'}"
    match mend.rule:
        case "before":
            return f"{_upper(clean(mend.step))} {hours}, {_computed(mend.at, voice)}, would mend it."
        case "crew":
            others = f"{mend.value - 1.0:.0f}"
            return f"Ask {others} to come {_computed(mend.at, voice)}: with them there it would be in time."
        case "pour":
            return f"The pour {hours} would mend it: this step is then done {_computed(mend.at, voice)}."
    warm = temperature(mend.value, voice.system)
    return f"{warm} in the shop from now on would mend it: it is then done {_computed(mend.at, voice)} ({WARMTH})."


def _hours_mend(line: Line | None, voice: Voice) -> str:
    """Where the rules leave a window and only people are missing: what is nearest at hand."""
    if line is None or line.ready_at is None or line.late_at is None or line.ready_at > line.late_at:
        return ""
    start = max(line.ready_at, line.floor_at or line.ready_at)
    if start > line.late_at:
        return ""
    window = f"{_computed(start, voice)} to {_closing(line.late_at, voice)}"
    if line.kind == "lift" and line.crew > 1:
        return f"Ask {line.crew - 1} to come {window}, or warm the shop so that it falls into their hours."
    return f"Keep {window} free, or start the step before it at another hour."


def _quiet(alert: Alert, voice: Voice, _line: Line | None) -> str:
    return (
        f"{_upper(clean(alert.step))} may be done {_computed(alert.at, voice)} to {_closing(alert.until, voice)}, "
        "mostly in your quiet hours. Put the coat before it off to the morning, so that this one falls into the day."
    )


def _unplanned(_alert: Alert, _voice: Voice, _line: Line | None) -> str:
    return (
        "A fault of the program keeps your hours from being fitted: times are those of the rules alone, also at night. "
        "Look at hours, away, extra and crew hours (curetrack shop)."
    )


def _mend(line: Line | None) -> str:
    rule = line.reasons[0].rule if line is not None and line.reasons else ""
    if rule in ("strength", "handling", "maturity", "hardening", "set"):
        return f"A warmer shop brings it forward ({WARMTH}); so does an earlier pour."
    if rule == "drying":
        return "Warmer, drier air on all open faces brings it forward; no fan on one face."
    if rule in ("air", "slab", "dew_margin"):
        return "Warm the place where it lies, through the hours after the work too."
    if rule in ("wait", "age"):
        return "Start the steps before it earlier, or the pour at another hour."
    return "Do the steps before it sooner."


def _plain(alert: Alert, voice: Voice, _line: Line | None) -> str:
    value = f" {amount(alert.value, alert.unit, voice.system)}" if alert.value is not None else ""
    need = f", limit {amount(alert.need, alert.unit, voice.system)}" if alert.need is not None else ""
    return f"{alert.rule.replace('_', ' ')}{value}{need}"


# --- helpers -----------------------------------------------------------------------------------------------------


def _rate(value: float, system: System) -> str:
    return amount(value, "kg/m2/h", system)


def _pair(alert: Alert, show: Callable[[float, System], str], voice: Voice) -> tuple[str, str]:
    value = show(alert.value, voice.system) if alert.value is not None else "an unknown amount"
    need = show(alert.need, voice.system) if alert.need is not None else "the limit"
    return value, need


def _when(at: datetime | None, voice: Voice) -> str:
    return moment(at, voice) if at is not None else "an unknown time"


def _computed(at: datetime | None, voice: Voice) -> str:
    return moment(about(at), voice) if at is not None else "at an unknown time"


def _closing(at: datetime | None, voice: Voice) -> str:
    return moment(about(at, closing=True), voice) if at is not None else "an earlier moment"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


ALERTS: dict[str, Say] = {
    "frost": _frost,
    "frost_unknown": _frost_unknown,
    "suspect": _suspect,
    "suspect_cleared": _suspect_cleared,
    "placing": _placing,
    "mix_hot": _mix_hot,
    "cold_cure": _cold_cure,
    "evaporation": _evaporation,
    "cooling": _cooling,
    "lift": _lift,
    "condensation": _condensation,
    "gap": _gap,
    "no_temperature": _no_temperature,
    "no_humidity": _no_humidity,
    "cold_water": _cold_water,
    "stale": _stale,
    "override": _override,
    "clash": _clash,
    "past_limit": _past_limit,
    "need_by": _need_by,
    "short_crew": _short_crew,
    "quiet": _quiet,
    "unplanned": _unplanned,
}
