"""One pour: what curetrack says at the pour (and later) of four steps, and when they truly come.

The real code does all of it: `build_course` with the readings known so far and the forecast typed, the profile's own
rules by `timeline.rules`, the moment and its band by `timeline.combine`. The truth is the same rule by the mix's own
law on a course of the true temperatures. So what is compared is the weather; the rate laws have no part in it.
"""

from collections.abc import Sequence
from datetime import UTC, tzinfo
from math import inf, isfinite
from typing import Literal

import msgspec

from curetrack.climate.course import Course, build_course
from curetrack.concrete.setting import SetTable
from curetrack.facts import Event, Forecast, Place, Reading, Shape
from curetrack.instants import from_h
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.profile.types import Profile, Rules, SetRule
from curetrack.timeline.clocks import Clocks, When
from curetrack.timeline.combine import together
from curetrack.timeline.crew import slab_of
from curetrack.timeline.frost import read_frost
from curetrack.timeline.history import read_history
from curetrack.timeline.rules import RULES, Situation
from curetrack.timeline.solve import clocks_of

__all__ = ["SHAPE", "STEPS", "Answer", "Bench", "Step", "course_of"]

Step = Literal["set", "strip", "flip", "sand"]
STEPS: tuple[Step, ...] = ("set", "strip", "flip", "sand")
SHAPE = Shape(1.5, 0.6, 0.04)
PROFILE = "bagged-tabletop"


class Answer(msgspec.Struct, frozen=True):
    """A predicted moment, hours after the pour, with its whole band and the weather's part."""

    centre: float
    band: tuple[float, float]
    weather: tuple[float, float]


class Bench:
    """The profile, ready to be asked."""

    def __init__(self) -> None:
        profile_id, document = find(PROFILE)
        self.profile: Profile = compile_profile(document, profile_id, profile_id)
        steps = {step.id: step for step in self.profile.steps}
        until = steps["cure-both"].until
        assert until is not None
        sanding = msgspec.structs.replace(steps["sand-120"].not_before, drying_h=None, maturity_h=until.maturity_h)
        self.rules: dict[Step, Rules] = {
            "set": Rules(set=SetRule("final")),
            "strip": steps["strip"].not_before,
            "flip": steps["flip"].not_before,
            "sand": sanding,  # the tent off at 72 h of age, 12 MPa; the drying clock, which needs humidity, left out
        }
        self.slab = slab_of(SHAPE)

    def moment(self, course: Course, step: Step, pour_h: float, now_h: float) -> When:
        """When a step's rules are met."""
        situation = self._situation(course, pour_h, now_h)
        mets = [met for rule in RULES if (met := rule(situation, self.rules[step])) is not None]
        when = together(mets, -inf, now_h)
        assert when is not None
        return when

    def said(self, course: Course, pour_h: float, now_h: float) -> dict[Step, Answer]:
        """What is said of all steps."""
        found: dict[Step, Answer] = {}
        for step in STEPS:
            when = self.moment(course, step, pour_h, now_h)
            ends = [end - pour_h for end in when.ends]
            found[step] = Answer(when.centre - pour_h, (ends[0], ends[1]), (ends[4], ends[5]))
        return found

    def froze_young(self, truth: Course, pour_h: float) -> bool:
        """Whether the piece truly freezes before it bears it."""
        pour = from_h(pour_h)
        history = read_history([Event(1, "bench", "pour", pour, pour)])
        frost = read_frost(clocks_of(truth, self.profile.mix), self.profile.mix, history, pour_h, pour_h + 24.0 * 20)
        return frost.froze_h is not None

    def at_20_h(self, step: Step) -> float:
        """The clock time a guide for a warm shop gives: hours at 20 degC."""
        course = build_course([Reading(0.0, temp_degC=20.0)], Forecast("steady", 0.0, temp_degC=20.0), UTC)
        return self.moment(course, step, 0.0, 0.0).centre

    def _situation(self, course: Course, pour_h: float, now_h: float) -> Situation:
        mix = self.profile.mix
        clocks, law = clocks_of(course, mix), SetTable(mix.reference_degC)
        return Situation(
            now_h=now_h, course=course, mix=mix, clocks=clocks, set_clocks=Clocks(course, law, (law, *clocks.band)),
            materials={}, slab=self.slab, pour_h=pour_h, after_h=None, since_h=None, coat_h=None, coat_end_h=None,
            faces=None,
        )  # fmt: skip


def course_of(
    temps: Sequence[float], start_h: int, forecast: Forecast | None, zone: tzinfo, *,
    times: Sequence[float] | None = None, place: Place = "slab",
) -> Course:  # fmt: skip
    """A course of readings, hourly unless `times` are given; hours that are not known (nan) give none."""
    readings = [
        Reading(float(start_h + index) if times is None else times[index], temp_degC=temp, place=place)
        for index, temp in enumerate(temps)
        if isfinite(temp)
    ]
    return build_course(readings, forecast, zone)
