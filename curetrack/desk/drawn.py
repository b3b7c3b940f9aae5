"""The curve of the piece in hand, worked out apart from the keys: they are answered first."""

from curetrack.desk.scale import SPANS, scale_of
from curetrack.errors import CuretrackError
from curetrack.shop import Shop, View
from curetrack.timeline.curve import Curve
from curetrack.timeline.types import Timeline
from curetrack.words.voice import Voice

__all__ = ["Drawn"]

POINTS = 120
AHEAD = 20  # now moves on until it is drawn anew: so many parts of the span, one part more


class Drawn:
    """Of one piece and one span of time. `stale`: something has changed since."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._curve: tuple[tuple[str, int], Curve] | None = None
        self.stale = True

    @property
    def empty(self) -> bool:
        """There is none of any piece."""
        return self._curve is None

    def of(self, piece: Timeline, span: int) -> Curve | None:
        """The curve, if it is the one of that piece and that span."""
        return self._curve[1] if self._curve is not None and self._curve[0] == (piece.piece, span) else None

    def draw(self, piece: Timeline | None, span: int, voice: Voice, width: int) -> None:
        """Worked out anew; none where it cannot be."""
        self.stale, self._curve = False, None
        if piece is None:
            return
        scale = scale_of(voice, width, SPANS[span])
        end = scale.end + (scale.end - scale.start) / AHEAD
        try:
            found = self._shop.curve(piece.piece, View(voice.now), scale.start, end, count=POINTS)
        except (CuretrackError, ValueError):
            return
        self._curve = ((piece.piece, span), found)
