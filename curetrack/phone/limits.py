"""How often one address, or one device, may ask: a bucket that fills steadily and is emptied by asking. Pure."""

from msgspec import Struct

__all__ = ["Limit", "Limits"]

KEPT_AT_MOST = 2000  # buckets; who sends from ever new addresses must not fill the memory


class Limit(Struct, frozen=True):
    """At most `burst` at once, and `per_minute` in the long run."""

    per_minute: float
    burst: int


class Limits:
    """One limit, kept apart by who asks. Times are seconds of a clock that only runs forward."""

    def __init__(self, limit: Limit) -> None:
        self.limit = limit
        self._buckets: dict[str, tuple[float, float]] = {}  # who -> (tokens left, at)

    def wait_s(self, who: str, now_s: float) -> float:
        """0.0 if it may go on (and that is counted), else the seconds until it may."""
        tokens = self._tokens(who, now_s)
        if tokens < 1.0:
            return (1.0 - tokens) * 60.0 / self.limit.per_minute
        self._buckets[who] = (tokens - 1.0, now_s)
        self._forget(now_s)
        return 0.0

    def _tokens(self, who: str, now_s: float) -> float:
        tokens, at_s = self._buckets.get(who, (float(self.limit.burst), now_s))
        return min(float(self.limit.burst), tokens + max(0.0, now_s - at_s) * self.limit.per_minute / 60.0)

    def _forget(self, now_s: float) -> None:
        """Full buckets say nothing; if that does not help, the oldest go."""
        if len(self._buckets) <= KEPT_AT_MOST:
            return
        self._buckets = {
            who: (tokens, at_s)
            for who, (tokens, at_s) in self._buckets.items()
            if self._tokens(who, now_s) < self.limit.burst
        }
        surplus = len(self._buckets) - KEPT_AT_MOST
        for who in sorted(self._buckets, key=lambda who: self._buckets[who][1])[: max(0, surplus)]:
            del self._buckets[who]
