"""Notices what no timer tells: that nobody ran for a while, and that the clock cannot be right."""

import logging
from datetime import UTC, datetime

from curetrack.errors import CuretrackError
from curetrack.nudge.types import Moment
from curetrack.service.clock import Clock
from curetrack.service.doubts import clock_doubt
from curetrack.shop import Shop
from curetrack.timeline.types import Alert

__all__ = ["Vigil"]

JUMP_s = 2.0  # a time server moves a running clock by less
ABSENT_s = 60.0


class Vigil:
    """Looked at each second. `absent`: nobody ran since a while, until `back` is said; `doubt`: why the clock looks
    wrong, in a sentence."""

    def __init__(self, shop: Shop, clock: Clock, log: logging.Logger) -> None:
        self._shop, self._clock, self._log = shop, clock, log
        self._alive_s = clock.steady_s()
        self._beat_at: datetime | None = None
        self.absent, self.doubt = False, ""

    def look(self) -> bool:
        """Whether the wall clock has moved by itself: the machine slept, or its clock was set. A process that was
        stopped for a while is absent, too."""
        jumped_s = self._clock.jumped_s()
        alive_s, self._alive_s = self._alive_s, self._clock.steady_s()
        if jumped_s > ABSENT_s or self._alive_s - alive_s > ABSENT_s:
            self.absent = True
        if abs(jumped_s) <= JUMP_s:
            return False
        self._log.warning("the clock moved by %.0f s beside its running", jumped_s)
        self._beat_at = None  # whoever set it knows better than a beat
        self.judge()
        return True

    def takes_up(self, beat_at: datetime | None, old_s: float) -> None:
        """At the start: the last run's last beat, and how old one may be that ended just now."""
        self._beat_at = beat_at
        self.absent = beat_at is None or abs((self._clock.now() - beat_at).total_seconds()) > old_s
        self.judge()

    def back(self) -> None:
        """What was missed has been told."""
        self.absent = False

    def judge(self) -> None:
        """The clock, against what is known to have been before."""
        try:
            last_ms = self._shop.ledger.last_recorded_ms()
        except CuretrackError:
            return  # the ledger's trouble is said by who needs it
        last = None if last_ms is None else datetime.fromtimestamp(last_ms / 1000.0, UTC)
        doubt = clock_doubt(self._clock.now(), last, self._beat_at)
        if doubt and not self.doubt:
            self._log.warning("%s", doubt)
        self.doubt = doubt

    def moments(self, now: datetime) -> list[Moment]:
        """A clock that cannot be right is told like a condition: every reminder hangs on it."""
        if not self.doubt:
            return []
        alert = Alert("warn", "clock", subject=self.doubt)
        key = f"clock/{now.astimezone(UTC).date().isoformat()}"
        return [Moment(key, key, "conditions", "known", "ruin", now, "", alert=alert)]
