"""The stretch that `when` looks at: what is wrong with it, all at once."""

from datetime import datetime, timedelta, tzinfo

from curetrack.errors import BadInput, raise_all
from curetrack.settings import MOST_CREW

__all__ = ["check_stretch"]

DAY = timedelta(days=1)
MOST_DAYS = 92
AHEAD = timedelta(days=366)  # as far as a planned pour may lie


def check_stretch(
    start: datetime, end: datetime, *, need_by: datetime | None, people: int | None, now: datetime, zone: tzinfo
) -> None:
    """Raises BadInput for a stretch that is none, a date that it cannot meet, or a number of people that is none. A
    start of today that has just passed is none of these."""
    found = [*_of_ends(start, end, now, zone), *_of_need(need_by, max(start, now), now, zone)]
    if people is not None and not 1 <= people <= MOST_CREW:
        found.append(
            BadInput("not a number of people", where="--crew", found=people, remedy=f"use 1 to {MOST_CREW}")
        )  # fmt: skip
    raise_all("when", found)


def _of_ends(start: datetime, end: datetime, now: datetime, zone: tzinfo) -> list[BadInput]:
    if start < now - DAY:
        return [BadInput("that is already past", where="--from", found=_said(start, zone),
                         remedy="leave it out to begin now")]  # fmt: skip
    if end <= now:
        return [BadInput("that is already past", where="--to", found=_said(end, zone), remedy="name a day to come")]
    if end <= start:
        return [BadInput("ends before it begins", where="--from, --to", found=_said(end, zone),
                         remedy="name a later end")]  # fmt: skip
    if start > now + AHEAD:
        return [BadInput("more than a year ahead", where="--from", found=_said(start, zone),
                         remedy="name a nearer day")]  # fmt: skip
    if end - start > MOST_DAYS * DAY:
        return [BadInput(f"longer than {MOST_DAYS} days", where="--from, --to", found=_said(end, zone),
                         remedy="no forecast reaches so far: name a nearer end")]  # fmt: skip
    return []


def _of_need(need_by: datetime | None, start: datetime, now: datetime, zone: tzinfo) -> list[BadInput]:
    if need_by is None or need_by > start:
        return []
    if need_by <= now:
        return [BadInput("that is already past", where="--need-by", found=_said(need_by, zone),
                         remedy="name a day to come")]  # fmt: skip
    return [BadInput("needed before the first pour that is looked at", where="--need-by", found=_said(need_by, zone),
                     remedy="name a later day, or an earlier --from")]  # fmt: skip


def _said(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).strftime("%Y-%m-%d %H:%M")
