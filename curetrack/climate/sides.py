"""One channel of a course, the slab's or the air's: its track, its gaps and its three sides, made when asked for."""

from datetime import tzinfo
from math import inf

from curetrack.climate.curve import Curve, common_length
from curetrack.climate.forecast import ahead, leans_on_habit
from curetrack.climate.gaps import HELD_BACK_H, Sign, Spliced, gaps_of, head_of
from curetrack.climate.habit import Habit, habit_of
from curetrack.climate.merge import Track, holes
from curetrack.climate.path import Path
from curetrack.facts import Forecast

__all__ = ["Sides"]


class Sides:
    """Measured: the centre's curve, shared by the sides where there is no gap. Before and ahead: a curve per side."""

    __slots__ = ("_ahead", "_forecast", "_habit", "_holes", "_measured", "_paths", "_zone", "gaps", "track")

    def __init__(self, track: Track, forecast: Forecast | None, zone: tzinfo, older: "Sides | None" = None) -> None:
        self.track, self._forecast, self._zone = track, forecast, zone
        self._paths: dict[Sign, Path] = {}
        self._measured: dict[Sign, Curve] = {}
        self._ahead: dict[Sign, Curve | None] = {}
        self._habit: list[Habit | None] = []  # one item once it was asked for
        same = 0 if older is None else _same_nodes(track, older.track)
        if older is None or same == 0:
            self._holes = holes(track[0])
        else:
            self._holes = [index for index in older._holes if index + 1 < same]
            self._holes += [index + same - 1 for index in holes(track[0][same - 1 :])]
        self.gaps = gaps_of(track, self._holes)
        if older is not None and same:
            self._take_over(older, same)

    @property
    def known(self) -> bool:
        """Whether anything, a reading or a forecast, gives a temperature."""
        return bool(self.track[0]) or self._side_ahead(0) is not None

    def path(self, sign: Sign) -> Path:
        """A side from end to end. Raises ValueError where nothing is known."""
        path = self._paths.get(sign)
        if path is None:
            path = self._paths[sign] = self._made(sign)
        return path

    def _made(self, sign: Sign) -> Path:
        beyond = self._side_ahead(sign)
        if beyond is None:
            raise ValueError("this course has no temperature at all: ask has_temperature first")
        return Path([*self._behind(sign), (inf, beyond)])

    def _side_ahead(self, sign: Sign) -> Curve | None:
        if sign not in self._ahead:
            repeats = self._forecast is not None and self._forecast.kind == "last-day" and self.track[0]
            past = Path(self._behind(sign)).value if repeats else None
            self._ahead[sign] = ahead(
                self._forecast, self._zone, self.track, past=past, habit=self._known_habit(), sign=sign
            )
        return self._ahead[sign]

    def _known_habit(self) -> Habit | None:
        """What the shop has been doing; asked for only where the forecast leans on it."""
        if not self.track[0] or not leans_on_habit(self._forecast):
            return None
        if not self._habit:
            self._habit.append(habit_of(self.track, self._side_measured(0).value))
        return self._habit[0]

    def _behind(self, sign: Sign) -> list[tuple[float, Curve]]:
        """The curves up to the last reading."""
        times = self.track[0]
        if not times:
            return []
        measured = (times[-1], self._side_measured(sign))
        return [measured] if sign == 0 else [(times[0] - HELD_BACK_H, head_of(self.track, sign)), measured]

    def _side_measured(self, sign: Sign) -> Curve:
        if not self.gaps:
            sign = 0
        curve = self._measured.get(sign)
        if curve is None:
            centre = Curve.through(*self.track) if sign == 0 else Spliced(self._side_measured(0), self.gaps, sign)
            curve = self._measured[sign] = centre
        return curve

    def _take_over(self, older: "Sides", same: int) -> None:
        """Continue the measured curves of a channel that differs by a reading, with the sums they have."""
        for sign, curve in older._measured.items():  # the centre comes first, since the sides are made from it
            if sign == 0:
                self._measured[0] = Curve.through(*self.track, curve, same)
            elif self.gaps and isinstance(curve, Spliced):
                side = self._measured[sign] = Spliced(self._side_measured(0), self.gaps, sign)
                side.continue_sums(curve, self.track[0][same - 1])


def _same_nodes(one: Track, other: Track) -> int:
    return min(common_length(one[0], other[0]), common_length(one[1], other[1]))
