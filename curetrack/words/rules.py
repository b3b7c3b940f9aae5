"""One short sentence for each rule of a Reason: what it needs, and what there is now.

To add a rule, add its function and its line in RULES; a test holds the table against the list in timeline/types.
"""

from collections.abc import Callable

from curetrack.timeline.types import Line, Reason
from curetrack.words.amounts import amount, difference, hours_of, strength, temperature
from curetrack.words.clean import clean
from curetrack.words.moments import duration, moment
from curetrack.words.voice import Voice

__all__ = ["CLOCK", "GRIPS", "RULES", "UNKNOWN", "WITHOUT_TIME", "names", "rule_said"]

Say = Callable[[Reason, Line, Voice], str]

GRIPS = {
    "flat-ends": "held flat by the ends",
    "flat-quarter": "held flat at the quarter points",
    "on-edge": "carried on edge",
    "long-edge": "rolled over the long edge",
}
WITHOUT_TIME = frozenset({"predecessor", "lead", "planned", "unknown", "frost", "wax"})
CLOCK = frozenset({"wait", "recoat", "age", "every"})  # elapsed time alone: no band

UNKNOWN: dict[str, tuple[str, str]] = {
    "temperature": (
        "no temperature is known; measure the slab and enter it",
        "Measure the slab's temperature and enter it. Without a thermometer: a nail drawn over a hidden spot leaves a "
        "white line and no groove.",
    ),
    "humidity": (
        "no humidity is known; measure it beside the piece and enter it",
        "Measure the humidity beside the piece and enter it. Without a hygrometer: tape a clear sheet down for 16 h at "
        "the temperature of the work; no droplets and no dark patch under it.",
    ),
    "air": (
        "no air temperature is known; measure it beside the piece and enter it",
        "Measure the air beside the piece and enter it; the label's range decides.",
    ),
    "predecessor": (
        "the time of the step before is not known yet",
        "See that the step before is done, and that it has hardened or dried as its own check says.",
    ),
}


def rule_said(reason: Reason, line: Line, voice: Voice) -> str:
    """What a rule needs and what there is now. A rule without a sentence of its own shows its numbers."""
    return RULES.get(reason.rule, _plain)(reason, line, voice)


def names(steps: tuple[str, ...]) -> str:
    """Step ids in a row: "strip", "strip and ease", "strip, ease and flip"."""
    shown = [f"the {clean(step)}" if step == "pour" else clean(step) for step in steps]
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} and {shown[-1]}"


# --- strength and maturity ---------------------------------------------------------------------------------------


def _strength(reason: Reason, _line: Line, voice: Voice) -> str:
    need = f"needs {strength(reason.need, voice.system)}" if reason.need is not None else "needs more strength"
    return _join(need, _now(strength(reason.have, voice.system), reason, voice) if reason.have is not None else "")


def _handling(reason: Reason, line: Line, voice: Voice) -> str:
    grip = GRIPS.get(reason.subject, clean(reason.subject) or "to be lifted")
    return f"{grip} it {_strength(reason, line, voice)}"


def _maturity(reason: Reason, _line: Line, voice: Voice) -> str:
    need = f"needs an equivalent age of {_hours(reason.need)}"
    return _join(need, _now(hours_of(reason.have), reason, voice) if reason.have is not None else "")


def _set(reason: Reason, _line: Line, voice: Voice) -> str:
    margin = f"{duration(abs(reason.plus_h))} {'past' if reason.plus_h > 0.0 else 'before'} " if reason.plus_h else ""
    need = f"needs {margin}the {reason.subject or 'final'} set, {_hours(reason.need)} at the reference temperature"
    have = f"{hours_of(reason.have)} of it" if reason.have is not None else ""
    return _join(need, _now(have, reason, voice) if have else "")


def _hardening(reason: Reason, line: Line, voice: Voice) -> str:
    what = f"{clean(reason.subject)} hardening" if reason.subject else "hardening"
    since = f" since {clean(reason.source)}" if reason.source else _since(line)
    need = f"needs {_hours(reason.need)} of {what}{since}"
    return _join(need, _now(hours_of(reason.have or 0.0), reason, voice) if _begun(reason, line) else "")


# --- clock and drying --------------------------------------------------------------------------------------------


def _age(reason: Reason, line: Line, _voice: Voice) -> str:
    return _elapsed(reason, line, " since the pour")


def _wait(reason: Reason, line: Line, _voice: Voice) -> str:
    return _elapsed(reason, line, _since(line))


def _recoat(reason: Reason, line: Line, _voice: Voice) -> str:
    need = f"needs {duration(reason.need)} after the coat before" if reason.need is not None else "needs time"
    return _join(need, f"{duration(reason.have or 0.0)} so far" if _begun(reason, line) else "")


def _every(reason: Reason, _line: Line, _voice: Voice) -> str:
    need = f"comes again after {duration(reason.need)}" if reason.need is not None else "comes again and again"
    need += {"open": ", by what dries off the open face", "covered": ", by what dries under the cover"}.get(
        reason.source, ""
    )
    return _join(need, f"{duration(reason.have)} since the last time" if reason.have is not None else "")


