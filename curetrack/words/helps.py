"""What would help a pour: whom to ask, what to change."""

from collections.abc import Collection

from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.words.clean import clean
from curetrack.words.pours import sentence

__all__ = ["ask_text", "few_text", "helps_text"]

HELPS = "Slides, a tilting frame or wheels take weight off the hands."
PEOPLE = ("crew", "alone")
LATER = "a later stretch (--from, --to)"
SOONER = "a faster mix, a warmer shop, more hours, another sealer. curetrack compare shows what each brings."
OTHERWISE = f"{SOONER[:1].upper()}{SOONER[1:]}"
CREW_HELPS = "And ask the crew: some of its work wants more people than can come then."


def few_text(choice: Choice, people: int, lifts: Collection[str] = ()) -> str:
    """That a step wants more people than can be called, or than were counted; "" where it does not. Of one of the
    `lifts`: what helps besides."""
    fault = next((fault for fault in choice.faults if fault.rule == "few"), None)
    if fault is None:
        return ""
    step, wanted = clean(fault.step), f"{fault.value or 0.0:.0f}"
    if fault.way == "uncounted":
        return sentence(f"{step} wants {wanted} people, and it is not said how many can be called (--crew {wanted})")
    have = "you are alone" if people == 1 else f"{people} can be called, you included"
    ask = f"Ask somebody: --crew {wanted} shows what it changes."
    said = f"{sentence(f'{step} wants {wanted} people, and {have}')} {ask}"
    return f"{said} {HELPS}" if fault.step in lifts else said


def ask_text(choice: Choice) -> str:
    """Whom to ask, where a pour that holds has work for more people than can come then; "" where it has none."""
    if not any(fault.rule in PEOPLE for fault in choice.faults):
        return ""
    return "Ask the crew; if they can, say when: curetrack shop --set crew_hours=..."


def helps_text(choice: Choice) -> str:
    """What would help where even this pour, the least bad one, cannot be recommended: by what stands in its way."""
    weather = (fault for fault in choice.faults if fault.rule == "unseen" and fault.way)  # no hours help against it
    gravest = next(weather, choice.faults[0] if choice.faults else None)
    helps = _helps(gravest) if gravest is not None else OTHERWISE
    crew = any(fault.rule in PEOPLE for fault in choice.faults)
    return f"{helps} {CREW_HELPS}" if crew else helps


def _helps(gravest: Fault) -> str:
    match gravest.rule, gravest.way:
        case ("frost" | "form_cold", _) | ("unseen", "cold"):
            return f"A warmer shop, or {LATER}, would help."
        case "mix_hot", _:
            return f"A cooler shop or a cooler hour (so hours early in the day), or {LATER}, would help."
        case "unseen", "hot":
            return f"A cooler shop, or {LATER}, would help."
        case "unseen", "damp":
            return f"Drier air, or {LATER}, would help."
        case "unseen", _:
            return f"Other weather would help, so {LATER}."
        case "taken", _:
            return f"A second {clean(gravest.step)}, or {LATER}, would help."
        case (("busy" | "absent" | "loud" | "never" | "short" | "late"), _):
            return f"Other hours (curetrack shop --set hours=...) or {LATER} would help."
        case "past_need", _:
            return f"A later date would help, or what makes it sooner: {SOONER}"
        case _:
            return OTHERWISE
