"""Local hours and instants: hours that the clocks skip are refused, hours that come twice are said."""

from datetime import UTC, datetime, timedelta, tzinfo

from curetrack.errors import BadInput

__all__ = ["instant_of"]


def instant_of(local: datetime, zone: tzinfo, text: str, where: str) -> tuple[datetime, str]:
    """The instant (UTC) of a naive local time in a zone, and a remark where it comes twice and the first is taken."""
    from dateutil import tz  # slow to import, and seldom wanted

    if not tz.datetime_exists(local, zone):
        raise _skipped(local, zone, text, where)
    at = local.replace(tzinfo=zone)
    if not tz.datetime_ambiguous(local, zone):
        return at.astimezone(UTC), ""
    first, second = _written(at), _written(at.replace(fold=1))
    remark = f"{local:%H:%M} comes twice that night; the first is taken ({first}); for the second write {second}"
    return at.astimezone(UTC), remark


def _skipped(local: datetime, zone: tzinfo, text: str, where: str) -> BadInput:
    """The error for an hour that the clocks jump over: the last minute before the jump, and the first one after."""
    middle = local.replace(tzinfo=zone).astimezone(UTC)
    low, high = middle - timedelta(hours=26), middle + timedelta(hours=26)
    offset = low.astimezone(zone).utcoffset()
    while high - low > timedelta(seconds=30):  # find the jump by halving
        middle = low + (high - low) / 2
        low, high = (middle, high) if middle.astimezone(zone).utcoffset() == offset else (low, middle)
    after = high.replace(second=0, microsecond=0)
    before = (after - timedelta(minutes=1)).astimezone(zone)
    nearest = f"write {before:%Y-%m-%d %H:%M} or {after.astimezone(zone):%H:%M}"
    return BadInput("the clocks skip that time", where=where, found=text, remedy=nearest)


def _written(at: datetime) -> str:
    text = at.strftime("%Y-%m-%d %H:%M%z")
    return f"{text[:-2]}:{text[-2:]}"
