"""What every text needs to know: where the maker's clock stands, and in which units they read."""

from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from curetrack.units import System

__all__ = ["Voice"]


class Voice(Struct, frozen=True):
    """The moment of speaking (aware), the shop's zone, and the shop's units."""

    now: datetime
    zone: tzinfo
    system: "System" = "metric"

    @property
    def local_now(self) -> datetime:
        """`now` on the shop's clock."""
        return self.now.astimezone(self.zone)
