"""Shared things that hold nothing: a step may be misspelled, or a piece follows another profile than was thought."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from curetrack.profile.order import walking_order
from curetrack.profile.steps import POUR
from curetrack.shop.planner import shared_of

if TYPE_CHECKING:
    from curetrack.hours.shared import Shared
    from curetrack.ledger import View
    from curetrack.profile.types import Profile
    from curetrack.shop.seen import Seen
    from curetrack.timeline.types import Timeline

__all__ = ["Astray", "shared_astray"]


class Astray(Struct, frozen=True):
    """One thing that holds nothing for one piece; for none at all where `piece` is empty.

    step    the piece has no such `step`; `near` is the one that may be meant
    order   its last step, `near`, comes before the first, `step`
    pour    it is taken from the pour on, which stays where it is set, and no step comes right before it
    profile     no piece on the go uses it, and no profile has these two steps in this order
    """

    thing: str
    what: Literal["step", "order", "pour", "profile"]
    piece: str = ""
    step: str = ""
    near: str = ""


def shared_astray(shop: "Seen", view: "View") -> list[Astray]:
    """What of the settings' shared things holds nothing: by the steps of the pieces on the go that they name; of a
    thing that no such piece uses, by the profiles that ship and those of all pieces on the go."""
    wanted = shared_of(shop.settings)
    if not wanted:
        return []
    timelines = shop.timelines(view)
    profiles = {timeline.piece: shop.profile_of(timeline.piece, view) for timeline in timelines}
    found: list[Astray] = []
    for thing in wanted:
        used = [timeline for timeline in timelines if thing.is_used_by(timeline.piece)]
        for timeline in used:
            found += _of_piece(thing, timeline, profiles[timeline.piece])
        if not used and not any(_holds(thing, profile) for profile in (*_shipped(), *profiles.values())):
            found.append(Astray(thing.name, "profile"))
    return found


def _of_piece(thing: "Shared", timeline: "Timeline", profile: "Profile") -> Iterator[Astray]:
    steps = [line.step for line in timeline.lines]
    missing = [step for step in (thing.first, thing.last) if step not in steps]
    for step in missing:
        yield Astray(thing.name, "step", timeline.piece, step, _near(step, steps))
    if missing:
        return
    if not _holds(thing, profile) and steps.index(thing.first) > steps.index(thing.last):
        yield Astray(thing.name, "order", timeline.piece, thing.first, thing.last)
    elif thing.first == POUR and timeline.poured_at is None and not _right_before_pour(profile):
        yield Astray(thing.name, "pour", timeline.piece)


def _shipped() -> "Iterator[Profile]":
    from curetrack.profile.shelf import found, shipped

    return (found(name).compiled() for name, _ in shipped())


def _holds(thing: "Shared", profile: "Profile") -> bool:
    order = [step.id for step in walking_order(profile.steps)]
    return thing.first in order and thing.last in order and order.index(thing.first) < order.index(thing.last)


def _right_before_pour(profile: "Profile") -> bool:
    return any(POUR in step.before and step.lead_h <= 0.0 for step in profile.steps)


def _near(step: str, steps: list[str]) -> str:
    """Of a step that is several (coats, rounds) the last one, else the one that is spelled most like it."""
    from difflib import get_close_matches

    several = [
        other for other in steps if other.startswith((f"{step}-", f"{step}.")) and other[len(step) + 1 :].isdigit()
    ]
    near = several[-1:] or get_close_matches(step, steps, n=1)
    return near[0] if near else ""
