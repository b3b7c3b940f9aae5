"""Real timelines for the drawing's tests: the rehearsal's maker, caught at many moments of a piece's life."""

from datetime import UTC, datetime
from functools import cache
from zoneinfo import ZoneInfo

from curetrack.facts import Shape
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.rehearsal import Rehearsal
from curetrack.timeline.types import Line, Timeline
from curetrack.words.pressing import next_of
from curetrack.words.voice import Voice

__all__ = ["BERLIN", "PROFILES", "lives", "next_lines", "voice_at"]

BERLIN = ZoneInfo("Europe/Berlin")
PROFILES = ("bagged-tabletop", "bagged-polished", "counter-in-place", "fast-tabletop")


@cache
def lives(profile_id: str) -> tuple[Timeline, ...]:
    """The piece after each deed, from three days before the pour to its end."""
    found_id, document = find(profile_id)
    profile = compile_profile(document, found_id, found_id)
    rehearsal = Rehearsal(profile, Shape(1.8, 0.6, 0.04), datetime(2026, 3, 2, 9, tzinfo=UTC), BERLIN)
    return tuple(frame.timeline for frame in rehearsal.frames())


def next_lines() -> list[tuple[Timeline, Line]]:
    """Every next step of every profile's life."""
    return [(one, line) for profile in PROFILES for one in lives(profile) for line in next_of(one)[:1]]


def voice_at(timeline: Timeline) -> Voice:
    """Speaking at the moment of the timeline."""
    return Voice(timeline.now, BERLIN, "metric")
