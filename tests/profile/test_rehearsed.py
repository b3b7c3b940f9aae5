"""Every profile that ships is lived to its end in a shop at 8, 20 and 30 degC: nothing in it waits for ever.

The maker of the rehearsal (curetrack/rehearsal.py) does what is ready, passes every check, leaves out what is optional.
Where a step asks for another temperature than the shop has, the maker brings the shop to 20 degC until that step is
done, and lets it go again: so the piece cures at the shop's temperature, and a sealer is never put on in the cold.
"""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from curetrack.climate.course import build_course
from curetrack.facts import Forecast, Shape
from curetrack.instants import to_h
from curetrack.profile.shelf import shipped
from curetrack.rehearsal import Deed, Frame, HUMIDITY_pct, Rehearsal
from curetrack.timeline.types import Line, Timeline
from tests.profile.docs import loaded

NAMES = [profile_id for profile_id, _ in shipped()]
POUR = datetime(2026, 3, 7, 10, tzinfo=UTC)
BROUGHT_degC = 20.0
CLIMATE = {"air", "slab", "dew_margin", "cool_gap"}  # rules that a maker can meet by heating or cooling the shop
THIN = {"fibre-tabletop": 0.025}  # TRADE: 19 to 25 mm


class Steady(Rehearsal):
    """A shop at one temperature, brought to another while a step wants it."""

    def __init__(self, profile_id: str, degC: float) -> None:
        self.degC = self.shop_degC = degC
        shape = Shape(1.5, 0.8, THIN.get(profile_id, 0.04))
        super().__init__(loaded(profile_id), shape, POUR, UTC)
        self._bring(degC)

    def temp_degC(self, at_h: float) -> float:
        return self.shop_degC

    def _an_hour_passes(self, before: Timeline) -> Iterator[Frame]:
        """Hours in which nothing is due and the shop does not change are read, and solved once at their end."""
        line = self._next(before)
        assert line is not None
        due_h = to_h(line.plan_at) if line.plan_at is not None else self.now_h
        while True:
            self.now_h = self._next_reading_h()
            self.course = self._read_shop()
            if self._next_reading_h() > due_h:
                return iter(())

    def _bring(self, degC: float) -> None:
        """From now on the shop is so warm, and expected to stay."""
        self.shop_degC = degC
        self.forecast = Forecast("steady", self.now_h, degC, HUMIDITY_pct)
        self.readings = [reading for reading in self.readings if reading.at_h < self.now_h]
        self.course = build_course(self.readings, self.forecast, self.zone) if self.readings else self.course
        self.course = self._read_shop()
        self.solved = None

    def live(self) -> tuple[list[Deed], set[str]]:
        """All deeds up to the end, and the steps for which the shop was brought to another temperature."""
        deeds: list[Deed] = []
        brought: set[str] = set()
        for _ in range(100):
            for frame in self.frames():
                if frame.deed is not None:
                    deeds.append(frame.deed)
                    if self.shop_degC != self.degC and frame.deed.line.step in brought:
                        self._bring(self.degC)
            timeline = self._solve()
            if timeline.finished:
                return deeds, brought
            wanting = [line for line in timeline.lines if line.open_to_do and wants_climate(line)]
            assert wanting, [line.step for line in timeline.lines if line.state in ("waiting", "ready", "late")]
            assert self.shop_degC == self.degC, wanting[0].step
            brought |= {line.step for line in wanting}
            self._bring(BROUGHT_degC)
        raise AssertionError("no end")


def wants_climate(line: Line) -> bool:
    """Whether a step waits for another temperature, and for nothing else."""
    return any(reason.rule in CLIMATE for reason in line.reasons)


@pytest.mark.parametrize("degC", [8.0, 20.0, 30.0])
@pytest.mark.parametrize("profile_id", NAMES)
def test_to_the_end(profile_id: str, degC: float) -> None:
    rehearsal = Steady(profile_id, degC)
    deeds, brought = rehearsal.live()
    timeline = rehearsal._solve()
    states = {line.step: line.state for line in timeline.lines if not line.optional}
    assert set(states.values()) <= {"done", "skipped"}
    assert states["in-service"] == "done"
    assert all(deed.line.optional for deed in deeds if deed.skipped)
    assert degC != BROUGHT_degC or not brought
    assert degC > 10.0 or any(step.startswith("seal-") for step in brought)  # no sealer goes on under 10 degC
    assert timeline.now > POUR
    assert to_h(timeline.now) - to_h(POUR) < 24.0 * 60.0
