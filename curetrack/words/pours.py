"""What speaks for a pour and against it, in words."""

from collections.abc import Sequence

from curetrack.instants import from_h
from curetrack.timeline.alerts import PLACING_degC
from curetrack.timeline.graph import POUR
from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.words.amounts import amount, temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, duration, moment
from curetrack.words.voice import Voice

__all__ = ["RISKS", "WEEKS_h", "fault_text", "sentence", "why_pour"]

RISKS = ("frost", "frost_maybe", "mix_hot", "form_cold", "placing", "cold_cure", "evaporation")
SAME_h = 0.25
MOST = 4  # of what speaks against a pour, so much is said
WEEKS_h = 28 * 24.0  # a day by the slow side that lies further off would look exacter than it is
WAYS = {
    "cold": "it stays too cold for it", "hot": "it stays too hot for it", "damp": "the air stays too damp for it",
}  # fmt: skip
DATES = ("past_need", "past_need_maybe")


def why_pour(choice: Choice, best: Choice, voice: Voice, *, hours: bool = True) -> str:
    """One sentence: what speaks against it, gravest first, else what makes it good. Of one that holds but is not the
    best: what the best does not have against it, and by how much it is done later. `hours`: whether the maker's are
    known."""
    if choice.pour_h == best.pour_h:
        return sentence("; ".join(_against(choice.faults, voice)) or _good(choice, hours=hours))
    if not choice.holds:
        return sentence("; ".join(_against(choice.faults, voice)))
    own = [fault for fault in choice.faults if not _is_shared(fault, best)]
    said = _against(own, voice)
    if said and len(_told(choice.faults)) > len(_told(own)):
        said.append("the rest as for the best")
    elif not said:
        said.append(_no_more(choice, best))
    return sentence("; ".join([*said, *_beside(choice, best)]))


def _no_more(choice: Choice, best: Choice) -> str:
    if not _told(best.faults):
        return "nothing speaks against it either"
    return "the same speaks against it as against the best" if _told(choice.faults) else "nothing speaks against it"


def _against(faults: Sequence[Fault], voice: Voice) -> list[str]:
    return [fault_text(fault, voice) for fault in _told(faults)]


def _told(faults: Sequence[Fault]) -> list[Fault]:
    """The gravest, each rule once, and whatever it is about the date that was asked for. Too few people are too few for
    every pour: said beside them all (`few_text`)."""
    found: list[Fault] = []
    for fault in faults:
        if fault.rule not in {"few", *(other.rule for other in found)}:
            found.append(fault)
    return [*found[:MOST], *(fault for fault in found[MOST:] if fault.rule in DATES)]


def _good(choice: Choice, *, hours: bool) -> str:
    nothing = "nothing else" if any(fault.rule == "few" and not fault.way for fault in choice.faults) else "nothing"
    if hours:
        return f"{nothing} speaks against it: every step falls into your hours and its window"
    return f"{nothing} speaks against it: no window is missed; your hours are not set, so that steps may fall at night"


def _is_shared(fault: Fault, best: Choice) -> bool:
    """Whether the best has the same against it, to no less a degree."""
    return any(
        (fault.rule, fault.step) == (other.rule, other.step) and (fault.value or 0.0) <= (other.value or 0.0) + SAME_h
        for other in best.faults
    )


def _beside(choice: Choice, best: Choice) -> list[str]:
    """By how much later it is done, and with how many more visits."""
    said: list[str] = []
    if choice.done_h is not None and best.done_h is not None:
        later_h = choice.done_h - best.done_h
        if abs(later_h) < SAME_h:
            said.append("done at the same time")
        else:
            said.append(f"done {duration(abs(later_h))} {'later' if later_h > 0 else 'sooner'} than the best")
    more = choice.cost.visits - best.cost.visits
    if more > 0:
        said.append(f"{more} more visit{'s' if more > 1 else ''}")
    return said


def fault_text(fault: Fault, voice: Voice) -> str:
    """One thing that speaks against a pour."""
    step, value = clean(fault.step), fault.value or 0.0
    at = f" {moment(about(from_h(fault.at_h)), voice)}" if fault.at_h is not None else ""
    hours = duration(value)
    work = f"{step}{at}" if step != POUR else "filling the form"  # which begins before the moment that is its pour's
    match fault.rule:
        case "frost":
            return f"frost ahead: {temperature(value, voice.system)}{at}, before the piece bears one freeze"
        case "frost_maybe":
            return f"frost is possible{at}, before the piece bears one freeze"
        case "mix_hot" | "form_cold" | "placing":
            low, high = (temperature(limit, voice.system) for limit in PLACING_degC)
            return f"{temperature(value, voice.system)} at the pour, outside {low.split()[0]} to {high}"
        case "cold_cure":
            return f"down to {temperature(value, voice.system)} in its first days: every step moves later"
        case "evaporation":
            return (
                f"the fresh face would lose {amount(value, fault.unit, voice.system)} of water: pour early in the day"
            )
        case "taken":
            until = f"taken until{at}" if at else "taken, with no end in sight"
            return f"{step}: {until}"
        case "busy":
            return f"{work} would fall on other work that takes your hands"
        case "loud":
            return f"{work} is loud, and falls into your quiet hours"
        case "absent":
            return f"{step} wants {hours} right before it, and your hours do not hold them"
        case "unmet":
            limit = temperature(value, voice.system)
            if fault.way == "cold":
                return f"{step} wants {limit} or more, and it is colder"
            if fault.way == "hot":
                return f"{step} wants {limit} or less, and it is hotter"
            return f"{step} wants an air that does not come by then"
        case "short":
            return f"no time is left for {step} before it"
        case "late":
            return f"{step} misses its window by {hours}"
        case "never":
            return f"no hours are in sight for {step}"
        case "unseen":
            return f"{step} is not in sight: {WAYS.get(fault.way, 'the weather never meets its rules')}"
        case "crew":
            return f"mixing and filling want {value:.0f} people, and the crew cannot come then"
        case "alone":
            return f"{step}{at} without the crew it wants"
        case "night":
            return f"{step} falls into the night{at}"
        case "outside":
            return f"{step} falls outside your hours{at}"
        case "long":
            whose = "the crew ever stays" if fault.way == "crew" else "any of your hours"
            return f"{step} wants {hours} in one go, longer than {whose}"
        case "past_need":
            return f"done{at}, {hours} after it is needed"
        case "past_need_maybe":
            when = "weeks after it is needed" if value > WEEKS_h else f"{at.strip()}, {hours} after it is needed"
            return f"in the cold, or with a weak mix, it is done {when}"
        case "watch":
            return f"{step} may fall up to {hours} outside your hours: its moment is known as a band, not to the minute"
        case _:
            return fault.rule.replace("_", " ")


def sentence(text: str) -> str:
    """The same with a capital and a full stop."""
    return text[:1].upper() + text[1:] + "."
