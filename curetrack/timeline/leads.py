"""How long beforehand people are told, wherever they are told: common practice, no source. Pure."""

from datetime import UTC, datetime, time, timedelta, tzinfo

__all__ = ["CLOSING", "evening_before"]

CREW_CALLED = time(18, 0)
CLOSING = timedelta(hours=1)  # before a window closes


def evening_before(plan: datetime, zone: tzinfo) -> datetime:
    """When a crew is called: at six on the local evening before."""
    before = plan.astimezone(zone).date() - timedelta(days=1)
    return datetime.combine(before, CREW_CALLED, zone).astimezone(UTC)
