"""What the dashboard needs of what runs beside it. The service implements it; tests bring their own."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Protocol

from msgspec import Struct

from curetrack.shop import Shop
from curetrack.timeline.types import Timeline

__all__ = ["Beside", "News"]


class News(Struct, frozen=True):
    """What was told last and not answered: shown as the banner.

    title, body   as in the notification
    piece, step   what it is about; "" for a digest and for conditions
    """

    key: str
    title: str
    body: tuple[str, ...]
    urgent: bool
    piece: str = ""
    step: str = ""


class Beside(Protocol):
    """The service beside the dashboard. Everything is called in the loop's thread."""

    shop: Shop

    def now(self) -> datetime:
        """The moment, aware, UTC."""

    @property
    def timelines(self) -> Sequence[Timeline]:
        """All pieces that are on the go, whole, as last worked out. Their `now` may be some minutes old."""

    @property
    def news(self) -> Sequence[News]:
        """What went out and was not answered, the most urgent first."""

    @property
    def troubles(self) -> Sequence[str]:
        """Sentences, the gravest first: no notification service, an undelivered nudge, a full disk, a wrong clock."""

    @property
    def carried_by(self) -> str:
        """Which channels carry nudges now, in a few words; or that another process (its id) nudges."""

    def listen(self, heard: Callable[[], None]) -> None:
        """`heard` is called whenever any of the above has changed, also by another process."""

    def said(self, piece: str) -> None:
        """The dashboard has written a fact of this piece ("": of the shop): worked out at once for the piece, soon
        for the rest. Returns with the piece's timeline renewed."""

    def seen(self, key: str) -> None:
        """The maker has read this piece of news: it goes from the banner."""
