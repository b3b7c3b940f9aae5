"""Cautions: short texts for work that can hurt. Product labels and local rules come first; the texts say so.

Facts: the cautions table of the trade notes (common practice and published guidance); the sentences are ours.
"""

from collections.abc import Iterable

__all__ = ["AUTHORITY", "CAUTIONS", "caution_name", "caution_text", "caution_texts"]

AUTHORITY = "Labels and local rules come first."

CAUTIONS: dict[str, tuple[str, str]] = {
    "dust": (
        "silica dust",
        "Silica dust: collector on the tool and at least a fitted half mask (P100 or FFP3, or what local rules "
        "ask), "
        "also when emptying bags and when dried slurry is moved; vacuum, do not sweep dry or blow out with air.",
    ),
    "alkali": (
        "wet cement burns",
        "Wet cement and slurry water burn without pain at first: waterproof gloves, no kneeling in it, rinse skin "
        "long "
        "with clean water; eyes: rinse and see a doctor. Never down the drain.",
    ),
    "eyes": ("eyes", "Wear goggles."),
    "shock": (
        "water and mains",
        "Water and mains power: residual-current device (30 mA, or the fault-interrupter local rules ask) tested "
        "now, "
        "plugs and joints off the floor, only tools made for wet work, never a dry sander on a damp face.",
    ),
    "lift": (
        "heavy lift",
        "Heavy: gloves, boots, a clear way, one voice that counts; nobody under it or in front of it.",
    ),
    "noise": ("noise", "Wear ear protection; mind the neighbours' hours."),
    "hav": ("vibration", "Vibrating tool: take pauses, keep hands warm, stop at tingling fingers."),
    "fumes": (
        "carbon monoxide",
        "No unvented burner in a closed room, at any age of the piece: carbon monoxide kills. Alarm on. In the "
        "first "
        "24 h its fumes also leave the face dusty.",
    ),
    "fire": (
        "solvent fire",
        "Solvent: no flame, pilot light, heater or spark; keep air moving. Oily rags flat outside or under water: "
        "they can light themselves. The label decides.",
    ),
    "vapour": (
        "vapour",
        "Dust filters do not stop vapour: organic-vapour cartridges and air as the label says. The hardener of "
        "two-part urethanes can cause asthma.",
    ),
    "hot": ("hot pot", "Two-part mixes heat up in the pot: small batches, never left standing; the label's pot life."),
    "acid": (
        "acid",
        "Acid into water, never water into acid; goggles, gloves, air. Neutralise and rinse twice, as the label says.",
    ),
    "slip": ("slippery floor", "Wet floor and slurry are slippery: boots with grip, catch the water."),
}


def caution_text(key: str) -> str:
    """The full text of a caution; a key that is not in the list is shown as it stands."""
    return CAUTIONS[key][1] if key in CAUTIONS else key


def caution_name(key: str) -> str:
    """The caution in two words, where there is no room for more."""
    return CAUTIONS[key][0] if key in CAUTIONS else key


def caution_texts(keys: Iterable[str]) -> tuple[str, ...]:
    """The full texts, in order."""
    return tuple(caution_text(key) for key in keys)