def _drying(reason: Reason, line: Line, _voice: Voice) -> str:
    need = f"needs {_hours(reason.need)} of drying with open faces since it was last wet"
    return _join(need, f"{hours_of(reason.have or 0.0)} so far" if _begun(reason, line) else "")


# --- air, slab, dew ----------------------------------------------------------------------------------------------


def _air(reason: Reason, _line: Line, voice: Voice) -> str:
    return _between("the air", reason, voice)


def _slab(reason: Reason, _line: Line, voice: Voice) -> str:
    return _between("the slab", reason, voice)


def _between(what: str, reason: Reason, voice: Voice) -> str:
    if reason.need is None:
        return f"needs {what} within its range, for the hours after too"
    too_warm = reason.have is not None and reason.have > reason.need and reason.need >= _UPPER_FROM_degC
    bound = "or less" if too_warm else "or more"
    need = f"needs {what} at {temperature(reason.need, voice.system)} {bound}, for the hours after too"
    if reason.have is None:
        return need
    source = {"outside": ", measured outside", "slab": ", taken from the slab"}.get(reason.source, "")
    return _join(need, f"{temperature(reason.have, voice.system)} now{source if what == 'the air' else ''}")


_UPPER_FROM_degC = 20.0  # lower limits of air and slab lie at 15 degC and under, upper ones at 27 and over


def _dew_margin(reason: Reason, _line: Line, voice: Voice) -> str:
    need = f"needs the slab {difference(reason.need or 0.0, voice.system)} above the dew point, for the hours after too"
    return _join(need, f"{difference(reason.have, voice.system)} now" if reason.have is not None else "")


def _cool_gap(reason: Reason, _line: Line, voice: Voice) -> str:
    need = f"the slab may be at most {difference(reason.need or 0.0, voice.system)} warmer than the air"
    return _join(need, f"{difference(max(0.0, reason.have), voice.system)} now" if reason.have is not None else "")


# --- order, plans, checks ----------------------------------------------------------------------------------------


def _predecessor(reason: Reason, line: Line, _voice: Voice) -> str:
    if reason.subject in line.waits_for or not reason.subject:
        return f"waits for {names(line.waits_for) or 'the step before'}"
    return f"follows {names((reason.subject,))}"


def _lead(reason: Reason, _line: Line, _voice: Voice) -> str:
    ahead = duration(reason.need) if reason.need is not None else "some time"
    return f"to be done {ahead} before {names((reason.subject,)) or 'the step after it'}"


def _planned(reason: Reason, _line: Line, voice: Voice) -> str:
    return f"waits for the pour, planned {moment(reason.at, voice)}" if reason.at else "no pour is planned yet"


def _unknown(reason: Reason, line: Line, voice: Voice) -> str:
    missing = UNKNOWN.get(reason.subject, UNKNOWN["temperature"])[0]
    if reason.source not in RULES or reason.need is None:
        return missing
    asked = Reason(reason.source, reason.need, unit=reason.unit)
    return f"{rule_said(asked, line, voice)}; {missing}"


def _frost(_reason: Reason, _line: Line, _voice: Voice) -> str:
    return "looks like it froze young; held until a hardness check has passed"


def _wax(_reason: Reason, _line: Line, _voice: Voice) -> str:
    return "wax is on the face, and wax is the last step: nothing bonds to it; strip it and hone again first"


def _plain(reason: Reason, _line: Line, voice: Voice) -> str:
    need = f" {amount(reason.need, reason.unit, voice.system)}" if reason.need is not None else ""
    return f"{reason.rule}{need}"


# --- helpers -----------------------------------------------------------------------------------------------------


def _now(have: str, reason: Reason, voice: Voice) -> str:
    at_temp = f" at {temperature(reason.temp_degC, voice.system)}" if reason.temp_degC is not None else ""
    return f"{have} now{at_temp}"


def _join(need: str, have: str) -> str:
    return f"{need}; {have}" if have else need


def _hours(hours: float | None) -> str:
    return hours_of(hours) if hours is not None else "more time"


def _since(line: Line) -> str:
    return f" since {names(line.after)}" if line.after else ""


def _elapsed(reason: Reason, line: Line, since: str) -> str:
    need = f"needs {duration(reason.need)}{since}" if reason.need is not None else f"needs time{since}"
    return _join(need, f"{duration(reason.have or 0.0)} so far" if _begun(reason, line) else "")


def _begun(reason: Reason, line: Line) -> bool:
    """Whether there is anything to tell of the clock: not while the step it counts from is open."""
    return reason.have is not None and (reason.have > 0.0 or not line.waits_for)


RULES: dict[str, Say] = {
    "strength": _strength,
    "handling": _handling,
    "maturity": _maturity,
    "set": _set,
    "hardening": _hardening,
    "age": _age,
    "wait": _wait,
    "recoat": _recoat,
    "every": _every,
    "drying": _drying,
    "air": _air,
    "slab": _slab,
    "dew_margin": _dew_margin,
    "cool_gap": _cool_gap,
    "predecessor": _predecessor,
    "lead": _lead,
    "planned": _planned,
    "unknown": _unknown,
    "frost": _frost,
    "wax": _wax,
}
