"""What a plan costs, in the order in which it matters to a maker: windows missed, nights, hours outside one's own, days
past what was promised, when it is finished, how often one has to go there."""

from collections.abc import Sequence

from msgspec import Struct

__all__ = ["Cost", "SAME_h", "visits_of"]

APART_h = 1.0  # work that is less than an hour apart is one visit (judgement)
SAME_h = 1.0 / 60.0


class Cost(Struct, frozen=True, order=False):
    """Hours, but for the visits. Compare by `key`."""

    late_h: float = 0.0
    night_h: float = 0.0
    outside_h: float = 0.0
    past_need_h: float = 0.0
    finish_h: float = 0.0  # summed over the pieces, since now
    visits: int = 0

    @property
    def key(self) -> tuple[float, ...]:
        """Smaller is better; times to the minute, so that a rounding decides nothing."""
        hours = (self.late_h, self.night_h, self.outside_h, self.past_need_h, self.finish_h)
        return (*(round(hour / SAME_h) * SAME_h for hour in hours), float(self.visits))

    @property
    def is_clean(self) -> bool:
        """No window is missed, nothing falls outside the maker's hours, nothing comes too late."""
        return self.key[:4] == (0.0, 0.0, 0.0, 0.0)


def visits_of(work: Sequence[tuple[float, float]]) -> int:
    """How many visits these stretches of work are."""
    visits, free_h = 0, float("-inf")
    for start_h, end_h in sorted(work):
        visits += start_h > free_h + APART_h
        free_h = max(free_h, end_h)
    return visits
