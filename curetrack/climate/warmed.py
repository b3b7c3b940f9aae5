"""The slab where only the air is known: a channel computed from the air's by the lumped model (concrete/heat.py).

From the pour on the slab follows the air and warms itself; before it, there is no slab, and the air stands for it. The
centre releases the heat that the mix's cement gives; the cold side none and the warm side half as much again, since
nobody measured it: a band that opens nothing earlier at its late end, and closes windows in time at its early one.
"""

from itertools import pairwise
from math import inf, isfinite

from msgspec import Struct
from msgspec.structs import replace

from curetrack.climate.curve import Curve
from curetrack.climate.gaps import Gap, Sign
from curetrack.climate.merge import Track
from curetrack.climate.path import Path
from curetrack.climate.sides import Sides
from curetrack.concrete.heat import ThinSlab, slab_temperatures
from curetrack.concrete.laws import RateLaw

__all__ = ["OwnHeat", "Warmed"]

_FOLLOWED_H = 30 * 24.0  # so long after the pour it is followed; then a thin slab is as good as its air
_HEAT_SHARE: dict[Sign, float] = {-1: 0.0, 0: 1.0, 1: 1.5}


class OwnHeat(Struct, frozen=True, cache_hash=True):
    """What a slab's own temperature hangs on, beside the air: when it was poured, what it is, how its mix ages."""

    pour_h: float
    slab: ThinSlab
    law: RateLaw


class Warmed:
    """One channel, like Sides: the slab's, computed from another's."""

    __slots__ = ("_air", "_heat", "_paths", "_start", "gaps", "track")

    def __init__(self, air: Sides, start_degC: float, heat: OwnHeat) -> None:
        """`start_degC`: of the concrete at the pour."""
        self._air, self._start, self._heat = air, start_degC, heat
        self._paths: dict[Sign, Path] = {}
        self.track: Track = air.track
        self.gaps: tuple[Gap, ...] = air.gaps

    @property
    def known(self) -> bool:
        """Whether anything gives a temperature."""
        return self._air.known

    def path(self, sign: Sign) -> Path:
        """A side from end to end."""
        path = self._paths.get(sign)
        if path is None:
            path = self._paths[sign] = self._made(sign)
        return path

    def _made(self, sign: Sign) -> Path:
        air, pour_h = self._air.path(sign), self._heat.pour_h
        share = _HEAT_SHARE[sign]
        slab = replace(self._heat.slab, cement_kg_m3=min(800.0, self._heat.slab.cement_kg_m3 * share))
        times, temps = air.nodes(pour_h, pour_h + _FOLLOWED_H)
        pieces = slab_temperatures(slab, self._heat.law, times, temps, self._start)
        followed = Curve.through(*pieces)
        after_h = times[-1]
        before = [(end_h, curve) for end_h, curve in zip([*air.ends, inf], air.curves, strict=True)]
        starts = [-inf, *air.ends]
        laid = [(min(end_h, pour_h), curve) for (end_h, curve), start_h in zip(before, starts, strict=True)
                if start_h < pour_h]  # fmt: skip
        laid.append((after_h, followed))
        laid += [(end_h, curve) for end_h, curve in before if end_h > after_h]
        assert all(isfinite(end_h) for end_h, _ in laid[:-1])
        assert all(a < b for (a, _), (b, _) in pairwise(laid))
        return Path(laid)
