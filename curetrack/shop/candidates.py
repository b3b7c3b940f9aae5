"""A piece that may be poured, for each moment at which it may be."""

from bisect import bisect_left
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from curetrack.climate.course import Course
from curetrack.facts import Piece
from curetrack.instants import from_h
from curetrack.timeline.planning.net import Net
from curetrack.timeline.solve import prepare

if TYPE_CHECKING:
    from curetrack.shop.foresight import Outlined

__all__ = ["Candidates"]


class Candidates:
    """Its steps hang on the air at the pour (`air_over`): one net for all pours of which the same cases hold."""

    def __init__(
        self, outlined: "Outlined", course: Course, now: datetime, hold: Callable[[Net], None] = lambda _net: None
    ) -> None:
        """`course`: with a temperature, measured or assumed. `hold`: makes a net wait for what other pieces have."""
        self._hold = hold
        self._outlined, self._course, self._now = outlined, course, now
        cases = (case for step in outlined.profile.steps for case in step.ifs)
        self._airs_degC = sorted({case.air_over_degC for case in cases if case.air_over_degC is not None})
        self._nets: dict[int, Net] = {}

    def net(self, pour_h: float) -> Net:
        """The piece as it is at a pour at that moment. It may have been poured at another one before: `Net.pour_at`."""
        holding = bisect_left(self._airs_degC, self._course.temp_degC(pour_h, "air")) if self._airs_degC else 0
        if holding not in self._nets:
            self._nets[holding] = self._made(pour_h)
        return self._nets[holding]

    def _made(self, pour_h: float) -> Net:
        outlined = self._outlined
        piece = Piece(
            outlined.name, outlined.shape, outlined.profile.id, "", self._now, from_h(pour_h), outlined.need_by
        )  # fmt: skip
        prepared = prepare(piece, outlined.profile, outlined.events, self._course, self._now)
        net = Net(outlined.name, prepared.basis, prepared.graph, untouched=True)
        self._hold(net)
        return net
