"""What speaks for a pour and against it, in words."""

from collections.abc import Sequence

from curetrack.instants import from_h
from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.words.amounts import amount, temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, duration, moment
from curetrack.words.voice import Voice

__all__ = ["RISKS", "fault_text", "few_text", "why_pour"]

RISKS = ("frost", "frost_maybe", "mix_hot", "form_cold", "placing", "cold_cure", "evaporation")
HELPS = "Slides, a tilting frame or wheels take weight off the hands."
MOST = 2  # of what speaks against a pour, so much is said


def why_pour(choice: Choice, best: Choice, voice: Voice, *, hours: bool = True) -> str:
    """One sentence or two: what speaks against it, gravest first, else what makes it good; beside the best one how much
    later it is done. `hours`: whether the maker's hours are known."""
    parts = [fault_text(fault, voice) for fault in _told(choice.faults)]
    nothing = "nothing else" if any(fault.rule == "few" for fault in choice.faults) else "nothing"
    visits = f"{choice.cost.visits} visits"
    if not parts:
        said = "every step falls into your hours and its window" if hours else (
            "no window is missed; your hours are not set, so that steps may fall into the night"
        )  # fmt: skip
        said = f"{nothing} speaks against it: {said}; {visits}"
    else:
        said = "; ".join(parts)
    if choice is best or choice.done_h is None or best.done_h is None:
        return _sentence(said)
    later_h = choice.done_h - best.done_h
    if abs(later_h) >= 12.0:
        said += f"; done {duration(abs(later_h))} {'later' if later_h > 0 else 'sooner'} than the best"
    return _sentence(said)


def _told(faults: Sequence[Fault]) -> list[Fault]:
    """The gravest, each rule once. Too few people are too few for every pour: said beside them all (`few_text`)."""
    found: list[Fault] = []
    for fault in faults:
        if fault.rule not in {"few", *(other.rule for other in found)}:
            found.append(fault)
    return found[:MOST]


def few_text(choice: Choice, people: int) -> str:
    """That a step wants more people than can be called; "" where it does not."""
    fault = next((fault for fault in choice.faults if fault.rule == "few"), None)
    if fault is None:
        return ""
    have = "you are alone" if people == 1 else f"{people} can be called, you included"
    return f"{_sentence(f'{clean(fault.step)} wants {fault.value or 0.0:.0f} people, and {have}')} {HELPS}"


def fault_text(fault: Fault, voice: Voice) -> str:
    """One thing that speaks against a pour."""
    step, value = clean(fault.step), fault.value or 0.0
    at = f" {moment(about(from_h(fault.at_h)), voice)}" if fault.at_h is not None else ""
    hours = duration(value)
    match fault.rule:
        case "frost":
            return f"frost ahead: {temperature(value, voice.system)}{at}, before the piece bears one freeze"
        case "frost_maybe":
            return f"frost is possible{at}, before the piece bears one freeze"
        case "mix_hot" | "form_cold" | "placing":
            low, high = temperature(13.0, voice.system).split()[0], temperature(29.0, voice.system)
            return f"{temperature(value, voice.system)} at the pour, outside {low} to {high}"
        case "cold_cure":
            return f"down to {temperature(value, voice.system)} in its first days: every step moves later"
        case "evaporation":
            return (
                f"the fresh face would lose {amount(value, fault.unit, voice.system)} of water: pour early in the day"
            )
        case "busy":
            return f"{step}{at} would fall on other work, and there is one pair of hands"
        case "loud":
            return f"{step}{at} is loud, and falls into your quiet hours"
        case "short":
            return f"no time for {step} before it: {hours} short"
        case "late":
            return f"{step} misses its window by {hours}"
        case "never":
            return f"no hours are in sight for {step}"
        case "unseen":
            return f"{step} is not in sight: the forecast never meets its rules (too cold, too damp)"
        case "crew":
            return f"{value:.0f} people are wanted at the pour, and the crew cannot come then"
        case "alone":
            return f"{step}{at} without the crew it wants"
        case "night":
            return f"{step} falls into the night{at}"
        case "outside":
            return f"{step} falls outside your hours{at}"
        case "long":
            return f"{step} wants {hours} in one go, longer than any of your hours"
        case "past_need":
            return f"done{at}, {hours} after it is needed"
        case "past_need_maybe":
            return f"in the cold, or with a weak mix, it is done{at}, {hours} after it is needed"
        case "watch":
            return f"the moment for {step} may lie {hours} outside your hours: it is known as a band, not to the minute"
        case _:
            return fault.rule.replace("_", " ")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."
